"""Sections of an inspection: read and computed by the method, and what they tell of the findings they look into."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import pi, sqrt
from typing import TYPE_CHECKING, Any, Final

from assessments.methods import section as method
from assessments.methods.findings import Finding
from assessments.methods.likelihood import FindingSuggestion, Reason, Suggestion
from assessments.methods.problems import MethodProblem
from assessments.methods.section.uncertainty import Interval, draws_of
from assessments.records import InspectionRecord, SectionRecord
from inventory.problems import FieldProblem

if TYPE_CHECKING:
    from assessments.calibrations import Correction

METHOD: Final = method.METHOD
VERSION: Final = method.VERSION
# Draws of an interval: an inspection is answered while someone waits. A section with cracks, drawn voids or several
# openings is cut as polygons in each draw, which takes longer: such sections of one inspection share their draws.
DRAWS: Final = 250
CUT_DRAWS: Final = 80
_SHARED_DRAWS: Final = 160
MOST_SECTIONS: Final = 8
MOST_PARTS: Final = 16
MOST_READINGS: Final = 360
# A section tells of a finding of the stem that is this close above or below its extent: project's choice.
NEAR_M: Final = 0.25
# Measured with different tools on different days, as for findings: project's choice.
_TOLERANCE: Final = 1.1
_HOLLOW: Final = ("cavity", "decay")
_STEM: Final = ("stem", "root_collar")
_EXTENTS: Final = ("length_cm", "opening_height_cm", "height_cm")


@dataclass(frozen=True)
class Computed:
    """What the method made of one section: its JSON answer, and how many draws its interval rests on."""

    result: Mapping[str, Any]
    draws: int


def answer(measured: Mapping[str, Any], cut_draws: int = CUT_DRAWS) -> method.Answer:
    """Compute a section with bounded draws: `cut_draws` where each is cut as polygons. Raises MethodProblem."""
    asked = method.read(dict(measured))
    most = 0 if not asked.readings else cut_draws if _is_cut(measured) else DRAWS
    return method.assess(replace(asked, draws=min(asked.draws, most)))


def drawn(measured: Mapping[str, Any], result: Mapping[str, Any] | None) -> method.Answer:
    """Compute a section to be shown: with the interval of its stored result where the same version made it."""
    if result is None or (result["method"], result["version"]) != (METHOD, VERSION):
        return answer(measured)
    found = method.assess(replace(method.read(dict(measured)), draws=0))
    return replace(found, loss_percent=Interval(**result["modulus"]["loss_percent"]))


def interval(measured: Mapping[str, Any], result: Mapping[str, Any] | None) -> Interval:
    """The interval of a section's loss: of its stored result where the same version made it, else computed anew."""
    if result is None or (result["method"], result["version"]) != (METHOD, VERSION):
        return answer(measured).loss_percent
    return Interval(**result["modulus"]["loss_percent"])


def _parts(measured: Mapping[str, Any], *names: str) -> int:
    """How many parts were sent; what is no list is the method's to refuse."""
    return sum(len(measured[name]) for name in names if isinstance(measured.get(name), list | tuple))


def _is_cut(measured: Mapping[str, Any]) -> bool:
    return _parts(measured, "cracks", "voids_cm") > 0 or _parts(measured, "openings") > 1


def compute(measured: Mapping[str, Any], cut_draws: int = CUT_DRAWS) -> Computed:
    """Compute a section, as what is stored of it. Raises MethodProblem."""
    found = answer(measured, cut_draws)
    return Computed(method.as_json(found), draws_of(found.section))


def compute_all(record: InspectionRecord) -> tuple[list[Computed], list[FieldProblem]]:
    """Compute every section of a record; all that the method refuses, with pointers into what was sent."""
    if detail := _too_much(record):
        return [], [FieldProblem("#/sections", detail)]
    found: list[Computed] = []
    wrong: list[FieldProblem] = []
    cut_draws = min(CUT_DRAWS, _SHARED_DRAWS // max(1, sum(_is_cut(one.measured) for one in record.sections)))
    for place, one in enumerate(record.sections):
        try:
            found.append(compute(one.measured, cut_draws))
        except MethodProblem as problem:
            wrong += [FieldProblem(f"#/sections/{place}{field.pointer}", field.detail) for field in problem.fields]
    return found, wrong


def _too_much(record: InspectionRecord) -> str:
    """Why a record holds more than is computed while someone waits; empty where it does not."""
    if len(record.sections) > MOST_SECTIONS:
        return f"holds {len(record.sections)}; at most {MOST_SECTIONS} are taken"
    for most, names in ((MOST_PARTS, ("openings", "voids_cm", "cracks")), (MOST_READINGS, ("readings",))):
        count = sum(_parts(one.measured, *names) for one in record.sections)
        if count > most:
            said = ", ".join(name.removesuffix("_cm") for name in names)
            return f"hold {count} {said} in all; at most {most} are taken with one inspection"
    return ""


def problems(record: InspectionRecord, tree_height_m: float | None) -> Iterator[FieldProblem]:
    """What is wrong with the sections beside their measures: no height, a finding that is none, a uid twice."""
    for place, one in enumerate(record.sections):
        pointer, height = f"#/sections/{place}", one.measured.get("height_m")
        if height is None:
            yield FieldProblem(f"{pointer}/height_m", "say at which height above ground it was measured")
        elif isinstance(height, int | float) and tree_height_m and height > tree_height_m * _TOLERANCE:
            yield FieldProblem(f"{pointer}/height_m", f"is above the top of a tree of {tree_height_m:g} m")
        if one.finding is not None and not 0 <= one.finding < len(record.findings):
            yield FieldProblem(f"{pointer}/finding", f"there is no finding {one.finding} in this record")


@dataclass(frozen=True)
class Told:
    """A finding judged by a section: the finding with the section's wall and diameter, and the reason in words."""

    finding: Finding
    reason: str


def tell(
    record: InspectionRecord,
    findings: Sequence[Finding],
    computed: Sequence[Computed],
    corrections: "Sequence[Correction | None]" = (),
) -> dict[int, Told]:
    """For each cavity or decay without a measured wall that sections look into: the thinnest of them, by place.

    `corrections`: what the calibration makes of each section; empty: the walls as measured.
    """
    told = {}
    fixes = corrections or (None,) * len(computed)
    for place, finding in enumerate(findings):
        if finding.kind not in _HOLLOW or "shell_cm" in finding.measures:
            continue
        looking = [
            (one.result, fixed)
            for sent, one, fixed in zip(record.sections, computed, fixes, strict=True)
            if looks_into(sent, place, finding, one.result["height_m"]) and looked_inside(sent)
        ]
        if looking:
            told[place] = _told(finding, *min(looking, key=lambda one: _fraction(*one)))
    return told


def _fraction(result: Mapping[str, Any], fixed: "Correction | None") -> float:
    """The sound-wall fraction (t/R) of a section, corrected where it is."""
    return fixed.corrected.figure.best if fixed and fixed.applied else float(result["t_over_r"])


def looked_inside(sent: SectionRecord) -> bool:
    """Whether anything is known of the inside: an outline alone tells of no wall."""
    return any(sent.measured.get(name) for name in ("readings", "voids_cm", "openings"))


def looks_into(sent: SectionRecord, place: int, finding: Finding, height_m: float) -> bool:
    """Whether a section was made of a finding: it says so, or it lies at the finding's height on the stem."""
    if sent.finding is not None:
        return sent.finding == place
    if finding.part not in _STEM or finding.height_m is None:
        return False
    extent_cm = max((float(finding.measures[name]) for name in _EXTENTS if name in finding.measures), default=0.0)
    return abs(finding.height_m - height_m) <= extent_cm / 200 + NEAR_M


def _told(finding: Finding, result: Mapping[str, Any], fixed: "Correction | None" = None) -> Told:
    diameter_cm = diameter(result)
    wall_cm = float(result["thinnest_wall_cm"])
    if fixed and fixed.applied:
        wall_cm = fixed.corrected.figure.best * diameter_cm / 2
    measures = {**finding.measures, "shell_cm": wall_cm}
    loss = result["modulus"]["loss_percent"]
    beyond = [_beyond(name, rule) for name, rule in result["rules"].items() if rule["applies"] and rule["beyond"]]
    limits = f"beyond the limit: {', '.join(beyond)}" if beyond else "no published rule that applies is past its limit"
    words = (
        f"section at {result['height_m']:g} m: thinnest sound wall {result['thinnest_wall_cm']:.1f} cm of a stem of"
        f" {diameter_cm:.0f} cm without bark (t/R {result['t_over_r']:.2f}), loss of section modulus"
        f" {loss['best_estimate']:.0f} % (80 % interval {loss['low']:.0f} to {loss['high']:.0f} %);"
        f" {limits}. What load it bears is not judged: that needs a stem load and the gusts of the site"
    )
    if fixed and fixed.applied:
        words += f". {fixed.corrected.said}"
    return Told(replace(finding, measures=measures, part_diameter_cm=diameter_cm), words)


def diameter(result: Mapping[str, Any]) -> float:
    """The diameter without bark of a circle of the section's area, in cm."""
    return 2 * sqrt(float(result["gross_area_cm2"]) / pi)


_UNITS: Final = {
    "loss_percent": " % loss",
    "t_over_r": " t/R",
    "wall_cm": " cm of wall",
    "opening_deg": " degrees open",
}


def _beyond(name: str, rule: Mapping[str, Any]) -> str:
    unit = _UNITS.get(str(rule["quantity"]), "")
    return f"{name.replace('_', ' ')} {rule['value']:.3g} against {rule['threshold']:.3g}{unit}"


def with_reasons(suggested: Suggestion, told: Mapping[int, Told]) -> Suggestion:
    """Put what the sections told behind the reasons of each finding that was judged by it."""
    by_finding = tuple(
        _with_reason(one, told.get(-1 if one.place is None else one.place)) for one in suggested.by_finding
    )
    added = [one.reasons[-1] for one in by_finding if one.place in told]
    return replace(suggested, by_finding=by_finding, reasons=tuple(dict.fromkeys((*suggested.reasons, *added))))


def _with_reason(one: FindingSuggestion, told: Told | None) -> FindingSuggestion:
    if told is None:
        return one
    reason = Reason(told.reason, f"{METHOD}/{VERSION}", one.defect_class, begun=False, act_now=False)
    return replace(one, reasons=(*one.reasons, reason))
