"""Writes of the assessments: inspections, emergencies, required checks, the policy, marks."""

from assessments.services.calibrations import calibrate, learn
from assessments.services.checks import ask_check, settle_checks, withdraw_check
from assessments.services.decisions import take_decision
from assessments.services.dissections import add_cut, record_dissection
from assessments.services.emergencies import record_actions
from assessments.services.growths import follow_policy, recompute_growths
from assessments.services.inspections import (
    Recorded,
    preview,
    record_inspection,
    record_inspections,
)
from assessments.services.marks import mark, mark_trees
from assessments.services.options import add_option, edit_option, propose_options
from assessments.services.policies import adopt_policy, install_default_policy
from assessments.services.rate_cards import adopt_rate_card
from assessments.services.sections import recompute_sections
from assessments.services.stem_loads import recompute_stored
from assessments.services.storms import record_failure, record_storm

__all__ = [
    "Recorded",
    "add_cut",
    "add_option",
    "adopt_policy",
    "adopt_rate_card",
    "ask_check",
    "calibrate",
    "edit_option",
    "follow_policy",
    "install_default_policy",
    "learn",
    "mark",
    "mark_trees",
    "preview",
    "propose_options",
    "recompute_growths",
    "recompute_sections",
    "recompute_stored",
    "record_actions",
    "record_dissection",
    "record_failure",
    "record_inspection",
    "record_inspections",
    "record_storm",
    "settle_checks",
    "take_decision",
    "withdraw_check",
]
