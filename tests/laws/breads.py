"""Random breads: up to 20 ingredients, up to 4 stages, stages in stages three deep, cultures in all conventions."""

from collections.abc import Mapping

from attrs import frozen
from hypothesis import strategies as st

from formula.formula import Formula
from formula.stage import Stage

FLOURS = ("bread flour", "whole wheat flour", "medium rye flour", "spelt flour", "semolina")
OTHERS = (
    "salt", "fresh yeast", "sugar", "olive oil", "butter", "egg", "whole milk", "honey", "sesame seeds", "sunflower seeds",
    "walnuts", "raisins", "malt flour", "caraway seeds", "skim milk",
)  # fmt: skip

amounts = st.integers(1, 20_000).map(lambda tenths: tenths / 10)
"""Weights in g to a tenth, from which every other number follows."""


@frozen
class Written:
    """A bread as it is written: the final dough by weight, with its stages as lines, and the stages by weight."""

    final: Mapping[str, float]
    stages: tuple[Mapping[str, float], ...]
    cultures: tuple[str, ...]
    keeps: tuple[float, ...]

    def formula(self, name: str = "Drawn") -> Formula:
        """Make the formula."""
        return Formula.from_stages(
            name, in_grams(self.final), [self.stage(number) for number in range(len(self.stages))]
        )

    def stage(self, number: int) -> Stage:
        """Make one stage."""
        culture = self.cultures[number]
        return Stage(
            stage_name(number), in_grams(self.stages[number]), culture=culture or None, keep=self.keeps[number]
        )


def stage_name(number: int) -> str:
    return f"preferment {number + 1}"


def in_grams(lines: Mapping[str, float]) -> dict[str, str]:
    return {name: f"{grams!r} g" for name, grams in lines.items()}


@st.composite
def lines(draw: st.DrawFn, *, most: int, flour: bool = True) -> dict[str, float]:
    """Draw lines by weight, with at least one flour and water."""
    flours = draw(st.lists(st.sampled_from(FLOURS), min_size=1 if flour else 0, max_size=3, unique=True))
    others = draw(st.lists(st.sampled_from(OTHERS), max_size=most, unique=True))
    return {name: draw(amounts) for name in [*flours, "water", *others]}


@st.composite
def written(draw: st.DrawFn, *, most_stages: int = 4, kept: bool = True) -> Written:
    """Draw a bread as it is written; a stage may use stages with a higher number, three deep at the most."""
    count = draw(st.integers(0, most_stages))
    final = draw(lines(most=12))
    stages: list[dict[str, float]] = []
    cultures: list[str] = []
    depth = [1] * count
    used: set[int] = set()
    for number in range(count):
        stage = draw(lines(most=3))
        for other in range(number + 1, count):
            if depth[number] < 3 and draw(st.booleans()):
                stage[stage_name(other)] = draw(amounts)
                depth[other] = max(depth[other], depth[number] + 1)
                used.add(other)
        culture = draw(st.sampled_from(("", "returned", "line", "split"))) if kept else ""
        if culture:
            stage["culture"] = draw(amounts) / 100
        stages.append(stage)
        cultures.append(culture)
        if number not in used or draw(st.booleans()):
            final[stage_name(number)] = draw(amounts)
    keeps = tuple(draw(st.sampled_from((0.0, 0.0, 5.0, 20.0))) if kept else 0.0 for _ in range(count))
    return Written(final, tuple(stages), tuple(cultures), keeps)
