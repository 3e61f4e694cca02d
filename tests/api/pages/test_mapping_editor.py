"""The editor of a mapping: what the form holds is what it sends, within bounds; another mapping laid upon it."""

from typing import Any

from hypothesis import given
from hypothesis import strategies as some

from api.pages import mapping_editor, mapping_names
from inventory.intake import own_words
from inventory.intake.roles import ROLES

FILE = {"format": "csv", "encoding": "utf-8", "delimiter": ",", "header": True, "crs": 4326, "decimal": "."}


def survey(roles: list[str], texts: int = 3) -> dict[str, Any]:
    """A survey that takes its columns for these roles, each with so many texts."""
    columns = [
        {
            "heading": f"c{place}", "role": role, "confidence": 0.9, "evidence": "so", "filled": 1.0, "distinct": texts,
            "unit": next(iter(ROLES[role].units), ""), "format": next(iter(ROLES[role].formats), ""), "examples": [],
            "glance": {"kind": "texts", "values": 9, "distinct": texts,
                       "texts": [{"text": f"text {n}", "rows": 3} for n in range(texts)]},
        }
        for place, role in enumerate(roles)
    ]  # fmt: skip
    tables = [
        {name: value for name in ("heading", "role", "unit", "format") if (value := column[name])} for column in columns
    ]
    return {"columns": columns, "mapping": {"file": dict(FILE), "column": tables}}


def sent(rows: list[mapping_editor.Row]) -> dict[str, str]:
    """What the form of these rows sends as it stands."""
    values = {"crs": "4326", "decimal": "."}
    for row in rows:
        values |= {f"role-{row.place}": row.role, f"unit-{row.place}": row.unit, f"form-{row.place}": row.form}
        for word in row.words:
            values |= {f"text-{word.name}": word.text, f"word-{word.name}": word.chosen}
    return values


@given(some.lists(some.sampled_from(sorted(ROLES)), min_size=1, max_size=8), some.data())
def test_what_the_form_holds_is_what_it_sends(roles: list[str], data: some.DataObject) -> None:
    found = survey(roles)
    draft = mapping_editor.suggested(found)
    for column in draft["column"]:
        if column["role"] in own_words.OURS:
            ours = some.sampled_from(["", *own_words.OURS[column["role"]][0]])
            words = data.draw(some.dictionaries(some.sampled_from(["text 0", "text 2", "elsewhere"]), ours))
            column |= {"words": words} if words else {}
    rows = mapping_editor.rows(found, draft, {})
    assert mapping_editor.chosen(found, sent(rows), mapping_editor.suggested(found)) == draft


def test_a_form_never_has_more_fields_than_a_request_may(settings: Any) -> None:
    rows = mapping_editor.rows(found := survey(["condition"] * 500, 40), mapping_editor.suggested(found), {})
    assert len(rows) == 500
    assert sum(len(row.words) for row in rows) == mapping_editor.MOST_WORDS
    assert len(sent(rows)) < settings.DATA_UPLOAD_MAX_NUMBER_FIELDS


def test_every_role_unit_and_form_can_be_chosen() -> None:
    offered = {name for _, roles in mapping_names.role_groups() for name, *_ in roles} | {mapping_names.NOT_A_ROLE}
    assert offered == set(ROLES)
    forms = {name for _, group in mapping_names.form_groups() for name, _ in group}
    assert {form for role in ROLES.values() for form in role.formats} <= forms
    assert {unit for role in ROLES.values() for unit in role.units} <= set(mapping_names.UNITS)


def test_a_mapping_of_another_file_wins_over_the_survey_but_no_role_is_taken_twice() -> None:
    columns = [{"heading": "C1", "role": "key"}, {"heading": "gone", "role": "dbh", "unit": "cm"}]
    kept = {"file": {**FILE, "crs": 2154}, "column": columns, "codes": {"TI": "Tilia"}}
    draft, told = mapping_editor.reused(survey(["key", "note", "species"]), kept)
    assert [(one["heading"], one["role"]) for one in draft["column"]] == [
        ("c0", "ignored"), ("c1", "key"), ("c2", "species"),
    ]  # fmt: skip
    # What was kept beside columns stays; the system of the coordinates is that of this file.
    assert draft["codes"] == {"TI": "Tilia"}
    assert draft["file"]["crs"] == 4326
    assert [line.split(",")[0] for line in told if "EPSG" in line] == [
        "its coordinates are in EPSG:2154; those of this file seem to be in EPSG:4326"
    ]
    assert any("'gone'" in line for line in told)


def test_problems_name_roles_as_the_selects_do() -> None:
    found = survey(["dbh", "girth", "latitude", "longitude", "key", "key"])
    wrong = mapping_editor.errors(mapping_editor.suggested(found))
    assert wrong["#/column"] == ["map stem diameter or stem girth, not both"]
    assert wrong["#/column/5/role"] == ["a second column has the role number of the tree"]
