"""The editor of a mapping: what a survey suggests, what a person chose, and what is wrong with it, field by field."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from django.utils.safestring import SafeString

from api.pages import charts
from api.pages.load_forms import sure
from api.pages.mapping_names import FORMS, NOT_A_ROLE, UNITS, label
from inventory.intake import mapping as mappings
from inventory.intake import own_words
from inventory.intake.glance import LONGEST
from inventory.intake.roles import ROLES
from inventory.problems import Invalid

# What a select sends where a person leaves a text as the word lists read it, and where it is to say nothing.
AS_READ, NOTHING = "", "-"
# So many of the commonest texts stand beside a column; so many texts of all columns together can be mapped on a page.
SHOWN: Final = 5
MOST_WORDS: Final = 1_200
Draft = dict[str, Any]


@dataclass
class Word:
    """One text of a column: its rows, how the word lists read it, and what a person chose."""

    name: str
    text: str
    rows: int | None
    read: str
    chosen: str


@dataclass
class Row:
    """One column of the file, as it is shown: what was found, and what it is taken for."""

    place: int
    heading: str
    found: Mapping[str, Any]
    role: str
    unit: str
    form: str
    picture: SafeString
    said: str
    words: list[Word]
    ours: tuple[str, ...]
    errors: dict[str, list[str]] = field(default_factory=dict)

    @property
    def taken(self) -> bool:
        """Whether anything of the column is taken over."""
        return self.role != NOT_A_ROLE

    @property
    def changed(self) -> bool:
        """Whether a person takes it for something else than the survey does."""
        return (self.role, self.unit, self.form) != (self.found["role"], self.found["unit"], self.found["format"])

    @property
    def sure(self) -> str:
        """The survey's confidence in a word."""
        return sure(self.found["confidence"])

    @property
    def suggestion(self) -> str:
        """What the survey takes it for, with its unit or form."""
        more = [UNITS.get(self.found["unit"], ""), FORMS.get(self.found["format"], "")]
        return ", ".join([label(self.found["role"]), *filter(None, more)])

    @property
    def texts(self) -> list[tuple[str, int, SafeString]]:
        """The commonest texts with their rows and bars; none where each stands once."""
        seen = self.found.get("glance", {}).get("texts", ())[:SHOWN]
        if not seen or seen[0]["rows"] == 1 < self.found["glance"]["values"]:
            return []
        return [(one["text"], one["rows"], charts.bar(one["rows"], self.found["glance"]["values"])) for one in seen]

    @property
    def others(self) -> int:
        """How many distinct values are not listed."""
        return max(0, int(self.found["distinct"]) - len(self.texts))


def suggested(survey: Mapping[str, Any]) -> Draft:
    """The mapping of a survey, to start from."""
    return {"file": dict(survey["mapping"]["file"]), "column": [dict(one) for one in survey["mapping"]["column"]]}


def chosen(survey: Mapping[str, Any], sent: Mapping[str, str], start: Draft) -> Draft:
    """What a form sends: the choices of each column, of the system, the decimal sign and the day."""
    draft: Draft = {**start, "file": dict(start["file"]), "column": []}
    crs = sent.get("crs", "")
    if crs:
        draft["file"]["crs"] = int(crs) if crs.isascii() and crs.isdigit() and len(crs) < 7 else crs[:40]
    if sent.get("decimal"):
        draft["file"]["decimal"] = sent["decimal"]
    day = sent.get("measured_on", "").strip()
    draft["file"].pop("measured_on", None)
    if day:
        draft["file"]["measured_on"] = day
    for place, column in enumerate(survey["columns"]):
        draft["column"].append(_column(place, column["heading"], sent))
    return draft


def _column(place: int, heading: str, sent: Mapping[str, str]) -> dict[str, Any]:
    role = sent.get(f"role-{place}", NOT_A_ROLE)
    found: dict[str, Any] = {"heading": heading, "role": role}
    known = ROLES.get(role)
    # A unit beside a role that has none is what was chosen for another role before.
    if known and known.units:
        found["unit"] = sent.get(f"unit-{place}", "")
    if known and known.formats:
        found["format"] = sent.get(f"form-{place}", "")
    if role in own_words.OURS and (own := dict(_own(place, sent))):
        found["words"] = own
    return found


def _own(place: int, sent: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for number in range(own_words.MOST):
        text = sent.get(f"text-{place}-{number}")
        if text is None:
            return
        word = sent.get(f"word-{place}-{number}", AS_READ)
        if word != AS_READ:
            yield text, "" if word == NOTHING else word


def reused(survey: Mapping[str, Any], kept: Mapping[str, Any], *, same_file: bool = False) -> tuple[Draft, list[str]]:
    """A mapping laid upon this file by its headings, and what a person should know of that.

    `same_file`: it was made for this very file, so its coordinate system and day hold here too.
    """
    draft = {**kept, **suggested(survey)}
    by_heading = {own_words.folded(one["heading"]): one for one in kept.get("column", ())}
    here = {own_words.folded(column["heading"]): column["heading"] for column in survey["columns"]}
    once = {str(one["role"]) for folded, one in by_heading.items() if folded in here} - _SEVERAL
    columns, new = [], []
    for suggestion in draft["column"]:
        known = by_heading.get(own_words.folded(suggestion["heading"]))
        if known is None:
            new.append(suggestion["heading"])
            columns.append({"heading": suggestion["heading"], "role": NOT_A_ROLE} if suggestion["role"] in once
                           else suggestion)  # fmt: skip
        else:
            columns.append({**known, "heading": suggestion["heading"]})
    draft["column"] = columns
    told = [f"it maps {one['heading']!r}, which this file does not have" for folded, one in by_heading.items()
            if folded not in here and one["role"] != NOT_A_ROLE]  # fmt: skip
    told += [f"{heading!r} is new: it is taken as the survey suggests" for heading in new]
    settings = kept.get("file", {})
    if same_file:
        own = ("crs", "taken_for", "decimal", "measured_on")
        draft["file"] |= {name: settings[name] for name in own if name in settings}
    crs = settings.get("crs")
    if crs and crs != draft["file"]["crs"]:
        told.append(f"its coordinates are in EPSG:{crs}; those of this file seem to be in EPSG:{draft['file']['crs']}")
    return draft, told


_SEVERAL: Final = frozenset(name for name, role in ROLES.items() if role.several)


def errors(draft: Draft) -> dict[str, list[str]]:
    """What is wrong with a draft, by JSON pointer; empty where nothing is. The rules are those of the mapping."""
    try:
        mappings.from_dict(draft)
    except Invalid as refusal:
        found: dict[str, list[str]] = {}
        for error in refusal.errors:
            found.setdefault(error.pointer, []).append(_plain(draft, error.pointer, error.detail))
        return found
    return {}


# Where the rules of a mapping name a role by its short name.
_ROLE_NAMED: Final = re.compile(rf"(\b(?:has the role|map|or) )({'|'.join(sorted(ROLES, key=len, reverse=True))})\b")


def _plain(draft: Draft, pointer: str, detail: str) -> str:
    """A problem of a select, in the words of the page."""
    parts = pointer.split("/")
    if len(parts) == 4 and parts[1] == "column" and parts[3] in ("unit", "format"):
        role = ROLES.get(str(draft["column"][int(parts[2])].get("role")))
        options = (role.units if parts[3] == "unit" else role.formats) if role else ()
        said = ", ".join(FORMS.get(one, one) for one in options)
        return f"choose the {'unit' if parts[3] == 'unit' else 'form'}: {said}"
    return _ROLE_NAMED.sub(lambda found: f"{found[1]}{label(found[2]).lower()}", detail)


def rows(survey: Mapping[str, Any], draft: Draft, wrong: Mapping[str, list[str]]) -> list[Row]:
    """Each column with its picture, its choices and its problems."""
    found, left = [], MOST_WORDS
    for place, column in enumerate(survey["columns"]):
        found.append(_row(place, column, draft["column"][place], wrong, left))
        left -= len(found[-1].words)
    return found


def _row(
    place: int, found: Mapping[str, Any], taken: Mapping[str, Any], wrong: Mapping[str, list[str]], most_words: int
) -> Row:
    glance = found.get("glance", {"kind": "empty", "values": 0})
    unit = found["unit"]
    drawn = "histogram" in glance
    role = str(taken.get("role", NOT_A_ROLE))
    here = f"#/column/{place}/"
    return Row(
        place, found["heading"], found, role, str(taken.get("unit", "")), str(taken.get("format", "")),
        charts.histogram(found["heading"], glance, unit) if drawn else SafeString(""),
        charts.said(glance, unit) if drawn else "",
        _words(place, role, taken.get("words", {}), glance.get("texts", ())[: max(0, most_words)]),
        own_words.OURS[role][0] if role in own_words.OURS else (),
        {name: said for pointer, said in wrong.items() if (name := _field(pointer, here))},
    )  # fmt: skip


def _field(pointer: str, here: str) -> str:
    """The field of a column that a pointer is about; empty where it is about another one."""
    return pointer.removeprefix(here).split("/")[0] if pointer.startswith(here) else ""


def _words(place: int, role: str, own: Mapping[str, str], texts: Sequence[Mapping[str, Any]]) -> list[Word]:
    if role not in own_words.OURS:
        return []
    read = own_words.OURS[role][1]
    # A longer text was cut off, and would match no cell.
    seen = {one["text"]: one["rows"] for one in texts if len(one["text"]) < LONGEST}
    folded = {own_words.folded(text): word for text, word in own.items()}
    every = [*seen, *(text for text in own if own_words.folded(text) not in map(own_words.folded, seen))]
    found = []
    for number, text in enumerate(every):
        said = folded.get(own_words.folded(text))
        picked = AS_READ if said is None else said or NOTHING
        found.append(Word(f"{place}-{number}", text, seen.get(text), read(text), picked))
    return found
