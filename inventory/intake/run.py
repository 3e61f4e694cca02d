"""The intake as jobs: each takes plain parameters and gives back plain JSON; the command line says the same."""

import uuid
from collections.abc import Callable
from typing import Any

from inventory.history import Author
from inventory.intake import against, files, saved, taxa, trial
from inventory.intake import load as loading
from inventory.intake import survey as surveying
from inventory.intake import undo as undoing
from inventory.intake.examine import Examination
from inventory.intake.load import Outcome
from inventory.intake.mapping import Mapping, from_dict, layout_of
from inventory.intake.merge import choices as choosing
from inventory.intake.merge import merging
from inventory.intake.merge import queries as merges
from inventory.intake.progress import Progress
from inventory.intake.read import Source, open_source
from inventory.models import IntakeMerge
from inventory.problems import Invalid

EXAMPLES = 20


def survey(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name` -> what the file seems to hold, with a mapping to check and load by. Raises Invalid, Missing.

    `layout`: how a person says that the file is laid out, where its bytes were misread.
    """
    layout = layout_of(params["layout"]) if params.get("layout") else None
    with files.opened(params["sha256"], params.get("name", "")) as opened:
        source = open_source(opened.path, layout, opened.name) if layout else opened
        found = surveying.survey(source, taxa.from_database().names, progress, against.middle())
        trial.keep_notes(found, source.sha256)
    fits = [{"kind": fit.kind, "uid": str(fit.uid), "name": fit.name, "alike": round(fit.alike, 4)}
            for fit in saved.fitting(column.heading for column in found.columns)]  # fmt: skip
    return found.as_dict() | {"fits": fits}


def check(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name`, `mapping` -> the verdicts counted, with examples; the rows are kept under `check`.

    Nothing of the inventory is written. Raises Invalid, Missing.
    """
    mapping = from_dict(params["mapping"])
    with files.opened(params["sha256"], params.get("name", "")) as source:
        source = laid_out(source, mapping)
        examination = loading.judge(source, mapping, progress)
        made = trial.keep_check(author, source, mapping, examination, progress)
    return {"check": str(made.uid), **told(examination)}


def load(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name`, `mapping`, `refused` -> the load and its counts. Raises Invalid, Conflict, Missing."""
    mapping = from_dict(params["mapping"])
    refused = params.get("refused", "skip")
    if refused not in ("skip", "stop"):
        raise Invalid.field("#/refused", "must be skip or stop")
    with files.opened(params["sha256"], params.get("name", "")) as source:
        outcome = loading.load(author, laid_out(source, mapping), mapping, refused=refused, progress=progress)
    return loaded(outcome)


def undo(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`load` -> the load, undone. Raises Missing, Conflict that names what builds on it."""
    load = undoing.undo(author, uuid.UUID(params["load"]), progress)
    return {"load": str(load.uid), "state": load.state, "counts": load.counts}


def merge_check(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name`, `mapping`, `choices`, `anyway` -> what a merge would do. Raises Invalid, Conflict, Missing."""
    return _merged(author, params, merging.check, progress)


def merge(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name`, `mapping`, `choices`, `anyway` -> what the merge did. Raises Invalid, Conflict, Missing."""
    return _merged(author, params, merging.merge, progress)


def _merged(
    author: Author, params: dict[str, Any], how: Callable[..., IntakeMerge], progress: Progress
) -> dict[str, Any]:
    mapping, choices = from_dict(params["mapping"]), choosing.read(params.get("choices"))
    with files.opened(params["sha256"], params.get("name", "")) as source:
        anyway = bool(params.get("anyway"))
        made = how(author, laid_out(source, mapping), mapping, choices, anyway=anyway, progress=progress)
    return merge_told(made)


def merge_told(made: IntakeMerge) -> dict[str, Any]:
    """A merge or its dry run as JSON: counts, notices, and of each kind its first examples."""
    return {
        "merge": str(made.uid),
        "state": made.state,
        "load": str(made.load.uid) if made.load else None,
        "counts": made.counts,
        "notices": made.notices,
        "examples": merges.examples(made),
    }


def laid_out(source: Source, mapping: Mapping) -> Source:
    """The source read as its mapping says, which a person may have corrected."""
    return source if source.layout == mapping.layout else open_source(source.path, mapping.layout, source.name)


def told(examination: Examination) -> dict[str, Any]:
    """An examination as JSON: the counts, and of each check its severity, title and first examples."""
    lines = examination.facts.table.lines
    return {
        "counts": examination.counts(),
        "checks": [
            {
                "name": check.name,
                "severity": check.severity,
                "title": check.title,
                "rows": len(rows),
                "examples": [
                    {"line": int(lines[row]), "detail": detail}
                    for row, detail in zip(rows[:EXAMPLES].tolist(), details, strict=False)
                ],
            }
            for check, rows, details in examination.found
        ],
    }


def loaded(outcome: Outcome) -> dict[str, Any]:
    """An outcome as JSON."""
    return {"load": str(outcome.load.uid), "already_loaded": outcome.already, "counts": outcome.load.counts}
