"""Mappings kept under a name, for later files with the same headings."""

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models.functions import Now

from inventory.models import fields


class IntakeMapping(models.Model):
    """What the columns of a city's files mean, as a person corrected it; saved again under its name it is replaced."""

    uid = fields.uid()
    name = models.TextField(unique=True)
    mapping = models.TextField()  # TOML
    # The headings of the file that it was made on, folded: later files are compared with them.
    headings = ArrayField(models.TextField())
    saved_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    saved_at = models.DateTimeField(db_default=Now())

    class Meta:
        db_table = "intake_mapping"
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
