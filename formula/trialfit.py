"""Friction from trials: the mean of many measured mixes, how far it can be trusted, and which of them do not fit.

Every trial gives a friction factor of its own.  Their mean is the least-squares answer; where the mixing times differ, a
rate for each minute is fitted through zero instead.  The band says where the next mix's own factor falls nineteen times
in twenty, if it is like these.  A trial that stands apart is named, and left out only if that is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from statistics import fmean, median
from typing import ClassVar, Final, Literal, get_args

from attrs import frozen

from .errors import Fault, QuantityError, cited
from .friction import FACTOR_RULE, RISE_RULE, Friction, check_count, count_fault
from .mixtime import minutes_of
from .quantity import DIFFERENCE, MASS, TIME, Door, Measure, OptionalView
from .readerunits import with_units
from .spread import alike, fitted_rate, outlying, student_t95
from .trialdoubts import UNEQUAL, trial_cautions
from .trials import MOST_TRIALS, Trial
from .working import Caution, Step, Working, shown, summed_steps

__all__ = ["TrialFriction", "friction_from_trials"]

By = Literal["mean", "time"]

_READING_K: Final = 0.5
"""A spread smaller than this comes from reading the thermometer to half a degree: it makes no outliers."""


@frozen
class TrialFriction(Friction):
    """The friction factor that trials add up to, on the scale of ``count`` temperatures; good wherever one is asked for.

    ``standard_deviation_k`` is the spread of the trials, ``standard_error_k`` the doubt about ``friction``, ``low`` and
    ``high`` the band in which the next mix falls nineteen times in twenty; None with a single trial.  ``rate_k_per_min``
    belongs to a fit by time.  ``outliers`` are the places of trials that stand apart, counted from 1.  ``groups`` are the
    same answer for each mixer and speed, where there are several; ``sizes`` for each size of batch of one mixer and speed,
    from small to large, where the masses differ by more than a quarter; a trial without its mass is in none of them.
    """

    trials: tuple[Trial, ...]
    by: By
    count: int
    time_h: float | None
    friction_k: float
    rate_k_per_min: float | None
    standard_deviation_k: float | None
    standard_error_k: float | None
    low_k: float | None
    high_k: float | None
    outliers: tuple[int, ...]
    dropped: bool
    mixer: str = ""
    speed: str = ""
    groups: tuple[TrialFriction, ...] = ()
    sizes: tuple[TrialFriction, ...] = ()
    cautions: tuple[Caution, ...] = ()

    @property
    def masses_g(self) -> tuple[float, float] | None:
        """The smallest and the largest dough of the trials, g; None where no mass was written down."""
        known = [trial.mass_g for trial in self.trials if trial.mass_g is not None]
        return (min(known), max(known)) if known else None

    @property
    def mass_range(self) -> str:
        """The doughs of the trials in words, "40 to 44 kg"; empty where no mass was written down."""
        ends = dict.fromkeys(shown(mass_g / 1000, 4) for mass_g in self.masses_g or ())
        return f"{' to '.join(ends)} kg" if ends else ""

    time: ClassVar[OptionalView] = OptionalView(TIME, "time_h", "The time of mixing that a fit by time is for.")
    standard_deviation: ClassVar[OptionalView] = OptionalView(
        DIFFERENCE, "standard_deviation_k", "The spread of the trials."
    )
    standard_error: ClassVar[OptionalView] = OptionalView(DIFFERENCE, "standard_error_k", "The doubt about the factor.")
    low: ClassVar[OptionalView] = OptionalView(DIFFERENCE, "low_k", "The lower end of the band.")
    high: ClassVar[OptionalView] = OptionalView(DIFFERENCE, "high_k", "The upper end of the band.")

    @property
    def next_k(self) -> float | None:
        """The standard deviation of the next mix about the factor: the spread and the doubt together, K."""
        if self.standard_deviation_k is None or self.standard_error_k is None:
            return None
        return math.hypot(self.standard_deviation_k, self.standard_error_k)

    @property
    def kept(self) -> tuple[int, ...]:
        """The places of the trials that count, from 1."""
        places = range(1, len(self.trials) + 1)
        return tuple(place for place in places if not self.dropped or place not in self.outliers)

    def group(self, mixer: str, speed: str = "") -> TrialFriction:
        """Return the answer for one mixer and speed.

        Raises:
            QuantityError: when no trial was made with them.
        """
        for group in self.groups or (self,):
            if (group.mixer, group.speed) == (mixer, speed):
                return group
        known = "; ".join(_label(group.mixer, group.speed) for group in self.groups or (self,))
        raise QuantityError(Fault("group", repr(_label(mixer, speed)), f"one of: {known}"))

    def of_size(self, mass: Measure) -> TrialFriction:
        """Return the answer from the trials whose dough was as large, to a quarter more or less.

        Args:
            mass: the dough to be mixed.

        Raises:
            QuantityError: when there are several mixers or speeds, or no trial of such a size.

        Example:
            >>> sizes = [("14 °C", "12 kg"), ("12 °C", "80 kg")]
            >>> made = friction_from_trials(
            ...     Trial(flour="21 °C", room="23 °C", water=water, dough="25 °C", mass=mass) for water, mass in sizes
            ... )
            >>> made.of_size("10 kg").friction_k, made.of_size("85 kg").friction_k
            (17.0, 19.0)
        """
        with Door() as door:
            mass_g = door.read(MASS, mass, "mass")
            if self.groups:
                kinds = "; ".join(_label(group.mixer, group.speed) for group in self.groups)
                door.refuse(
                    "mass", "a size of several mixers", "one mixer and speed", f"take group(...) first: {kinds}"
                )
        near = [(_apart(size, mass_g), size) for size in self.sizes or (self,) if size.masses_g is not None]
        ratio, found = min(near, key=lambda pair: pair[0], default=(math.inf, self))
        if ratio > UNEQUAL:
            known = "; ".join(size.mass_range for _, size in near) or "no trial has its mass"
            raise QuantityError(
                Fault("mass", f"{shown(mass_g / 1000)} kg", f"a size that was tried: {known}", "make trials of it")
            )
        return found

    def for_count(self, count: int) -> TrialFriction:
        """Rescale everything to another number of temperatures: times count / old count, the dough's own rise kept.

        Raises:
            QuantityError: when ``count`` is no whole number of 2 or more.

        Example:
            >>> trial = Trial(flour="22 °C", room="22 °C", water="25 °C", dough="26 °C")
            >>> friction_from_trials([trial]).for_count(4).friction_k
            12.0
        """
        check_count(count)
        return _answer(self.trials, self.by, count, self.time_h, drop=self.dropped)

    def working(self) -> Working:
        """Show the steps; the last line is the friction factor."""
        steps: list[Step] = []
        for place in self.kept:
            trial = self.trials[place - 1]
            known = {f"{name}_{place}": value for name, value in trial.named_c.items()}
            own = trial.measured_count
            values = {
                f"N_{place}": float(own),
                f"T_dough_{place}": trial.dough_c,
                **known,
                f"T_water_{place}": trial.water_c,
            }
            expression = " - ".join((f"N_{place} * T_dough_{place}", *known, f"T_water_{place}"))
            if own != self.count:
                values["M"] = float(self.count)
                expression = f"({expression}) * M / N_{place}"
            source = FACTOR_RULE if own == self.count else RISE_RULE
            steps.append(Step(f"friction_{place}", expression, values, trial.factor_k(self.count), "K", source))
        steps += self._mean_steps() if self.by == "mean" else self._rate_steps()
        told = {"°C": "T", "1": "N M n", "min": "m minutes"}
        return Working(f"Friction factor from {len(self.kept)} trials", with_units(steps, told), self.cautions)

    def _mean_steps(self) -> list[Step]:
        factors = {f"friction_{place}": self.trials[place - 1].factor_k(self.count) for place in self.kept}
        steps, total_k = summed_steps("total", factors, unit="K")
        values = {"total": total_k, "n": float(len(factors))}
        return [
            *steps,
            Step("friction", "total / n", values, self.friction_k, "K", note="the mean, which is the best fit"),
        ]

    def _rate_steps(self) -> list[Step]:
        factors = {place: self.trials[place - 1].factor_k(self.count) for place in self.kept}
        minutes = {place: _minutes(self.trials[place - 1]) for place in self.kept}
        products = {f"m_{place} * friction_{place}": minutes[place] * factors[place] for place in self.kept}
        squares = {f"m_{place} * m_{place}": minutes[place] ** 2 for place in self.kept}
        names = {f"m_{place}": value for place, value in minutes.items()}
        names |= {f"friction_{place}": value for place, value in factors.items()}
        top, top_sum = summed_steps("S_mf", products, names, "min K")
        bottom, bottom_sum = summed_steps("S_mm", squares, names, "min2")
        rate = self.rate_k_per_min or 0.0
        sums = {"S_mf": top_sum, "S_mm": bottom_sum}
        wanted = {"rate": rate, "minutes": minutes_of(self.time_h or 0.0)}
        return [
            *top,
            *bottom,
            Step("rate", "S_mf / S_mm", sums, rate, "K/min", note="the best fit through zero"),
            Step("friction", "rate * minutes", wanted, self.friction_k, "K"),
        ]


def _label(mixer: str, speed: str) -> str:
    return f"{mixer or 'no mixer named'}{', ' if speed else ''}{speed}"


def _apart(size: TrialFriction, mass_g: float) -> float:
    """Return how many times larger or smaller than the doughs of these trials a dough is; 1 among them."""
    low, high = size.masses_g or (0.0, 0.0)
    return math.inf if mass_g == 0 else max(1.0, low / mass_g, mass_g / high)


def _minutes(trial: Trial) -> float:
    return minutes_of(trial.time_h or 0.0)


def friction_from_trials(
    trials: Iterable[Trial],
    *,
    by: By = "mean",
    time: Measure | None = None,
    count: int | None = None,
    drop_outliers: bool = False,
) -> TrialFriction:
    """Find the friction factor of a mixer from many trials: their mean, or a rate for each minute fitted through zero.

    Args:
        trials: what was measured, as ``Trial`` or from ``read_trials``.
        by: "mean", or "time" for friction = rate * minutes, which needs the time of every trial.
        time: for a fit by time, the time of the mixes to come; that of the mean trial if left out.
        count: N, the number of temperatures that the factor is for, that of the water included.  Trials of another
            number are rescaled, the dough's own rise kept; if left out, all must have the same.
        drop_outliers: leave out the trials that stand apart.  Otherwise they are named, and count.

    Returns:
        A factor that may be handed to ``water_temperature`` as ``friction=``, its standard deviation and error, the band
        of the next mix, outliers, and the same for each mixer and speed as ``groups``, each size of batch as ``sizes``.

    Raises:
        QuantityError: for every bad argument at once, no trial, trials of mixed counts without ``count``, or a fit by time
            with a time missing.

    Accuracy: a trial stands apart if it lies 3.5 robust standard deviations from the median of 4 or more.  The band is
    Student's, for trials that scatter like a bell; with 2 or 3 it is as wide as it should be, very wide.

    Example:
        >>> waters, doughs = ("12 °C", "13 °C", "11.5 °C"), ("25 °C", "25.5 °C", "25 °C")
        >>> made = friction_from_trials(
        ...     Trial(flour="21 °C", room="23 °C", water=water, dough=dough) for water, dough in zip(waters, doughs)
        ... )
        >>> round(made.friction_k, 3), round(made.standard_deviation_k, 3), made.count
        (19.333, 0.289, 3)
    """
    taken = tuple(trials)
    with Door() as door:
        strangers = [cited(trial) for trial in taken if not isinstance(trial, Trial)]  # pyright: ignore[reportUnnecessaryIsInstance]
        if strangers:
            door.refuse("trials", strangers[0], "trials", "make them with Trial(...) or read_trials")
        elif not taken:
            door.refuse("trials", "none", "at least one trial")
        elif len(taken) > MOST_TRIALS:
            door.refuse("trials", str(len(taken)), f"at most {MOST_TRIALS}", "keep the latest")
        else:
            _check_times(door, taken, by, time)
        if by not in get_args(By):
            door.refuse("by", repr(by), 'one of "mean", "time"')
        time_h = None if time is None else door.read(TIME, time, "time")
        counts = sorted({trial.measured_count for trial in taken if isinstance(trial, Trial)})  # pyright: ignore[reportUnnecessaryIsInstance]
        fault = None if count is None else count_fault(count)
        if fault is not None:
            door.faults.append(fault)
        elif count is None and len(counts) > 1:
            got = f"sums of {' and '.join(str(number) for number in counts)} temperatures"
            door.refuse("trials", got, "all of one number", f"say count={counts[0]} to rescale them")
    if by == "time" and time_h is None:
        time_h = fmean(trial.time_h for trial in taken if trial.time_h is not None)
    return _answer(taken, by, counts[0] if count is None else count, time_h, drop=drop_outliers)


def _check_times(door: Door, trials: tuple[Trial, ...], by: str, time: Measure | None) -> None:
    timeless = [str(place) for place, trial in enumerate(trials, 1) if trial.time_h is None]
    if by == "time" and timeless:
        door.refuse(
            "trials", f"no time of mixing in trial {', '.join(timeless[:10])}", "the time of each", 'or by="mean"'
        )
    if by == "mean" and time is not None:
        door.refuse("time", "a time for a mean", 'a time for by="time" only', "leave it out")


def _answer(trials: tuple[Trial, ...], by: By, count: int, time_h: float | None, *, drop: bool) -> TrialFriction:
    """Fit the trials, and those of each mixer and speed where there are several; in one, those of each size of batch."""
    kinds = list(dict.fromkeys((trial.mixer, trial.speed) for trial in trials))
    parts: list[tuple[Trial, ...]] = []
    if len(kinds) > 1:
        parts = [tuple(trial for trial in trials if (trial.mixer, trial.speed) == kind) for kind in kinds]
    else:
        weighed = [(trial, trial.mass_g) for trial in trials if trial.mass_g is not None]
        classes = alike([mass_g for _, mass_g in weighed], UNEQUAL)
        if len(classes) > 1:
            parts = [tuple(weighed[place][0] for place in places) for places in classes]
    answers = tuple(_answer(part, by, count, time_h, drop=drop) for part in parts)
    groups, sizes = (answers, ()) if len(kinds) > 1 else ((), answers)
    mixer, speed = kinds[0] if len(kinds) == 1 else ("", "")
    factors_k = [trial.factor_k(count) for trial in trials]
    minutes = [_minutes(trial) for trial in trials]
    typical = median(factor / time for factor, time in zip(factors_k, minutes, strict=True)) if by == "time" else 0.0
    over_k = [factor - typical * time for factor, time in zip(factors_k, minutes, strict=True)]
    outliers = outlying(over_k, _READING_K)
    kept = [place for place in range(len(trials)) if not (drop and place in outliers)]
    factors_k, minutes = [factors_k[place] for place in kept], [minutes[place] for place in kept]
    rate, friction_k, reach = None, fmean(factors_k), 1 / math.sqrt(len(kept))
    fitted_k = [friction_k] * len(kept)
    if by == "time" and time_h is not None:
        rate = fitted_rate(minutes, factors_k)
        friction_k = rate * minutes_of(time_h)
        fitted_k = [rate * time for time in minutes]
        reach = minutes_of(time_h) / math.hypot(*minutes)
    left_k = [factor - fit for factor, fit in zip(factors_k, fitted_k, strict=True)]
    deviation_k = error_k = low_k = high_k = None
    if len(kept) > 1:
        deviation_k = math.sqrt(math.fsum(value * value for value in left_k) / (len(kept) - 1))
        error_k = deviation_k * reach
        half_k = student_t95(len(kept) - 1) * math.hypot(deviation_k, error_k)
        low_k, high_k = friction_k - half_k, friction_k + half_k
    return TrialFriction(
        trials=trials,
        by=by,
        count=count,
        time_h=time_h,
        friction_k=friction_k,
        rate_k_per_min=rate,
        standard_deviation_k=deviation_k,
        standard_error_k=error_k,
        low_k=low_k,
        high_k=high_k,
        outliers=tuple(place + 1 for place in outliers),
        dropped=drop,
        mixer=mixer,
        speed=speed,
        groups=groups,
        sizes=sizes,
        cautions=(
            *trial_cautions(trials, outliers, count, left_k, alike_times=by == "time" or bool(groups), dropped=drop),
            *_part_cautions(groups, sizes),
        ),
    )


def _part_cautions(groups: tuple[TrialFriction, ...], sizes: tuple[TrialFriction, ...]) -> tuple[Caution, ...]:
    """Say that one answer for mixers, speeds or sizes that differ is worth less than that of the part."""
    if groups:
        kinds = "; ".join(_label(group.mixer, group.speed) for group in groups)
        text = f"One factor for several mixers or speeds ({kinds}): take that of the group."
        return (Caution("mixed-mixers", text),)
    if sizes:
        each = "; ".join(size.mass_range for size in sizes)
        text = f"A small dough is warmed otherwise than a large one: take of_size(...) for the batch to come ({each})."
        return (Caution("mixed-sizes", text),)
    return ()
