"""What stands on a sheet: a formula to learn, a mix to weigh by, and a label to be checked, laid out as pages.

Nothing is computed here: percentages, weights, allergens and cautions are those of the formula, the batch and the draft.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from .allergens import allergen_table, allergen_word
from .batch import Batch
from .draft import LabelDraft
from .errors import FormulaError
from .formula import Formula
from .layout import LOSSES
from .sheetparts import Particulars, SheetPage, SheetTable
from .stage import FINAL, Stage, base_of
from .weighing import BatchStage
from .words import RAW, weight
from .working import Caution, shown

__all__ = ["base_lines", "formula_page", "label_page", "mix_page", "size_words", "stage_title"]

SCALD: Final = Caution("hot-water", "hot water and steam scald: pour away from yourself, with gloves and a steady bowl")
_LOSS_WORDS: Final = {
    "handling": "handling",
    "bulk": "bulk fermentation",
    "divider": "divider",
    "ferment": "proof",
    "bake": "oven",
    "cool": "cooling",
    "dry": "drying",
}
_MIX: Final = ("Date", "Mix", "Mixed by", "Mixer")
_STAGE: Final = ("Water temperature", "Its temperature", "Made at", "Used at")
_DOUGH: Final = (
    "Flour temperature",
    "Room temperature",
    "Water temperature",
    "Dough temperature",
    "Mixing began",
    "Mixing ended",
)


def _percent(value: float) -> str:
    """Write a percentage: as it was given up to thousandths, else to hundredths or two digits of a small one."""
    if abs(value - round(value, 3)) < 1e-9:
        return shown(round(value, 3))
    before = len(str(int(abs(value)))) if abs(value) >= 1 else 0
    return shown(value, before + 2)


def stage_title(name: str) -> str:
    """Return the heading of a stage; the reserved name of the last one is for programs."""
    return "Final dough" if name == FINAL else name


def base_lines(formula: Formula, stage: Stage) -> tuple[str, ...]:
    """Return the lines of a stage that are its 100 %."""
    stages = {each.name for each in formula.stages}
    lines = [line for line in stage.percents if line not in stages]
    return base_of(lines, formula.catalogue, stage.base or formula.named_flours, final=False) or base_of(
        lines, formula.catalogue, final=False
    )


def size_words(stage: Stage) -> str:
    """Say how large a stage is, in the way that its formula says it."""
    if stage.flour_percent is not None:
        return f"{_percent(stage.flour_percent)} % of all the flour is in it"
    if stage.taken_percent is not None:
        return f"{_percent(stage.taken_percent)} % of the {stage.taken} is in it"
    if stage.weight_percent is not None:
        return f"it weighs {_percent(stage.weight_percent)} % of all the flour as it goes on"
    if stage.weight_on_final_percent is not None:
        return f"it weighs {_percent(stage.weight_on_final_percent)} % of the final dough's flour as it goes on"
    return "it is as large as the stages need that use it"


def _allergens(formula: Formula) -> tuple[tuple[tuple[str, str], ...], tuple[Caution, ...]]:
    """Return the line on allergens, and the cautions that belong to it."""
    found = allergen_table(formula)
    words = [f"{allergen_word(word, found.region)} ({', '.join(names)})" for word, names in found.contains.items()]
    words += [f"not known: {', '.join(found.unknown)}"] if found.unknown else []
    line = ("Allergens of the plain ingredients", "; ".join(words) or "none known")
    return (line,), found.cautions


def _loss_words(formula: Formula) -> str:
    losses = formula.losses
    shares = [
        f"{_LOSS_WORDS[name]} {shown(100 * share, 4)} %"
        for name in LOSSES
        if (share := getattr(losses, f"{name}_share"))
    ]
    ways = [*(["of the bread"] if losses.on == "bread" else []), *(["added up"] if losses.combine == "add" else [])]
    return ", ".join(shares) + (f" ({', '.join(ways)})" if ways else "") if shares else ""


def _temperature(formula: Formula) -> tuple[tuple[str, str], ...]:
    celsius = formula.dough_temperature_c
    if celsius is None:
        return ()
    return (("Dough temperature", f"{shown(celsius, 3)} °C ({shown(celsius * 1.8 + 32, 3)} °F)"),)


def _on_pieces(formula: Formula, unit: str) -> tuple[tuple[str, str], ...]:
    toppings = [f"{weight(grams, unit)} of {name}" for name, grams in formula.toppings_g.items()]
    return (("On each piece", ", ".join(toppings)),) if toppings else ()


def _formula_facts(formula: Formula, unit: str) -> Iterator[tuple[str, str]]:
    added, liquid = formula.hydration(), formula.hydration("liquid")
    yield "Hydration", f"{_percent(added)} %"
    if liquid != added:
        yield "Hydration with all liquids", f"{_percent(liquid)} %"
    if formula.prefermented_flour:
        yield "Prefermented flour", f"{_percent(formula.prefermented_flour)} %"
    yield "All lines together", f"{_percent(formula.total_percent)} %"
    yield from _temperature(formula)
    if losses := _loss_words(formula):
        yield "Losses", losses
    if formula.reject_share:
        yield "Sorted out after baking", f"{shown(100 * formula.reject_share, 4)} %"
    if formula.later:
        yield "Added after mixing", ", ".join(f"{_percent(p)} % of {line}" for line, p in formula.later.items())
    yield from _on_pieces(formula, unit)


def _base_words(formula: Formula, stage: Stage) -> str:
    base = base_lines(formula, stage)
    if all(formula.catalogue.find(line).is_flour for line in base):
        return "Its own flour is 100 %"
    return f"Its 100 %: {', '.join(base)}"


def _stage_notes(stage: Stage) -> Iterator[str]:
    yield size_words(stage)[0].upper() + size_words(stage)[1:]
    if stage.culture is not None:
        ways = {
            "returned": "as much as was seeded is taken back out before it goes on",
            "line": "it stands in the whole formula as a line of its own",
            "split": "it is counted as its flour and water",
        }
        yield f"The ripe culture: {ways[stage.culture.counted]}"
    if stage.keep_percent:
        yield f"Kept for tomorrow: {_percent(stage.keep_percent)} % of its 100 %"
    if stage.boiled_off_percent:
        yield f"Boiled off: {_percent(stage.boiled_off_percent)} % of its 100 %"


def _formula_tables(formula: Formula) -> Iterator[SheetTable]:
    rows = [
        (line, _percent(percent), _percent(formula.true_percent(line))) for line, percent in formula.percents.items()
    ]
    yield SheetTable(
        "Whole formula",
        "All the flour is 100 %",
        ("ingredient", "% of flour", "% of dough"),
        tuple(rows),
        ("together", _percent(formula.total_percent), "100"),
    )
    if not formula.stages:
        return
    named = {stage.name: stage for stage in formula.stages}
    for column in formula.table.columns[:-1]:
        stage = named[column.name]
        lines = zip(column.lines, stage.percents.values(), column.percents, strict=True)
        yield SheetTable(
            stage.name,
            _base_words(formula, stage),
            ("ingredient", "% of its own", "% of all flour"),
            tuple((line, _percent(own), _percent(whole)) for line, own, whole in lines),
            ("together", _percent(sum(stage.percents.values())), _percent(column.total)),
            tuple(_stage_notes(stage)),
        )
    final = formula.table.columns[-1]
    try:
        own_lines = [_percent(percent) for percent in formula.final.values()]
        together = _percent(sum(formula.final.values()))
        about = "The flour that is weighed into it is 100 %"
    except FormulaError:
        own_lines, together = ["" for _ in final.lines], ""
        about = "All the flour is in stages: the final dough has none of its own to count on"
    yield SheetTable(
        stage_title(FINAL),
        about,
        ("ingredient", "% of its own", "% of all flour"),
        tuple(
            (line, own, _percent(whole))
            for line, own, whole in zip(final.lines, own_lines, final.percents, strict=True)
        ),
        ("together", together, _percent(final.total)),
    )


def formula_page(formula: Formula, unit: str = "g") -> SheetPage:
    """Lay out a formula: its key figures, the whole formula, each stage, the final dough and cautions.

    Args:
        formula: the bread.
        unit: the unit of toppings: "g", "kg", "oz" or "lb".
    """
    allergens, cautions = _allergens(formula)
    return SheetPage(
        "Formula",
        formula.name,
        facts=(*_formula_facts(formula, unit), *allergens),
        tables=tuple(_formula_tables(formula)),
        cautions=(*_work_cautions(formula), *cautions),
    )


def _work_cautions(formula: Formula) -> tuple[Caution, ...]:
    scalds = any(stage.kind == "scald" for stage in formula.stages)
    return (_sentence(RAW), *((_sentence(SCALD),) if scalds else ()))


def _sentence(caution: Caution) -> Caution:
    return Caution(caution.code, caution.text[0].upper() + caution.text[1:].rstrip(".") + ".")


def _mix_facts(batch: Batch, unit: str) -> Iterator[tuple[str, str]]:
    yield "Dough", weight(batch.dough_g, unit)
    yield "All the flour", weight(batch.flour_g, unit)
    if batch.pieces:
        yield "Pieces", f"{batch.pieces} of {weight(batch.piece_g, unit)} on the scale"
    if batch.baked_g:
        yield "Each when sold", weight(batch.baked_g, unit)
    yield from _temperature(batch.formula)
    yield from _on_pieces(batch.formula, unit)


def _leaving(stage: BatchStage, unit: str) -> Iterator[str]:
    words = {
        "Ripe culture taken back out before it goes on": stage.returned_g,
        "Kept for tomorrow": stage.kept_g,
        "Boiled off": stage.boiled_off_g,
    }
    left = [f"{word}: {weight(grams, unit)}" for word, grams in words.items() if grams]
    yield from left
    if left:
        yield f"Goes on: {weight(stage.handed_on_g, unit)}"


def _later_words(batch: Batch, unit: str) -> Iterator[str]:
    for row in batch.later:
        yield f"Hold back {weight(row.mass_g, unit)} of the {row.name} above; it goes in after mixing"


def _mix_tables(batch: Batch, unit: str) -> Iterator[SheetTable]:
    for stage in batch.stages.values():
        is_final = stage.name == FINAL
        made = [(row.name, weight(row.mass_g, unit), _percent(row.percent)) for row in stage.rows]
        yield SheetTable(
            stage_title(stage.name),
            "To weigh into the mixer" if is_final else "To weigh and build before",
            ("ingredient", "weigh", "% of flour"),
            tuple(made),
            ("together", weight(stage.total_g, unit), ""),
            (*_leaving(stage, unit), *(_later_words(batch, unit) if is_final else ())),
            tick=True,
            by_hand=_DOUGH if is_final else _STAGE,
        )


def mix_page(batch: Batch, unit: str = "g") -> SheetPage:
    """Lay out a batch: what to weigh into each stage and into the final dough, with lines to write on.

    Args:
        batch: the formula in weights.
        unit: the unit of the weights: "g", "kg", "oz" or "lb".
    """
    allergens, cautions = _allergens(batch.formula)
    return SheetPage(
        "Mix sheet",
        batch.formula.name,
        facts=(*_mix_facts(batch, unit), *allergens),
        tables=tuple(_mix_tables(batch, unit)),
        by_hand=_MIX,
        cautions=(*map(_sentence, batch.cautions), *_work_cautions(batch.formula), *cautions),
    )


def label_page(draft: LabelDraft) -> SheetPage:
    """Lay out a label draft: every particular, filled in or as a blank, and by which rule it is asked for.

    Args:
        draft: the draft.
    """
    made = draft.declaration
    lines = tuple(
        Particulars(
            each.what,
            each.shown_value,
            made.html() if each.key == "ingredients" else "",
            made.markdown() if each.key == "ingredients" else "",
            each.rule,
            each.is_blank,
        )
        for each in draft.particulars
    )
    return SheetPage("Label draft", made.bread, draft.notice, particulars=lines, cautions=draft.cautions)
