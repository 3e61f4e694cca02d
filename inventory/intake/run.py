"""The intake as jobs: each takes plain parameters and gives back plain JSON; the command line says the same."""

from typing import Any

from inventory.history import Author
from inventory.intake import against, files, taxa
from inventory.intake import load as loading
from inventory.intake import survey as surveying
from inventory.intake.examine import Examination
from inventory.intake.load import Outcome
from inventory.intake.mapping import Mapping, from_dict, layout_of
from inventory.intake.progress import Progress
from inventory.intake.read import Source, open_source
from inventory.problems import Invalid

EXAMPLES = 20


def survey(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name` -> what the file seems to hold, with a mapping to check and load by. Raises Invalid, Missing.

    `layout`: how a person says that the file is laid out, where its bytes were misread.
    """
    layout = layout_of(params["layout"]) if params.get("layout") else None
    with files.opened(params["sha256"], params.get("name", "")) as opened:
        source = open_source(opened.path, layout, opened.name) if layout else opened
        return surveying.survey(source, taxa.from_database().names, progress, against.middle()).as_dict()


def check(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name`, `mapping` -> the verdicts counted, with examples; writes nothing. Raises Invalid, Missing."""
    mapping = from_dict(params["mapping"])
    with files.opened(params["sha256"], params.get("name", "")) as source:
        return told(loading.judge(laid_out(source, mapping), mapping, progress))


def load(author: Author, params: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """`sha256`, `name`, `mapping`, `refused` -> the load and its counts. Raises Invalid, Conflict, Missing."""
    mapping = from_dict(params["mapping"])
    refused = params.get("refused", "skip")
    if refused not in ("skip", "stop"):
        raise Invalid.field("#/refused", "must be skip or stop")
    with files.opened(params["sha256"], params.get("name", "")) as source:
        outcome = loading.load(author, laid_out(source, mapping), mapping, refused=refused, progress=progress)
    return loaded(outcome)


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
