"""The declaration: the list of ingredients of a bread, by the rules of the EU or of the USA, as a draft.

In the EU ingredients fall by the weight that went in, but added water stands by what is left of it in the finished bread,
and allergens are emphasised.  In the USA everything falls by the weight as added, small amounts may be grouped at the end,
and a statement of the major allergens follows.  A levain is its flour and water, not an ingredient of its own.  What
nobody told stands in the list as a blank for everybody to see.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Final

from attrs import evolve, field, frozen

from .allergens import Parts, allergen_word, as_names, listed_allergens, read_parts, with_allergens
from .catalogue import Catalogue
from .errors import Fault, FormulaError, UnknownNameError
from .finished import FinishedLoaf, Ingoing, Mixture, finished_loaf, seed_cultures
from .formula import Formula
from .ingredient import ALLERGENS
from .legalnames import REGION_WORDS, Region, read_region
from .lines import Lines
from .listing import ALLERGENS_OF, BLANK, DRAFT, Entry, Listed, as_html, as_markdown, as_text, listed, quid_text
from .losses import Losses
from .quantity import SHARE, Door, Measure, grid, write
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working, shown, summed_steps

__all__ = ["Declaration", "declaration"]

WATER_LEFT_OUT: Final = Constant(5.0, "%", 0.0, "eu-1169-2011-rules", "Annex VII Part A point 1")
SMALL: Final = Constant(2.0, "%", 0.0, "eu-1169-2011-memory", "Annex VII Part A point 6")
# The percentages of "contains N percent or less of".
GROUPS: Final = tuple([Constant(percent, "%", 0.0, "cfr-21-101-4", "101.4(a)(2)") for percent in (2.0, 1.5, 1.0, 0.5)])
_RULES: Final = {"eu": "eu-1169-2011-rules", "us": "cfr-21-101-4"}
_NO_INGREDIENT: Final = ("bread", "white", "meal", "loaf")
"""Words in the name of a bread that lead to a flour in the larder, and mean none."""


@frozen
class Declaration:
    """The list of ingredients of a bread: ``entries`` in the order of the list.

    ``left_out`` is added water that need not be listed, ``group_percent`` the threshold of the group at the end (USA),
    ``may_contain`` what shares a line, ``loaf`` the bread behind it, ``traces`` the allergens that a ripe culture brought
    which was taken back out.
    """

    bread: str
    region: Region
    entries: tuple[Entry, ...]
    left_out: tuple[Entry, ...]
    group_percent: float | None
    may_contain: tuple[str, ...]
    loaf: FinishedLoaf
    reconstituted: Lines[float] = field(factory=Lines)
    traces: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()

    @property
    def allergens(self) -> tuple[str, ...]:
        """The allergens of all ingredients that the law of the region names, in the words of the larder."""
        found = {word for entry in (*self.entries, *self.left_out) for word in entry.listed.allergens}
        return tuple(word for word in listed_allergens(self.region) if word in found)

    @property
    def allergen_words(self) -> tuple[str, ...]:
        """The same in the words of a label of the region."""
        return tuple(allergen_word(word, self.region) for word in self.allergens)

    @property
    def percentages(self) -> tuple[str, ...]:
        """The percentage of every emphasised ingredient, as a label gives it."""
        return tuple(f"{entry.listed.name} {quid_text(entry)}" for entry in self.entries if entry.is_emphasised)

    @property
    def gaps(self) -> tuple[str, ...]:
        """What is missing in the list, in words."""
        in_list = (gap for entry in self.entries for gap in entry.listed.gaps)
        return tuple(dict.fromkeys((*in_list, *self.trace_gaps)))

    @property
    def trace_gaps(self) -> tuple[str, ...]:
        """The allergens of a ripe culture that is taken back out by weight, and still leaves something of itself."""
        return tuple(f"{allergen_word(word, self.region)} from the ripe culture" for word in self.traces)

    @property
    def allergen_gaps(self) -> tuple[str, ...]:
        """The gaps that are about allergens."""
        return tuple(gap for gap in self.gaps if gap.startswith(ALLERGENS_OF))

    @property
    def listed_g(self) -> float:
        """What all entries weigh together, left-out water included: the loaf (EU) or what went in (USA)."""
        return math.fsum(entry.mass_g for entry in (*self.entries, *self.left_out))

    def text(self) -> str:
        """Return the list as plain text, allergens in capitals where the law wants them emphasised."""
        return as_text(self._runs())

    def markdown(self) -> str:
        """Return the list in Markdown, allergens in bold where the law wants them emphasised."""
        return as_markdown(self._runs())

    def html(self) -> str:
        """Return the list as an HTML paragraph, all text escaped."""
        return as_html(self._runs())

    def __str__(self) -> str:
        """Return the list as plain text."""
        return self.text()

    def _runs(self) -> list[tuple[str, bool]]:
        strong = self.region == "eu"
        runs: list[tuple[str, bool]] = [("Ingredients: ", False)]
        first_small = next((n for n, entry in enumerate(self.entries) if self._is_grouped(entry)), len(self.entries))
        for number, entry in enumerate(self.entries):
            if number == first_small:
                runs.append(
                    (f"{', ' if number else ''}contains {shown(self.group_percent or 0)} % or less of: ", False)
                )
            elif number:
                runs.append((", ", False))
            runs += entry.listed.runs(self.region, strong=strong, quid=quid_text(entry))
        runs += [(f" {BLANK.format(gap)}", False) for gap in self.trace_gaps]
        runs.append((".", False))
        blanks = [BLANK.format(gap) for gap in self.allergen_gaps]
        if self.region == "us" and (self.allergens or blanks):
            runs.append((f" Contains: {', '.join([*self.allergen_words, *blanks])}.", False))
        if self.may_contain:
            runs.append((" May contain: ", False))
            for number, word in enumerate(self.may_contain):
                runs += [(", ", False)] * bool(number) + [(allergen_word(word, self.region), strong)]
            runs.append((".", False))
        return runs

    def _is_grouped(self, entry: Entry) -> bool:
        return self.group_percent is not None and entry.percent <= self.group_percent

    def working(self) -> Working:
        """Show the steps; the last line is the sum of all entries."""
        rule = _RULES[self.region]
        symbols = {each.name: f"m{number}" for number, each in enumerate(self.loaf.ingoing, 1)}
        masses = {each.name: each.mass_g for each in self.loaf.ingoing}
        entries = (*self.entries, *self.left_out)
        steps = list(self.loaf.steps())
        names = {f"e{number}": entry for number, entry in enumerate(entries, 1)}
        plain = {name: entry for name, entry in names.items() if not entry.by_difference}
        for name, entry in plain.items():
            values = {symbols[line]: masses[line] for line in entry.ingredients}
            terms = [symbols[line] for line in entry.ingredients]
            for line in entry.ingredients:
                if line in self.reconstituted:
                    terms[terms.index(symbols[line])] = f"{symbols[line]} * k{symbols[line][1:]}"
                    values[f"k{symbols[line][1:]}"] = self.reconstituted[line]
            steps.append(Step(name, " + ".join(terms), values, entry.mass_g, "g", rule, entry.listed.name))
        if len(plain) < len(names):
            sums, others_g = summed_steps("others", {name: entry.mass_g for name, entry in plain.items()}, unit="g")
            steps += sums
            values = {"finished": self.loaf.finished_g, "others": others_g}
            pool_g = max(0.0, self.loaf.finished_g - others_g)
            note = "added water and volatile ingredients by what the others leave of the finished bread"
            steps.append(Step("difference", "max(0, finished - others)", values, pool_g, "g", rule, note))
            pooled = {
                symbols[line]: masses[line] for name in names if name not in plain for line in names[name].ingredients
            }
            for name, entry in names.items():
                if entry.by_difference:
                    own = " + ".join(symbols[line] for line in entry.ingredients)
                    expression, values = "difference", {"difference": pool_g}
                    if len(entry.ingredients) < len(pooled):
                        expression, values = f"difference * ({own}) / ({' + '.join(pooled)})", values | pooled
                    steps.append(Step(name, expression, values, entry.mass_g, "g", rule, entry.listed.name))
        for number, (name, entry) in enumerate(names.items(), 1):
            note = entry.listed.name
            if entry in self.left_out:
                note += f": left out, as it is no more than {shown(WATER_LEFT_OUT.value)} %"
            values = {name: entry.mass_g, "finished": self.loaf.finished_g}
            steps.append(Step(f"p{number}", f"100 * {name} / finished", values, entry.percent, "%", rule, note))
            if entry.is_emphasised:
                ingoing = [symbols[line] for line in entry.ingredients]
                values = {symbols[line]: masses[line] for line in entry.ingredients} | {
                    "finished": self.loaf.finished_g
                }
                expression = (
                    f"100 * {ingoing[0]} / finished"
                    if len(ingoing) == 1
                    else f"100 * ({' + '.join(ingoing)}) / finished"
                )
                note = f"{entry.listed.name}: ingoing weight over the finished bread"
                steps.append(Step(f"q{number}", expression, values, entry.quid_percent, "%", rule, note))
        sums, _ = summed_steps("listed", {name: entry.mass_g for name, entry in names.items()}, unit="g")
        steps += [evolve(step, source=rule) for step in sums]
        title = f"{self.bread}: the list of ingredients by the rules of {REGION_WORDS[self.region]}"
        return Working(title, with_units(steps, {"1": "k"}), self.cautions)


def declaration(
    formula: Formula,
    *,
    region: Region,
    losses: Losses | None = None,
    piece: Measure | None = None,
    baked: Measure | None = None,
    cultures: Mapping[str, Mixture] | None = None,
    parts: Parts | None = None,
    allergens: Mapping[str, Iterable[str]] | None = None,
    emphasised: Iterable[str] = (),
    volatile: Iterable[str] = (),
    reconstituted: Mapping[str, str] | None = None,
    exempt: Iterable[str] = (),
    group: Measure | None = "2 %",
    may_contain: Iterable[str] = (),
    unknown: str = "gap",
) -> Declaration:
    """Draft the list of ingredients of a bread.

    EU: ingredients fall by ingoing weight; added water = finished bread - all other ingredients, left out where it is no
    more than 5 % of the bread; allergens are emphasised.  USA: all fall by weight as added; what is no more than ``group``
    of the finished bread stands at the end; a "Contains" statement follows.

    Args:
        formula: the bread.
        region: "eu" or "us".
        losses: from the mixer to the shelf, if not the formula's own.
        piece: the weight of a piece on the divider's scale; needed, or ``baked``, where there are toppings.
        baked: the weight of a piece when sold, without its toppings.
        cultures: what cultures and old dough are made of, see ``finished_loaf``.
        parts: ingredient -> what its own label says it is made of: names in falling weight, or name -> percentage; [] says
            that it is one thing, as of a flour to which the mill adds nothing.
        allergens: ingredient -> the allergens that its supplier tells, in words of ``ALLERGENS``; [] for none.
        emphasised: ingredients that the name or the label of the bread emphasises: their percentage is given (EU).
        volatile: ingredients that leave in the oven with the water, such as rum (EU).
        reconstituted: dry ingredient -> the liquid that it makes with some of the water, such as "nonfat dry milk" ->
            "skim milk"; it stands by the weight of that liquid, at equal solids (EU).
        exempt: ingredients whose allergen the law exempts in the form you buy, such as fully refined soybean oil.
        group: the threshold of the group at the end, "2 %", "1.5 %", "1 %" or "0.5 %"; None for no group (USA).
        may_contain: allergens that a shared line may bring, see ``allergen_matrix``; words of ``ALLERGENS``.
        unknown: what to do where an ingredient's allergens are not known: "gap" shows a blank, "refuse" refuses.

    Raises:
        FormulaError: an unknown region, group, allergen or rule that the region does not have; with "refuse" an ingredient
            of unknown allergens; all at once.
        UnknownNameError: names that the bread or the catalogue does not know.
        ContradictionError: losses that leave no water, more water to reconstitute with than there is.

    It is a draft: local law decides, and a licensed person confirms it.  Names of ingredients are from memory, and so is
    that ingredients below 2 % may stand in any order (EU): they are marked, and left in falling order, which is never wrong.

    Source: eu-1169-2011-rules, eu-1169-2011-memory; cfr-21-101-4, us-major-allergens.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"unenriched bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 2})
        >>> made = declaration(loaf, region="eu", losses=Losses(bake="12 %"))
        >>> print(made)
        Ingredients: WHEAT flour, water, salt, yeast.
        >>> round(made.entries[1].mass_g, 2), round(made.entries[1].percent, 1)
        (44.72, 30.1)
    """
    formula = with_allergens(formula, allergens)
    catalogue = formula.catalogue
    liquids = reconstituted or {}
    with Door(FormulaError) as door:
        read_region(door, region)
        if unknown not in ("gap", "refuse"):
            door.refuse("unknown", repr(unknown), 'one of "gap", "refuse"')
        group_percent = _read_group(door, group) if region == "us" and group is not None else None
        for word in (words := as_names(may_contain)):
            if word not in ALLERGENS:
                door.refuse("may_contain", repr(word), f"one of {', '.join(ALLERGENS)}")
        told = {"emphasised": as_names(emphasised), "volatile": as_names(volatile), "reconstituted": tuple(liquids)}
        for where, given in told.items():
            if given and region == "us":
                door.refuse(where, ", ".join(given), "nothing for the USA", "this is a rule of the EU")
    loaf = finished_loaf(formula, losses=losses, piece=piece, baked=baked, cultures=cultures)
    names = {each.name for each in loaf.ingoing}
    asked = {catalogue.find(name).name for name in told["emphasised"]}
    volatile_names = {catalogue.find(name).name for name in told["volatile"]}
    factors = Lines(_factor(dry, liquid, catalogue) for dry, liquid in liquids.items())
    for name in (*asked, *volatile_names, *factors):
        if name not in names:
            raise UnknownNameError(
                Fault(formula.name, repr(name), f"one of its ingredients: {', '.join(sorted(names))}")
            )
    read = read_parts(parts, catalogue)
    spared = {catalogue.find(name).name for name in as_names(exempt)}
    groups: dict[tuple[Listed, bool], list[Ingoing]] = {}
    for each in loaf.ingoing:
        shown_as = listed(each.ingredient, region, read, catalogue, spared)
        if each.name in factors:
            liquid = catalogue.find(next(to for dry, to in liquids.items() if catalogue.find(dry).name == each.name))
            shown_as = listed(liquid, region, read, catalogue, spared, "reconstituted ")
        moves = region == "eu" and (each.ingredient.kind == "water" or each.name in volatile_names)
        groups.setdefault((shown_as, moves), []).append(each)
    entries = _weighed(groups, loaf, factors, asked)
    left_out = tuple(
        entry
        for entry in entries
        if entry.by_difference and entry.percent <= WATER_LEFT_OUT.value and not set(entry.ingredients) & volatile_names
    )
    kept = [entry for entry in entries if entry not in left_out]
    shown_words = tuple(word for word in listed_allergens(region) if word in words)
    made = Declaration(formula.name, region, tuple(kept), left_out, group_percent, shown_words, loaf, factors)
    if unknown == "refuse" and made.allergen_gaps:
        fix = "ask the supplier; add it to the catalogue, or tell its parts"
        raise FormulaError(
            Fault(formula.name, f"no word on the {', '.join(made.allergen_gaps)}", "the allergens of all", fix)
        )
    others = tuple(word for word in made.may_contain if word not in made.allergens)
    seeds = {word for name in seed_cultures(formula) for word in catalogue.find(name).allergens or ()}
    traces = tuple(word for word in listed_allergens(region) if word in seeds and word not in made.allergens)
    made = evolve(made, may_contain=others, traces=traces)
    return evolve(made, cautions=_cautions(made, formula, asked, spared))


def _read_group(door: Door, group: Measure) -> float | None:
    percent = grid(SHARE, 100 * door.read(SHARE, group, "group"))
    if percent not in {limit.value for limit in GROUPS} and not door.faults:
        door.refuse("group", write(SHARE, percent / 100), "2 %, 1.5 %, 1 % or 0.5 %", "the law has these four")
    return percent


def _factor(dry: str, liquid: str, catalogue: Catalogue) -> tuple[str, float]:
    """Return the catalogue's name of a dry ingredient, and the weight of liquid that one of it makes at equal solids."""
    solids, thin = catalogue.find(dry).solids_g, catalogue.find(liquid).solids_g
    if not solids or not thin or solids <= thin:
        got = f"solids of {'nobody knows how much' if solids is None else shown(solids)} and {thin and shown(thin)}"
        expected = "a dry ingredient and the liquid it makes, of known water"
        raise FormulaError(Fault(f"reconstituted: {dry}", got, expected, 'such as {"nonfat dry milk": "skim milk"}'))
    return catalogue.find(dry).name, solids / thin


def _weighed(
    groups: Mapping[tuple[Listed, bool], list[Ingoing]], loaf: FinishedLoaf, factors: Lines[float], asked: set[str]
) -> list[Entry]:
    """Give every entry the weight that decides its place, and put them in falling order."""
    ingoing_g = {key: math.fsum(each.mass_g for each in members) for key, members in groups.items()}
    masses = {
        key: math.fsum(each.mass_g * factors.get(each.name, 1.0) for each in members) for key, members in groups.items()
    }
    moving = [key for key in groups if key[1]]
    others_g = math.fsum(mass for key, mass in masses.items() if not key[1])
    pool_g, pooled_g = max(0.0, loaf.finished_g - others_g), math.fsum(ingoing_g[key] for key in moving)
    made_up_g = math.fsum(each.mass_g * (factors[each.name] - 1) for each in loaf.ingoing if each.name in factors)
    if made_up_g > pooled_g * (1 + 1e-9):
        got = f"{shown(made_up_g, 4)} g of water to make up {', '.join(factors)}"
        raise FormulaError(
            Fault(f"{loaf.bread}: reconstituted", got, f"at most the {shown(pooled_g, 4)} g that is added")
        )
    for key in moving:
        masses[key] = pool_g * ingoing_g[key] / pooled_g
    entries = [
        Entry(
            listed=key[0],
            ingredients=tuple(each.name for each in members),
            ingoing_g=ingoing_g[key],
            mass_g=masses[key],
            finished_g=loaf.finished_g,
            by_difference=key[1],
            is_emphasised=any(each.name in asked for each in members),
            is_small=100 * masses[key] / loaf.finished_g < SMALL.value,
        )
        for key, members in groups.items()
    ]
    return sorted(entries, key=lambda entry: (-entry.mass_g, entry.listed.name))


def _cautions(made: Declaration, formula: Formula, asked: set[str], spared: set[str]) -> tuple[Caution, ...]:
    catalogue = formula.catalogue
    found = [DRAFT]
    if made.gaps:
        found.append(Caution("label-gap", f"To fill in before anything is printed: {'; '.join(made.gaps)}."))
    if made.left_out:
        text = f"Added water is no more than {shown(WATER_LEFT_OUT.value)} % of the bread and is left out of the list."
        found.append(Caution("water-left-out", text))
    if made.trace_gaps:
        text = f"To declare, although it is taken back out by weight: {', '.join(made.trace_gaps)}."
        found.append(Caution("seed-culture", text))
    if spared:
        found.append(
            Caution(
                "exempt", f"Left out by your word, as the law exempts it: the allergens of {', '.join(sorted(spared))}."
            )
        )
    if made.region == "eu":
        spoken = [word for word in formula.name.casefold().replace("-", " ").split() if word not in _NO_INGREDIENT]
        meant = {catalogue.find(word).name for word in spoken if word in catalogue}
        unasked = sorted(meant & {name for entry in made.entries for name in entry.ingredients} - asked)
        if unasked:
            text = f"The name of the bread speaks of {', '.join(unasked)}: its percentage may have to be given (emphasised=)."
            found.append(Caution("quid", text))
    if any(each.ingredient.source and each.ingredient.allergens is not None for each in made.loaf.ingoing):
        text = "Names and allergens are those of the plain ingredients, from memory: the suppliers' labels decide."
        found.append(Caution("read-the-packet", text))
    return tuple(found)
