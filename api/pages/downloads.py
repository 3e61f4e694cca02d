"""Answers that are files: CSV that a spreadsheet opens as it is meant, and GeoJSON."""

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

from django.http import HttpResponse

# A spreadsheet takes a cell that begins so for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def as_csv(name: str, headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> HttpResponse:
    """A CSV file (RFC 4180, UTF-8); text that a spreadsheet would run as a formula is marked as text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(headings)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return _file(name, out.getvalue(), "text/csv; charset=utf-8")


def as_geojson(name: str, text: str) -> HttpResponse:
    """A GeoJSON file."""
    return _file(name, text, "application/geo+json")


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, str) and value.startswith(_FORMULA):
        return f"'{value}"
    return value


def _file(name: str, text: str, kind: str) -> HttpResponse:
    response = HttpResponse(text, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
