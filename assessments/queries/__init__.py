"""Reads of the assessments."""

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

__all__ = [
    "Defect",
    "DissectionRequest",
    "DueItem",
    "DuePage",
    "DueSummary",
    "PriorityShown",
    "all_dissections",
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
    "inspection",
    "inspections_of",
    "open_decisions",
    "open_emergencies",
    "option",
    "option_comparison",
    "options_of",
    "policies",
    "policy_in_force",
    "priority_of",
    "rate_cards",
    "risk_by_tree",
    "section",
    "stem_load",
    "unseen_queue",
]
