"""One noun a file."""

from assessments.works.models.item import OrderItem
from assessments.works.models.order import OrderCounter, WorkOrder
from assessments.works.models.report import ItemReport
from assessments.works.models.verification import Verification

__all__ = ["ItemReport", "OrderCounter", "OrderItem", "Verification", "WorkOrder"]
