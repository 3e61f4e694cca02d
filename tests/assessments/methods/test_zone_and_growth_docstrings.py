"""The docstring examples of root zones and decay over time hold; each module names its method and version."""

import doctest
import importlib
import pkgutil

import pytest

from assessments.methods import decay_growth, root_zone

NAMES = [
    f"{package.__name__}.{module.name}"
    for package in (root_zone, decay_growth)
    for module in pkgutil.iter_modules(package.__path__)
]


@pytest.mark.parametrize("name", NAMES)
def test_the_examples_hold_and_the_method_is_named(name: str) -> None:
    module = importlib.import_module(name)
    assert doctest.testmod(module).failed == 0
    assert module.METHOD
    assert isinstance(module.VERSION, int)
