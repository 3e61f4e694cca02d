"""The calibration in force, and what it makes of the walls of an inspection: both figures are always kept."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from functools import lru_cache
from typing import Any, Final

from assessments.methods import calibration as method
from assessments.methods import section as section_method
from assessments.methods import truth
from assessments.methods.calibration import Corrected, Estimate
from assessments.methods.calibration.correct import METHOD as CORRECTING
from assessments.methods.calibration.correct import VERSION as CORRECTING_VERSION
from assessments.methods.calibration.correct import shifted
from assessments.methods.findings import Finding
from assessments.methods.section import Section
from assessments.methods.section.uncertainty import Interval
from assessments.models import Calibration
from assessments.records import InspectionRecord
from inventory.models import Tree

METHOD: Final = method.METHOD
VERSION: Final = method.VERSION
_HOLLOW: Final = ("cavity", "decay")


@dataclass(frozen=True)
class InForce:
    """The newest calibration that the method, as it is now, can read, by its number."""

    version: int
    fitted: method.Calibration


@dataclass(frozen=True)
class Correction:
    """A measured section as the dissected trees correct it: the walls moved, and the loss with them where computed."""

    calibration: int
    corrected: Corrected
    loss: Interval | None = None
    moved: Mapping[str, Any] = field(default_factory=dict)

    @property
    def applied(self) -> bool:
        """Whether anything is corrected; the answer says why not."""
        return self.corrected.applied


@dataclass(frozen=True)
class Corrections:
    """What a calibration makes of an inspection: by place of the section, and of the finding with a stated wall."""

    calibration: int
    trees: int
    sections: tuple[Correction | None, ...] = ()
    shells: Mapping[int, Corrected] = field(default_factory=dict)

    @property
    def applied(self) -> bool:
        """Whether any wall is corrected."""
        of_sections = any(one.applied for one in self.sections if one)
        return of_sections or any(one.applied for one in self.shells.values())

    @property
    def methods(self) -> str:
        """Method and number, to stand beside what rests on them."""
        return f"{CORRECTING}/{CORRECTING_VERSION} calibration/{self.calibration}"


def asks(record: InspectionRecord) -> bool:
    """Whether a record holds a wall that a calibration could correct."""
    return bool(record.sections) or any("shell_cm" in one.measures for one in record.findings)


def in_force() -> InForce | None:
    """The calibration that corrects suggestions now; None before the first, or where none can be read any more."""
    newest = Calibration.objects.filter(method=METHOD, method_version=VERSION).values_list("version", "of_sha256")
    found = newest.order_by("-version").first()
    if found is None:
        return None
    fitted = _read(*found)
    return None if fitted is None else InForce(found[0], fitted)


@lru_cache(maxsize=4)
def _read(version: int, of_sha256: str) -> method.Calibration | None:
    """A calibration by its number; the fingerprint tells the one of another database from it."""
    return method.from_json(Calibration.objects.values_list("parameters", flat=True).get(version=version))


def correct_all(
    known: InForce | None, record: InspectionRecord, findings: Sequence[Finding], tree: Tree
) -> Corrections | None:
    """Correct each wall of a checked record; None where there is no calibration or no wall."""
    if known is None or not asks(record):
        return None
    group = truth.species_group(tree.species.botanical_name if tree.species else None)
    of_sections = tuple(correct(known, one.measured, findings, group) for one in record.sections)
    shells = {
        place: _shell(known, one, group)
        for place, one in enumerate(findings)
        if one.kind in _HOLLOW and "shell_cm" in one.measures and one.part_diameter_cm
    }
    return Corrections(known.version, known.fitted.trees, of_sections, shells)


def correct(known: InForce, measured: Mapping[str, Any], findings: Sequence[Finding], group: str) -> Correction | None:
    """Correct one section; None where nothing was read inside it."""
    section = section_method.read(dict(measured))
    if not section.readings or section.voids:
        return None
    estimate = truth.estimate_of(section, findings, group, truth.method_of(measured))
    corrected = method.correct(known.fitted, estimate)
    if not corrected.applied:
        return Correction(known.version, corrected)
    loss = method.corrected_loss(section, corrected)
    return Correction(known.version, corrected, loss, _moved(measured, section, corrected))


def _moved(measured: Mapping[str, Any], section: Section, corrected: Corrected) -> dict[str, Any]:
    """The section as measured with each wall moved as the fraction was."""
    moved = shifted(section, corrected.uncorrected.best, corrected.figure.best).readings
    readings = [
        {**sent, "sound_wall_cm": one.sound_wall_cm}
        | ({} if one.void_to_cm is None else {"void_to_cm": one.void_to_cm})
        for sent, one in zip(measured["readings"], moved, strict=True)
    ]
    return {**measured, "readings": readings}


def _shell(known: InForce, one: Finding, group: str) -> Corrected:
    """Correct a wall that a finding states."""
    radius = float(one.part_diameter_cm or 0) / 2
    share = min(float(one.measures["shell_cm"]) / radius, 1.0)
    return method.correct(known.fitted, Estimate(share, sign=one.kind, method="signs", group=group))


def shell_told(one: Finding, corrected: Corrected) -> Finding:
    """The finding with its wall as corrected."""
    wall = corrected.figure.best * float(one.part_diameter_cm or 0) / 2
    return replace(one, measures={**one.measures, "shell_cm": wall})


def as_json(one: Correction) -> dict[str, Any]:
    """A correction as it is kept and shown: both figures with their intervals, in one sentence too."""
    said = one.corrected
    return {
        "applied": said.applied,
        "said": said.said,
        "trees": said.trees,
        "t_over_r": asdict(said.figure),
        "t_over_r_uncorrected": asdict(said.uncorrected),
        "loss_percent": asdict(one.loss) if one.loss else None,
        "notes": list(said.notes),
        "method": said.method,
        "version": said.version,
    }
