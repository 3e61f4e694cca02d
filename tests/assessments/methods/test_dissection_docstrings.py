"""The examples in the docstrings of dissection to agreement hold, and each module names its method and version."""

import doctest
import importlib
import pkgutil

import pytest

from assessments.methods import agreement, calibration, dissection, outcomes, truth
from assessments.report import drawing

METHODS = [
    f"{package.__name__}.{module.name}"
    for package in (dissection, truth, calibration, outcomes, agreement)
    for module in pkgutil.iter_modules(package.__path__)
]


@pytest.mark.parametrize("name", METHODS)
def test_the_examples_hold_and_the_method_is_named(name: str) -> None:
    module = importlib.import_module(name)
    assert doctest.testmod(module).failed == 0
    assert module.METHOD
    assert isinstance(module.VERSION, int)


@pytest.mark.parametrize("name", ["truth_section", "crack_depth", "calibration"])
def test_the_examples_of_the_pictures_hold(name: str) -> None:
    assert doctest.testmod(importlib.import_module(f"{drawing.__name__}.{name}")).failed == 0


@pytest.mark.parametrize("package", [dissection, truth, calibration, outcomes, agreement])
def test_the_examples_of_the_packages_hold(package: object) -> None:
    assert doctest.testmod(package).failed == 0  # type: ignore[arg-type]
