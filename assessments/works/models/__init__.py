"""One noun a file."""

from assessments.works.models.order import ItemReport, OrderItem, Verification, WorkOrder

__all__ = ["ItemReport", "OrderItem", "Verification", "WorkOrder"]
