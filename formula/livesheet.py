"""The arithmetic of a formula as a spreadsheet does it: where each line stands, and the formula in each cell.

A line of the whole formula is its percentage of the flour, a stage is as large as its size says, and the final dough is
what the stages leave.  So the weights follow from one cell, the flour, and an edited percentage moves the final dough too.
Columns: A the name, B the percentage on the base of its own block, C the weight.
"""

from __future__ import annotations

from typing import Final

from attrs import frozen

from .formula import Formula
from .stage import FINAL, Stage
from .table import Column

__all__ = ["FLOUR", "Block", "Live", "live_formula"]

FLOUR: Final = "flour_weight"
"""The name of the cell that holds the weight of all the flour."""
_HEAD: Final = 2
"""Rows of a block above its lines besides those of its size: its title and its heads."""


@frozen
class Block:
    """Where one table stands: its title in row ``top``, its lines from row ``first``, their sum in row ``total``.

    A stage has a row for its ``base`` (its 100 % by weight) and, if it says its own, its ``size``; below the sum stand
    what is taken out of it (``returned``, ``boiled``, ``kept``), what goes on (``out``) and the ``part`` of it that ends
    in the dough.  A row that is not needed is 0.
    """

    name: str
    lines: tuple[str, ...]
    top: int
    first: int
    size: int = 0
    base: int = 0
    returned: int = 0
    boiled: int = 0
    kept: int = 0
    out: int = 0
    part: int = 0

    @property
    def last(self) -> int:
        """The row of the last line."""
        return self.first + len(self.lines) - 1

    @property
    def total(self) -> int:
        """The row of the sum."""
        return self.last + 1

    @property
    def end(self) -> int:
        """The last row of the block."""
        return max(self.total, self.returned, self.boiled, self.kept, self.out, self.part)

    def row(self, line: str) -> int:
        """Return the row of a line."""
        return self.first + self.lines.index(line)

    @property
    def handed_on(self) -> str:
        """The cell of what goes on."""
        return f"C{self.out or self.total}"


@frozen
class Live:
    """A formula laid out for a spreadsheet: the whole formula, its stages in building order, the final dough."""

    formula: Formula
    whole: Block
    stages: tuple[Block, ...]
    final: Block

    @property
    def end(self) -> int:
        """The last row in use."""
        return self.final.end

    def _stage(self, name: str) -> tuple[Block, Stage, Column]:
        block = next(block for block in self.stages if block.name == name)
        stage = next(stage for stage in self.formula.stages if stage.name == name)
        column = next(column for column in self.formula.table.columns if column.name == name)
        return block, stage, column

    def _flours(self, block: Block) -> list[int]:
        """Return the rows of a block that hold flour."""
        find = self.formula.catalogue.find
        flours = {find(line).name for line in self.formula.flours}
        stages = {stage.name for stage in self.formula.stages}
        return [block.row(line) for line in block.lines if line not in stages and find(line).name in flours]

    def _users(self, name: str) -> list[Block]:
        return [block for block in self.stages if name in block.lines]

    # -- the whole formula -----------------------------------------------------------------------------------------

    def whole_weight(self, line: str) -> str:
        """Return the formula for a line of the whole formula."""
        return f"=B{self.whole.row(line)}*{FLOUR}/100"

    def flour_check(self) -> str:
        """Return the sum of the flours in percent, without a sign of equality."""
        return _sum("B", self._flours(self.whole))

    # -- the stages ------------------------------------------------------------------------------------------------

    def size_words(self, name: str) -> tuple[str, float]:
        """Return what the size of a stage is a percentage of, and how much."""
        _, stage, column = self._stage(name)
        if stage.flour_percent is not None:
            return "size: % of all the flour that is in it", stage.flour_percent
        if stage.taken_percent is not None:
            return f"size: % of the {stage.taken} that is in it", stage.taken_percent
        # What is sized on the flour of the final dough is told on all the flour: the other way round is a circle.
        return "size: % of all the flour that it weighs as it goes on", column.handed_on

    def _ripe_percent(self, block: Block) -> str:
        """Return what a stage is before anything is kept, in percent of its base."""
        ripe = f"B{block.total}"
        ripe += f"-B{block.returned}" if block.returned else ""
        return ripe + (f"-B{block.boiled}" if block.boiled else "")

    def base_weight(self, name: str) -> str:
        """Return the formula for the 100 % of a stage, from its size or from the stages that use it."""
        block, stage, _ = self._stage(name)
        ripe = self._ripe_percent(block)
        out = f"({ripe}-B{block.kept})" if block.kept else f"({ripe})"
        carry = f"*{out}/({ripe})" if block.kept else ""
        size = f"B{block.size}"
        if stage.flour_percent is not None:
            return f"={FLOUR}*{size}/(({_sum('B', self._flours(block))}){carry})"
        if stage.taken_percent is not None:
            find = self.formula.catalogue.find
            taken = find(stage.taken).name
            whole = next(line for line in self.whole.lines if find(line).name == taken)
            stages = {each.name for each in self.formula.stages}
            own = next(line for line in block.lines if line not in stages and find(line).name == taken)
            return f"=C{self.whole.row(whole)}*{size}/(B{block.row(own)}{carry})"
        if block.size:
            return f"={FLOUR}*{size}/{out}"
        uses = "+".join(f"C{user.row(name)}" for user in self._users(name))
        return f"=100*({uses})/{out}"

    def stage_weight(self, name: str, line: str) -> str:
        """Return the formula for a line of a stage."""
        block, _, _ = self._stage(name)
        return f"=B{block.row(line)}*C{block.base}/100"

    def leaving(self, name: str) -> tuple[tuple[str, int, str | float, str], ...]:
        """Return the rows below the sum of a stage: what each is, its row, its percentage and its weight."""
        block, stage, column = self._stage(name)
        rows: list[tuple[str, int, str | float, str]] = []
        if block.returned:
            line = block.row(column.returned_line)
            rows.append(("ripe culture taken back out", block.returned, f"=B{line}", f"=C{line}"))
        if block.boiled:
            rows.append(("boiled off", block.boiled, stage.boiled_off_percent, f"=B{block.boiled}*C{block.base}/100"))
        if block.kept:
            rows.append(("kept for tomorrow", block.kept, stage.keep_percent, f"=B{block.kept}*C{block.base}/100"))
        if block.out:
            left = [f"-C{row}" for row in (block.returned, block.boiled, block.kept) if row]
            rows.append(("goes on", block.out, "", f"=C{block.total}{''.join(left)}"))
        if block.part:
            uses = [f"C{user.row(name)}" + (f"*C{user.part}" if user.part else "") for user in self._users(name)]
            uses += [f"C{self.final.row(name)}"] if name in self.final.lines else []
            ripe = "".join(f"-C{row}" for row in (block.returned, block.boiled) if row)
            rows.append(
                ("part of it that ends in the dough", block.part, "", f"=({'+'.join(uses)})/(C{block.total}{ripe})")
            )
        return tuple(rows)

    # -- the final dough -------------------------------------------------------------------------------------------

    def _brought(self, row: int) -> list[str]:
        """Return what the stages bring of an overall line, a term for each line that is weighed into them."""
        terms: list[str] = []
        counts = iter(self.formula.table.counts)
        for column in self.formula.table.columns[:-1]:
            block, stage, _ = self._stage(column.name)
            for line in column.lines:
                for place, factor in next(counts):
                    if place != row or not factor:
                        continue
                    term = f"C{block.row(line)}"
                    if line == column.boiled_line:
                        term = f"({term}-C{block.boiled})"
                    elif stage.culture and stage.culture.counted == "split" and self._is_culture(line):
                        term += self._split(block, stage, line, row, factor / column.carried)
                    terms.append(term + (f"*C{block.part}" if block.part else ""))
        return terms

    def _split(self, block: Block, stage: Stage, culture: str, row: int, share: float) -> str:
        """Return the share of a ripe culture that counts as an overall line: its own formula's, or that of its stage."""
        if stage.culture and stage.culture.percents:
            return f"*{share!r}"
        find = self.formula.catalogue.find
        stages = {each.name for each in self.formula.stages}
        own = [line for line in block.lines if line not in stages and line != culture]
        name = find(self.whole.lines[row]).name
        line = next(line for line in own if find(line).name == name)
        return f"*B{block.row(line)}/({_sum('B', [block.row(each) for each in own])})"

    def _is_culture(self, line: str) -> bool:
        catalogue = self.formula.catalogue
        return line in catalogue and catalogue.find(line).kind == "culture"

    def final_weight(self, line: str) -> str:
        """Return the formula for a line of the final dough: what the stages leave of it, or what a stage hands on."""
        for block in self.stages:
            if block.name == line:
                uses = "".join(f"-C{user.row(line)}" for user in self._users(line))
                return f"={block.handed_on}{uses}"
        find = self.formula.catalogue.find
        name = find(line).name
        row = next(place for place, whole in enumerate(self.whole.lines) if find(whole).name == name)
        return f"=C{self.whole.first + row}" + "".join(f"-{term}" for term in self._brought(row))

    def final_percent(self, row: int) -> str:
        """Return the formula for a percentage of the final dough's own flour, or nothing where it has none."""
        flours = self._flours(self.final)
        return f"=100*C{row}/({_sum('C', flours)})" if flours else ""


def _sum(column: str, rows: list[int]) -> str:
    return "+".join(f"{column}{row}" for row in rows)


def live_formula(formula: Formula, top: int) -> Live:
    """Lay a formula out for a spreadsheet, block below block.

    Args:
        formula: the bread.
        top: the row of the first block's title.
    """
    whole = Block("whole", tuple(formula.table.overall), top, top + _HEAD)
    named = {stage.name: stage for stage in formula.stages}
    blocks: list[Block] = []
    row = whole.end + 2
    for column in formula.table.columns[:-1]:
        stage = named[column.name]
        size = row + 1 if stage.is_sized else 0
        base = row + 1 + bool(size)
        first = base + _HEAD
        places: dict[str, int] = {}
        below = first + len(column.lines) + 1
        is_less = bool(column.returned or column.boiled_off or column.kept)
        for name, is_there in (
            ("returned", bool(column.returned)),
            ("boiled", bool(column.boiled_off)),
            ("kept", bool(column.kept)),
            ("out", is_less),
            ("part", abs(column.carried - 1) > 1e-12),
        ):
            if is_there:
                places[name] = below
                below += 1
        blocks.append(Block(column.name, column.lines, row, first, size=size, base=base, **places))
        row = blocks[-1].end + 2
    return Live(formula, whole, tuple(blocks), Block(FINAL, formula.table.columns[-1].lines, row, row + _HEAD))
