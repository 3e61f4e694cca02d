"""One noun a file."""

from assessments.models.calibration import Calibration, ReviewItem, SectionCorrection
from assessments.models.decay_growth import DecayGrowth
from assessments.models.decision import Decision
from assessments.models.dissection import Dissection, DissectionCut, DissectionResult
from assessments.models.emergency_action import EmergencyAction
from assessments.models.failure import Failure
from assessments.models.finding import Finding
from assessments.models.inspection import Inspection
from assessments.models.option import Option, OptionComparison, OptionEstimate
from assessments.models.policy import Policy
from assessments.models.priority import Mark, Priority, PriorityChange
from assessments.models.rate_card import RateCard
from assessments.models.rating import Rating
from assessments.models.required_check import RequiredCheck
from assessments.models.section import Section, SectionResult
from assessments.models.stem_load import StemLoad, StemLoadResult
from assessments.models.storm import Storm, StormGust
from assessments.models.target import Target
from assessments.models.tree_report import TreeReport, TreeReportCounter

__all__ = [
    "Calibration",
    "DecayGrowth",
    "Decision",
    "Dissection",
    "DissectionCut",
    "DissectionResult",
    "EmergencyAction",
    "Failure",
    "Finding",
    "Inspection",
    "Mark",
    "Option",
    "OptionComparison",
    "OptionEstimate",
    "Policy",
    "Priority",
    "PriorityChange",
    "RateCard",
    "Rating",
    "RequiredCheck",
    "ReviewItem",
    "Section",
    "SectionCorrection",
    "SectionResult",
    "StemLoad",
    "StemLoadResult",
    "Storm",
    "StormGust",
    "Target",
    "TreeReport",
    "TreeReportCounter",
]
