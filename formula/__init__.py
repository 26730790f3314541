"""Dough formulas for bread bakers: baker's percentages, water temperature, yeast, dividing and bake loss.

Names are loaded when they are first used, so that ``import formula`` costs next to nothing.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .adjust import with_percent as with_percent
    from .adjust import with_prefermented as with_prefermented
    from .allergens import allergen_matrix as allergen_matrix
    from .allergens import allergen_table as allergen_table
    from .assortment import Assortment as Assortment
    from .assortment import AssortmentCosts as AssortmentCosts
    from .assortment import AssortmentMasses as AssortmentMasses
    from .assortmentfile import dump_assortment as dump_assortment
    from .assortmentfile import load_assortment as load_assortment
    from .bakery import Bakery as Bakery
    from .bakery import Hour as Hour
    from .bakery import Mixer as Mixer
    from .baketime import bake_time as bake_time
    from .balance import HeatBalance as HeatBalance
    from .basetemp import base_temperature as base_temperature
    from .basetemp import water_from_base as water_from_base
    from .batch import Batch as Batch
    from .betterdivider import better_divider as better_divider
    from .betterdivider import divider_that_pays as divider_that_pays
    from .breadnames import standard_names as standard_names
    from .breadplot import plot_bake_loss as plot_bake_loss
    from .breadplot import plot_balance as plot_balance
    from .breadplot import plot_water_chart as plot_water_chart
    from .builds import levain_builds as levain_builds
    from .builds import levain_for as levain_for
    from .byhand import dough_by_hand as dough_by_hand
    from .byhand import pieces_by_hand as pieces_by_hand
    from .catalogue import Catalogue as Catalogue
    from .chart import chart_csv as chart_csv
    from .chart import chart_html as chart_html
    from .chart import chart_text as chart_text
    from .chill import cooling as cooling
    from .clockwork import Timetable as Timetable
    from .clockwork import timetable as timetable
    from .comparison import blend as blend
    from .comparison import compare as compare
    from .correction import correct_water as correct_water
    from .cost import price as price
    from .costchange import compare_costs as compare_costs
    from .costchange import sensitivity as sensitivity
    from .culture import levain_seed as levain_seed
    from .culture import levain_time as levain_time
    from .day import plan_day as plan_day
    from .daycalendar import day_ics as day_ics
    from .daycost import price_day as price_day
    from .daylog import Log as Log
    from .daylog import append_log as append_log
    from .daylog import read_log as read_log
    from .daypages import day_pages as day_pages
    from .daysheet import day_html as day_html
    from .daysheet import day_xlsx as day_xlsx
    from .dose import yeast_for_schedule as yeast_for_schedule
    from .doughorder import AllergenOrder as AllergenOrder
    from .doughorder import allergen_order as allergen_order
    from .doughorder import allergens_of as allergens_of
    from .draft import label_draft as label_draft
    from .errors import ContradictionError as ContradictionError
    from .errors import FileError as FileError
    from .errors import FormulaError as FormulaError
    from .errors import MissingExtraError as MissingExtraError
    from .errors import QuantityError as QuantityError
    from .errors import UnknownNameError as UnknownNameError
    from .evening import StageBuilds as StageBuilds
    from .evening import stage_builds as stage_builds
    from .exchange import exchange_flour as exchange_flour
    from .exchange import exchange_milk as exchange_milk
    from .exchange import exchange_yeast as exchange_yeast
    from .exercise import Exercises as Exercises
    from .exercise import exercises as exercises
    from .expenses import Expenses as Expenses
    from .files import dump as dump
    from .files import load as load
    from .finished import finished_loaf as finished_loaf
    from .folder import load_day as load_day
    from .formula import Formula as Formula
    from .friction import friction_factor as friction_factor
    from .growth import yeast_growth as yeast_growth
    from .handbooks import handbook_doses as handbook_doses
    from .heat import heat_balance as heat_balance
    from .heatspread import heat_uncertainty as heat_uncertainty
    from .heatspread import work_from_trials as work_from_trials
    from .hourwater import MixWater as MixWater
    from .hourwater import waters as waters
    from .household import from_measures as from_measures
    from .household import household_mass as household_mass
    from .ice import ice_for as ice_for
    from .ingredient import Ingredient as Ingredient
    from .keepup import largest_mix as largest_mix
    from .label import declaration as declaration
    from .labelchecks import acrylamide_class as acrylamide_class
    from .labelchecks import held_dough as held_dough
    from .labelchecks import salt_target as salt_target
    from .levainlog import LevainRecord as LevainRecord
    from .levainlog import calibrated as calibrated
    from .lines import Lines as Lines
    from .logentry import Entry as Entry
    from .losses import Losses as Losses
    from .lossestimate import estimate_loss as estimate_loss
    from .lossestimate import wheat_loaf as wheat_loaf
    from .lossfit import LossWeighing as LossWeighing
    from .lossfit import measured_loss as measured_loss
    from .lossfit import read_loss_weighings as read_loss_weighings
    from .losstable import typical_losses as typical_losses
    from .manydays import ManyDays as ManyDays
    from .manydays import PlannedDay as PlannedDay
    from .manydays import plan_days as plan_days
    from .measured import logged_masses as logged_masses
    from .measured import logged_trials as logged_trials
    from .mixtime import friction_from_minutes as friction_from_minutes
    from .mixwaits import MixWait as MixWait
    from .mixwaits import mix_waits as mix_waits
    from .money import Money as Money
    from .money import Price as Price
    from .netweight import target_mass as target_mass
    from .newton import cooling_from_reading as cooling_from_reading
    from .nightorders import ChangedOrders as ChangedOrders
    from .nightorders import changed_orders as changed_orders
    from .nutritiondraft import nutrition as nutrition
    from .olddough import OldDough as OldDough
    from .olddough import with_old_dough as with_old_dough
    from .optimum import optimise as optimise
    from .ordered import dough_for_orders as dough_for_orders
    from .orders import Order as Order
    from .otherrates import Q10 as Q10
    from .otherrates import OwnRate as OwnRate
    from .otherrates import SquareLaw as SquareLaw
    from .pace import Pace as Pace
    from .pace import pace_of as pace_of
    from .packrules import scale_interval as scale_interval
    from .packrules import weight_rules as weight_rules
    from .plot import plot_schedule as plot_schedule
    from .plot import plot_timetable as plot_timetable
    from .plot import plot_weighings as plot_weighings
    from .plot import plot_yeast_for_time as plot_yeast_for_time
    from .portion import divide as divide
    from .press import Press as Press
    from .press import heads_for as heads_for
    from .press import heads_from as heads_from
    from .prices import Prices as Prices
    from .prices import load_prices as load_prices
    from .pricing import break_even as break_even
    from .pricing import sale_price as sale_price
    from .printed import Printed as Printed
    from .printed import check_printed as check_printed
    from .problems import Problem as Problem
    from .process import Process as Process
    from .process import Wait as Wait
    from .processes import typical_process as typical_process
    from .processes import typical_processes as typical_processes
    from .products import Product as Product
    from .products import divide_among as divide_among
    from .provenance import Origin as Origin
    from .provenance import all_origins as all_origins
    from .provenance import origins as origins
    from .rates import GasCurve as GasCurve
    from .readerunits import in_units as in_units
    from .ready import ready_time as ready_time
    from .ready import step_temperature as step_temperature
    from .ready import step_time as step_time
    from .relief import remedies as remedies
    from .replanning import Replan as Replan
    from .replanning import replan as replan
    from .samplecheck import check_weighings as check_weighings
    from .samples import Weighing as Weighing
    from .samples import control_limits as control_limits
    from .samples import read_weighings as read_weighings
    from .scalingweight import net_weight as net_weight
    from .schedule import Readings as Readings
    from .schedule import Schedule as Schedule
    from .shape import LoafShape as LoafShape
    from .sheet import Sheet as Sheet
    from .sheet import formula_sheet as formula_sheet
    from .sheet import label_sheet as label_sheet
    from .sheet import mix_sheet as mix_sheet
    from .shopfile import load_workshop as load_workshop
    from .sources import Constant as Constant
    from .sources import Source as Source
    from .sources import source as source
    from .stage import Culture as Culture
    from .stage import Stage as Stage
    from .steadiness import largest_sd as largest_sd
    from .steps import Cool as Cool
    from .steps import Hold as Hold
    from .steps import Ramp as Ramp
    from .stock import ReadyList as ReadyList
    from .stock import Stock as Stock
    from .stock import load_stock as load_stock
    from .stock import to_have_ready as to_have_ready
    from .stretch import Stretch as Stretch
    from .stretch import stretch_preferment as stretch_preferment
    from .supply import draw_water as draw_water
    from .threeways import day_three_ways as day_three_ways
    from .threeways import water_three_ways as water_three_ways
    from .timing import time_for_yeast as time_for_yeast
    from .timing import yeast_for_time as yeast_for_time
    from .tin import Tin as Tin
    from .tin import fill_tin as fill_tin
    from .tracing import LoafTrace as LoafTrace
    from .tracing import LotTrace as LotTrace
    from .tracing import MixTrace as MixTrace
    from .tracing import trace_loaf as trace_loaf
    from .tracing import trace_lot as trace_lot
    from .tray import Tray as Tray
    from .tray import fill_tray as fill_tray
    from .trialfit import friction_from_trials as friction_from_trials
    from .trials import Trial as Trial
    from .trials import read_trials as read_trials
    from .uncertainty import dough_uncertainty as dough_uncertainty
    from .uncertainty import water_uncertainty as water_uncertainty
    from .upkeep import levain_upkeep as levain_upkeep
    from .wallchart import temperatures_between as temperatures_between
    from .wallchart import water_chart as water_chart
    from .water import dough_temperature as dough_temperature
    from .water import water_temperature as water_temperature
    from .working import Caution as Caution
    from .working import Step as Step
    from .working import Working as Working
    from .workshop import Oven as Oven
    from .workshop import Shift as Shift
    from .workshop import Workshop as Workshop
    from .yeast import convert_yeast as convert_yeast
    from .yielded import bread_from_dough as bread_from_dough
else:
    _ROOMS = {
        "AllergenOrder": "doughorder",
        "Assortment": "assortment",
        "AssortmentCosts": "assortment",
        "AssortmentMasses": "assortment",
        "Bakery": "bakery",
        "Batch": "batch",
        "Catalogue": "catalogue",
        "Caution": "working",
        "ChangedOrders": "nightorders",
        "Constant": "sources",
        "ContradictionError": "errors",
        "Cool": "steps",
        "Culture": "stage",
        "Entry": "logentry",
        "Exercises": "exercise",
        "Expenses": "expenses",
        "FileError": "errors",
        "Formula": "formula",
        "FormulaError": "errors",
        "GasCurve": "rates",
        "HeatBalance": "balance",
        "Hold": "steps",
        "Hour": "bakery",
        "Ingredient": "ingredient",
        "LevainRecord": "levainlog",
        "Lines": "lines",
        "LoafShape": "shape",
        "LoafTrace": "tracing",
        "Log": "daylog",
        "LossWeighing": "lossfit",
        "Losses": "losses",
        "LotTrace": "tracing",
        "ManyDays": "manydays",
        "MissingExtraError": "errors",
        "MixTrace": "tracing",
        "MixWait": "mixwaits",
        "MixWater": "hourwater",
        "Mixer": "bakery",
        "Money": "money",
        "OldDough": "olddough",
        "Order": "orders",
        "Origin": "provenance",
        "Oven": "workshop",
        "OwnRate": "otherrates",
        "Pace": "pace",
        "PlannedDay": "manydays",
        "Press": "press",
        "Price": "money",
        "Prices": "prices",
        "Printed": "printed",
        "Problem": "problems",
        "Process": "process",
        "Product": "products",
        "Q10": "otherrates",
        "QuantityError": "errors",
        "Ramp": "steps",
        "Readings": "schedule",
        "ReadyList": "stock",
        "Replan": "replanning",
        "Schedule": "schedule",
        "Sheet": "sheet",
        "Shift": "workshop",
        "Source": "sources",
        "SquareLaw": "otherrates",
        "Stage": "stage",
        "StageBuilds": "evening",
        "Step": "working",
        "Stock": "stock",
        "Stretch": "stretch",
        "Timetable": "clockwork",
        "Tin": "tin",
        "Tray": "tray",
        "Trial": "trials",
        "UnknownNameError": "errors",
        "Wait": "process",
        "Weighing": "samples",
        "Working": "working",
        "Workshop": "workshop",
        "acrylamide_class": "labelchecks",
        "all_origins": "provenance",
        "allergen_matrix": "allergens",
        "allergen_order": "doughorder",
        "allergen_table": "allergens",
        "allergens_of": "doughorder",
        "append_log": "daylog",
        "bake_time": "baketime",
        "base_temperature": "basetemp",
        "better_divider": "betterdivider",
        "blend": "comparison",
        "bread_from_dough": "yielded",
        "break_even": "pricing",
        "calibrated": "levainlog",
        "changed_orders": "nightorders",
        "chart_csv": "chart",
        "chart_html": "chart",
        "chart_text": "chart",
        "check_printed": "printed",
        "check_weighings": "samplecheck",
        "compare": "comparison",
        "compare_costs": "costchange",
        "control_limits": "samples",
        "convert_yeast": "yeast",
        "cooling": "chill",
        "cooling_from_reading": "newton",
        "correct_water": "correction",
        "day_html": "daysheet",
        "day_ics": "daycalendar",
        "day_pages": "daypages",
        "day_three_ways": "threeways",
        "day_xlsx": "daysheet",
        "declaration": "label",
        "divide": "portion",
        "divide_among": "products",
        "divider_that_pays": "betterdivider",
        "dough_by_hand": "byhand",
        "dough_for_orders": "ordered",
        "dough_temperature": "water",
        "dough_uncertainty": "uncertainty",
        "draw_water": "supply",
        "dump": "files",
        "dump_assortment": "assortmentfile",
        "estimate_loss": "lossestimate",
        "exchange_flour": "exchange",
        "exchange_milk": "exchange",
        "exchange_yeast": "exchange",
        "exercises": "exercise",
        "fill_tin": "tin",
        "fill_tray": "tray",
        "finished_loaf": "finished",
        "formula_sheet": "sheet",
        "friction_factor": "friction",
        "friction_from_minutes": "mixtime",
        "friction_from_trials": "trialfit",
        "from_measures": "household",
        "handbook_doses": "handbooks",
        "heads_for": "press",
        "heads_from": "press",
        "heat_balance": "heat",
        "heat_uncertainty": "heatspread",
        "held_dough": "labelchecks",
        "household_mass": "household",
        "ice_for": "ice",
        "in_units": "readerunits",
        "label_draft": "draft",
        "label_sheet": "sheet",
        "largest_mix": "keepup",
        "largest_sd": "steadiness",
        "levain_builds": "builds",
        "levain_for": "builds",
        "levain_seed": "culture",
        "levain_time": "culture",
        "levain_upkeep": "upkeep",
        "load": "files",
        "load_assortment": "assortmentfile",
        "load_day": "folder",
        "load_prices": "prices",
        "load_stock": "stock",
        "load_workshop": "shopfile",
        "logged_masses": "measured",
        "logged_trials": "measured",
        "measured_loss": "lossfit",
        "mix_sheet": "sheet",
        "mix_waits": "mixwaits",
        "net_weight": "scalingweight",
        "nutrition": "nutritiondraft",
        "optimise": "optimum",
        "origins": "provenance",
        "pace_of": "pace",
        "pieces_by_hand": "byhand",
        "plan_day": "day",
        "plan_days": "manydays",
        "plot_bake_loss": "breadplot",
        "plot_balance": "breadplot",
        "plot_schedule": "plot",
        "plot_timetable": "plot",
        "plot_water_chart": "breadplot",
        "plot_weighings": "plot",
        "plot_yeast_for_time": "plot",
        "price": "cost",
        "price_day": "daycost",
        "read_log": "daylog",
        "read_loss_weighings": "lossfit",
        "read_trials": "trials",
        "read_weighings": "samples",
        "ready_time": "ready",
        "remedies": "relief",
        "replan": "replanning",
        "sale_price": "pricing",
        "salt_target": "labelchecks",
        "scale_interval": "packrules",
        "sensitivity": "costchange",
        "source": "sources",
        "stage_builds": "evening",
        "standard_names": "breadnames",
        "step_temperature": "ready",
        "step_time": "ready",
        "stretch_preferment": "stretch",
        "target_mass": "netweight",
        "temperatures_between": "wallchart",
        "time_for_yeast": "timing",
        "timetable": "clockwork",
        "to_have_ready": "stock",
        "trace_loaf": "tracing",
        "trace_lot": "tracing",
        "typical_losses": "losstable",
        "typical_process": "processes",
        "typical_processes": "processes",
        "water_chart": "wallchart",
        "water_from_base": "basetemp",
        "water_temperature": "water",
        "water_three_ways": "threeways",
        "water_uncertainty": "uncertainty",
        "waters": "hourwater",
        "weight_rules": "packrules",
        "wheat_loaf": "lossestimate",
        "with_old_dough": "olddough",
        "with_percent": "adjust",
        "with_prefermented": "adjust",
        "work_from_trials": "heatspread",
        "yeast_for_schedule": "dose",
        "yeast_for_time": "timing",
        "yeast_growth": "growth",
    }

    def __getattr__(name):  # noqa: ANN001, ANN202 - typed by the imports above
        """Load a public name from its room on first use."""
        from importlib import import_module  # noqa: PLC0415 - the point of loading names late

        if name not in _ROOMS:
            instead = None
            if not name.startswith("_"):
                instead = import_module(".deprecation", __name__).successor(name)
            if instead is None:
                message = f"module {__name__!r} has no attribute {name!r}"
                raise AttributeError(message)
            return __getattr__(instead)
        value = getattr(import_module(f".{_ROOMS[name]}", __name__), name)
        globals()[name] = value
        return value

    def __dir__():  # noqa: ANN202
        """List the public names."""
        return sorted(_ROOMS)


__all__ = [  # noqa: RUF022 - in plain alphabetical order, as dir() gives it
    "AllergenOrder",
    "Assortment",
    "AssortmentCosts",
    "AssortmentMasses",
    "Bakery",
    "Batch",
    "Catalogue",
    "Caution",
    "ChangedOrders",
    "Constant",
    "ContradictionError",
    "Cool",
    "Culture",
    "Entry",
    "Exercises",
    "Expenses",
    "FileError",
    "Formula",
    "FormulaError",
    "GasCurve",
    "HeatBalance",
    "Hold",
    "Hour",
    "Ingredient",
    "LevainRecord",
    "Lines",
    "LoafShape",
    "LoafTrace",
    "Log",
    "LossWeighing",
    "Losses",
    "LotTrace",
    "ManyDays",
    "MissingExtraError",
    "MixTrace",
    "MixWait",
    "MixWater",
    "Mixer",
    "Money",
    "OldDough",
    "Order",
    "Origin",
    "Oven",
    "OwnRate",
    "Pace",
    "PlannedDay",
    "Press",
    "Price",
    "Prices",
    "Printed",
    "Problem",
    "Process",
    "Product",
    "Q10",
    "QuantityError",
    "Ramp",
    "Readings",
    "ReadyList",
    "Replan",
    "Schedule",
    "Sheet",
    "Shift",
    "Source",
    "SquareLaw",
    "Stage",
    "StageBuilds",
    "Step",
    "Stock",
    "Stretch",
    "Timetable",
    "Tin",
    "Tray",
    "Trial",
    "UnknownNameError",
    "Wait",
    "Weighing",
    "Working",
    "Workshop",
    "acrylamide_class",
    "all_origins",
    "allergen_matrix",
    "allergen_order",
    "allergen_table",
    "allergens_of",
    "append_log",
    "bake_time",
    "base_temperature",
    "better_divider",
    "blend",
    "bread_from_dough",
    "break_even",
    "calibrated",
    "changed_orders",
    "chart_csv",
    "chart_html",
    "chart_text",
    "check_printed",
    "check_weighings",
    "compare",
    "compare_costs",
    "control_limits",
    "convert_yeast",
    "cooling",
    "cooling_from_reading",
    "correct_water",
    "day_html",
    "day_ics",
    "day_pages",
    "day_three_ways",
    "day_xlsx",
    "declaration",
    "divide",
    "divide_among",
    "divider_that_pays",
    "dough_by_hand",
    "dough_for_orders",
    "dough_temperature",
    "dough_uncertainty",
    "draw_water",
    "dump",
    "dump_assortment",
    "estimate_loss",
    "exchange_flour",
    "exchange_milk",
    "exchange_yeast",
    "exercises",
    "fill_tin",
    "fill_tray",
    "finished_loaf",
    "formula_sheet",
    "friction_factor",
    "friction_from_minutes",
    "friction_from_trials",
    "from_measures",
    "handbook_doses",
    "heads_for",
    "heads_from",
    "heat_balance",
    "heat_uncertainty",
    "held_dough",
    "household_mass",
    "ice_for",
    "in_units",
    "label_draft",
    "label_sheet",
    "largest_mix",
    "largest_sd",
    "levain_builds",
    "levain_for",
    "levain_seed",
    "levain_time",
    "levain_upkeep",
    "load",
    "load_assortment",
    "load_day",
    "load_prices",
    "load_stock",
    "load_workshop",
    "logged_masses",
    "logged_trials",
    "measured_loss",
    "mix_sheet",
    "mix_waits",
    "net_weight",
    "nutrition",
    "optimise",
    "origins",
    "pace_of",
    "pieces_by_hand",
    "plan_day",
    "plan_days",
    "plot_bake_loss",
    "plot_balance",
    "plot_schedule",
    "plot_timetable",
    "plot_water_chart",
    "plot_weighings",
    "plot_yeast_for_time",
    "price",
    "price_day",
    "read_log",
    "read_loss_weighings",
    "read_trials",
    "read_weighings",
    "ready_time",
    "remedies",
    "replan",
    "sale_price",
    "salt_target",
    "scale_interval",
    "sensitivity",
    "source",
    "stage_builds",
    "standard_names",
    "step_temperature",
    "step_time",
    "stretch_preferment",
    "target_mass",
    "temperatures_between",
    "time_for_yeast",
    "timetable",
    "to_have_ready",
    "trace_loaf",
    "trace_lot",
    "typical_losses",
    "typical_process",
    "typical_processes",
    "water_chart",
    "water_from_base",
    "water_temperature",
    "water_three_ways",
    "water_uncertainty",
    "waters",
    "weight_rules",
    "wheat_loaf",
    "with_old_dough",
    "with_percent",
    "with_prefermented",
    "work_from_trials",
    "yeast_for_schedule",
    "yeast_for_time",
    "yeast_growth",
]
