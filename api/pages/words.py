"""The words that the pages show for the codes kept in the database: those of the assessments, and of work and jobs."""

from typing import Final

from assessments.methods import risk
from assessments.report import words
from assessments.report.words import RISK_WORDS, finding_kind, measures, part
from assessments.works.states import ACTIONS
from inventory.people.roles import LABELS

__all__ = ["RISK_WORDS", "RULE_WORDS", "WORDS", "finding_kind", "measures", "part", "risk_number", "say"]

WORDS: Final[dict[str, str]] = {
    **words.WORDS,
    **LABELS,
    **ACTIONS,
    # orders
    "done": "Reported done",
    "not_possible": "Reported not possible",
    "variation": "Contradiction: to be decided",
    "returned": "Returned to the contractor",
    "not_done": "Stays undone, agreed",
    # jobs
    "intake_survey": "Survey of a file",
    "intake_check": "Check of a file",
    "intake_load": "Load of a file",
    "intake_undo": "Undoing of a load",
    "intake_merge_check": "Comparison of a file with the inventory",
    "intake_merge": "Merge of a file",
    "recompute": "Recompute of priorities",
    "calibrate": "Calibration by opened stems",
    # loads
    "warned": "Accepted with a warning",
    "refused": "Refused",
    "accepted": "Accepted",
}
RULE_WORDS: Final[dict[str, str]] = {
    "none": "No rule gives a date",
    "interval": "Interval of the policy",
    "decay": "Sign of decay or weakening",
    "establishment": "Visit of a young tree",
    "check": "Open required check",
    "decay_growth": "Decay measured inside",
}


def risk_number(code: int | str | None) -> int:
    """Give the number of a risk class from its number or word; 0 for none.

    >>> risk_number("high"), risk_number(None)
    (3, 0)
    """
    if code in ("not_rated", ""):
        return 0
    return risk.code(risk.RISK, code) if isinstance(code, str) else int(code or 0)


def say(code: object) -> str:
    """Give the words for a code, of whatever it is.

    >>> say("limited_visual"), say("warned"), say(None)
    ('Limited visual', 'Accepted with a warning', '')
    """
    return WORDS.get(str(code)) or words.say(code)
