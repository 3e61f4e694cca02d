"""What a report says, as plain JSON read from the rows: everything that a later reader needs, nothing in words yet."""

import uuid
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, Final

from django.core.exceptions import ObjectDoesNotExist
from django.utils import timezone

from assessments import queries, sections, stem_loads
from assessments.calculations.stem_load import drawing as profile
from assessments.models import Decision, Finding, Inspection, Option, Rating, Section, StemLoad
from assessments.report.drawing import section as section_drawing
from inventory import queries as inventory
from inventory.attachments import queries as photos
from inventory.models import Attachment, Tree

FORMAT: Final = 1
MOST_PHOTOS: Final = 24
"""Photos of one report: more make a file that nobody opens. The newest of each thing come first."""

Plain = dict[str, Any]


def gather(inspection_uid: uuid.UUID) -> Plain:
    """All that a report of this inspection says but who issues it; one key a chapter, SI, codes as kept.

    The inspection is read with its parts in a fixed number of statements. Raises Missing.
    """
    inspection = queries.inspection(inspection_uid)
    tree = inventory.tree(inspection.tree.uid)
    findings = list(inspection.findings.all())
    return {
        "format": FORMAT,
        "city": _city(),
        "tree": _tree(tree),
        "inspection": _inspection(inspection),
        "findings": [_finding(row) for row in findings],
        "sections": [_section(row, findings) for row in inspection.sections.all()],
        "stem_load": _stem_load(inspection),
        "targets": [_named(row, _TARGET) for row in inspection.targets.all()],
        "ratings": [_rating(row) for row in inspection.ratings.all()],
        "checks": [_check(row) for row in inspection.asked_checks.all()],
        "options": _options(inspection),
        "comparison": _comparison(inspection),
        "decision": _decision(inspection),
        "photos": _photos(tree, inspection, findings),
    }


_TARGET: Final = ("kind", "label", "occupancy", "exposure", "fall_direction", "zone", "movable", "restrictable")
_FINDING: Final = (
    "kind", "part", "part_diameter_cm", "height_m", "azimuth_deg", "measures", "fungus_genus", "fungus_confidence",
    "note",
)  # fmt: skip
_WHOLE_TREE: Final = (
    "crown_density_percent", "dieback_percent", "shoot_growth", "response_growth", "wind_exposure", "wind_change",
    "root_zone_change", "past_failure", "past_pruning",
)  # fmt: skip
_RATING: Final = (
    "part", "failure_suggested", "failure", "impact_suggested", "impact", "consequences", "why_different",
    "failure_and_impact", "risk", "suggestion", "method_version",
)  # fmt: skip
_DECISION: Final = ("decided_by", "office", "why", "conditions", "accepted_risk", "chosen")


def _named(row: Any, names: Iterable[str]) -> Plain:
    return {name: getattr(row, name) for name in names}


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _city() -> Plain:
    city = inventory.municipality()
    return {"name": city.name, "currency": city.currency, "emergency_phone": city.emergency_phone}


def _tree(tree: Tree) -> Plain:
    site, species, zone = tree.site, tree.species, tree.zone
    address = "" if site is None else f"{site.street} {site.house_number}".strip()
    sizes = ("tag", "state", "dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "crown_m")
    return {
        **_named(tree, sizes),
        "uid": str(tree.uid),
        "species": species.botanical_name if species else "",
        "common": species.common_en if species else "",
        "species_text": tree.species_text,
        "address": address,
        "place": site.place if site else "",
        "zone": str(zone) if zone else "",
        "latitude": round(tree.location.y, 6),
        "longitude": round(tree.location.x, 6),
        "planted_from": _day(tree.planted_from),
        "planted_to": _day(tree.planted_to),
    }


def _inspection(row: Inspection) -> Plain:
    who = row.inspector
    return {
        "uid": str(row.uid),
        "inspected_at": row.inspected_at.isoformat(),
        "inspected_on": row.inspected_on.isoformat(),
        **_named(row, ("level", "trigger", "limits", "frame_years", "note", "emergency")),
        "whole_tree": {name: getattr(row, name) for name in _WHOLE_TREE if getattr(row, name) is not None},
        "inspector": {"name": who.name if who else "", "qualification": who.qualification if who else ""},
    }


def _finding(row: Finding) -> Plain:
    before = row.continues
    since = before.inspection.inspected_on if before else None
    return {"uid": str(row.uid), **_named(row, _FINDING), "first_seen_on": _day(since)}


def _section(row: Section, findings: list[Finding]) -> Plain:
    newest = next(iter(row.results.all()), None)
    places = {finding.pk: place for place, finding in enumerate(findings)}
    picture = section_drawing.draw(sections.drawn(row.measured, newest.result if newest else None), f"section-{row.pk}")
    return {
        "uid": str(row.uid),
        "height_m": row.height_m,
        "finding": places.get(row.finding_id) if row.finding_id else None,
        "method": newest.method if newest else "",
        "version": newest.version if newest else 0,
        "draws": newest.draws if newest else 0,
        "result": newest.result if newest else None,
        "picture": picture,
    }


def _stem_load(inspection: Inspection) -> Plain | None:
    try:
        load: StemLoad = inspection.stem_load
    except ObjectDoesNotExist:
        return None
    newest = next(iter(load.results.all()), None)
    if newest is None:
        return None
    draw = profile(stem_loads.tree_of(load.measured, load.filled, stem_loads.looked(load)))
    return {
        "method": newest.method,
        "version": newest.version,
        "rests_on": newest.rests_on,
        "result": newest.result,
        "filled": load.filled["notes"],
        "picture": draw() if draw else "",
    }


def _rating(row: Rating) -> Plain:
    return {**_named(row, _RATING), "target": row.target.label, "finding": row.finding.kind if row.finding else ""}


def _check(row: Any) -> Plain:
    return {"kind": row.kind, "due_on": _day(row.due_on), "why": row.why}


def _options(inspection: Inspection) -> list[Plain]:
    rows = Option.objects.filter(inspection=inspection, dropped_why="").prefetch_related("estimates").order_by("pk")
    return [_option(row) for row in rows]


def _option(row: Option) -> Plain:
    newest = max(row.estimates.all(), key=lambda one: one.pk, default=None)
    return {
        "uid": str(row.uid),
        **_named(row, ("kind", "key", "parameters", "source", "note", "own_crew_hours", "own_residual", "own_why")),
        "act_by": _day(row.act_by),
        "own_cost": str(row.own_cost) if row.own_cost is not None else None,
        "estimate": newest.result if newest else None,
        "methods": newest.methods if newest else "",
        "rate_card": newest.rate_card_version if newest else None,
    }


def _comparison(inspection: Inspection) -> Plain | None:
    """The options set side by side as last compared, with the worth of a further diagnosis."""
    found = queries.option_comparison(inspection)
    return found.result if found else None


def _decision(inspection: Inspection) -> Plain | None:
    """The decision in force about the tree, where it was taken on this inspection."""
    row = Decision.objects.filter(inspection=inspection, superseded_by=None).first()
    if row is None:
        return None
    days = {name: _day(getattr(row, name)) for name in ("decided_on", "ends_on", "act_by")}
    return {"uid": str(row.uid), **_named(row, _DECISION), **days}


def _photos(tree: Tree, inspection: Inspection, findings: list[Finding]) -> list[Plain]:
    """The photos of what the report is about, and of the tree where there is room."""
    about = [inspection.uid, *(one.uid for one in findings), *(one.uid for one in inspection.sections.all())]
    own = list(photos.photos_about(about))[-MOST_PHOTOS:]
    more = photos.photos_of(tree).filter(about="tree")[: MOST_PHOTOS - len(own)]
    return [_photo(row) for row in (*own, *reversed(list(more)))]


def _photo(row: Attachment) -> Plain:
    taken = timezone.localtime(row.taken_at).date() if row.taken_at else None
    return {
        "uid": str(row.uid),
        "about": row.about,
        "about_uid": str(row.about_uid),
        "kept": row.kept_sha256,
        "size": [row.width_px, row.height_px],
        "caption": row.caption,
        "taken_on": _day(taken),
        "by": row.added_by.name if row.added_by else "",
    }


def methods_of(content: Mapping[str, Any]) -> list[str]:
    """Every method that the content rests on, with its version, once."""
    named = [f"{one['method']} {one['version']}" for one in content["sections"] if one["method"]]
    load = content["stem_load"]
    named += [f"{load['method']} {load['version']}"] if load else []
    named += [one["method_version"] for one in content["ratings"]]
    named += [one["methods"] for one in content["options"] if one["methods"]]
    return list(dict.fromkeys(named))
