"""What is taken: read strictly, each wrong key named."""

import uuid

import pytest

from inventory.intake.merge import choices
from inventory.problems import Invalid


def test_nothing_said_keeps_what_people_did_and_what_stands() -> None:
    default = choices.read(None)
    assert {name for name, file in default.kinds.items() if file} == {"changed", "moved", "appeared"}


def test_what_is_written_is_read_back() -> None:
    uid = str(uuid.uuid4())
    given = {"kinds": {"gone": "file"}, "lines": {"12": "ours"}, "trees": {uid.upper(): "file"}}
    read = choices.read(given)
    assert read.kinds["gone"]
    assert (dict(read.lines), dict(read.trees)) == ({12: False}, {uid: True})
    assert choices.read(read.as_dict()) == read


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ([], "#/choices"),
        ({"kind": {}}, "#/choices/kind"),
        ({"kinds": []}, "#/choices/kinds"),
        ({"kinds": {"felled": "file"}}, "#/choices/kinds/felled"),
        ({"kinds": {"gone": True}}, "#/choices/kinds/gone"),
        ({"kinds": {"gone": ["file"]}}, "#/choices/kinds/gone"),
        ({"lines": {"-1": "file"}}, "#/choices/lines/-1"),
        ({"lines": {"٣": "file"}}, "#/choices/lines/٣"),
        ({"trees": {"T1": "ours"}}, "#/choices/trees/T1"),
    ],
)
def test_a_wrong_key_is_named(given: object, pointer: str) -> None:
    with pytest.raises(Invalid) as refused:
        choices.read(given)
    assert [error.pointer for error in refused.value.errors] == [pointer]
