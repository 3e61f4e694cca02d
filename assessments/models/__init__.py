"""One noun a file."""

from assessments.models.decay_growth import DecayGrowth
from assessments.models.emergency_action import EmergencyAction
from assessments.models.finding import Finding
from assessments.models.inspection import Inspection
from assessments.models.policy import Policy
from assessments.models.priority import Mark, Priority, PriorityChange
from assessments.models.rating import Rating
from assessments.models.required_check import RequiredCheck
from assessments.models.section import Section, SectionResult
from assessments.models.stem_load import StemLoad, StemLoadResult
from assessments.models.target import Target

__all__ = [
    "DecayGrowth",
    "EmergencyAction",
    "Finding",
    "Inspection",
    "Mark",
    "Policy",
    "Priority",
    "PriorityChange",
    "Rating",
    "RequiredCheck",
    "Section",
    "SectionResult",
    "StemLoad",
    "StemLoadResult",
    "Target",
]
