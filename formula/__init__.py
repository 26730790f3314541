"""Dough formulas for bread bakers: baker's percentages, water temperature, yeast, dividing and bake loss.

Names are loaded when they are first used, so that ``import formula`` costs next to nothing.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .adjust import with_percent as with_percent
    from .adjust import with_prefermented as with_prefermented
    from .bakery import Bakery as Bakery
    from .bakery import Mixer as Mixer
    from .bakery import Order as Order
    from .batch import Batch as Batch
    from .catalogue import Catalogue as Catalogue
    from .comparison import blend as blend
    from .comparison import compare as compare
    from .day import plan_day as plan_day
    from .errors import ContradictionError as ContradictionError
    from .errors import FileError as FileError
    from .errors import FormulaError as FormulaError
    from .errors import MissingExtraError as MissingExtraError
    from .errors import QuantityError as QuantityError
    from .errors import UnknownNameError as UnknownNameError
    from .exchange import exchange_flour as exchange_flour
    from .exchange import exchange_milk as exchange_milk
    from .exchange import exchange_yeast as exchange_yeast
    from .files import dump as dump
    from .files import load as load
    from .folder import load_day as load_day
    from .formula import Formula as Formula
    from .friction import friction_factor as friction_factor
    from .household import from_measures as from_measures
    from .household import household_mass as household_mass
    from .ice import ice_for as ice_for
    from .ingredient import Ingredient as Ingredient
    from .lines import Lines as Lines
    from .losses import Losses as Losses
    from .portion import divide as divide
    from .printed import Printed as Printed
    from .printed import check_printed as check_printed
    from .sources import Constant as Constant
    from .sources import Source as Source
    from .sources import source as source
    from .stage import Culture as Culture
    from .stage import Stage as Stage
    from .water import dough_temperature as dough_temperature
    from .water import water_temperature as water_temperature
    from .working import Caution as Caution
    from .working import Step as Step
    from .working import Working as Working
    from .yeast import convert_yeast as convert_yeast
else:
    _ROOMS = {
        "Bakery": "bakery",
        "Batch": "batch",
        "Catalogue": "catalogue",
        "Caution": "working",
        "Constant": "sources",
        "ContradictionError": "errors",
        "Culture": "stage",
        "FileError": "errors",
        "Formula": "formula",
        "FormulaError": "errors",
        "Ingredient": "ingredient",
        "Lines": "lines",
        "Losses": "losses",
        "MissingExtraError": "errors",
        "Mixer": "bakery",
        "Order": "bakery",
        "Printed": "printed",
        "QuantityError": "errors",
        "Source": "sources",
        "Stage": "stage",
        "Step": "working",
        "UnknownNameError": "errors",
        "Working": "working",
        "blend": "comparison",
        "check_printed": "printed",
        "compare": "comparison",
        "convert_yeast": "yeast",
        "divide": "portion",
        "dough_temperature": "water",
        "dump": "files",
        "exchange_flour": "exchange",
        "exchange_milk": "exchange",
        "exchange_yeast": "exchange",
        "friction_factor": "friction",
        "from_measures": "household",
        "household_mass": "household",
        "ice_for": "ice",
        "load": "files",
        "load_day": "folder",
        "plan_day": "day",
        "source": "sources",
        "water_temperature": "water",
        "with_percent": "adjust",
        "with_prefermented": "adjust",
    }

    def __getattr__(name):  # noqa: ANN001, ANN202 - typed by the imports above
        """Load a public name from its room on first use."""
        if name not in _ROOMS:
            message = f"module {__name__!r} has no attribute {name!r}"
            raise AttributeError(message)
        from importlib import import_module  # noqa: PLC0415 - the point of loading names late

        value = getattr(import_module(f".{_ROOMS[name]}", __name__), name)
        globals()[name] = value
        return value

    def __dir__():  # noqa: ANN202
        """List the public names."""
        return sorted(_ROOMS)


__all__ = [
    "Bakery",
    "Batch",
    "Catalogue",
    "Caution",
    "Constant",
    "ContradictionError",
    "Culture",
    "FileError",
    "Formula",
    "FormulaError",
    "Ingredient",
    "Lines",
    "Losses",
    "MissingExtraError",
    "Mixer",
    "Order",
    "Printed",
    "QuantityError",
    "Source",
    "Stage",
    "Step",
    "UnknownNameError",
    "Working",
    "blend",
    "check_printed",
    "compare",
    "convert_yeast",
    "divide",
    "dough_temperature",
    "dump",
    "exchange_flour",
    "exchange_milk",
    "exchange_yeast",
    "friction_factor",
    "from_measures",
    "household_mass",
    "ice_for",
    "load",
    "load_day",
    "plan_day",
    "source",
    "water_temperature",
    "with_percent",
    "with_prefermented",
]
