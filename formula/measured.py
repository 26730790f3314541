"""What a log has measured, for the other tools: trials for a mixer's friction, and the weights of pieces."""

from __future__ import annotations

from .day import DayPlan
from .daylog import Log
from .errors import Fault, QuantityError, UnknownNameError, cited
from .lines import Lines
from .quantity import MASS, TEMPERATURE, TIME, write
from .trials import Trial

__all__ = ["logged_masses", "logged_trials"]


def logged_trials(log: Log, day: DayPlan) -> tuple[Trial, ...]:
    """Return a trial for each mix of which flour, water and dough were measured, for ``friction_from_trials``.

    Args:
        log: its lines "mix begun" with flour, water, and if known room and preferments, and "mix ended" with dough.
        day: the day's mixes; from it the weight of the dough, and the mixer where the log does not name it.

    Returns:
        The trials in the order of the log; a mix with one of the three temperatures missing is none.

    Raises:
        UnknownNameError: a bread or mix that the day has not.
        QuantityError: a mix that ended before it began.

    The time of a trial is what the mixer ran; it is left out for a bread with an autolyse, which stands in between.

    Example:
        >>> from formula import load_day, plan_day, read_log
        >>> day = plan_day(*load_day("docs/examples/harbour"))
        >>> log = read_log("docs/examples/harbour-night.jsonl")
        >>> [(trial.water_c, trial.dough_c) for trial in logged_trials(log, day)]
        [(14.0, 25.0)]
    """
    ends = {(entry.bread, entry.mix): entry for entry in reversed(log.of("mix ended"))}
    found: list[Trial] = []
    for begun in log.of("mix begun"):
        ended = ends.get((begun.bread, begun.mix))
        if ended is None or begun.flour_c is None or begun.water_c is None or ended.dough_c is None:
            continue
        plan = next((plan for plan in day.breads if plan.name == begun.bread), None)
        mix = next((mix for mix in plan.mixes if mix.first <= (begun.mix or 0) <= mix.last), None) if plan else None
        if plan is None or mix is None:
            known = ", ".join(plan.name for plan in day.breads)
            fault = Fault(log.where(begun), cited(f"{begun.bread}, mix {begun.mix}", str), f"a mix of {known}")
            raise UnknownNameError(fault)
        minutes = ended.at.wall_min - begun.at.wall_min + 60 * (ended.at.again - begun.at.again)
        if minutes < 0:
            raise QuantityError(Fault(log.where(ended), str(ended), f"an end after {begun.at}"))
        soaks = any(stage.kind == "autolyse" for stage in plan.bread.stages)
        found.append(
            Trial(
                flour=write(TEMPERATURE, begun.flour_c),
                water=write(TEMPERATURE, begun.water_c),
                dough=write(TEMPERATURE, ended.dough_c),
                room=None if begun.room_c is None else write(TEMPERATURE, begun.room_c),
                preferments=[write(TEMPERATURE, celsius) for celsius in begun.preferments_c],
                mixer=begun.station or plan.mixer.name,
                time=write(TIME, minutes / 60) if minutes and not soaks else None,
                mass=write(MASS, mix.batch.dough_g),
            )
        )
    return tuple(found)


def logged_masses(log: Log) -> Lines[tuple[float, ...]]:
    """Return the weights of all pieces that were weighed, in g, bread by bread, in the order of the log.

    Args:
        log: its lines "pieces weighed".

    Example:
        >>> from formula.logentry import Entry
        >>> log = Log((Entry("03:10", "pieces weighed", bread="Quay Round", masses=["912 g", "0.908 kg"]),))
        >>> logged_masses(log)
        Lines({'Quay Round': (912.0, 908.0)})
    """
    found: dict[str, tuple[float, ...]] = {}
    for entry in log.of("pieces weighed"):
        found[entry.bread] = (*found.get(entry.bread, ()), *entry.masses_g)
    return Lines(found)
