"""How a report looks: its content as one HTML document, for the screen and for paper alike."""

import base64
import hashlib
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.template import Context, Engine

from assessments.report import sections, stem_loads, words
from assessments.report.document.content import methods_of
from assessments.report.drawing import alternatives

_HERE: Final = Path(__file__).parent / "templates"
_ENGINE: Final = Engine(dirs=[str(_HERE)], libraries={"report": "assessments.report.document.tags"})
_STYLE: Final = (_HERE / "report.css").read_text()
_PAGE_SIZES: Final = {"a4": "A4", "letter": "Letter"}

PhotoUrl = Callable[[Mapping[str, Any]], str]


def render(content: Mapping[str, Any], *, units: str, paper: str, time_zone: str, photo_url: PhotoUrl) -> str:
    """The document as HTML. `photo_url` gives the address of a photo: the two readers fetch it in different ways.

    `units`: si or us; `paper`: a4 or letter. What the content does not hold is not said; nothing is read elsewhere.
    """
    photos = [{**one, "url": photo_url(one)} for one in content["photos"]]
    inspected_at = datetime.fromisoformat(content["inspection"]["inspected_at"]).astimezone(ZoneInfo(time_zone))
    context = {
        **content,
        "units": units,
        "style": style(paper),
        "inspected_at": inspected_at.strftime("%Y-%m-%d %H:%M"),
        "findings": [_with_photos(one, photos) for one in content["findings"]],
        "other_photos": [one for one in photos if one["about"] != "finding"],
        "sections": [_section(one, content["findings"], units) for one in content["sections"]],
        "stem_load": _stem_load(content["stem_load"], units),
        "worst": _worst([one["risk"] for one in content["ratings"]]),
        **_options(content),
        "methods": methods_of(content),
    }
    return _ENGINE.get_template("report.html").render(Context(context))


def style(paper: str) -> str:
    """The style sheet for a paper, as it stands in the document."""
    return f"{_STYLE}@page {{ size: {_PAGE_SIZES[paper]}; }}"


def style_sha256(paper: str) -> str:
    """For a Content-Security-Policy that lets this one style sheet through."""
    return base64.b64encode(hashlib.sha256(style(paper).encode()).digest()).decode()


def _with_photos(finding: Mapping[str, Any], photos: list[dict[str, Any]]) -> dict[str, Any]:
    return {**finding, "photos": [one for one in photos if one["about_uid"] == finding["uid"]]}


def _section(one: Mapping[str, Any], findings: list[Mapping[str, Any]], units: str) -> dict[str, Any]:
    said = sections.said(one["result"], one["height_m"], units) if one["result"] else None
    finding = findings[one["finding"]] if one["finding"] is not None else None
    return {**one, "said": said, "of": finding}


def _stem_load(load: Mapping[str, Any] | None, units: str) -> dict[str, Any] | None:
    return {**load, "said": stem_loads.said(load["result"], units)} if load else None


def _options(content: Mapping[str, Any]) -> dict[str, Any]:
    """The options as the document says them, and their picture where the methods worked each of them out."""
    side_by_side = content["comparison"] or {"options": [], "information": None}
    compared = {one["option"]: one for one in side_by_side["options"]}
    shown = [{**_option(one), "dominated": _seconded(compared.get(one["uid"]))} for one in content["options"]]
    drawn = [{"label": one["says"], **one["estimate"]} for one in shown if one["estimate"]]
    currency = content["city"]["currency"]
    return {
        "options": shown,
        "diagnosis": side_by_side["information"],
        "rate_card": max((one["rate_card"] or 0 for one in content["options"]), default=0),
        "alternatives": alternatives.draw(drawn, currency) if drawn else "",
        "alternatives_said": alternatives.describe(drawn, currency) if drawn else "",
    }


def _option(one: Mapping[str, Any]) -> dict[str, Any]:
    """One option; what the arborist stated goes before what was estimated."""
    said = one["estimate"] or {}
    left = [row["risk"] for row in said.get("residual", ())]
    return {
        **one,
        "says": said.get("says") or words.say(one["kind"]),
        "cost": said.get("cost_now") if one["own_cost"] is None else one["own_cost"],
        "hours": said.get("crew_hours") if one["own_crew_hours"] is None else one["own_crew_hours"],
        "risk": said.get("risk") or _worst(left),
        "act_by": one["act_by"] or said.get("act_by"),
    }


def _seconded(compared: Mapping[str, Any] | None) -> list[str]:
    """Why another option is at least as good by every measure; empty where none is."""
    return list(compared["reasons"]) if compared and compared["dominated_by"] else []


def _worst(risks: list[str]) -> str:
    """The word of the worst risk: a tree is rated by its worst pair of part and target. Empty without any."""
    order = [one.lower() for one in words.RISK_WORDS]
    return max(risks, key=order.index, default="")
