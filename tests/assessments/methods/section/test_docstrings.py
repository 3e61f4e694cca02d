"""The examples in the docstrings of the section's modules and of the pictures hold; each names method and version."""

import doctest
import importlib
import pkgutil

import pytest

from assessments.methods import section
from assessments.report import drawing

MODULES = [f"{section.__name__}.{module.name}" for module in pkgutil.iter_modules(section.__path__)]
PICTURES = [f"{drawing.__name__}.{module.name}" for module in pkgutil.iter_modules(drawing.__path__)]


@pytest.mark.parametrize("name", [*MODULES, *PICTURES])
def test_the_examples_hold(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


@pytest.mark.parametrize("name", MODULES)
def test_a_module_names_its_method_and_version(name: str) -> None:
    module = importlib.import_module(name)
    assert module.METHOD
    assert isinstance(module.VERSION, int)


@pytest.mark.parametrize("name", MODULES)
def test_every_public_function_says_what_it_does(name: str) -> None:
    module = importlib.import_module(name)
    public = [item for key, item in vars(module).items() if not key.startswith("_") and callable(item)]
    own = [item for item in public if getattr(item, "__module__", "") == name and hasattr(item, "__code__")]
    assert all(item.__doc__ for item in own)
