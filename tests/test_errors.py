"""Errors say what, where, what was expected and how to mend it; they travel between processes."""

import copy
import pickle

import pytest

from formula.errors import (
    ContradictionError,
    Fault,
    FileError,
    FormulaError,
    MissingExtraError,
    QuantityError,
    UnknownNameError,
)

SALT = Fault("salt", "-2", "a percentage of 0 or more", "write 2")
FLOUR = Fault("flour", "nothing", "at least one flour")
KINDS = [FormulaError, QuantityError, UnknownNameError, ContradictionError, FileError]


def test_one_fault_is_one_sentence() -> None:
    assert str(FormulaError(SALT)) == "salt: got -2, expected a percentage of 0 or more; write 2"


def test_a_fault_without_a_fix_ends_before_it() -> None:
    assert str(FLOUR) == "flour: got nothing, expected at least one flour"


def test_many_faults_stand_one_a_line() -> None:
    assert str(FormulaError(SALT, FLOUR)).splitlines() == ["2 faults:", f"  - {SALT}", f"  - {FLOUR}"]


@pytest.mark.parametrize("kind", KINDS)
def test_every_error_is_a_formula_error_and_a_value_error(kind: type[FormulaError]) -> None:
    with pytest.raises(FormulaError) as caught:
        raise kind(SALT)
    assert isinstance(caught.value, ValueError)
    assert caught.value.faults == (SALT,)


def test_an_unknown_name_is_a_lookup_error() -> None:
    assert issubclass(UnknownNameError, LookupError)
    assert not issubclass(UnknownNameError, KeyError), "a KeyError prints its message in quotes"


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_an_error_is_pickled_with_its_faults(kind: type[FormulaError], protocol: int) -> None:
    error = kind(SALT, FLOUR)
    again = pickle.loads(pickle.dumps(error, protocol))  # noqa: S301 - our own bytes
    assert type(again) is kind
    assert again.faults == error.faults
    assert str(again) == str(error)


@pytest.mark.parametrize("kind", KINDS)
def test_an_error_is_copied_with_its_faults(kind: type[FormulaError]) -> None:
    error = kind(SALT)
    assert copy.deepcopy(error).faults == copy.copy(error).faults == (SALT,)


def test_a_missing_extra_gives_the_line_to_install_it_and_is_pickled() -> None:
    error = MissingExtraError("cli", "rich")
    assert str(error) == "rich is not installed; this needs: pip install 'dough-formula[cli]'"
    assert isinstance(error, ImportError)
    again = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes
    assert (again.extra, again.package, again.name, str(again)) == ("cli", "rich", "rich", str(error))


def test_equal_faults_are_equal_and_hash_alike() -> None:
    again = Fault("salt", "-2", "a percentage of 0 or more", "write 2")
    assert again == SALT
    assert hash(again) == hash(SALT)
    with pytest.raises(AttributeError):
        again.where = "water"  # type: ignore[misc]
