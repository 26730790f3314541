"""The label draft: every particular that the law asks for, filled in or as a blank that nobody can overlook.

It is a check list in the order of a label, for the EU and the USA, for bread that is prepacked, packed on site or sold
loose.  Each line says where it comes from; most of the rules besides the list of ingredients are from memory.  Local law
decides, and a licensed person confirms.
"""

from __future__ import annotations

import math
from html import escape
from typing import Final, Literal, get_args

from attrs import frozen

from .errors import FormulaError
from .label import Declaration
from .legalnames import REGION_WORDS
from .lines import Lines
from .listing import BLANK, DRAFT
from .quantity import MASS, Door, Measure
from .sources import source
from .working import Caution, Working, escaped_markdown, shown

__all__ = ["LabelDraft", "Particular", "Sold", "label_draft"]

Sold = Literal["prepacked", "packed-on-site", "loose"]
_ASKED: Final = {
    "must": "asked for",
    "if": "where it applies",
    "local": "where national or state law asks for it",
    "no": "not asked for",
}
_EU, _EU_RULES, _LOT = "eu-1169-2011-memory", "eu-1169-2011-rules", "eu-lot-2011"
_US, _US_LIST, _US_ALLERGENS = "us-labels-memory", "cfr-21-101-4", "us-major-allergens"
_OUNCE_G: Final = 28.349523125
"""A sixteenth of a pound, by definition."""

# key, what, how asked for when prepacked, packed on site, loose; where; source; what to know
_RULES: Final = {
    "eu": (
        ("name", "name of the food", "must local local", "Articles 9(1)(a) and 17", _EU, "a fancy name does not replace it"),
        ("ingredients", "list of ingredients", "must local local", "Article 18; 9(1)(b) from memory", _EU_RULES, ""),
        ("allergens", "allergens", "must must must", "Article 21; 9(1)(c) and 44 from memory", _EU_RULES, "loose: by the way that national law names"),
        ("quid", "percentage of emphasised ingredients", "if local local", "Article 22; 9(1)(d) from memory", _EU_RULES, ""),
        ("net", "net quantity", "must local local", "Articles 9(1)(e) and 23", _EU, "bread may have weights of its own by national law"),
        ("date_mark", "date of minimum durability", "must local local", "Articles 9(1)(f) and 24, Annex X", _EU, "not for bread that is eaten within 24 h of baking"),
        ("storage", "storage and use", "if local local", "Articles 9(1)(g) and 25", _EU, ""),
        ("operator", "name and address of the business", "must local local", "Articles 8 and 9(1)(h)", _EU, ""),
        ("origin", "country of origin", "if local local", "Articles 9(1)(i) and 26", _EU, "where the label would mislead without it"),
        ("instructions", "instructions for use", "if local local", "Articles 9(1)(j) and 27", _EU, ""),
        ("nutrition", "nutrition declaration", "must local local", "Articles 9(1)(l) and 29 to 35", _EU, "small makers who sell locally may be exempt, Annex V"),
        ("lot", "lot", "must no no", "Directive 2011/91/EU", _LOT, "a date with day and month may stand for it"),
    ),
    "us": (
        ("name", "statement of identity", "must must local", "21 CFR 101.3 and 136", _US, "a standardised name must meet its standard"),
        ("ingredients", "list of ingredients", "must must if", "21 CFR 101.4", _US_LIST, "loose: on a card at the counter, 101.100(a)(2)"),
        ("allergens", "major food allergens", "must must local", "FALCPA and the FASTER Act; FD&C Act 403(w) from memory", _US_ALLERGENS, ""),
        ("net", "net quantity of contents", "must must no", "21 CFR 101.7", _US, "in ounces or pounds and in grams"),
        ("date_mark", "date", "local local local", "state law", _US, ""),
        ("storage", "storage and handling", "if if local", "21 CFR 101", _US, "where it must be kept cold"),
        ("operator", "name and place of business", "must must no", "21 CFR 101.5", _US, ""),
        ("origin", "country of origin", "if if no", "19 CFR 134", _US, "imported bread"),
        ("nutrition", "nutrition facts", "must if no", "21 CFR 101.9", _US, "small businesses and bread baked on site may be exempt, 101.9(j)"),
    ),
}  # fmt: skip


@frozen
class Particular:
    """One particular of a label: its ``value`` or a visible blank, how it is asked for, and by which rule."""

    key: str
    what: str
    value: str
    asked: str
    where: str
    source: str
    note: str = ""

    @property
    def is_blank(self) -> bool:
        """Whether it must still be filled in."""
        return not self.value and self.asked != "no"

    @property
    def is_from_memory(self) -> bool:
        """Whether the rule is remembered, not read."""
        return source(self.source).known_by == "memory"

    @property
    def shown_value(self) -> str:
        """The value, or the blank; nothing where nothing is asked for."""
        return self.value or (BLANK.format(self.what) if self.is_blank else "-")

    @property
    def rule(self) -> str:
        """How it is asked for, and by which rule."""
        words = [f"{_ASKED[self.asked]}: {self.where}", *([self.note] if self.note else [])]
        return "; ".join([*words, *(["from memory"] if self.is_from_memory else [])])


@frozen
class LabelDraft:
    """A draft of a label: its particulars in order, and the list of ingredients behind them."""

    declaration: Declaration
    sold: Sold
    particulars: tuple[Particular, ...]
    cautions: tuple[Caution, ...] = ()

    @property
    def blanks(self) -> tuple[str, ...]:
        """What must still be filled in or decided: particulars without a value, and gaps in the list."""
        return (*(each.what for each in self.particulars if each.is_blank), *self.declaration.gaps)

    @property
    def from_memory(self) -> tuple[str, ...]:
        """The particulars whose rule is remembered, not read."""
        return tuple(each.what for each in self.particulars if each.is_from_memory)

    @property
    def notice(self) -> str:
        """What every label draft says of itself."""
        words = f"DRAFT by the rules of {REGION_WORDS[self.declaration.region]}, {self.sold}. {DRAFT.text}"
        return f"{words} From memory: the names of ingredients, and the rules on {', '.join(self.from_memory)}."

    def particular(self, key: str) -> Particular:
        """Return one particular by its key, such as "net".

        Raises:
            KeyError: when the region has no such particular.
        """
        return {each.key: each for each in self.particulars}[key]

    def text(self) -> str:
        """Return the draft as plain text."""
        lines = [self.declaration.bread, self.notice, ""]
        for each in self.particulars:
            lines += [f"{each.what}: {each.shown_value}", f"    {each.rule}"]
        return "\n".join([*lines, "", *(f"Caution: {caution.text}" for caution in self.cautions)]) + "\n"

    def __str__(self) -> str:
        """Return the draft as plain text."""
        return self.text()

    def markdown(self) -> str:
        """Return the draft in Markdown, allergens in bold where the law wants them emphasised."""
        lines = [f"# {escaped_markdown(self.declaration.bread)}", "", f"> {escaped_markdown(self.notice)}", ""]
        for each in self.particulars:
            value = self.declaration.markdown() if each.key == "ingredients" else escaped_markdown(each.shown_value)
            lines.append(f"* **{escaped_markdown(each.what)}:** {value} *({escaped_markdown(each.rule)})*")
        lines += ["", *(f"> Caution: {escaped_markdown(caution.text)}\n" for caution in self.cautions)]
        return "\n".join(lines)

    def html(self) -> str:
        """Return the draft as an HTML section, all text escaped."""
        rows = []
        for each in self.particulars:
            value = self.declaration.html() if each.key == "ingredients" else f"<p>{escape(each.shown_value)}</p>"
            blank = ' class="blank"' if each.is_blank else ""
            rows.append(f"<dt>{escape(each.what)}</dt><dd{blank}>{value}<small>{escape(each.rule)}</small></dd>")
        cautions = "".join(f'<p class="caution">Caution: {escape(caution.text)}</p>' for caution in self.cautions)
        head = f"<h2>{escape(self.declaration.bread)}</h2><p>{escape(self.notice)}</p>"
        return f"<section>{head}<dl>{''.join(rows)}</dl>{cautions}</section>"

    def working(self) -> Working:
        """Show the steps of the list of ingredients; the last line is the sum of its entries."""
        return self.declaration.working()


def label_draft(
    declaration: Declaration,
    *,
    sold: Sold = "prepacked",
    name: str = "",
    net: Measure | None = None,
    date_mark: str = "",
    storage: str = "",
    operator: str = "",
    origin: str = "",
    instructions: str = "",
    nutrition: str = "",
    lot: str = "",
) -> LabelDraft:
    """Lay out everything that a label must say, filled in where it is known and blank where it is not.

    Args:
        declaration: the list of ingredients; its region decides the rules.
        sold: "prepacked", "packed-on-site" or "loose".
        name: the name of the food as the law wants it; the bread's own name is a fancy name and does not replace it.
        net: the net quantity of one unit, a mass.
        date_mark: the date, as the label shows it.
        storage: how it is kept.
        operator: name and address of the business.
        origin: country of origin.
        instructions: how to use it.
        nutrition: the nutrition declaration, as text.
        lot: the lot.

    Raises:
        FormulaError: an unknown way to sell, a net quantity that is no mass, a particular that the region does not have.

    Source: eu-1169-2011-rules and cfr-21-101-4 for the list and the allergens; eu-1169-2011-memory, eu-lot-2011 and
    us-labels-memory, from memory, for the rest.

    Example:
        >>> from formula import Formula
        >>> from formula.label import declaration
        >>> loaf = Formula.from_percents("Quay Loaf", {"unenriched bread flour": 100, "water": 68, "salt": 2})
        >>> draft = label_draft(declaration(loaf, region="eu"), name="wheat bread", net="800 g")
        >>> draft.particular("net").shown_value, draft.particular("operator").shown_value
        ('800 g', '[to fill in: name and address of the business]')
    """
    with Door(FormulaError) as door:
        if sold not in get_args(Sold):
            door.refuse("sold", repr(sold), 'one of "prepacked", "packed-on-site", "loose"')
        net_g = None if net is None else door.read(MASS, net, "net")
        if net_g == 0:
            door.refuse("net", "0 g", "a weight above zero")
        told = {
            "name": name,
            "date_mark": date_mark,
            "storage": storage,
            "operator": operator,
            "origin": origin,
            "instructions": instructions,
            "nutrition": nutrition,
            "lot": lot,
        }
        known = [key for key, *_ in _RULES[declaration.region]]
        for key in [key for key, value in told.items() if value and key not in known]:
            door.refuse(
                key, repr(told[key]), "nothing", f"the rules of {REGION_WORDS[declaration.region]} have no such line"
            )
    values = Lines(
        told
        | {
            "ingredients": declaration.text(),
            "allergens": _allergens(declaration),
            "quid": ", ".join(declaration.percentages),
        }
        | {"net": "" if net_g is None else _net(net_g, declaration.region)}
    )
    column = get_args(Sold).index(sold)
    particulars = tuple(
        Particular(key, what, values[key], asked.split()[column], where, origin_id, note)
        for key, what, asked, where, origin_id, note in _RULES[declaration.region]
    )
    return LabelDraft(declaration, sold, particulars, (*declaration.cautions, *_CAUTIONS))


_CAUTIONS: Final = (
    Caution(
        "keep-apart",
        "Keep allergens apart by time, space, cleaning and training; this draft knows only what you told it.",
    ),
    Caution("flour-dust", "Flour dust sensitises the lungs and can explode: extract it, never sweep or blow it."),
    Caution(
        "net-weight", "The net quantity must hold when the bread is sold: weigh your own loaves on a verified scale."
    ),
)


def _allergens(declaration: Declaration) -> str:
    blanks = [BLANK.format(gap) for gap in (*declaration.allergen_gaps, *declaration.trace_gaps)]
    return ", ".join([*declaration.allergen_words, *blanks]) or "none in the plain ingredients"


def _net(net_g: float, region: str) -> str:
    metric = f"{shown(net_g)} g" if net_g < 1000 else f"{shown(net_g / 1000)} kg"
    if region == "eu":
        return metric
    # Never more than there is: ounces are cut to a tenth.
    ounces = math.floor(net_g / _OUNCE_G * 10 + 1e-9) / 10
    pounds, rest = divmod(ounces, 16)
    in_pounds = f" ({shown(pounds)} lb {shown(round(rest, 1))} oz)" if pounds else ""
    return f"Net Wt {shown(ounces)} oz{in_pounds} {metric}"
