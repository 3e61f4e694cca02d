"""What the invented city decided and learned: the roadside lime, sixty opened stems, defects kept until a day."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from assessments import services
from assessments.models import Calibration, Inspection
from assessments.option_records import DecisionRecord
from assessments.records import InspectionRecord
from deploy.demo import days, kerb_lime, openings
from deploy.demo.city import City
from deploy.demo.dice import dice
from deploy.demo.enact import Stage
from deploy.demo.looks import Look
from deploy.demo.story import KERB_LIME
from inventory.models import Tree

_KEPT: Final = 3
_LAPSED_AGO: Final = 20
GUIDE: Final = (
    f"From judgement to decision: open tree {KERB_LIME}, a felled roadside lime with its inspection, options, written",
    "  report, decision, order, eight cuts, and prediction against truth; 60 other stems were opened too. Then look at",
    "  the calibration and its review list, and at the decisions, one of which has lapsed.",
)


@dataclass(frozen=True)
class Kept:
    """A defect that is kept knowingly: the look that it rests on, from when until when."""

    look: Look
    decided_on: date
    ends_on: date


def learn(stage: Stage, invented: City) -> Calibration:
    """Play the story, keep defects knowingly, open the others, and fit the calibration."""
    kerb_lime.play(stage)
    for defect in kept(invented):
        _keep(stage, defect)
    opened = openings.plan(invented)
    by_inspector: dict[str, list[tuple[Tree, InspectionRecord]]] = defaultdict(list)
    for one in opened:
        by_inspector[one.look.inspector].append((stage.trees[one.tag], one.look.record))
    for inspector, entries in sorted(by_inspector.items()):
        services.record_inspections(stage.authors[inspector], entries, stage.reference)
    for one in opened:
        services.record_dissection(stage.authors["inspector"], stage.trees[one.tag], one.record, stage.reference)
    return services.calibrate(stage.authors["forester"])[0]


def kept(invented: City) -> list[Kept]:
    """Some trees of a moderate risk that nobody ordered work on; the last one's acceptance has lapsed."""
    fit = sorted(_keepable(invented), key=lambda look: dice("kept", look.tag).random())
    lapsed = next(look for look in fit if (invented.reference - look.on).days > 220)
    held = [look for look in fit if look is not lapsed and (invented.reference - look.on).days < 200][:_KEPT]
    found = [Kept(look, look.on + timedelta(days=14), look.on + timedelta(days=379)) for look in held]
    end = invented.reference - timedelta(days=_LAPSED_AGO)
    return [*found, Kept(lapsed, lapsed.on + timedelta(days=14), end)]


def _keepable(invented: City) -> Iterator[Look]:
    chronicle = invented.chronicle
    ordered = {tag for tag, _ in chronicle.ordered}
    for tag, look in chronicle.last.items():
        plain = tag not in chronicle.stories and tag not in chronicle.felled and tag not in ordered
        if plain and look.worst == "moderate" and chronicle.cases[tag].plan.state == "alive":
            yield look


def _keep(stage: Stage, one: Kept) -> None:
    forester = stage.authors["forester"]
    inspection = Inspection.objects.get(uid=one.look.record.uid)
    found = services.propose_options(forester, inspection, one.decided_on)
    chosen = next(option for option in found if option.kind == "retain_and_monitor")
    what = one.look.record.findings[0].kind.replace("_", " ")
    record = DecisionRecord(
        uid=days.key("decision", one.look.tag),
        decided_on=one.decided_on,
        decided_by="Odda Marrick",
        office="City Forester",
        why=f"the {what} has been known for years and changes slowly; the tree shades a footway",
        conditions="to be looked at as the checks say, and after every storm",
        accepted_risk=f"that the part with the {what} fails; a moderate risk as rated on {one.look.on.isoformat()}",
        ends_on=one.ends_on,
    )
    services.take_decision(forester, chosen, record, one.decided_on)
