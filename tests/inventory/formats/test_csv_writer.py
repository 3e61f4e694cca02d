"""CSV as RFC 4180 means it, read back by another reader; no cell is a formula."""

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from inventory.formats import csv_writer

TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\0"))


def read(header: list[str], rows: list[list[object]]) -> list[list[str]]:
    text = b"".join(csv_writer.write(header, rows)).decode()
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def test_lines_end_with_crlf_and_what_needs_quotes_has_them() -> None:
    written = b"".join(csv_writer.write(["a", "b"], [['say "x"', "1,2"], ["two\r\nlines", None]]))
    assert written == b'a,b\r\n"say ""x""","1,2"\r\n"two\r\nlines",\r\n'


@given(st.lists(st.lists(TEXTS, min_size=2, max_size=2)))
def test_every_text_comes_back_and_none_begins_like_a_formula(rows: list[list[str]]) -> None:
    back = read(["a", "b"], [list(row) for row in rows])[1:]
    for given_row, found in zip(rows, back, strict=True):
        for text, cell in zip(given_row, found, strict=True):
            assert cell in (text, f"'{text}")
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))


def test_numbers_stay_numbers_also_negative_ones() -> None:
    assert read(["a"], [[-29.5], [True], [None], [0]])[1:] == [["-29.5"], ["true"], [""], ["0"]]


def test_a_large_file_comes_in_pieces() -> None:
    pieces = list(csv_writer.write(["a"], ([("x" * 100)] for _ in range(5000))))
    assert len(pieces) > 3
    assert max(map(len, pieces)) < 100_000
    assert b"".join(pieces).count(b"\r\n") == 5001
