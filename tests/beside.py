"""What the library finds beside each check value: one way for each table, used by the tests and by the page of accuracy."""

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any, cast

from attrs import frozen

from formula.balance import balanced_water_c, rise_from_work_k
from formula.basetemp import WaterFromBase, water_from_base
from formula.batch import Batch
from formula.capacity import component_cp_kj_kg_k, composition_cp_kj_kg_k
from formula.chill import Cooling, cooling
from formula.conduction import Shape, coefficient, eigenvalues
from formula.cooled import CoolingTime
from formula.correction import correct_water
from formula.files import load
from formula.formula import Formula
from formula.friction import friction_factor
from formula.growth import GROWTH_CURVE, yeast_growth
from formula.ice import ICE_HEAT_RATIO, ice_on_top_g, ice_replacing_g
from formula.losses import Losses
from formula.lossestimate import WheatLoaf, wheat_loaf
from formula.losstable import TypicalLoss, typical_losses
from formula.mixtime import friction_from_minutes
from formula.moisture import absorption_as_is, absorption_at_basis, on_basis, tempering_water_percent
from formula.netweight import target_mass
from formula.newton import cooling_from_reading
from formula.nutritiondraft import nutrition
from formula.nutritiontable import Nutrition
from formula.ordered import DoughForOrders, dough_for_orders
from formula.orders import Order
from formula.otherrates import Q10, SquareLaw
from formula.packrules import scale_interval, weight_rule
from formula.portion import divide
from formula.quantity import MASS, TEMPERATURE, read
from formula.rates import GasCurve, Rate
from formula.samplecheck import mean_factor
from formula.schedule import FermentStep, Schedule
from formula.souring import CURVES, growth_rate_per_h, optimum_c, ripening_time_h, share_from_starter
from formula.steps import Cool, Hold, Ramp
from formula.timing import yeast_for_time
from formula.units import ENERGY_PER_MASS
from formula.water import DoughTemperature, WaterTemperature, dough_temperature, water_temperature
from formula.yeast import convert_yeast, yeast_form
from tests.checkvalues import ORACLES, Row, read_rows


@frozen
class Beside:
    """A printed number, the library's beside it, and how far apart they may be."""

    row: str
    what: str
    printed: float
    found: float
    tolerance: float
    unit: str

    @property
    def miss(self) -> float:
        return abs(self.found - self.printed)

    @property
    def within(self) -> bool:
        # A hair for the sums of binary numbers; no tolerance is so small.
        return self.miss <= self.tolerance * (1 + 1e-9)


def _one(row: Row, found: float, unit: str = "", printed: str = "expected", what: str = "") -> Beside:
    return Beside(row["id"], what, float(row[printed]), found, float(row["tolerance"]), unit or row.get("unit", ""))


def _in(unit: str, grams: float) -> float:
    return grams / read(MASS, f"1 {unit}", "unit")


def pairs(text: str) -> dict[str, str]:
    """Read ``name=value; name=value``."""
    return dict(part.split("=", 1) for part in text.split("; ")) if text else {}


# -- formulas ----------------------------------------------------------------------------------------------------------


def typed(row: Row) -> Formula:
    """Type a printed formula as it stands there: in percent or in weights."""
    lines = pairs(row["lines"])
    if all(amount.replace(".", "").isdigit() for amount in lines.values()):
        return Formula.from_percents(row["id"], {name: float(amount) for name, amount in lines.items()})
    return Formula.from_weights(row["id"], lines)


def asked(formula: Formula, text: str) -> Batch:
    by = pairs(text)
    if "using" in by:
        name, weight = by["using"].split(" ", 1)
        return formula.scale(using={name: weight})
    if "pieces" in by:
        return formula.scale(pieces=int(by["pieces"]), piece=by["piece"])
    return formula.scale(dough=by.get("dough"), flour=by.get("flour"))


def _formulas(row: Row) -> Iterator[Beside]:
    formula = typed(row)
    batch = asked(formula, row["asked"]) if row["asked"] else None
    for what, printed in pairs(row["expected"]).items():
        number, unit = printed.split(" ", 1)
        if unit == "%":
            found = formula.total_percent if what == "total" else formula.percent(what)
        else:
            assert batch is not None
            found = _in(unit, {"dough": batch.dough_g, "flour": batch.flour_g}.get(what) or batch.mass_g(what))
        yield Beside(row["id"], what, float(number), found, float(row["tolerance"]), unit)


def _percent_of(formula: Formula, what: str) -> float:
    """Find a percentage: of all the flour, or "on base" of a stage's own flour, grain or seed."""
    if what == "prefermented":
        return formula.prefermented_flour
    stage, line = what.split(".", 1)
    if stage == "overall":
        return formula.total_percent if line == "total" else formula.percent(line)
    lines = formula.final if stage == "final" else next(s.percents for s in formula.stages if s.name == stage)
    if line == "on base":
        return sum(lines.values())
    return lines[line.removesuffix(" on base")]


def _stages(row: Row) -> Iterator[Beside]:
    formula = load(ORACLES / "printed" / row["file"])
    batch = asked(formula, row["asked"])
    for what, printed in pairs(row["expected"]).items():
        number, unit = printed.split(" ", 1)
        stage, _, line = what.partition(".")
        if unit == "%":
            found = _percent_of(formula, what)
        elif line == "total":
            found = _in(unit, batch.stages[stage].total_g)
        else:
            found = _in(unit, batch.mass_g(line, stage=None if stage == "overall" else stage))
        yield Beside(row["id"], what, float(number), found, float(row["tolerance"]), unit)


def _dividing(row: Row) -> Iterator[Beside]:
    made = divide(row["dough"], piece=row["piece"])
    yield Beside(row["id"], "pieces", float(row["expected_pieces"]), made.pieces, 0.0, "pieces")
    yield _one(row, _in(row["unit"], made.remainder_g), printed="expected_remainder", what="remainder")


def made_orders(row: Row) -> DoughForOrders:
    losses = Losses(**dict(part.split(" ", 1) for part in row["losses"].split("; ") if part))  # type: ignore[arg-type]
    bread = Formula.from_percents("Printed", {"bread flour": 100, "water": 70, "salt": 2}, losses=losses)
    lines = [line.split("x", 1) for line in row["orders"].split("; ")]
    return dough_for_orders([Order(bread, pieces=int(count), baked=weight) for count, weight in lines])


def _moisture(row: Row) -> Iterator[Beside]:
    relations = {"on_basis": on_basis, "absorption_at_basis": absorption_at_basis, "absorption_as_is": absorption_as_is}
    if row["relation"].startswith("hydration"):
        rich = Formula.from_percents("Rich", {"bread flour": 100, "water": 25, "whole milk": 40, "egg": 10})
        found = rich.hydration(row["relation"].split()[1])
    elif row["relation"] == "tempering_water_percent":
        found = tempering_water_percent(float(row["moisture_percent"]), float(row["value_percent"]))
    else:
        value, moisture = float(row["value_percent"]), float(row["moisture_percent"])
        found = relations[row["relation"]](value, moisture, float(row["basis_percent"]))
    yield _one(row, found, "%")


# -- water, ice and heat -----------------------------------------------------------------------------------------------


def made_water(row: Row) -> WaterTemperature | DoughTemperature:
    given: dict[str, Any] = {name: row[name] for name in ("flour", "room", "friction", "rise") if row[name]}
    preferments = [row["preferment"]] if row["preferment"] else []
    if row["find"] == "dough":
        return dough_temperature(water=row["water"], preferments=preferments, **given)
    return water_temperature(row["dough"], preferments=preferments, **given)


def _water(row: Row) -> Iterator[Beside]:
    found = made_water(row).temperature_c
    yield _one(row, found * 9 / 5 + 32 if row["unit"] == "°F" else found)


def made_base(row: Row) -> WaterFromBase:
    return water_from_base(row["base"], flour=row["flour"], room=row["room"], count=int(row["count"]))


def _correction(row: Row) -> Iterator[Beside]:
    made = made_correction(row)
    yield _one(row, made.change_k, "K", "expected_change", "change of the water")
    if row["expected_base"]:
        yield _one(row, made.new_base_c, "°C", "expected_base", "new base")


def made_correction(row: Row) -> Any:  # noqa: ANN401 - a correction with a base
    given: dict[str, Any] = {name: row[name] for name in ("measured", "wanted", "rule", "base")}
    return correct_water(row["water_used"], count=int(row["count"]), **given)


def made_friction(row: Row) -> Any:  # noqa: ANN401 - one of two answers, both with a working
    if row["time"]:
        return friction_from_minutes(row["time"], friction=row["rate"])
    return friction_factor(dough=row["dough"], flour=row["flour"], room=row["room"], water=row["water"])


def _ice(row: Row) -> Iterator[Beside]:
    tap_c, wanted_c, ice_c = (read(TEMPERATURE, row[name], name) for name in ("tap", "wanted", "ice"))
    ratio = float(row["ice_heat_ratio"] or ICE_HEAT_RATIO.value)
    kernel = ice_replacing_g if row["keep"] == "total" else ice_on_top_g
    found_g = kernel(read(MASS, row["water"], "water"), tap_c, wanted_c, ice_c, float(row["latent_K"]), ratio)
    yield _one(row, _in(row["unit"], found_g), printed="expected_ice")


def _heat(row: Row) -> Iterator[Beside]:
    inputs = row["inputs"].split("; ")
    if row["quantity"] == "work":
        found = read(ENERGY_PER_MASS, inputs[0], "work")
    elif row["quantity"] == "rise":
        found = rise_from_work_k(read(ENERGY_PER_MASS, inputs[0], "work"), float(inputs[1]))
    else:
        flour_kg, water_kg = (read(MASS, text, "mass") / 1000 for text in inputs[:2])
        per_kg = read(ENERGY_PER_MASS, inputs[2], "heat")
        wanted_c = read(TEMPERATURE, inputs[3], "wanted")
        heat_kj = per_kg * (flour_kg if inputs[6] == "flour" else flour_kg + water_kg)
        flour_kj_k = flour_kg * float(inputs[4])
        found = balanced_water_c(wanted_c, (flour_kj_k,), (wanted_c,), heat_kj, water_kg * float(inputs[5]))
    yield _one(row, found)


SHARES = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")


def food_cp(row: Row, temperature_c: float, **how: Any) -> float:  # noqa: ANN401
    shares: dict[str, Any] = {f"{name}_share": float(row[f"{name}_percent"]) / 100 for name in SHARES}
    return composition_cp_kj_kg_k(**shares, temperature_c=temperature_c, **how)


def _capacity(row: Row) -> Iterator[Beside]:
    if row["kind"] == "component":
        component: Any = row["component"]
        found = component_cp_kj_kg_k(component, float(row["temperature_c"]), cast("Any", row["water_a0"]))
        yield _one(row, 1000 * found)
    elif row["kind"] == "food":
        yield _one(row, food_cp(row, float(row["temperature_c"])))


def made_arrival(row: Row) -> tuple[Cooling, CoolingTime]:
    """Cool or warm the body of a check value, and find when its core is there."""
    half_m = float(row["half_size_m"])
    sizes: dict[str, Any] = {}
    volume_m3 = 0.001
    if row["shape"] == "slab":
        sizes["thickness"] = f"{2 * half_m} m"
    elif row["shape"] == "sphere":
        volume_m3 = math.pi / 6 * (2 * half_m) ** 3
    else:
        sizes["diameter"] = f"{2 * half_m} m"
        volume_m3 = math.pi * half_m**2 * 2 * float(row["half_length_m"])
    names = ("heat_transfer", "conductivity", "density", "specific_heat", "start", "air", "method")
    given: dict[str, Any] = {name: row[name] for name in names}
    mass = f"{volume_m3 * float(row['density'].split()[0]):.12f} kg"
    made = cooling(mass, shape=cast("Shape", row["shape"]), **sizes, **given)
    return made, made.time_to(core=row["target"])


def _cooling(row: Row) -> Iterator[Beside]:
    if row["find"] in {"root", "weight"}:
        shape, biot = cast("Shape", row["shape"]), float(row["biot"])
        (root,) = eigenvalues(shape, biot, 1)
        yield _one(row, root if row["find"] == "root" else coefficient(shape, biot, root))
    elif row["find"].startswith("reading"):
        made = cooling_from_reading(
            start=row["start"], air=row["air"], reading=row["reading"], after=row["reading_time"]
        )
        rate = 1 / (60 * made.tau_h)
        yield _one(row, rate if row["find"] == "reading rate" else 60 * made.time_to(row["target"]).time_h)
    else:
        body, arrival = made_arrival(row)
        found = {
            "volume over area": body.volume_per_area_m,
            "biot": body.biot,
            "rate": 1 / (3600 * body.tau_h),
            "time": arrival.time_h * (3600 if row["unit"] == "s" else 1),
        }
        yield _one(row, found[row["find"]])


# -- yeast and levain --------------------------------------------------------------------------------------------------


RATES: dict[str, Rate] = {
    "gas": GasCurve(),
    "growth": GROWTH_CURVE,
    "q2": Q10(2.0),
    "q2.59": Q10(2.59),
    "double17F": Q10.doubling("17 °F"),
    "square": SquareLaw(),
}


def _yeast_forms(row: Row) -> Iterator[Beside]:
    if row["amount"] == "equal solids":
        found = yeast_form(row["to_form"]).equal_solids_factor / yeast_form(row["from_form"]).equal_solids_factor
    else:
        factor = float(row["factor"]) if row["factor"] else None
        found = _in(row["unit"], convert_yeast(row["amount"], row["from_form"], row["to_form"], factor).mass_g)
    yield _one(row, found)


def _dose(row: Row) -> Iterator[Beside]:
    made = yeast_for_time(
        f"{float(row['dose_percent']):g} %",
        time=f"{float(row['time_h']):g} h",
        new_time=f"{float(row['new_time_h']):g} h",
        temperature=f"{row['temperature_c'] or 26} °C",
        growth=float(row["growth"]),
    )
    yield _one(row, made.dose_percent, "%")


def _growth(row: Row) -> Iterator[Beside]:
    def increase(hours: float) -> float:
        if hours == 0:
            return 0.0
        made = yeast_growth(f"{row['dose_percent']} %", time=f"{hours:g} h", temperature=f"{row['temperature_c']} °C")
        return made.increase_percent

    yield _one(row, increase(float(row["to_h"])) - increase(float(row["from_h"])), "%", "expected_percent")


def _rates(row: Row) -> Iterator[Beside]:
    rate = RATES[row["rate"]]
    beside_c = rate.peak_c if row["beside_c"] == "best" else float(row["beside_c"])
    yield _one(row, rate.at(float(row["temperature_c"])) / rate.at(beside_c))


def step(text: str) -> FermentStep:
    """Read a step of a check value: its kind, hours, degrees, and the lag."""
    kind, *numbers = text.split()
    time_h, *celsius = map(float, numbers)
    if kind == "hold":
        return Hold.of(time_h, celsius[0])
    return Ramp.of(time_h, celsius[0], celsius[1]) if kind == "ramp" else Cool.of(time_h, *celsius)


def _schedule(row: Row) -> Iterator[Beside]:
    schedule = Schedule(*(step(each) for each in row["schedule"].split(" | ")), rate=RATES[row["rate"]])
    yield _one(row, schedule.equivalent(f"{row['at_c']} °C").time_h, "h", "expected_h")


def seed_share(row: Row) -> float:
    """Return the part of a levain that is its seed."""
    if row["seed"]:
        return float(row["seed"]) / float(row["total"])
    return share_from_starter(float(row["starter_percent"]) / 100, float(row["hydration_percent"]) / 100)


def ripe_h(row: Row) -> float:
    """Return the hours in which the model has a levain ripe."""
    curve = CURVES[row["ripe"]]
    return ripening_time_h(seed_share(row), growth_rate_per_h(float(row["temperature_c"]), curve), curve.phi.value)


def ripe_ratio(row: Row) -> float:
    return ripe_h(row) / float(row["expected"])


def ripe_in_range(row: Row) -> bool:
    curve = CURVES[row["ripe"]]
    return curve.coldest.value <= float(row["temperature_c"]) <= curve.warmest.value


def typical_ripe(ripe: str, *, disputed: bool = True) -> tuple[int, float]:
    """Return how many printed times there are in the range, and the root mean square factor between print and model."""
    times = [row for row in read_rows("levain") if row["quantity"] == "time" and row["ripe"] == ripe]
    found = [row for row in times if ripe_in_range(row) and (disputed or not row["disputed"])]
    squares = [math.log(ripe_ratio(row)) ** 2 for row in found]
    return len(squares), math.exp(math.sqrt(sum(squares) / len(squares)))


def _levain(row: Row) -> Iterator[Beside]:
    if row["quantity"] == "time":
        printed = float(row["expected"])
        yield Beside(row["id"], "time", printed, ripe_h(row), float(row["tolerance"]) * printed, "h")
    elif row["quantity"] in {"rate", "relative rate", "optimum"}:
        curve = CURVES[row["ripe"]]
        best_c = optimum_c(curve)
        found = best_c if row["quantity"] == "optimum" else growth_rate_per_h(float(row["temperature_c"]), curve)
        yield _one(row, found / growth_rate_per_h(best_c, curve) if row["quantity"] == "relative rate" else found)


# -- losses and weights ------------------------------------------------------------------------------------------------


def _losses(row: Row) -> Iterator[Beside]:
    losses = Losses(**dict(part.split(" ", 1) for part in row["losses"].split("; ")), on=row["on"])  # type: ignore[arg-type]
    if row["given"] == "bread":
        found_g = losses.dough_for(row["weight"]).mass_g
    else:
        found_g = losses.bread_from(row["weight"], at="divider" if "divider" in row["given"] else "mixer").mass_g
    yield _one(row, _in(row["unit"], found_g))


def made_wheat_loaf(row: Row) -> WheatLoaf:
    weight = f"{row['weight_g']} g"
    return wheat_loaf(bread=weight) if row["given"] == "bread" else wheat_loaf(dough=weight)


def _wheat_loaf(row: Row) -> Iterator[Beside]:
    made = made_wheat_loaf(row)
    yield _one(row, made.dough_g if row["given"] == "bread" else made.bread_g, "g", "expected_g")


SIZES = {"formulas/C03 700 g": 700.0, "formulas/C03 900 g": 900.0, "formulas/C03 1000 g": 1000.0}
"""Three points of one printed line."""


def printed_loss(row: Row) -> TypicalLoss:
    """Find the row of the library's table that a check value is about."""
    (match,) = (
        each
        for each in typical_losses(row["kind"], product=row["product"])
        if (each.source, each.printed, each.product) == (row["source_id"], row["printed"], row["product"])
        and (row["id"] not in SIZES or each.dough_g == SIZES[row["id"]])
    )
    return match


def _typical_losses(row: Row) -> Iterator[Beside]:
    found = printed_loss(row)
    for name, share in (("low", found.low_on_dough_share), ("high", found.high_on_dough_share)):
        assert share is not None
        yield _one(row, 100 * share, "%", f"{name}_percent", name)


def _net_weight(row: Row) -> Iterator[Beside]:
    given = pairs(row["inputs"])
    rule = weight_rule(row["rule"])
    if row["asked"] == "factor":
        found = mean_factor(rule.confidence_share or 0.0, int(given["n"]))
    elif row["asked"] == "tolerance":
        found = rule.tolerance_g(read(MASS, given["nominal"], "nominal"))
    elif row["asked"] == "interval":
        found = scale_interval(given["nominal"]).interval_g
    else:
        target = target_mass(given["nominal"], sd=given["sd"], rule=row["rule"])
        found = {"mean": target.mean_g, "limit": target.limit_g, "outer limit": target.outer_limit_g}[row["asked"]]
    yield _one(row, found if row["unit"] == "1" else _in(row["unit"], found))


def made_nutrition(row: Row) -> Nutrition:
    lines = dict(line.rsplit(" ", 1) for line in row["bread"].split(", "))
    formula = Formula.from_percents("Loaf", {name: float(percent) for name, percent in lines.items()})
    region: Any = row["region"]
    energy: Any = row["energy"] or None
    return nutrition(formula, losses=Losses(bake=row["loss"]), region=region, energy=energy)


def _nutrition(row: Row) -> Iterator[Beside]:
    made = made_nutrition(row)
    found = made.water_percent if row["key"] == "water" else made.figure(row["key"]).per_100_g
    assert found is not None
    yield _one(row, found)


WAYS: Mapping[str, Callable[[Row], Iterator[Beside]]] = {
    "base_temperature": lambda row: iter([_one(row, made_base(row).temperature_c)]),
    "capacity": _capacity,
    "cooling": _cooling,
    "correction": _correction,
    "dividing": _dividing,
    "dose": _dose,
    "formulas": _formulas,
    "friction": lambda row: iter([_one(row, made_friction(row).friction_k * 1.8)]),
    "growth": _growth,
    "heat": _heat,
    "ice": _ice,
    "levain": _levain,
    "losses": _losses,
    "moisture": _moisture,
    "net_weight": _net_weight,
    "nutrition": _nutrition,
    "orders": lambda row: iter([_one(row, _in(row["unit"], made_orders(row).dough_g))]),
    "rates": _rates,
    "schedule": _schedule,
    "stages": _stages,
    "typical_losses": _typical_losses,
    "water": _water,
    "weights": lambda row: iter([_one(row, _in(row["unit"], read(MASS, row["amount"], "amount")))]),
    "wheat_loaf": _wheat_loaf,
    "yeast_forms": _yeast_forms,
}
"""For each table of numbers, how the library finds what stands in it."""


def beside(table: str, row: Row) -> list[Beside]:
    """Return the printed numbers of a row, each with the library's beside it; none where a row has no number to meet."""
    return list(WAYS[table](row))
