"""A plain form for a calculation, made from the JSON Schema of its request; and the request from what was typed.

A number, word or flag is one field; an object of such has a field for each member; rows are lines with commas.
"""

import json
from collections.abc import Iterator, Mapping
from typing import Any, Final

from django import forms

from api.pages import names
from api.pages.names import label
from assessments import calculations
from assessments.calculations import Kind
from inventory.problems import FieldProblem, Refusal

_SCALARS: Final = ("number", "integer", "string", "boolean")
_MOST_CHARACTERS: Final = 200_000
_APART: Final = "__"


class CalculationForm(forms.Form):
    """The fields of one kind. After `is_valid`, `request` is the JSON request that was typed."""

    mark_required = True

    def __init__(self, kind: Kind, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind
        self.request: dict[str, Any] = {}
        needed = kind.input.get("required", ())
        for path, schema in _paths(kind.input):
            self.fields[_APART.join(path)] = _field(path, schema, required=path[0] in needed and len(path) == 1)

    def clean(self) -> dict[str, Any]:
        """Put the request together; what cannot be read is told at its field."""
        found = super().clean() or {}
        for path, schema in _paths(self.kind.input):
            name = _APART.join(path)
            try:
                value = _value(found.get(name, ""), schema)
            except ValueError as error:
                self.add_error(name, str(error))
                continue
            if value is not None:
                inner = self.request
                for step in path[:-1]:
                    inner = inner.setdefault(step, {})
                inner[path[-1]] = value
        return found

    def tell(self, refusal: Refusal) -> None:
        """Show a refusal at the fields that it names."""
        for error in refusal.errors:
            self.add_error(*_told(error, self.fields))
        if not refusal.errors:
            self.add_error(None, refusal.detail)


def example(kind: Kind) -> dict[str, str]:
    """What to type for the example of a kind."""
    typed = {}
    for path, schema in _paths(kind.input):
        value: Any = kind.example
        for step in path:
            value = value.get(step) if isinstance(value, Mapping) else None
        if value is not None:
            typed[_APART.join(path)] = _typed(value, schema)
    return typed


def _paths(schema: dict[str, Any]) -> Iterator[tuple[tuple[str, ...], dict[str, Any]]]:
    """The fields of a form, those that are needed first: members, and the members of flat objects."""
    needed = schema.get("required", ())
    for name, part in sorted(schema["properties"].items(), key=lambda item: item[0] not in needed):
        members = part.get("properties", {}) if part.get("additionalProperties") is False else {}
        if members and all(_scalar(one) or _numbers(one) for one in members.values()):
            yield from (((name, member), one) for member, one in members.items())
        else:
            yield (name,), part


def _types(schema: Mapping[str, Any]) -> list[str]:
    kind = schema.get("type", "string" if "enum" in schema else "")
    return [kind] if isinstance(kind, str) else list(kind)


def _scalar(schema: Mapping[str, Any]) -> bool:
    return any(kind in _SCALARS for kind in _types(schema))


def _numbers(schema: Mapping[str, Any]) -> bool:
    return "array" in _types(schema) and "number" in _types(schema.get("items", {}))


def _columns(schema: Mapping[str, Any]) -> list[str]:
    """The columns of an array of flat objects; empty for anything else."""
    members = schema.get("items", {}).get("properties", {}) if "array" in _types(schema) else {}
    return list(members) if all(_scalar(one) for one in members.values()) else []


def _field(path: tuple[str, ...], schema: dict[str, Any], *, required: bool) -> forms.Field:
    given: dict[str, Any] = {"label": names.path(path), "required": required}
    help_text = schema.get("description", "")
    if "enum" in schema or _types(schema) == ["boolean"]:
        words = [True, False] if "enum" not in schema else [one for one in schema["enum"] if isinstance(one, str)]
        choices = [("", "not given"), *((json.dumps(one), _said(one)) for one in words)]
        return forms.ChoiceField(choices=choices, help_text=help_text, **given)
    if _scalar(schema):
        mode = {} if "string" in _types(schema) else {"inputmode": "decimal"}
        return forms.CharField(max_length=200, help_text=help_text, widget=forms.TextInput(attrs=mode), **given)
    columns = _columns(schema)
    if columns:
        what = "A line each, commas between: " + ", ".join(label(one).lower() for one in columns) + "."
        help_text = f"{help_text} {what}".strip()
    elif _numbers(schema):
        help_text = f"{help_text} Commas between.".strip()
    else:
        help_text = f"{help_text} As JSON.".strip()
    rows = 1 if _numbers(schema) else 3
    area = forms.Textarea(attrs={"rows": rows, "spellcheck": "false"})
    field = forms.CharField(max_length=_MOST_CHARACTERS, help_text=help_text, widget=area, **given)
    field.wide = True  # type: ignore[attr-defined]
    return field


def _said(word: object) -> str:
    return {True: "yes", False: "no"}[word] if isinstance(word, bool) else str(word).replace("_", " ")


def _value(typed: str, schema: Mapping[str, Any]) -> Any:
    """What was typed as JSON; None where nothing was. Raises ValueError."""
    typed = typed.strip()
    if not typed:
        return None
    if "enum" in schema or _types(schema) == ["boolean"]:
        return json.loads(typed)
    if _scalar(schema):
        return _cell(typed, schema)
    if _numbers(schema):
        return [_cell(one, schema["items"]) for one in typed.replace("\n", ",").split(",") if one.strip()]
    columns = _columns(schema)
    if columns and not typed.startswith("["):
        return [_row(line, columns, schema["items"]["properties"]) for line in typed.splitlines() if line.strip()]
    try:
        return calculations.parse(typed)
    except Refusal as error:
        raise ValueError(error.detail) from error


def _row(line: str, columns: list[str], members: Mapping[str, Any]) -> dict[str, Any]:
    cells = [cell.strip() for cell in line.split(",")]
    if len(cells) > len(columns):
        raise ValueError(f"a line has {len(cells)} values; there are {len(columns)}: {', '.join(columns)}")
    return {name: _cell(cell, members[name]) for name, cell in zip(columns, cells, strict=False) if cell}


def _cell(typed: str, schema: Mapping[str, Any]) -> Any:
    """A number where one is wanted and readable; else the text, which the method then refuses at its place."""
    typed, kinds = typed.strip(), _types(schema)
    if "boolean" in kinds:
        return {"yes": True, "true": True, "no": False, "false": False}.get(typed.lower(), typed)
    if "string" in kinds:
        return typed
    try:
        return int(typed) if "integer" in kinds else float(typed)
    except ValueError:
        return typed


def _typed(value: Any, schema: Mapping[str, Any]) -> str:
    if "enum" in schema or _types(schema) == ["boolean"]:
        return json.dumps(value)
    if _scalar(schema):
        return str(value)
    if _numbers(schema):
        return ", ".join(map(str, value))
    if columns := _columns(schema):
        return "\n".join(", ".join(str(row.get(name, "")) for name in columns).rstrip(", ") for row in value)
    return json.dumps(value)


def _told(error: FieldProblem, fields: Mapping[str, Any]) -> tuple[str | None, str]:
    """The field of a problem and what to say there: the number of the row, and the member of it."""
    steps = [step for step in error.pointer.removeprefix("#").split("/") if step]
    for count in (2, 1):
        name = _APART.join(steps[:count])
        if name in fields and len(steps) >= count:
            where = [f"row {int(step) + 1}" if step.isdigit() else label(step).lower() for step in steps[count:]]
            return name, f"{', '.join(where)}: {error.detail}" if where else error.detail
    inside = next((name for name in fields if steps and name.startswith(f"{steps[0]}{_APART}")), None)
    return inside, error.detail
