"""The docstring examples of growth and options hold; each module names its method and version."""

import doctest
import importlib
import pkgutil

import pytest

from assessments.methods import growth, options

NAMES = [
    f"{package.__name__}.{module.name}"
    for package in (growth, options)
    for module in pkgutil.iter_modules(package.__path__)
]


@pytest.mark.parametrize("name", NAMES)
def test_the_examples_hold_and_the_method_is_named(name: str) -> None:
    module = importlib.import_module(name)
    assert doctest.testmod(module).failed == 0
    assert module.METHOD
    assert isinstance(module.VERSION, int)
