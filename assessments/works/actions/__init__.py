"""One verb a file: what can be done to an order. Each opens its own act, locks the order first, and tells the news."""

from assessments.works.actions.accept import accept
from assessments.works.actions.add_items import add_items
from assessments.works.actions.cancel import cancel
from assessments.works.actions.draft import draft
from assessments.works.actions.emergency import open_emergency_order
from assessments.works.actions.issue import issue
from assessments.works.actions.report import report
from assessments.works.actions.verify import verify

__all__ = ["accept", "add_items", "cancel", "draft", "issue", "open_emergency_order", "report", "verify"]
