"""One suggested likelihood of failure from all there is: mechanics of the stem, findings, else general rates.

The worse of mechanics and findings stands, and both are shown: neither speaks for what the other alone can see.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from . import likelihood
from .findings import UNKNOWN_TREE, Finding, TreeFacts, check
from .likelihood import Suggestion
from .mechanics import Climate, Mechanics, judge
from .problems import MethodProblem, WrongField
from .request import Fields, beneath
from .risk import FAILURE
from .stem_load import check as compute_load
from .stem_load.contract import read as read_load

METHOD: Final = "likelihood_from_all_evidence"
VERSION: Final = 1

TREE_FIELDS: Final = ("dbh_cm", "height_m", "conifer", "dead")
FIELDS: Final = ("stem_load", "gust_climate", "findings", "tree")
FINDING_FIELDS: Final = (
    "kind", "part", "part_diameter_cm", "height_m", "azimuth_deg", "measures", "fungus_genus", "fungus_confidence",
)  # fmt: skip
MOST_FINDINGS: Final = 100
MOST_MEASURES: Final = 30
ADVICE: Final = (
    "Advice to a qualified assessor, who decides; never a verdict that a tree is safe. Local codes come first.",
)


@dataclass(frozen=True)
class Evidence:
    """The category, what it rests on, and both parts. Basis: mechanics, findings, both or general_rate."""

    category: str
    basis: str
    findings: Suggestion
    mechanics: Mechanics | None
    reasons: tuple[str, ...]
    sharpen: str
    method: str = METHOD
    version: int = VERSION


def suggest(findings: Sequence[Finding], tree: TreeFacts = UNKNOWN_TREE, load: Mechanics | None = None) -> Evidence:
    """Suggest from findings (as `likelihood.suggest` does) and, where there is one, from a judged stem load.

    >>> suggest([]).basis
    'general_rate'
    """
    return weigh(likelihood.suggest(findings, tree), load)


def weigh(seen: Suggestion, load: Mechanics | None) -> Evidence:
    """Weigh what findings suggest against a judged stem load: the worse one stands."""
    counted = load if load is not None and load.category else None
    if counted is None:
        reasons = tuple(reason.text for reason in seen.reasons)
        return Evidence(seen.category, seen.basis, seen, load, reasons + _waiting(load), _sharpen(seen, load))
    told = seen.basis == "findings"
    worse = max((counted.category, seen.category), key=FAILURE.index) if told else counted.category
    reasons = counted.reasons + (tuple(reason.text for reason in seen.reasons) if told else ())
    if told and counted.category != seen.category:
        reasons += (f"Mechanics suggest {counted.category}, findings {seen.category}: the worse one stands.",)
    return Evidence(worse, "both" if told else "mechanics", seen, load, reasons, _sharpen(seen, load))


def _waiting(load: Mechanics | None) -> tuple[str, ...]:
    return () if load is None else load.reasons


def _sharpen(seen: Suggestion, load: Mechanics | None) -> str:
    """The gap of what governs: of the findings where they are as bad as the mechanics or worse, else of the load."""
    gap = "" if seen.missing is None else f"findings/{seen.missing.place}/{seen.missing.field}: {seen.missing.why}"
    if load is None:
        return gap
    worse = seen.basis == "findings" and (
        not load.category or FAILURE.index(seen.category) > FAILURE.index(load.category)
    )
    return gap if worse and gap else load.sharpen or gap


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Suggest from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> lean = {"kind": "lean", "part": "stem", "measures": {"type": "natural", "angle_deg": 10}}
    >>> compute({"findings": [lean]})["likelihood_of_failure"]
    'improbable'
    """
    fields = Fields(request, "", FIELDS)
    tree = read_tree(fields.inner("tree", TREE_FIELDS))
    climate = _climate(fields) if fields.has("gust_climate") else None
    findings = fields.items("findings", MOST_FINDINGS, lambda value, at: read_finding(value, at, tree))
    load = _load(fields, climate) if fields.has("stem_load") else None
    return as_json(suggest(findings, tree, load))


def as_json(found: Evidence) -> dict[str, Any]:
    """Say a suggestion in the contract's words."""
    return {
        "likelihood_of_failure": found.category,
        "basis": found.basis,
        "mechanics": None if found.mechanics is None else _mechanics(found.mechanics),
        "findings": None if found.findings.basis != "findings" else found.findings.category,
        "reasons": list(found.reasons),
        "sharpen": found.sharpen or None,
        "notes": list(ADVICE),
        "method": METHOD,
        "version": VERSION,
    }


def _mechanics(found: Mechanics) -> dict[str, Any]:
    gust = {name: round(getattr(found.gust, name), 2) for name in ("low", "best", "high")}
    # Beyond 45 m/s the figure is not tied to anything measured.
    capped = {name: ">45" if value > 45 else value for name, value in gust.items()}
    return {
        "likelihood_of_failure": found.category or None,
        "range": list(found.range),
        "critical_gust_m_s": capped,
        "height_m": found.height_m,
        "measured": found.measured,
    }


def _climate(fields: Fields) -> Climate:
    item = fields.inner("gust_climate", ("one_year_m_s", "fifty_year_m_s"))
    one, fifty = (item.number(name, 1, 120) for name in ("one_year_m_s", "fifty_year_m_s"))
    if fifty <= one:
        raise item.wrong("fifty_year_m_s", "must be more than one_year_m_s")
    return Climate(one, fifty)


def _load(fields: Fields, climate: Climate | None) -> Mechanics:
    try:
        tree = read_load(fields.raw("stem_load"))
    except MethodProblem as problem:
        raise beneath(fields.at("stem_load"), problem) from problem
    return judge(tree, compute_load(tree), climate)


def read_tree(item: Fields) -> TreeFacts:
    """Read what is known of the tree. Raises MethodProblem."""
    return TreeFacts(
        dbh_cm=item.maybe("dbh_cm", 0, 1200, above=True),
        height_m=item.maybe("height_m", 0, 120, above=True),
        conifer=item.flag("conifer") if item.has("conifer") else None,
        dead=item.flag("dead"),
    )


def read_finding(value: object, at: str, tree: TreeFacts) -> Finding:
    """Read one finding and check it against the tree. Raises MethodProblem."""
    item = Fields(value, at, FINDING_FIELDS)
    measures = item.raw("measures") or {}
    if not isinstance(measures, Mapping) or len(measures) > MOST_MEASURES:
        raise item.wrong("measures", f"must be an object of at most {MOST_MEASURES} measures")
    if odd := [name for name, one in measures.items() if not isinstance(one, int | float | str)]:
        raise MethodProblem(f"{at}/measures/{odd[0][:40]}", "must be a number, a word, true or false")
    found = Finding(
        kind=item.text("kind"),
        part=item.text("part"),
        part_diameter_cm=item.maybe("part_diameter_cm", 0, 1200, above=True),
        height_m=item.maybe("height_m", 0, 120),
        azimuth_deg=item.maybe("azimuth_deg", 0, 360),
        measures=dict(measures),
        fungus_genus=item.text("fungus_genus") if item.has("fungus_genus") else "",
        fungus_confidence=item.text("fungus_confidence") if item.has("fungus_confidence") else "",
    )
    if problems := check(found, tree):
        raise MethodProblem.of(WrongField(f"{at}/{one.field.replace('.', '/')}", one.detail) for one in problems)
    return found
