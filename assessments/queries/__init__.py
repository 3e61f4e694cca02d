"""Reads of the assessments."""

from assessments.queries.calibrations import (
    agreement,
    assessor,
    assessors,
    calibration_of,
    calibrations,
    learned_by,
    record_of_assessor,
    review_list,
)
from assessments.queries.dissections import (
    DissectionRequest,
    all_dissections,
    dissection,
    dissection_requests,
    dissections_of,
)
from assessments.queries.due import DueItem, DuePage, DueSummary, due_list, due_summary, unseen_queue
from assessments.queries.inspections import (
    Defect,
    checks_of,
    defect_history,
    inspection,
    inspections_of,
    open_emergencies,
    section,
    stem_load,
)
from assessments.queries.options import (
    decision,
    decision_in_force,
    decisions,
    decisions_of,
    open_decisions,
    option,
    option_comparison,
    options_of,
)
from assessments.queries.policies import current_policy, policies, policy_in_force
from assessments.queries.priorities import PriorityShown, priority_of, risk_by_tree
from assessments.queries.rate_cards import current_rate_card, rate_cards
from assessments.queries.storms import failures_of, storm, storms

__all__ = [
    "Defect",
    "DissectionRequest",
    "DueItem",
    "DuePage",
    "DueSummary",
    "PriorityShown",
    "agreement",
    "all_dissections",
    "assessor",
    "assessors",
    "calibration_of",
    "calibrations",
    "checks_of",
    "current_policy",
    "current_rate_card",
    "decision",
    "decision_in_force",
    "decisions",
    "decisions_of",
    "defect_history",
    "dissection",
    "dissection_requests",
    "dissections_of",
    "due_list",
    "due_summary",
    "failures_of",
    "inspection",
    "inspections_of",
    "learned_by",
    "open_decisions",
    "open_emergencies",
    "option",
    "option_comparison",
    "options_of",
    "policies",
    "policy_in_force",
    "priority_of",
    "rate_cards",
    "record_of_assessor",
    "review_list",
    "risk_by_tree",
    "section",
    "stem_load",
    "storm",
    "storms",
    "unseen_queue",
]
