"""Written reports: what was issued about an inspected tree, as it was, for ever."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from assessments.models.inspection import Inspection
from inventory.constraints import filled, one_of
from inventory.models import Tree
from inventory.people.models import UNITS

PAPERS = ("a4", "letter")


class TreeReport(models.Model):
    """An append-only fact. `content` is all that the document says; the PDF made of it is kept by its digest.

    A later edition adds a row; the earlier one stays as it was handed out.
    """

    APPEND_ONLY = True

    uid = models.UUIDField(unique=True)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="reports")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="reports")
    number = models.TextField(unique=True)
    edition = models.SmallIntegerField()
    paper = models.TextField(choices=[(p, p) for p in PAPERS])
    units = models.TextField(choices=[(u, u) for u in UNITS])
    asked_sha256 = models.CharField(max_length=64)  # of what was sent with the uid
    content = models.JSONField()
    content_sha256 = models.CharField(max_length=64)
    pdf_sha256 = models.CharField(max_length=64)
    pdf_bytes = models.IntegerField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    issued_on = models.DateField()
    issued_at = models.DateTimeField(db_default=Now(), editable=False)
    valid_until = models.DateField()

    class Meta:
        db_table = "tree_report"
        constraints = [
            models.UniqueConstraint(fields=["inspection", "edition"], name="tree_report_edition_once"),
            one_of("tree_report", "paper", PAPERS),
            one_of("tree_report", "units", UNITS),
            filled("tree_report", "number"),
            models.CheckConstraint(name="tree_report_valid", condition=Q(valid_until__gte=F("issued_on"))),
        ]

    def __str__(self) -> str:
        return f"report {self.number}"


class TreeReportCounter(models.Model):
    """The last number given in a year, locked by the one who takes the next: none is given twice."""

    year = models.SmallIntegerField(primary_key=True)
    last = models.IntegerField()

    class Meta:
        db_table = "tree_report_counter"

    def __str__(self) -> str:
        return f"{self.year}: {self.last}"
