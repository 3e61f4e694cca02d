"""A survey: each column of a file as found, the places of a sample, and the mapping to be corrected, kept, checked."""

import json
import tempfile
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from api.pages import downloads, load_forms, mapping_editor, mapping_names, places_plan
from api.pages.access import author, may, page, reader
from api.pages.context import units_of
from api.pages.mapping_editor import Draft
from inventory.intake import codes, queries, saved, taxa
from inventory.intake import mapping as mappings
from inventory.intake.read import Source, open_source
from inventory.problems import Invalid, Missing, NotAllowed
from workers import jobs
from workers.models import Job

TOML_MOST: Final = 200_000
TOML: Final = "application/toml; charset=utf-8"
PLACES: Final = ("latitude", "longitude", "northing", "easting", "point")
DELIMITERS: Final = ((",", "commas"), (";", "semicolons"), ("tab", "tabs"), ("|", "upright strokes"))


@dataclass
class Shown:
    """What is on the page: the survey, the mapping as it stands, and what is to be said of it."""

    job: Job
    draft: Draft
    wrong: dict[str, list[str]] = field(default_factory=dict)
    notices: list[str] = field(default_factory=list)
    upload_errors: list[str] = field(default_factory=list)
    save_errors: list[str] = field(default_factory=list)
    codes_errors: list[str] = field(default_factory=list)
    source: str = ""
    name: str = ""

    @property
    def survey(self) -> dict[str, Any]:
        """The result of the survey."""
        result: dict[str, Any] = self.job.result or {}
        return result


def find(request: HttpRequest, uid: uuid.UUID) -> Job:
    """A job that the reader may see. Raises NotAllowed, Missing."""
    person = reader(request)
    if person is None:
        raise NotAllowed("sign in first")
    found = jobs.visible_to(person).filter(uid=uid).select_related("asked_by").first()
    if found is None:
        raise Missing(f"there is no job {uid}")
    return found


def show(request: HttpRequest, job: Job) -> HttpResponse:
    """The page of a survey that is done; `?mapping=` starts from that of a check, `?load=` from that of a load."""
    return _page(request, _start(request, job))


def _start(request: HttpRequest, job: Job) -> Shown:
    survey = job.result or {}
    kept, source, name = _kept(request)
    if kept is None:
        return Shown(job, mapping_editor.suggested(survey))
    draft, notices = mapping_editor.reused(survey, kept, same_file="mapping" in request.GET)
    return Shown(job, draft, notices=notices, source=source, name=name)


def _kept(request: HttpRequest) -> tuple[dict[str, Any] | None, str, str]:
    """The mapping that the address asks to start from, what to call it, and the name that it is saved under."""
    if uid := _uid(request.GET.get("mapping", "")):
        check = find(request, uid)
        return check.params.get("mapping"), "the mapping that was checked", ""
    if uid := _uid(request.GET.get("saved", "")):
        kept = saved.one(uid)
        return mappings.to_dict(mappings.parse(kept.mapping)), f"the saved mapping {kept.name}", kept.name
    if uid := _uid(request.GET.get("load", "")):
        load = queries.load(uid)
        return mappings.to_dict(mappings.parse(load.mapping)), f"the mapping by which {load.file_name} was loaded", ""
    return None, "", ""


def _uid(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text) if text else None
    except ValueError as error:
        raise Missing(f"there is no mapping {text!r:.50}") from error


def _page(request: HttpRequest, shown: Shown, status: int = 200) -> HttpResponse:
    survey = shown.survey
    rows = mapping_editor.rows(survey, shown.draft, shown.wrong)
    file = shown.draft["file"]
    values = {
        "job": shown.job,
        "survey": survey,
        "rows": rows,
        "taken": sum(row.taken for row in rows),
        "file": file,
        "rest": json.dumps({name: value for name, value in shown.draft.items() if name not in ("file", "column")}),
        "notices": shown.notices,
        "source": shown.source,
        "upload_errors": shown.upload_errors,
        "save_errors": shown.save_errors,
        "codes_errors": shown.codes_errors,
        "codes": len(shown.draft.get("codes", ())),
        "save_name": shown.name,
        "fits": saved.fitting(row.heading for row in rows),
        "encodings": mappings.ENCODINGS,
        "delimiters": DELIMITERS,
        "delimiter": "tab" if file.get("delimiter") == "\t" else file.get("delimiter", ","),
        "wrong": _listed(shown),
        "wrong_file": {pointer.rsplit("/", 1)[1]: said for pointer, said in shown.wrong.items() if "/file/" in pointer},
        "running": may(request, "intake.run"),
        "role_groups": mapping_names.role_groups(),
        "form_groups": mapping_names.form_groups(),
        "unit_names": mapping_names.UNITS.items(),
        "systems": mapping_names.systems(survey["mapping"]["file"].get("crs", 4326)),
        "plan": _plan(request, survey),
        "place_rows": [row for row in rows if row.found["role"] in PLACES],
        "form": _as_text(shown),
    }
    return render(request, "survey.html", values, status=status)


def _as_text(shown: Shown) -> load_forms.MappingForm:
    """The same mapping as TOML, for those who like to write it."""
    survey, name = shown.survey, shown.job.params.get("name", "")
    initial = {"sha256": survey["sha256"], "name": name or survey["file"], "mapping": _toml(shown)}
    return load_forms.MappingForm(initial=initial)


def _toml(shown: Shown) -> str:
    """The mapping as TOML, the evidence above each column that is taken as the survey suggests; empty while wrong."""
    try:
        mapping = mappings.from_dict(shown.draft)
    except Invalid:
        return ""
    roles = {column.heading: column.role for column in mapping.columns}
    remarks = {
        one["heading"]: f"{load_forms.sure(one['confidence'])}: {one['evidence']}"
        for one in shown.survey["columns"]
        if roles.get(one["heading"]) == one["role"]
    }
    return mappings.write(mapping, remarks)


def _listed(shown: Shown) -> list[tuple[str, str, str]]:
    """Each problem as (anchor of its field, what it is about, what is wrong), for the top of the page."""
    found = []
    for pointer, said in shown.wrong.items():
        parts = pointer.split("/")
        about, anchor = "The mapping", "columns"
        if len(parts) > 2 and parts[1] == "column":
            anchor, about = f"c{parts[2]}", shown.draft["column"][int(parts[2])]["heading"]
        elif len(parts) > 2 and parts[1] == "file":
            anchor, about = "file-settings", {"crs": "Coordinate system"}.get(parts[2], parts[2])
        found += [(anchor, about, one) for one in said]
    return found


def _plan(request: HttpRequest, survey: Mapping[str, Any]) -> object:
    seen = survey.get("map")
    if not seen or not (seen["points"] or seen["strays"]):
        return ""
    title = f"Plan of the places of {len(seen['points']):,} rows. {seen['said']}"
    return places_plan.draw(title, {"seen": seen["points"]}, seen["strays"], units_of(request))


@require_POST
@page("intake.run")
def mapping(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Do with the mapping in the form what its button says."""
    job = find(request, uid)
    if job.kind != "intake_survey" or job.state != "done":
        raise Missing(f"there is no survey {uid}")
    steps: dict[str, Callable[[HttpRequest, Job], HttpResponseBase]] = {
        "upload": _upload, "refresh": _refresh, "download": _download, "read": _read_again, "save": _save,
        "codes": _codes,
    }  # fmt: skip
    return steps.get(request.POST.get("do", ""), _check)(request, job)


def _sent(request: HttpRequest, job: Job) -> Shown:
    survey = job.result or {}
    start = mapping_editor.suggested(survey)
    try:
        rest = json.loads(request.POST.get("rest", "{}"))
    except ValueError:
        rest = {}
    start |= {name: value for name, value in rest.items() if name not in start} if isinstance(rest, dict) else {}
    draft = mapping_editor.chosen(survey, request.POST, start)
    return Shown(job, draft, mapping_editor.errors(draft))


def _check(request: HttpRequest, job: Job) -> HttpResponseBase:
    shown = _sent(request, job)
    if shown.wrong:
        return _page(request, shown, 400)
    params = {
        "sha256": shown.survey["sha256"],
        "name": job.params.get("name", shown.survey["file"]),
        "mapping": mappings.to_dict(mappings.from_dict(shown.draft)),
        "survey": str(job.uid),
    }
    return redirect("job", jobs.ask(author(request), "intake_check", params).uid)


def _save(request: HttpRequest, job: Job) -> HttpResponseBase:
    """Keep the mapping under a name, and go on from it."""
    shown = _sent(request, job)
    shown.name = request.POST.get("name", "")
    if shown.wrong:
        return _page(request, shown, 400)
    headings = [column["heading"] for column in shown.survey["columns"]]
    try:
        kept = saved.save(author(request), shown.name, mappings.from_dict(shown.draft), headings)
    except Invalid as refusal:
        shown.save_errors = [one.detail for one in refusal.errors]
        return _page(request, shown, 400)
    messages.success(request, f"The mapping is saved as {kept.name}.", extra_tags="good")
    return redirect(f"{reverse('job', args=[job.uid])}?saved={kept.uid}")


def _codes(request: HttpRequest, job: Job) -> HttpResponseBase:
    """Take a table of codes of species into the mapping."""
    shown = _sent(request, job)
    if shown.wrong:
        return _page(request, shown, 400)
    try:
        mapping = mappings.from_dict(shown.draft)
        with _opened(request) as table:
            shown.draft = mappings.to_dict(codes.into(mapping, table, taxa.from_database().names))
    except Invalid as refusal:
        shown.codes_errors = [one.detail for one in refusal.errors]
        return _page(request, shown, 400)
    taken = len(shown.draft.get("codes", ()))
    shown.source = f"your choices, with {taken:,} codes of species"
    return _page(request, shown)


@contextmanager
def _opened(request: HttpRequest) -> Iterator[Source]:
    """The table of codes that was sent. Raises Invalid."""
    sent = request.FILES.get("codes")
    if sent is None or (sent.size or 0) > codes.LARGEST:
        raise Invalid.field("#/codes", f"choose a file of at most {codes.LARGEST // 1_000_000} MB")
    with tempfile.NamedTemporaryFile() as file:
        for piece in sent.chunks():
            file.write(piece)
        file.flush()
        yield open_source(Path(file.name), name=sent.name or "")


def _refresh(request: HttpRequest, job: Job) -> HttpResponseBase:
    """Show the form again, with the words of columns that have become conditions or states."""
    return _page(request, _sent(request, job))


def _download(request: HttpRequest, job: Job) -> HttpResponseBase:
    shown = _sent(request, job)
    if shown.wrong:
        return _page(request, shown, 400)
    return downloads.stream("mapping.toml", [_toml(shown).encode()], TOML)


def _upload(request: HttpRequest, job: Job) -> HttpResponseBase:
    """Lay a mapping from a file upon this survey."""
    shown = Shown(job, mapping_editor.suggested(job.result or {}))
    file = request.FILES.get("toml")
    try:
        if file is None or (file.size or 0) > TOML_MOST:
            raise Invalid.field("#/toml", f"choose a TOML file of at most {TOML_MOST // 1000} kB")
        kept = mappings.to_dict(mappings.parse(file.read().decode("utf-8")))
    except (Invalid, UnicodeDecodeError) as wrong:
        told = wrong.errors if isinstance(wrong, Invalid) else ()
        shown.upload_errors = [f"{one.pointer.removeprefix('#/')}: {one.detail}" for one in told] or ["it is not UTF-8"]
        return _page(request, shown, 400)
    draft, notices = mapping_editor.reused(job.result or {}, kept, same_file=True)
    return _page(request, Shown(job, draft, mapping_editor.errors(draft), notices, source=f"the file {file.name}"))


def _read_again(request: HttpRequest, job: Job) -> HttpResponseBase:
    """Survey the file again, taken apart as a person says."""
    layout = dict((job.result or {})["mapping"]["file"])
    layout = {name: layout[name] for name in ("format", "encoding", "delimiter", "header", "layer") if name in layout}
    for name in ("encoding", "delimiter", "layer"):
        if name in request.POST:
            layout[name] = "\t" if request.POST[name] == "tab" else request.POST[name]
    layout["header"] = request.POST.get("header", "yes") == "yes"
    try:
        mappings.layout_of(layout)
    except Invalid as refusal:
        shown = _sent(request, job)
        shown.wrong = {one.pointer: [one.detail] for one in refusal.errors}
        return _page(request, shown, 400)
    params = {name: job.params[name] for name in ("sha256", "name") if name in job.params}
    return redirect("job", jobs.ask(author(request), "intake_survey", params | {"layout": layout}).uid)
