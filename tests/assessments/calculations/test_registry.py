"""The registry of calculations: schemas that tell the truth, examples that work, hostile input, reading of JSON."""

import doctest
import time
from types import ModuleType
from typing import Any

import pytest
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]

from api.pages import names
from assessments import calculations
from assessments.calculations import KINDS, Kind, NotJson
from assessments.methods import (
    appraisal,
    decay_growth,
    evidence,
    growth,
    information,
    log_mass,
    money,
    risk_answer,
    root_zone,
    section,
    stem_load,
    support,
)
from inventory.problems import Invalid, Missing

# The fields that each method reads, to hold the schemas to.
FIELDS = {
    "section": section.contract.FIELDS,
    "stem-load": stem_load.contract.FIELDS,
    "log-mass": log_mass.FIELDS,
    "support": support.FIELDS,
    "root-zone": root_zone.contract.FIELDS,
    "decay-growth": decay_growth.contract.FIELDS,
    "likelihood": evidence.FIELDS,
    "risk": risk_answer.FIELDS,
    "appraisal": appraisal.FIELDS,
    "present-value": money.FIELDS,
    "growth": growth.FIELDS,
    "information-value": information.FIELDS,
}
EVERY = pytest.mark.parametrize("one", KINDS.values(), ids=list(KINDS))


def pointers(one: Kind, request: Any) -> list[str]:
    with pytest.raises(Invalid) as caught:
        calculations.run(one, request)
    return [error.pointer for error in caught.value.errors]


def test_the_kinds_are_those_of_the_contract_and_likelihood() -> None:
    assert list(KINDS) == list(FIELDS)


@EVERY
def test_the_schema_names_every_field_that_the_method_reads(one: Kind) -> None:
    assert set(one.input["properties"]) == set(FIELDS[one.name])


@EVERY
def test_the_example_keeps_to_the_schema_and_so_does_its_answer(one: Kind) -> None:
    Draft202012Validator.check_schema(one.input)
    Draft202012Validator.check_schema(one.output)
    Draft202012Validator(one.input).validate(one.example)
    worked = calculations.run(one, one.example)
    Draft202012Validator(one.output).validate(worked.answer)
    assert worked.answer["method"]
    assert one.cautions


@EVERY
def test_a_kind_that_is_drawn_draws_its_example(one: Kind) -> None:
    drawn = calculations.picture(calculations.run(one, one.example))
    assert (drawn is not None) == one.drawn
    assert drawn is None or drawn.startswith("<svg")


@EVERY
@pytest.mark.parametrize("request_", [None, [], 3, "text", True])
def test_what_is_no_object_is_a_problem_of_the_whole(one: Kind, request_: object) -> None:
    assert pointers(one, request_) == ["#"]


@EVERY
def test_an_unknown_field_is_named(one: Kind) -> None:
    assert pointers(one, one.example | {"unheard_of": 1}) == ["#/unheard_of"]


def _numbers(schema: dict[str, Any]) -> list[str]:
    return [name for name, part in schema["properties"].items() if "number" in part.get("type", ())]


@EVERY
def test_no_number_may_be_negative_nan_or_beyond_every_float(one: Kind) -> None:
    for name in _numbers(one.input):
        for text in ("-1e9", "NaN", "Infinity", "1e400", "-1e400"):
            wrong = one.example | {name: calculations.parse(text)}
            assert f"#/{name}" in pointers(one, wrong), (name, text)


@EVERY
def test_every_array_has_an_end_and_is_refused_beyond_it_within_a_second(one: Kind) -> None:
    for name, part in one.input["properties"].items():
        if "array" in part.get("type", ()):
            start = time.process_time()
            assert pointers(one, one.example | {name: [{}] * 100_000})[0].startswith("#/"), name
            assert time.process_time() - start < 1


def test_a_hundred_thousand_readings_are_refused_at_the_readings() -> None:
    many = [{"azimuth_deg": n % 360, "sound_wall_cm": 9} for n in range(100_000)]
    assert pointers(KINDS["section"], {"diameter_cm": 80, "readings": many}) == ["#/readings"]


def test_an_unknown_kind_names_those_there_are() -> None:
    with pytest.raises(Missing, match="section, stem-load"):
        calculations.kind("sectoin")


@pytest.mark.parametrize(
    "text",
    ["", "{", '{"a": 1, "a": 2}', "[" * 100_000, '{"a": "\\ud800"}', "1" * 5000, "{'a': 1}", '{"a": 1} x'],
    ids=["empty", "broken", "twice", "deep", "half a pair", "long number", "quotes", "more"],
)
def test_what_is_not_json_is_told_within_a_second(text: str) -> None:
    start = time.process_time()
    with pytest.raises(NotJson):
        calculations.parse(text)
    assert time.process_time() - start < 1


@pytest.mark.parametrize("module", [calculations, calculations.shapes, names], ids=["registry", "shapes", "names"])
def test_the_examples_in_the_docstrings_hold(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0
