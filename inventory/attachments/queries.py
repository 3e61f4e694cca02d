"""Reads of photos: those of a tree or of what they show, and the pictures themselves."""

import uuid
from collections.abc import Iterable

from django.db.models import QuerySet

from inventory import kept
from inventory.attachments.services import FOLDER
from inventory.models import Attachment, Tree
from inventory.problems import Missing


def photos_of(tree: Tree) -> QuerySet[Attachment]:
    """The photos of a tree that are shown, the newest first."""
    return _shown().filter(tree=tree).order_by("-pk")


def photos_about(uids: Iterable[uuid.UUID]) -> QuerySet[Attachment]:
    """The photos that show any of these things, the oldest first."""
    return _shown().filter(about_uid__in=list(uids)).order_by("pk")


def photo(uid: uuid.UUID) -> Attachment:
    """One photo that is shown. Raises Missing; of a withdrawn one it says so."""
    found = Attachment.objects.select_related("tree", "added_by").filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no photo {uid}")
    if found.withdrawn_at:
        raise Missing(f"the photo {uid} was withdrawn")
    return found


def picture(photo: Attachment, *, small: bool = False) -> bytes:
    """The JPEG of a photo. Raises Missing where its file is lost."""
    return kept.read(FOLDER, photo.small_sha256 if small else photo.kept_sha256)


def _shown() -> QuerySet[Attachment]:
    return Attachment.objects.filter(withdrawn_at=None).select_related("added_by")
