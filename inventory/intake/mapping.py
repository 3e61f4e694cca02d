"""The mapping of a city's file: which column means what, as a plain TOML file that a person can read and edit.

    [file]
    format = "csv"              # csv, geojson, gpkg or shapefile (zipped)
    encoding = "utf-8"          # utf-8, utf-8-sig, utf-16 or cp1252
    delimiter = ","
    header = true
    layer = "trees"             # optional: which table of a GeoPackage, which Shapefile of an archive
    crs = 4326                  # the EPSG number of the coordinates' system, of the list in inventory/geo/crs.py
    taken_for = 102008          # optional: degrees were taken for metres of this system; they are taken back
    decimal = "."
    measured_on = 2020-01-28    # optional: the day the file describes, where no column tells

    [codes]                     # optional: the city's codes of species, where no column beside them names them
    "ACPL" = "Acer platanoides"

    [[column]]
    heading = "dbh"
    role = "dbh"                # what it means, see below
    unit = "in"                 # for sizes
    format = "ymd"              # for dates (ymd, dmy, mdy, year) and points (lat_lon, lon_lat)

    [column.words]              # optional, of a condition, recommendation or state: a text of the city -> our word
    "Klasse 2" = "fair"

A column that is not named is not taken over.
"""

import tomllib
from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import Any

from inventory.geo.crs import ALLOWED, CONTINENTAL, WGS84
from inventory.geo.transform import is_geographic
from inventory.intake import own_words
from inventory.intake.layout import Layout
from inventory.intake.roles import ROLES
from inventory.problems import FieldProblem, Invalid

FORMATS = ("csv", "geojson", "gpkg", "shapefile")
MOST_CODES, LONGEST_CODE = 20_000, 400
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "cp1252")


# Roles that say the same thing: one of them is mapped.
ALTERNATIVES = (
    ("dbh", "girth"), ("dbh", "radius"), ("girth", "radius"), ("species", "genus"), ("address", "street"),
    ("crown", "crown_radius"),
)  # fmt: skip


@dataclass(frozen=True)
class Column:
    """What one column means."""

    heading: str
    role: str
    unit: str = ""
    format: str = ""
    # Texts of a condition, recommendation or state, each with our word for it (empty: it says nothing).
    words: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Mapping:
    """What the whole file means."""

    layout: Layout
    columns: tuple[Column, ...]
    crs: int = 4326
    decimal: str = "."
    measured_on: date | None = None
    # The system for whose metres the degrees of the file were taken by mistake; 0 for none.
    taken_for: int = 0
    # The city's own codes of species with the name that each stands for.
    codes: tuple[tuple[str, str], ...] = ()

    def of(self, *names: str) -> list[Column]:
        """The columns that have one of these roles, in the order of the mapping."""
        return [column for column in self.columns if column.role in names]

    def require(self, headings: list[str]) -> None:
        """Check that the file has every mapped column. Raises Invalid naming those it lacks."""
        problems = [
            FieldProblem(f"#/column/{place}/heading", f"the file has no column {column.heading!r}")
            for place, column in enumerate(self.columns)
            if column.heading not in headings
        ]
        if problems:
            raise Invalid.fields(problems)


@dataclass
class _Checked:
    """Collects what is wrong while a mapping is taken apart."""

    problems: list[FieldProblem] = field(default_factory=list)

    def add(self, pointer: str, detail: str) -> None:
        self.problems.append(FieldProblem(pointer, detail))

    def word(self, pointer: str, value: object, words: tuple[Any, ...], default: Any) -> Any:
        # A bool is an int to Python: `crs = true` must not pass as 1.
        if type(value) is type(default) and value in words:
            return value
        self.add(pointer, f"{value!r} is not one of {', '.join(map(repr, words))}")
        return default

    def known(self, pointer: str, table: dict[str, Any], names: set[str]) -> None:
        for name in sorted(set(table) - names):
            self.add(f"{pointer}/{name}", "there is no such key")


def parse(text: str) -> Mapping:
    """Read a mapping from TOML. Raises Invalid that names each key that is wrong."""
    try:
        return from_dict(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise Invalid.field("#/", f"not TOML: {error}") from error


def from_dict(given: object) -> Mapping:
    """Read a mapping from its tables, as TOML or JSON holds them. Raises Invalid."""
    checked = _Checked()
    if not isinstance(given, dict):
        raise Invalid.field("#/", "a mapping has a [file] table and [[column]] tables")
    if _holds_nul(given):
        raise Invalid.field("#/", "a text holds a zero byte, which no database keeps")
    checked.known("#", given, {"file", "column", "codes"})
    mapping = _file(checked, given.get("file", {}))
    mapping = replace(mapping, codes=_codes(checked, given.get("codes", {})))
    mapping = replace(mapping, columns=_columns(checked, given.get("column", [])))
    _together(checked, mapping)
    if checked.problems:
        raise Invalid.fields(checked.problems)
    return mapping


def _holds_nul(value: object) -> bool:
    if isinstance(value, dict):
        return any(_holds_nul(part) for pair in value.items() for part in pair)
    return any(map(_holds_nul, value)) if isinstance(value, list) else isinstance(value, str) and "\0" in value


def layout_of(given: object) -> Layout:
    """How a person says that a file is laid out, as the [file] table has it. Raises Invalid."""
    checked = _Checked()
    if _holds_nul(given):
        raise Invalid.field("#/file", "a text holds a zero byte, which no database keeps")
    found = _file(checked, given).layout
    if checked.problems:
        raise Invalid.fields(checked.problems)
    return found


def _codes(checked: _Checked, given: object) -> tuple[tuple[str, str], ...]:
    """The table of codes; texts of ordinary length on both sides."""
    if not isinstance(given, dict) or len(given) > MOST_CODES:
        checked.add("#/codes", f"must be a table of at most {MOST_CODES:,} codes, each with a name")
        return ()
    for code, name in given.items():
        if not isinstance(name, str) or not name.strip() or not code.strip() or len(code) + len(name) > LONGEST_CODE:
            checked.add(f"#/codes/{code[:40]}", "must be a code with the name that it stands for")
            return ()
    return tuple(given.items())


def _file(checked: _Checked, given: object) -> Mapping:
    if not isinstance(given, dict):
        checked.add("#/file", "must be a table")
        given = {}
    known = {f.name for f in fields(Layout)} | {"crs", "taken_for", "decimal", "measured_on"}
    checked.known("#/file", given, known)
    delimiter = given.get("delimiter", ",")
    if not isinstance(delimiter, str) or len(delimiter) > 1 or delimiter in '"\r\n.':
        if delimiter != "":
            checked.add("#/file/delimiter", "must be one character, no quote, point or line break")
        delimiter = ","
    layout = Layout(
        checked.word("#/file/format", given.get("format", "csv"), FORMATS, "csv"),
        checked.word("#/file/encoding", given.get("encoding", "utf-8"), ENCODINGS, "utf-8"),
        delimiter,
        checked.word("#/file/header", given.get("header", True), (True, False), True),
        _layer(checked, given.get("layer", "")),
    )
    return Mapping(
        layout,
        (),
        _crs(checked, given.get("crs", WGS84)),
        checked.word("#/file/decimal", given.get("decimal", "."), (".", ","), "."),
        _day(checked, given.get("measured_on")),
        _taken_for(checked, given.get("taken_for", 0)),
    )


def _layer(checked: _Checked, value: object) -> str:
    if isinstance(value, str) and len(value) <= 200:
        return value
    checked.add("#/file/layer", "must be the name of a layer")
    return ""


def _crs(checked: _Checked, value: object) -> int:
    if type(value) is int and value in ALLOWED:
        return value
    checked.add("#/file/crs", f"{value!r:.40} is not the EPSG number of a coordinate reference system known here")
    return WGS84


def _taken_for(checked: _Checked, value: object) -> int:
    if type(value) is int and (value == 0 or value in CONTINENTAL or (value in ALLOWED and not is_geographic(value))):
        return value
    checked.add("#/file/taken_for", f"{value!r:.40} is not the number of a system of metres known here")
    return 0


def _day(checked: _Checked, value: object) -> date | None:
    try:
        if isinstance(value, str):
            value = date.fromisoformat(value)
        if value is None or type(value) is date:
            return value
    except ValueError:
        pass
    checked.add("#/file/measured_on", "must be a date such as 2020-01-28")
    return None


def _columns(checked: _Checked, given: object) -> tuple[Column, ...]:
    if not isinstance(given, list) or not given:
        checked.add("#/column", "name at least the columns of the coordinates")
        return ()
    return tuple(_column(checked, f"#/column/{place}", table) for place, table in enumerate(given))


def _column(checked: _Checked, pointer: str, given: object) -> Column:
    table = given if isinstance(given, dict) else {}
    checked.known(pointer, table, {f.name for f in fields(Column)})
    heading = table.get("heading")
    if not isinstance(heading, str) or not heading:
        checked.add(f"{pointer}/heading", "must be the heading of a column")
        heading = ""
    name = checked.word(f"{pointer}/role", table.get("role", ""), tuple(ROLES), "ignored")
    role = ROLES[name]
    unit, order = table.get("unit", ""), table.get("format", "")
    if role.units:
        unit = checked.word(f"{pointer}/unit", unit, role.units, "")
    elif unit:
        checked.add(f"{pointer}/unit", f"a {name} has no unit")
    if role.formats:
        order = checked.word(f"{pointer}/format", order, role.formats, "")
    elif order:
        checked.add(f"{pointer}/format", f"a {name} has no format")
    return Column(heading, name, unit, order, _words(checked, f"{pointer}/words", name, table.get("words", {})))


def _words(checked: _Checked, pointer: str, role: str, given: object) -> tuple[tuple[str, str], ...]:
    """The city's own texts of a column, each with a word of ours."""
    if not given:
        return ()
    if role not in own_words.OURS:
        checked.add(pointer, f"the words of a {role} are not mapped")
        return ()
    if not isinstance(given, dict) or len(given) > own_words.MOST or max(map(len, given)) > own_words.LONGEST:
        checked.add(pointer, f"must be a table of at most {own_words.MOST} texts, each with a word of ours")
        return ()
    ours = ("", *own_words.OURS[role][0])
    return tuple((text, checked.word(f"{pointer}/{_escaped(text)}", word, ours, "")) for text, word in given.items())


def _escaped(text: str) -> str:
    """A key as JSON pointers write it (RFC 6901)."""
    return text.replace("~", "~0").replace("/", "~1")


def _together(checked: _Checked, mapping: Mapping) -> None:
    """Rules over the columns: one column a role, a place, and epithets that have a genus."""
    roles = [column.role for column in mapping.columns]
    headings = [column.heading for column in mapping.columns]
    for place, (heading, name) in enumerate(zip(headings, roles, strict=True)):
        if not ROLES[name].several and name in roles[:place]:
            checked.add(f"#/column/{place}/role", f"a second column has the role {name}")
        if heading and heading in headings[:place]:
            checked.add(f"#/column/{place}/heading", f"{heading!r} is mapped twice")
    _placed(checked, mapping, set(roles))
    if {"epithet", "genus"} & set(roles) == {"epithet"}:
        checked.add("#/column", "an epithet needs a genus column")
    for one, other in ALTERNATIVES:
        if {one, other} <= set(roles):
            checked.add("#/column", f"map {one} or {other}, not both")


def _placed(checked: _Checked, mapping: Mapping, roles: set[str]) -> None:
    """Places come from one pair of columns or one point column, degrees with a system of degrees."""
    degrees, metres = {"latitude", "longitude"} & roles, {"northing", "easting"} & roles
    if len(degrees) == 1 or len(metres) == 1 or bool(degrees) + bool(metres) + ("point" in roles) != 1:
        checked.add("#/column", "map latitude and longitude, or northing and easting, or one point column")
    elif degrees and not is_geographic(mapping.crs):
        checked.add("#/file/crs", f"EPSG:{mapping.crs} has no degrees: map northing and easting")
    elif metres and is_geographic(mapping.crs):
        checked.add("#/file/crs", "northing and easting need the number of their system")


def to_dict(mapping: Mapping) -> dict[str, Any]:
    """The mapping as the tables of TOML or JSON (dates as text)."""
    layout = mapping.layout
    file: dict[str, Any] = {f.name: getattr(layout, f.name) for f in fields(Layout)}
    if not layout.layer:
        del file["layer"]
    file |= {"crs": mapping.crs, "decimal": mapping.decimal}
    if mapping.taken_for:
        file["taken_for"] = mapping.taken_for
    if mapping.measured_on:
        file["measured_on"] = mapping.measured_on.isoformat()
    tables: dict[str, Any] = {"file": file, "column": [_table(column) for column in mapping.columns]}
    return tables | ({"codes": dict(mapping.codes)} if mapping.codes else {})


def _table(column: Column) -> dict[str, Any]:
    table: dict[str, Any] = {
        name: value for name in ("heading", "role", "unit", "format") if (value := getattr(column, name))
    }
    return table | ({"words": dict(column.words)} if column.words else {})


def write(mapping: Mapping, remarks: dict[str, str] | None = None) -> str:
    """The mapping as TOML, with a remark above each column whose heading has one; `parse` reads it back the same."""
    tables = to_dict(mapping)
    lines = ["[file]", *(f"{name} = {_toml(value)}" for name, value in tables["file"].items())]
    if mapping.codes:
        lines += ["", "[codes]", *(f"{_toml(code)} = {_toml(name)}" for code, name in mapping.codes)]
    for column in tables["column"]:
        # A remark quotes the file, which may hold signs that no comment may.
        remark = "".join(c if c.isprintable() else " " for c in (remarks or {}).get(column["heading"], ""))
        lines += ["", "[[column]]", *([f"# {remark}"] if remark else [])]
        own = column.pop("words", {})
        lines += [f"{name} = {_toml(value)}" for name, value in column.items()]
        lines += ["[column.words]", *(f"{_toml(text)} = {_toml(word)}" for text, word in own.items())] if own else []
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    text = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\U{ord(c):08X}" for c in text) + '"'
