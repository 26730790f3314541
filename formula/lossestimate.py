"""The bake loss of another size or shape, from one that is known.

Water leaves through the skin, so a loaf with more skin for its mass loses a larger share: small, long, thin.  The share
goes with a power of surface over mass.  The power is fitted to what is printed, where it is poorly known; with the power 1
("geometric") the share simply goes with the skin, for like shapes with mass^(-1/3).  Grams lost rise with the mass all the
same.  For wheat loaves of 650 to 1000 g there is also a straight line between dough and bread, ``wheat_loaf``.
"""

from __future__ import annotations

from typing import ClassVar, Final, Literal, get_args

from attrs import frozen

from .errors import Fault, QuantityError, cited
from .losses import On, bread_mass_g, share_on_dough
from .quantity import MASS, SHARE, Door, Measure, View, write
from .readerunits import with_units
from .shape import Loaf, LoafShape, read_shape
from .sources import Constant
from .working import Caution, Step, Working, shown

__all__ = [
    "EXPONENT",
    "EXPONENT_BAND",
    "LossEstimate",
    "WheatLoaf",
    "estimate_loss",
    "line_bread_g",
    "line_dough_g",
    "scaled_share",
    "wheat_loaf",
]

Method = Literal["fitted", "geometric"]

EXPONENT: Final = Constant(
    1.12, "1", 0.15, "loss-exponent-fit", "all twelve rows; the uncertainty is the standard error of the pooled fit"
)
EXPONENT_BAND: Final = (
    Constant(0.41, "1", 0.13, "loss-exponent-fit", "without the rows of 1897, from four breads of two sources"),
    Constant(1.31, "1", 0.07, "loss-exponent-fit", "without the French slides, from two sources"),
)
"""The least and the most that comes out when one source is left out; the sources disagree far beyond the error of the fit."""
FIT_RANGE_G: Final = (
    Constant(180.0, "g", 0.0, "loss-exponent-fit", "dough of the smallest bread fitted"),
    Constant(4560.0, "g", 0.0, "loss-exponent-fit", "dough of the largest bread fitted"),
)
FIT_RATIO: Final = Constant(
    2.5, "1", 0.0, "loss-exponent-fit", "the largest ratio of surface over mass within one source"
)
GEOMETRIC: Final = 1.0
MOST_PRINTED: Final = Constant(
    0.401, "1", 0.0, "boutroux-1897", "a ring of 1 kg, the largest loss that is printed for bread"
)

LINE_START_G: Final = Constant(45.654, "g", 0.0, "bocevska-dough-mass", "dough = 45.654 + 1.0624 * bread")
LINE_SLOPE: Final = Constant(1.0624, "1", 0.0, "bocevska-dough-mass", "dough = 45.654 + 1.0624 * bread")
LINE_RANGE_G: Final = (
    Constant(650.0, "g", 0.0, "bocevska-dough-mass", "the smallest pieces weighed"),
    Constant(1000.0, "g", 0.0, "bocevska-dough-mass", "the largest pieces weighed"),
)


def scaled_share(known_share: float, ratio: float, exponent: float) -> float:
    """Return a loss at another surface over mass: known * ratio^p.

    Args:
        known_share: the known loss, a fraction of the dough.
        ratio: the new surface over mass, over the known one.
        exponent: p.

    Example:
        >>> scaled_share(0.125, 2.0, 1.0)
        0.25
    """
    power: float = ratio**exponent
    return known_share * power


def line_dough_g(bread_g: float) -> float:
    """Return the dough behind a wheat loaf, g: 45.654 + 1.0624 * bread.

    Args:
        bread_g: the bread 3 h after baking, g.

    Example:
        >>> round(line_dough_g(800.0), 1)
        895.6
    """
    return LINE_START_G.value + LINE_SLOPE.value * bread_g


def line_bread_g(dough_g: float) -> float:
    """Return the wheat loaf that comes of a dough, g: (dough - 45.654) / 1.0624.

    Args:
        dough_g: the dough on the divider's scale, g, more than 45.654.

    Example:
        >>> round(line_bread_g(900.0), 1)
        804.2
    """
    return (dough_g - LINE_START_G.value) / LINE_SLOPE.value


@frozen
class LossEstimate:
    """A bake loss reckoned from a known one: ``loss``, from ``low`` to ``high``, all as shares of the dough.

    Good wherever a loss is asked for: ``Losses(bake=found.loss)``.
    """

    given_share: float
    on: On
    known: Loaf
    new: Loaf
    method: Method | Literal["own"]
    exponent: float
    exponent_low: float
    exponent_high: float
    known_share: float
    loss_share: float
    low_share: float
    high_share: float
    cautions: tuple[Caution, ...] = ()

    given: ClassVar[View] = View(SHARE, "given_share", "The known loss on the base it was given on.")
    known_loss: ClassVar[View] = View(SHARE, "known_share", "The known loss, on the dough.")
    loss: ClassVar[View] = View(SHARE, "loss_share", "The loss of the new loaf, on the dough.")
    low: ClassVar[View] = View(SHARE, "low_share", "The lower end of the band.")
    high: ClassVar[View] = View(SHARE, "high_share", "The upper end of the band.")
    lost: ClassVar[View] = View(MASS, "lost_g", "What a piece loses.")
    bread: ClassVar[View] = View(MASS, "bread_g", "The bread of the new loaf.")

    @property
    def ratio(self) -> float:
        """Surface over mass of the new loaf, over that of the known one."""
        return self.new.surface_per_mass_m2_kg / self.known.surface_per_mass_m2_kg

    @property
    def lost_g(self) -> float:
        """What a piece of the new loaf loses, g."""
        return self.new.mass_g * self.loss_share

    @property
    def bread_g(self) -> float:
        """The bread of the new loaf, g."""
        return bread_mass_g(self.new.mass_g, 1 - self.loss_share)

    def working(self) -> Working:
        """Show the steps; the last line is the loss of the new loaf."""
        steps: list[Step] = []
        if self.on == "bread":
            on_bread = {"loss_on_bread": self.given_share}
            turned = "loss_on_bread / (1 + loss_on_bread)"
            steps.append(
                Step("loss_known", turned, on_bread, self.known_share, "1", note="from the bread to the dough")
            )
        steps += self.known.surface_steps("_known")
        steps += self.new.surface_steps("_new")
        surfaces = {"S_new": self.new.surface_per_mass_m2_kg, "S_known": self.known.surface_per_mass_m2_kg}
        base = {"loss_known": self.known_share, "r": self.ratio}
        power = {**base, "p": self.exponent}
        fitted = EXPONENT.source if self.method == "fitted" else ""
        steps.append(Step("r", "S_new / S_known", surfaces, self.ratio, "1", note="skin for the mass, new over known"))
        if self.exponent_low != self.exponent_high:
            low, high = sorted((self.exponent_low, self.exponent_high), key=lambda p: self.ratio**p)
            ends = (("loss_low", "p_low", low, self.low_share), ("loss_high", "p_high", high, self.high_share))
            for symbol, name, exponent, share in ends:
                expression = f"min(1, loss_known * r ** {name})"
                steps.append(Step(symbol, expression, {**base, name: exponent}, share, "1", fitted))
        note = {"fitted": "p fitted to printed losses", "geometric": "in proportion to the skin", "own": "p as given"}
        steps.append(
            Step(
                "loss",
                "loss_known * r ** p",
                power,
                self.loss_share,
                "1",
                fitted,
                note=f"of the dough; {note[self.method]}",
            )
        )
        told = {"1": "loss_on_bread loss_known r p"}
        return Working("Bake loss of another loaf", with_units(steps, told), self.cautions)


def estimate_loss(
    loss: Measure,
    *,
    known: Measure,
    new: Measure,
    shape: str | LoafShape = "round",
    new_shape: str | LoafShape | None = None,
    on: On = "dough",
    method: Method = "fitted",
    exponent: float | None = None,
) -> LossEstimate:
    """Estimate the bake loss of another size or shape: loss_new = loss_known * (S_new / S_known)^p, S surface over mass.

    Args:
        loss: the known bake loss, a share.
        known: the dough of the loaf that has it, a mass on the divider's scale.
        new: the dough of the loaf to come, a mass.
        shape: the known loaf's shape: "round", "roll", "long", "flat", "ring" or "pan", or a ``LoafShape`` with its own
            proportions.
        new_shape: the new loaf's; the same if left out.
        on: whether the known loss is a share of the "dough" or of the "bread"; the answer is of the dough.
        method: "fitted", p = 1.12 from printed losses with a band from 0.41 to 1.31, or "geometric", p = 1 and no band:
            then like shapes go with mass^(-1/3).
        exponent: a p of your own, from two losses that you weighed; instead of a method.

    Raises:
        QuantityError: a bad share or mass, a loss of the whole dough, an unknown shape, method or base, all of
            them at once; an answer that leaves no bread.

    Range and accuracy: rough.  The three sources that the power is fitted to ask for 0.36, 1.31 and 1.41.  Predicted from
    one another by a power fitted without their source, half of the printed losses come out within a factor of 1.35, and
    the worst 2.35 times too high or too low.  The same oven, crust and dough are taken for granted; rolls, which are baked
    for a shorter time, lie at the lower end or below.  Weigh the new bread.

    Example:
        >>> found = estimate_loss("11 %", known="900 g", new="450 g")
        >>> round(100 * found.loss_share, 1), round(100 * found.low_share, 1), round(100 * found.high_share, 1)
        (14.2, 12.1, 14.9)
    """
    with Door() as door:
        given = door.read(SHARE, loss, "loss")
        known_g = door.read_above_zero(MASS, known, "known")
        new_g = door.read_above_zero(MASS, new, "new")
        old_shape = read_shape(door, shape, "shape")
        to_shape = old_shape if new_shape is None else read_shape(door, new_shape, "new_shape")
        if on not in get_args(On):
            door.refuse("on", cited(on), 'one of "dough", "bread"')
        if method not in get_args(Method):
            door.refuse("method", cited(method), 'one of "fitted", "geometric"')
        p, p_low, p_high = _exponents(door, method, exponent)
        share = share_on_dough(given) if on == "bread" else given
        if share >= 1:
            mend = 'a loss counted on the weight of bread is written with on="bread"'
            door.refuse("loss", write(SHARE, given), "a loss below 100 % of the dough", mend)
    old_loaf, new_loaf = Loaf(known_g, old_shape), Loaf(new_g, to_shape)
    ratio = new_loaf.surface_per_mass_m2_kg / old_loaf.surface_per_mass_m2_kg
    found = scaled_share(share, ratio, p)
    if found >= 1:
        got = f"a loaf with {shown(ratio, 3)} times the skin for its mass, which would lose {shown(found * 100, 3)} %"
        mend = "the rule does not reach so far from the known loaf"
        raise QuantityError(Fault("new", got, "a loaf that is still bread", mend))
    ends = sorted(min(1.0, scaled_share(share, ratio, end)) for end in (p_low, p_high))
    return LossEstimate(
        given_share=given,
        on=on,
        known=old_loaf,
        new=new_loaf,
        method="own" if exponent is not None else method,
        exponent=p,
        exponent_low=p_low,
        exponent_high=p_high,
        known_share=share,
        loss_share=found,
        low_share=ends[0],
        high_share=ends[1],
        cautions=tuple(_doubts(found, old_loaf, new_loaf, fitted=exponent is None)),
    )


def _exponents(door: Door, method: str, exponent: object) -> tuple[float, float, float]:
    """Return the exponent and the ends of its band."""
    if exponent is None:
        if method == "geometric":
            return GEOMETRIC, GEOMETRIC, GEOMETRIC
        low, high = EXPONENT_BAND
        return EXPONENT.value, low.value, high.value
    own = door.read_number(exponent, "exponent", 0.0, 3.0)
    return own, own, own


def _doubts(share: float, known: Loaf, new: Loaf, *, fitted: bool) -> list[Caution]:
    text = "A loss for another size or shape is a rough estimate: weigh the new bread before a promised weight rests on it."
    found = [Caution("rough-estimate", text)]
    least, most = (end.value for end in FIT_RANGE_G)
    ratio = new.surface_per_mass_m2_kg / known.surface_per_mass_m2_kg
    inside = least <= min(known.mass_g, new.mass_g) and max(known.mass_g, new.mass_g) <= most
    if fitted and not (inside and 1 / FIT_RATIO.value <= ratio <= FIT_RATIO.value):
        text = (
            f"The rule was fitted to doughs of {shown(least)} to {shown(most)} g and to surfaces no more than"
            f" {shown(FIT_RATIO.value)} times as large for their mass; rolls lose less than it says, for they are baked for a"
            " shorter time."
        )
        found.append(Caution("outside-fit", text))
    if share > MOST_PRINTED.value:
        text = (
            f"A loss of {shown(share * 100, 3)} % is more than is printed of any bread"
            f" ({shown(MOST_PRINTED.value * 100)} %): it would be dried out."
        )
        found.append(Caution("beyond-print", text))
    if known.shape.name != new.shape.name and "pan" in (known.shape.name, new.shape.name):
        text = (
            f"How much of the skin behind a pan's walls counts is our assumption, here"
            f" {shown(100 * (known if known.shape.name == 'pan' else new).shape.proportions['open_walls'], 3)} %:"
            " try 0 % and 100 %, or weigh."
        )
        found.append(Caution("pan-walls", text))
    return found


@frozen
class WheatLoaf:
    """A wheat loaf on the printed line between dough and bread 3 h after baking."""

    dough_g: float
    bread_g: float
    sought: Literal["dough", "bread"]
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough on the divider's scale.")
    bread: ClassVar[View] = View(MASS, "bread_g", "The bread, 3 h after baking.")
    loss: ClassVar[View] = View(SHARE, "loss_share", "The loss, of the dough.")

    @property
    def loss_share(self) -> float:
        """The loss as a fraction of the dough."""
        return 1 - self.bread_g / self.dough_g

    def working(self) -> Working:
        """Show the steps; the last line is what was sought."""
        line = {"a": LINE_START_G.value, "b": LINE_SLOPE.value}
        if self.sought == "dough":
            step = Step("dough", "a + b * bread", line | {"bread": self.bread_g}, self.dough_g, "g", LINE_SLOPE.source)
        else:
            step = Step(
                "bread", "(dough - a) / b", line | {"dough": self.dough_g}, self.bread_g, "g", LINE_SLOPE.source
            )
        told = {"g": "a bread dough", "1": "b"}
        return Working("A wheat loaf by the printed line", with_units([step], told), self.cautions)


def wheat_loaf(*, dough: Measure | None = None, bread: Measure | None = None) -> WheatLoaf:
    """Find the dough for a wheat loaf, or the loaf from its dough, by a printed line: dough = 45.654 g + 1.0624 * bread.

    Args:
        dough: one piece on the divider's scale, a mass; or
        bread: one loaf 3 h after baking, a mass.

    Raises:
        QuantityError: when not exactly one of them is given, or the dough is too light for the line.

    Range and accuracy: pieces of 650 to 1000 g of wheat dough, R² = 0.99; outside a caution says so.  Only the abstract of
    the paper was read.

    Source: bocevska-dough-mass.

    Example:
        >>> found = wheat_loaf(bread="800 g")
        >>> round(found.dough_g, 1), round(100 * found.loss_share, 1)
        (895.6, 10.7)
    """
    with Door() as door:
        if (dough is None) == (bread is None):
            door.refuse("loaf", "both" if dough is not None else "neither", "dough or bread", "give one of the two")
            door.close()
        given_g = door.read_above_zero(MASS, dough, "dough") if dough is not None else 0.0
        if dough is not None and given_g <= LINE_START_G.value:
            expected = f"more than {LINE_START_G.value} g, where the line begins"
            door.refuse("dough", write(MASS, given_g), expected, "the line is for pieces of 650 to 1000 g")
        bread_g = line_bread_g(given_g) if bread is None else door.read_above_zero(MASS, bread, "bread")
    dough_g = given_g if dough is not None else line_dough_g(bread_g)
    least, most = (end.value for end in LINE_RANGE_G)
    found: tuple[Caution, ...] = ()
    if not least <= dough_g <= most:
        text = f"{shown(dough_g, 4)} g of dough lies outside the pieces of {shown(least)} to {shown(most)} g that were weighed."
        found = (Caution("outside-range", text),)
    return WheatLoaf(dough_g=dough_g, bread_g=bread_g, sought="bread" if dough is not None else "dough", cautions=found)
