"""The custom functions of the Excel add-in without its browser: ``test_lite.py`` asks it there."""

from __future__ import annotations

import inspect
from typing import Any

import pytest

from cultivar_fx.catalog.registry import functions
from cultivar_fx.hosts import lite


def test_every_function_is_offered_by_its_name() -> None:
    assert sorted(lite.__all__) == sorted(one.python_name for one in functions().values())


def test_what_may_be_left_out_comes_as_a_blank() -> None:
    parameters = inspect.signature(lite.__dict__["water_to_add"]).parameters
    defaults = {name: one.default for name, one in parameters.items()}
    empty = inspect.Parameter.empty
    assert defaults == {"mass": empty, "moisture": empty, "target": empty, "units": None}


@pytest.mark.parametrize(
    ("arguments", "shown"),
    [
        (([[100]], [[0.5]]), 50.0),
        (([[100, 200]], [[0.5]]), [[50.0, 100.0]]),
        (([[100]], [[50]]), "#NUM!"),
        (([[100], ["x"]], [[0.5]]), [[50.0], ["#VALUE!"]]),
        (([[100]], [[0.5]], [["imperial"]]), "#VALUE!"),
    ],
)
def test_answers_and_errors(arguments: tuple[Any, ...], shown: object) -> None:
    # Half of it is water, so half of it is dry.
    assert lite.__dict__["dry_mass"](*arguments) == shown
