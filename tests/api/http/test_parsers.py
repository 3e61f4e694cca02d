"""The JSON reader: RFC 8259, finite, limited."""

import io
import time

import pytest
from django.test import override_settings

from api.http.kinds import TooLarge, Unreadable
from api.http.parsers import StrictJSON, read_json


@pytest.mark.parametrize(
    "text",
    [
        "", "{", "NaN", "[Infinity]", "-Infinity", "1e400", "-1e999", '{"a": 1, "a": 2}', '{"a": [{"b": 1, "b": 1}]}',
        "[" * 100_000, '"\\ud800"', '{"\\udfff": 1}', "1" * 5000, "{'a': 1}", "\ufeff{}",
    ],
    ids=lambda text: text[:12],
)  # fmt: skip
def test_what_is_no_json_is_refused(text: str) -> None:
    with pytest.raises(Unreadable):
        read_json(text)


def test_json_is_read() -> None:
    assert read_json('{"a": [1, 2.5, -1e-400, null, true, "\\ud83c\\udf33"]}') == {"a": [1, 2.5, 0.0, None, True, "🌳"]}


@override_settings(DATA_UPLOAD_MAX_MEMORY_SIZE=10)
def test_a_body_over_the_limit_is_too_large() -> None:
    assert StrictJSON().parse(io.BytesIO(b"[1,2,3,44]")) == [1, 2, 3, 44]
    with pytest.raises(TooLarge):
        StrictJSON().parse(io.BytesIO(b"[1,2,3,444]"))


def test_a_body_that_is_not_utf_8_is_refused() -> None:
    with pytest.raises(Unreadable):
        StrictJSON().parse(io.BytesIO(b'"\xff"'))


def test_a_member_twice_among_very_many_is_found_in_one_pass() -> None:
    many = ",".join(f'"{number:x}":0' for number in range(100_000))
    began = time.perf_counter()
    with pytest.raises(Unreadable, match="'z' stands there twice"):
        read_json(f'{{{many},"z":0,"z":0}}')
    assert time.perf_counter() - began < 5  # a search for each member anew takes minutes
