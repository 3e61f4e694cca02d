"""The stem load of an inspection: filled up from the tree and the city's policy, computed with the measured sections.

What it tells of the stem stands beside what the findings tell: the worse of both is suggested.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from assessments import sections
from assessments.calculations.wind import with_city_wind
from assessments.methods import evidence, likelihood, mechanics, stem_load
from assessments.methods.likelihood import FindingSuggestion, Reason, Suggestion
from assessments.methods.mechanics import Climate, Mechanics
from assessments.methods.policy import Policy
from assessments.methods.problems import MethodProblem
from assessments.methods.risk import FAILURE
from assessments.methods.stem_load.answer import as_json
from assessments.methods.stem_load.contract import read
from assessments.methods.wood import find
from assessments.models import StemLoad
from assessments.records import InspectionRecord
from inventory.models import Tree
from inventory.problems import FieldProblem

if TYPE_CHECKING:
    from assessments.calibrations import Correction, Corrections

METHOD: Final = stem_load.METHOD
VERSION: Final = stem_load.VERSION
STEM: Final = "stem"
# Heights closer than this are one height: as the method takes them.
_SAME_M: Final = 5e-4

Measured = Mapping[str, Any]
Looked = tuple[Measured, Mapping[str, Any] | None]


def rests_on() -> str:
    """The methods that a stored stem load rests on beside its own, each with its version."""
    return f"{sections.METHOD}/{sections.VERSION} {mechanics.METHOD}/{mechanics.VERSION}"


@dataclass(frozen=True)
class Computed:
    """What stood in for what was not sent, the answer as JSON, and how the city's gusts judge it."""

    filled: Mapping[str, Any]
    result: Mapping[str, Any]
    mechanics: Mechanics


def compute_for(
    record: InspectionRecord, tree: Tree, computed: Sequence[sections.Computed], policy: Policy | None
) -> tuple[Computed | None, list[FieldProblem]]:
    """Compute the stem load of a record whose sections are computed; else what is refused, with pointers into it."""
    if record.stem_load is None:
        return None, []
    looked = [(one.measured, found.result) for one, found in zip(record.sections, computed, strict=True)]
    if wrong := _one_height_twice([one for one, _ in looked]):
        return None, wrong
    sent = record.stem_load.measured
    filled = fill(sent, tree, policy)
    try:
        return compute(sent, filled, looked), []
    except MethodProblem as problem:
        return None, [FieldProblem(_pointer(field.pointer, sent, looked), field.detail) for field in problem.fields]


def corrected(
    record: InspectionRecord, load: Computed, computed: Sequence[sections.Computed], corrections: "Corrections"
) -> Computed:
    """The stem load of a record with the walls of its sections as the calibration has them; else as it was."""
    if record.stem_load is None or not any(one and one.applied for one in corrections.sections):
        return load
    looked = [
        _corrected(one.measured, found.result, fixed)
        for one, found, fixed in zip(record.sections, computed, corrections.sections, strict=True)
    ]
    try:
        return compute(record.stem_load.measured, load.filled, looked)
    except MethodProblem:  # no wall is left where the walls are thinner than was measured
        return load


def _corrected(measured: Measured, result: Mapping[str, Any], fixed: "Correction | None") -> Looked:
    if fixed is None or not fixed.applied:
        return measured, result
    if fixed.loss is None:
        return fixed.moved, None
    of = {"method": sections.METHOD, "version": sections.VERSION, "modulus": {"loss_percent": asdict(fixed.loss)}}
    return fixed.moved, of


def compute(sent: Measured, filled: Mapping[str, Any], looked: Sequence[Looked]) -> Computed:
    """Compute a stem load with sections, each as measured and with its stored result. Raises MethodProblem."""
    asked = tree_of(sent, filled, looked)
    found = stem_load.check(asked)
    species = _request(sent, filled, looked).get("species")
    judged = mechanics.judge(asked, found, _climate(filled))
    answer = as_json(asked, found, species if isinstance(species, str) else "")
    notes = [*answer["notes"], *filled["notes"]]
    return Computed(filled, {**answer, "notes": notes, "likelihood": _said(judged, filled)}, judged)


def tree_of(sent: Measured, filled: Mapping[str, Any], looked: Sequence[Looked]) -> stem_load.Tree:
    """Read the request whole; each section with the interval of its stored result. Raises MethodProblem."""
    found = read(_request(sent, filled, looked))
    return replace(found, places=tuple(_with_interval(place, looked) for place in found.places))


def _with_interval(place: Any, looked: Sequence[Looked]) -> Any:
    if place.section is None:
        return place
    one = next(one for one in looked if _same(one[0].get("height_m"), place.height_m))
    return replace(place, section=replace(place.section, loss_percent=sections.interval(*one)))


def _climate(filled: Mapping[str, Any]) -> Climate | None:
    climate = filled["gust_climate"]
    return None if climate is None else Climate(climate["one_year_m_s"], climate["fifty_year_m_s"])


def _said(judged: Mechanics, filled: Mapping[str, Any]) -> dict[str, Any]:
    """How the gusts of the city judge it, as JSON."""
    words = evidence.as_json(evidence.suggest((), load=judged))["mechanics"]
    return {
        **words,
        "gust_climate": filled["gust_climate"],
        "reasons": list(judged.reasons),
        "sharpen": judged.sharpen or None,
        "method": judged.method,
        "version": judged.version,
    }


def looked(load: StemLoad) -> list[Looked]:
    """The sections of a stored stem load, each with its newest result; read with both."""
    found = sorted(load.inspection.sections.all(), key=lambda one: one.pk)
    return [(one.measured, newest.result if (newest := next(iter(one.results.all()), None)) else None) for one in found]


def fill(sent: Measured, tree: Tree, policy: Policy | None) -> dict[str, Any]:
    """What stands in where a request says nothing: `request`, `gust_climate` and `notes` that say so in words."""
    known = _of_tree(sent, tree)
    notes = [f"From the record of the tree: {', '.join(words for _, words in known.values())}."] if known else []
    request = {name: value for name, (value, _) in known.items()}
    climate = None
    if policy is not None:
        whole, said = with_city_wind("likelihood", {"stem_load": dict(sent)}, policy)
        climate = whole.get("gust_climate")
        if sent.get("wind") is None and whole["stem_load"].get("wind") is not None:
            request["wind"] = whole["stem_load"]["wind"]
        notes += said
    return {"request": request, "gust_climate": climate, "notes": notes}


def _of_tree(sent: Measured, tree: Tree) -> dict[str, tuple[Any, str]]:
    """Members that the tree knows and the request leaves out: value, and in words."""
    name = tree.species.botanical_name if tree.species else ""
    known: dict[str, tuple[Any, str]] = {}
    if name and _in_tables(name) and not _has(sent, "species"):
        known["species"] = (name, name)
    if tree.height_m and not _has(sent, "height_m"):
        known["height_m"] = (tree.height_m, f"height {tree.height_m:g} m")
    if tree.dbh_cm and not _has(sent, "dbh_cm", "diameters", "diameter_height_m"):
        known["dbh_cm"] = (tree.dbh_cm, f"{tree.dbh_cm:g} cm thick at breast height")
    if tree.crown_m and not _has(sent, "crown_width_m", "crown_widths_m"):
        known["crown_width_m"] = (tree.crown_m, f"crown {tree.crown_m:g} m wide")
    return known


def _has(sent: Measured, *names: str) -> bool:
    return any(sent.get(name) is not None for name in names)


def _in_tables(name: str) -> bool:
    """Whether its wood is known; without it the request must bring density and strength, and the method asks for it."""
    try:
        find(name)
    except MethodProblem:
        return False
    return True


def _request(sent: Measured, filled: Mapping[str, Any], looked: Sequence[Looked]) -> dict[str, Any]:
    """The whole request: what was sent wins; the sections stand at their heights, the interval is put in later."""
    whole = {**filled["request"], **{name: value for name, value in sent.items() if value is not None}}
    places = whole.get("sections")
    if not looked or not isinstance(places, list | None):
        return whole
    merged: list[Any] = list(places or ())
    for place, (one, _) in zip(_places(sent, looked), looked, strict=True):
        section = {"height_m": one["height_m"], "section": {**one, "draws": 0}}
        if place < len(merged):
            merged[place] = {**merged[place], **section}
        else:
            merged.append(section)
    return whole | {"sections": merged}


def _places(sent: Measured, looked: Sequence[Looked]) -> list[int]:
    """Where each section stands among the heights of the request: at its own height, else behind those sent."""
    given = sent.get("sections")
    heights = [one.get("height_m") if isinstance(one, dict) else None for one in given or ()]
    places, behind = [], len(heights)
    for one, _ in looked:
        at = next((n for n, height in enumerate(heights) if _same(height, one["height_m"])), behind)
        behind += at == behind
        places.append(at)
    return places


def _same(height_m: object, other_m: float) -> bool:
    return isinstance(height_m, int | float) and abs(height_m - other_m) < _SAME_M


def _one_height_twice(measured: Sequence[Measured]) -> list[FieldProblem]:
    heights = [one["height_m"] for one in measured]
    detail = "is the height of another section too: with a stem load there is one at each height"
    return [
        FieldProblem(f"#/sections/{place}/height_m", detail)
        for place, height in enumerate(heights)
        if any(_same(other, height) for other in heights[:place])
    ]


def _pointer(pointer: str, sent: Measured, looked: Sequence[Looked]) -> str:
    """From a pointer into the whole request to one into what was sent: a section stands in the inspection itself."""
    given = sent.get("sections")
    parts = pointer.split("/")
    if len(parts) > 2 and parts[1] == "sections" and parts[2].isdigit() and isinstance(given, list | None):
        places = _places(sent, looked)
        place, rest = int(parts[2]), parts[3:]
        inside = rest[:1] == ["section"]
        if place in places and (inside or place >= len(given or ())):
            return "/".join(["#/sections", str(places.index(place)), *rest[inside:]])
    return f"#/stem_load{pointer}"


def with_mechanics(found: Suggestion, load: Mechanics | None) -> Suggestion:
    """Put a judged stem load beside the findings of the stem; where there are none it stands alone."""
    if load is None:
        return found
    rows = tuple(_weighed(found, one, load) if one.part == STEM else one for one in found.by_finding)
    if not any(one.part == STEM for one in rows):
        rows = (*rows, _alone(load))
    category = max((one.category for one in rows), key=FAILURE.index)
    by_part: dict[str, str] = {}
    for one in sorted(rows, key=lambda one: (-FAILURE.index(one.category), -one.defect_class)):
        by_part.setdefault(one.part, one.category)
    seen = () if found.basis == "general_rate" and load.category else found.reasons
    told = [reason for one in rows if one.part == STEM for reason in one.reasons]
    return replace(
        found,
        category=category,
        basis=basis(found.basis == "findings", load),
        by_part=tuple(by_part.items()),
        by_finding=rows,
        reasons=tuple(dict.fromkeys((*seen, *told))),
    )


def basis(findings: bool, load: Mechanics | None) -> str:
    """What a suggestion rests on: mechanics, findings, both or general_rate."""
    counted = load is not None and bool(load.category)
    if findings:
        return "both" if counted else "findings"
    return "mechanics" if counted else "general_rate"


def _weighed(found: Suggestion, one: FindingSuggestion, load: Mechanics) -> FindingSuggestion:
    both = evidence.weigh(_narrowed(found, [one]), load)
    known = {reason.text for reason in one.reasons}
    added = tuple(_reason(text, load) for text in both.reasons if text not in known)
    return replace(one, category=both.category, reasons=(*one.reasons, *added))


def _alone(load: Mechanics) -> FindingSuggestion:
    """The stem without a finding; without a gust climate the general rate stands, and the reasons say what lacks."""
    general = likelihood.suggest(())
    reasons = tuple(_reason(text, load) for text in load.reasons)
    if load.category:
        return FindingSuggestion(None, STEM, load.category, 0, reasons)
    return FindingSuggestion(None, STEM, general.category, 0, (*general.reasons, *reasons))


def _reason(text: str, load: Mechanics) -> Reason:
    return Reason(text, f"{load.method}/{load.version}", 0, begun=False, act_now=False)


def _narrowed(found: Suggestion, rows: Sequence[FindingSuggestion]) -> Suggestion:
    """The suggestion of some findings alone."""
    category = max((one.category for one in rows), key=FAILURE.index)
    reasons = tuple(reason for one in rows for reason in one.reasons)
    return replace(found, category=category, basis="findings", by_finding=tuple(rows), reasons=reasons)
