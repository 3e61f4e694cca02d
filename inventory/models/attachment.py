"""Attachments: a photo of a tree and of what it shows, kept without what its file tells of its maker."""

from django.conf import settings
from django.contrib.gis.db.models import PointField
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from inventory.constraints import between, filled, one_of
from inventory.history import track
from inventory.models.fields import WGS84
from inventory.models.tree import Tree

# What a photo shows, by a noun that this room need not know: the uid tells which one.
ABOUT = ("tree", "inspection", "finding", "section", "dissection", "order_item")


@track("AttachmentPast", "attachment_past")
class Attachment(models.Model):
    """An append-only fact. `sha256` is of what was sent, `kept_sha256` of the picture as it is kept and shown."""

    uid = models.UUIDField(unique=True)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="attachments")
    about = models.TextField(choices=[(a, a) for a in ABOUT])
    about_uid = models.UUIDField()
    sha256 = models.CharField(max_length=64, editable=False)
    kept_sha256 = models.CharField(max_length=64, editable=False)
    small_sha256 = models.CharField(max_length=64, editable=False)
    width_px = models.IntegerField(editable=False)
    height_px = models.IntegerField(editable=False)
    caption = models.TextField(blank=True, db_default="")
    # What the camera wrote, without a time zone; and where it stood, only where that was asked to be kept.
    taken_at = models.DateTimeField(null=True)
    location = PointField(srid=WGS84, null=True, spatial_index=False)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now(), editable=False)
    # A photo that shows what it must not (a face, another tree) is withdrawn: no longer shown, never deleted here.
    withdrawn_at = models.DateTimeField(null=True)
    withdrawn_why = models.TextField(blank=True, db_default="")

    class Meta:
        db_table = "attachment"
        indexes = [models.Index(fields=["about_uid"], name="attachment_about")]
        constraints = [
            one_of("attachment", "about", ABOUT),
            filled("attachment", "sha256"),
            between("attachment", "width_px", 1, 20_000),
            between("attachment", "height_px", 1, 20_000),
            models.CheckConstraint(name="attachment_withdrawn", condition=Q(withdrawn_at=None) ^ ~Q(withdrawn_why="")),
        ]

    def __str__(self) -> str:
        return self.caption or f"photo {self.pk}"
