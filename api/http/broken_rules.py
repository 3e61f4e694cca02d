"""A rule that the database kept, told as a refusal: the field and the rule, never the statement.

The constraints have speaking names, `<table>_<field>_<suffix>` (inventory/constraints.py); this reads them back.
"""

from django.apps import apps
from django.db import DataError, IntegrityError

from inventory.problems import Conflict, FieldProblem, Invalid, Refusal

UNIQUE, FOREIGN_KEY, NOT_NULL = "23505", "23503", "23502"
_SENTENCES = {
    "word": "is not one of the words allowed",
    "range": "is outside the range allowed",
    "order": "is larger than the value it must not exceed",
    "filled": "must not be empty",
    "uniq": "is taken already",
    "once": "is taken already",
    "key": "is taken already",
}


def refusal(error: IntegrityError | DataError) -> Refusal | None:
    """The refusal for a broken constraint; None where no client can have caused it."""
    diag = getattr(error.__cause__, "diag", None)
    state = str(getattr(diag, "sqlstate", "") or "")
    name = str(getattr(diag, "constraint_name", "") or "")
    if state.startswith("22"):
        return Invalid("a value cannot be stored: it is out of range or of the wrong form")
    if state == FOREIGN_KEY:
        return Conflict("it refers to something that does not exist, or is still referred to")
    if state == NOT_NULL:
        column = str(getattr(diag, "column_name", "") or "")
        return Invalid.field(f"#/{column}", "is required")
    if not name:
        return None  # a tracked write outside acting(): a defect of ours
    field, sentence = _reading(name, str(getattr(diag, "table_name", "") or ""))
    problem = FieldProblem(f"#/{field}" if field else "#", sentence)
    detail = f"{field or 'the record'}: {sentence}"
    return Conflict(detail, [problem]) if state == UNIQUE else Invalid(detail, [problem])


def _reading(name: str, table: str) -> tuple[str, str]:
    """The field and the sentence of a constraint's name; the rule's own name where it tells no field."""
    rest = name.removeprefix(f"{table}_")
    for column in sorted(_columns(table), key=len, reverse=True):
        if rest == column or rest.startswith(f"{column}_"):
            suffix = rest.removeprefix(column).strip("_").split("_")[-1]
            return column.removesuffix("_id"), _SENTENCES.get(suffix, f"breaks the rule {name}")
    return "", f"breaks the rule {name}"


def _columns(table: str) -> set[str]:
    """The columns of a table of ours."""
    models = (model for model in apps.get_models() if model._meta.db_table == table)
    return {str(field.column) for model in models for field in model._meta.local_fields}
