"""The examples in the docstrings of the methods hold, and each module names its method and version."""

import doctest
import importlib
import pkgutil

import pytest

from assessments import methods

NAMES = [f"assessments.methods.{module.name}" for module in pkgutil.iter_modules(methods.__path__)]


@pytest.mark.parametrize("name", NAMES)
def test_the_examples_hold(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


@pytest.mark.parametrize("name", [name for name in NAMES if not name.endswith((".tables", ".catalogue"))])
def test_a_module_names_its_method_and_version(name: str) -> None:
    module = importlib.import_module(name)
    assert module.METHOD
    assert isinstance(module.VERSION, int)


def test_the_core_loads_without_django() -> None:
    for name in NAMES:
        source = importlib.import_module(name).__file__
        assert source is not None
        with open(source, encoding="utf-8") as text:
            assert "django" not in text.read()
