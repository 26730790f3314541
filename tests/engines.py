"""Two ways to one number: which pairs are held to each other, on which grid, and how far they may part.

``tests/test_engines.py`` walks every grid; the page of trust lists the pairs.  What a pair needs beyond the library is
imported late, since the pages are built where it may be missing.
"""

import math
from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import pairwise, product
from typing import Any, cast

from attrs import frozen

from formula.balance import balanced_water_c
from formula.conduction import Shape, excess
from formula.dose import dose_for
from formula.formula import Formula
from formula.ice import ice_for
from formula.netweight import below_share, mean_for_limit_g
from formula.rates import GasCurve
from formula.schedule import Schedule
from formula.stage import Stage
from formula.steps import Cool, Hold, Ramp
from formula.threeways import water_three_ways
from formula.water import water_temperature_c

Apart = Iterator[float]
"""How far apart the two ways are at each point of a grid, in the unit of the band."""


@frozen
class Pair:
    """Two ways to one number, the grid they are tested on, and the band."""

    question: str
    one: str
    other: str
    grid: str
    band: float
    unit: str
    apart: Callable[[], Apart]
    models: bool = False
    """Whether two models of the world are compared: then the band is as narrow as the grid lets it be."""

    def says(self) -> tuple[str, str, str, str, str]:
        """Return its row."""
        return self.question, self.one, self.other, self.grid, f"{self.band:g} {self.unit}".strip()


def _alike() -> Apart:
    """N equal heat capacities, whose heat Q warms each by Q / (N C): the friction factor is N times that."""
    for count, flour_c, dough_c, friction_k in product((2, 3, 4, 7), (2.0, 20.0, 38.0), (18.0, 26.0), (0.0, 8.0, 25.0)):
        known_c = tuple(flour_c + 1.5 * place for place in range(count - 1))
        balance_c = balanced_water_c(dough_c, (1.84,) * (count - 1), known_c, friction_k * 1.84, 1.84)
        yield abs(balance_c - water_temperature_c(dough_c, known_c, friction_k))


def _another_day() -> Apart:
    from tests.test_threeways import BIGA, BIGA_TRIAL  # needs pytest

    for flour, room, biga in product((5, 15, 20, 28, 35), (15, 21, 32), (4, 18, 26)):
        found = water_three_ways(
            BIGA,
            target="25 °C",
            trial=BIGA_TRIAL,
            flour=f"{flour} °C",
            room=f"{room} °C",
            stages={"biga": f"{biga} °C"},
        )
        if found.moved_k:
            yield abs(found.rule_c - found.balance_c) / found.moved_k


def _growing() -> Apart:
    """The trade's bulk of 2 h at 26 °C with 2 % of fresh yeast, for another time: the inverse rule over growth."""
    old = Schedule(Hold("2 h", "26 °C"))
    for hours, dose_percent in product((1, 2, 3, 4, 6, 8), (0.5, 1.0, 2.0, 4.0)):
        new = Schedule(Hold(f"{hours} h", "26 °C"))
        without, grown = (dose_for(dose_percent, old, new, growth) for growth in (0.0, 1.0))
        yield max(without / grown, grown / without)


def _lumped() -> Apart:
    for shape, biot, times in product(_SHAPES, (1e-4, 0.001, 0.01, 0.05, 0.1), (0.05, 0.3, 1.0, 2.0, 4.0)):
        fourier = times / (_DIRECTIONS[shape] * biot)
        for place in (None, 0.0, 0.5, 1.0):
            yield abs(excess(shape, biot, fourier, place) - math.exp(-times)) / biot


def _cells() -> Apart:
    from tests.test_conduction import Grid

    for shape, biot in product(_SHAPES, (0.3, 1.5, 8.0)):
        cells = Grid(shape, biot)
        for fourier in (0.02, 0.1, 0.5, 2.0):
            here = cells.excess(fourier)
            for place, found in zip(cells.centres[::5], here[::5], strict=True):
                yield abs(float(found) - excess(shape, biot, fourier, float(place)))
            yield abs(float(cells.shares @ here) - excess(shape, biot, fourier, None))


def _hours() -> Apart:
    from scipy.integrate import quad

    rate = GasCurve()
    for low, high, hours in product((2, 10, 18), (24, 30), (0.5, 3, 16)):
        for leg in (
            Hold(f"{hours} h", f"{high} °C"),
            Ramp(f"{hours} h", start=f"{low} °C", to=f"{high} °C"),
            Cool(f"{hours} h", start=f"{high} °C", to=f"{low} °C", tau="1.5 h"),
        ):
            ends = [0.0, *leg.times_at(rate.edges_c), leg.time_h]
            whole = math.fsum(
                quad(lambda t, leg=leg: rate.at(leg.temperature_c(t)), at, to, epsabs=1e-14, epsrel=1e-12)[0]
                for at, to in pairwise(ends)
            )
            yield abs(leg.sum_h(rate) / whole - 1)


def _fractions() -> Apart:
    """Flour of the stage and of the final dough, its water and its yeast, in exact fractions beside the batch."""
    for water, size, stiff in product((55, 68, 85.5), (5, 33.3, 50), (48, 100)):
        lines = {"bread flour": 100, "water": water, "salt": 2, "fresh yeast": 1}
        stage = Stage("sponge", {"bread flour": 100, "water": stiff, "fresh yeast": 0.2}, flour=f"{size} %")
        batch = Formula.from_percents("Drawn", lines, stages=[stage]).scale(dough="93 kg")
        flour = Fraction(93_000) * 100 / sum(Fraction(str(value)) for value in lines.values())
        share = Fraction(str(size)) / 100
        expected = {
            "bread flour": flour * (1 - share),
            "water": flour * (Fraction(str(water)) - share * stiff) / 100,
            "fresh yeast": flour * (1 - share * Fraction("0.2")) / 100,
            "salt": flour * 2 / 100,
        }
        for name, exact in expected.items():
            yield float(abs(Fraction(batch.mass_g(name, stage="final")) / exact - 1))


def _degrees() -> Apart:
    for tap_f, wanted_f, keep in product((50, 64, 75), (33, 40, 49.5), ("total", "water")):
        how = cast("Any", keep)
        in_f = ice_for("20 lb", tap=f"{tap_f} °F", wanted=f"{wanted_f} °F", keep=how)
        tap_c, wanted_c = ((value - 32) / 1.8 for value in (tap_f, wanted_f))
        in_c = ice_for("20 lb", tap=f"{tap_c:.10f} °C", wanted=f"{wanted_c:.10f} °C", keep=how)
        yield abs(in_f.ice_g / in_c.ice_g - 1)


def _light_packs() -> Apart:
    from scipy.integrate import quad

    for limit_g, sd_g, z in product((388.0, 785.0), (2.0, 5.0, 14.0), (0.5, 1.96, 3.72)):
        mean_g = mean_for_limit_g(limit_g, sd_g, z)

        def bell(mass_g: float, mean_g: float = mean_g, sd_g: float = sd_g) -> float:
            return math.exp(-(((mass_g - mean_g) / sd_g) ** 2) / 2) / (sd_g * math.sqrt(2 * math.pi))

        below = quad(bell, mean_g - 12 * sd_g, limit_g, epsabs=0, epsrel=1e-11, limit=200)[0]
        yield abs(below_share(limit_g, mean_g, sd_g) / below - 1)


_SHAPES: tuple[Shape, ...] = ("slab", "cylinder", "sphere")
_DIRECTIONS = {"slab": 1, "cylinder": 2, "sphere": 3}

PAIRS = (
    Pair(
        "water temperature", "factor rule", "heat balance, all heat capacities one and friction the work",
        "2 to 7 temperatures from 2 to 47 °C, dough of 18 and 26 °C, friction of 0 to 25 K", 1e-12, "K", _alike,
    ),
    Pair(
        "water temperature, on another day than the trial's", "factor rule", "heat balance",
        "flour of 5 to 35 °C, a room of 15 to 32 °C, a biga of 4 to 26 °C", 1.0, "K for each K that they moved", _another_day,
        models=True,
    ),
    Pair(
        "yeast for another time", "inverse rule", "growth of the yeast",
        "0.5 to 4 % for 2 h at 26 °C; then 1 to 8 h", 1.8, "times", _growing, models=True,
    ),
    Pair(
        "cooling of a small piece", "Newton's law", "series of conduction",
        "three shapes, Biot numbers of 0.0001 to 0.1, 0.05 to 4 time constants", 0.35, "of the first difference for each Biot number", _lumped,
        models=True,
    ),
    Pair(
        "cooling of any piece", "series of conduction", "200 cells that give heat to each other",
        "three shapes, Biot numbers of 0.3 to 8, Fourier numbers of 0.02 to 2", 5e-5, "of the first difference", _cells,
    ),
    Pair(
        "hours at one temperature", "closed form", "adaptive quadrature",
        "held, ramps and cooling between 2 and 30 °C, 0.5 to 16 h", 1e-12, "of the hours", _hours,
    ),
    Pair(
        "a final dough beside its stage", "floats", "exact fractions",
        "water of 55 to 85.5 %, stages of 5 to 50 % of the flour", 1e-12, "of the weight", _fractions,
    ),
    Pair(
        "ice", "in °C", "in °F", "a tap of 50 to 75 °F, water of 33 to 49.5 °F, both ways of counting", 1e-8, "of the ice", _degrees,
    ),
    Pair(
        "share of light packs", "error function", "adaptive quadrature of the bell curve",
        "spreads of 2 to 14 g, limits 0.5 to 3.72 of them below the mean", 1e-12, "of the share", _light_packs,
    ),
)  # fmt: skip
"""The pairs that are walked through on a grid."""

ELSEWHERE = (
    ("dough temperature", "constant specific heats", "water by IAPWS-95, flour by its composition",
     "hydration of 55 and 80 %, flour of 0 to 35 °C, water of 2 to 50 °C, work of 0 to 39 kJ/kg", "0.1 K",
     "tests/test_heat.py", "test_constant_specific_heats_move_the_dough_by_less_than_a_tenth_of_a_kelvin"),
    ("fermentation of a schedule where yeast grows", "closed form and sums", "the equations solved step by step",
     "six schedules, two doses, three strengths of growth", "1e-8", "tests/test_growth.py", "test_fermentation_solves_the_equations"),
    ("plus-minus of a dough", "propagation", "sampling", "a summer's water and a dough, 100,000 draws each", "1 %",
     "tests/test_uncertainty.py", "test_sampling_agrees"),
    ("overall formula of any stages", "floats", "exact fractions", "random breads, three stages deep", "1e-9",
     "tests/laws/test_formula.py", "exactly"),
    ("order of the mixes", "solver", "every order tried", "two to five breads", "the same lateness",
     "tests/laws/test_optimum.py", "by_all_orders"),
    ("weights of a sheet", "`scale`", "LibreOffice recalculates the workbook", "breads of the harbour and random ones", "1e-9",
     "tests/test_livesheet.py", "soffice"),
    ("a working", "the library", "the tests' own arithmetic, step by step, with units", "every result that has one", "1e-9",
     "tests/arithmetic.py", "check_working"),
)  # fmt: skip
"""Pairs that tests of their own hold: question, one way, other way, grid, band, and the file with a word that stands in it."""


def listed() -> list[tuple[str, str, str, str, str]]:
    """Return all pairs as rows."""
    others = [(question, one, other, grid, band) for question, one, other, grid, band, _, _ in ELSEWHERE]
    return [pair.says() for pair in PAIRS] + others
