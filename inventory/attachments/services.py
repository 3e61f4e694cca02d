"""Writes of photos: added once, withdrawn with a reason, never deleted."""

import hashlib
import uuid
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from django.contrib.gis.geos import Point
from django.utils import timezone

from inventory import events, kept
from inventory.attachments import images
from inventory.history import Author
from inventory.models import Attachment, Tree
from inventory.problems import Conflict, FieldProblem, Invalid, Missing

FOLDER: Final = "photos"
MOST_BYTES: Final = 20 * 1024 * 1024
MOST_A_TREE: Final = 2_000


@dataclass(frozen=True)
class Photo:
    """A photo to be added. `about_uid`: what it shows, which may arrive later; of a tree its own uid.

    The place in the file is kept only where `keep_location` says so; `taken_at` wins over the camera's clock.
    """

    content: bytes
    uid: uuid.UUID = field(default_factory=uuid.uuid4)
    about: str = "tree"
    about_uid: uuid.UUID | None = None
    caption: str = ""
    taken_at: datetime | None = None
    keep_location: bool = False


def add(author: Author, tree: Tree, photo: Photo) -> tuple[Attachment, bool]:
    """Add a photo once; return it and whether it is new.

    Raises Invalid where it is no picture, too large or one too many, Conflict where its uid came with other content.
    """
    if len(photo.content) > MOST_BYTES:
        raise Invalid.field("#/file", f"more than {MOST_BYTES:,} bytes")
    sha256 = hashlib.sha256(photo.content).hexdigest()
    said = {
        "tree_id": tree.pk,
        "about": photo.about,
        "about_uid": photo.about_uid or tree.uid,
        "sha256": sha256,
        "caption": photo.caption,
    }
    before = Attachment.objects.filter(uid=photo.uid).first()
    if before:
        return _same(before, said), False
    # The slow part comes before the transaction, and files that no row names in the end do no harm.
    picture = images.read(photo.content)
    names = {
        "kept_sha256": kept.keep_bytes(FOLDER, picture.content),
        "small_sha256": kept.keep_bytes(FOLDER, picture.small),
    }
    with author.acting("photo added"):
        # Two senders of one photo follow each other, so that the second one finds what the first one wrote.
        Tree.objects.select_for_update().only("pk").get(pk=tree.pk)
        before = Attachment.objects.filter(uid=photo.uid).first()
        if before:
            return _same(before, said), False
        if Attachment.objects.filter(tree=tree).count() >= MOST_A_TREE:
            raise Invalid.field("#/file", f"this tree has {MOST_A_TREE:,} photos already")
        made = Attachment.objects.create(
            uid=photo.uid, **said, **names, **_told(photo, picture), added_by_id=author.user_id
        )
        events.record(author, "photo.added", "attachment", made.uid, tree_id=tree.pk)
    return made, True


def _told(photo: Photo, picture: images.Picture) -> dict[str, Any]:
    return {
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "taken_at": photo.taken_at or picture.taken_at,
        "location": Point(*picture.place, srid=4326) if picture.place and photo.keep_location else None,
    }


def _same(before: Attachment, said: dict[str, Any]) -> Attachment:
    differing = [name for name, value in said.items() if getattr(before, name) != value]
    if differing:
        names = ["file" if name == "sha256" else name.removesuffix("_id") for name in differing]
        errors = [FieldProblem(f"#/{name}", "differs from what is recorded") for name in names]
        raise Conflict("a photo with this uid is recorded with other content", errors)
    return before


def withdraw(author: Author, uid: uuid.UUID, why: str) -> Attachment:
    """No longer show a photo. Raises Missing, Conflict where it is withdrawn already."""
    with author.acting(f"photo withdrawn: {why}"):
        photo = Attachment.objects.select_for_update().filter(uid=uid).first()
        if photo is None:
            raise Missing(f"there is no photo {uid}")
        if photo.withdrawn_at:
            raise Conflict("this photo is withdrawn already")
        photo.withdrawn_at, photo.withdrawn_why = timezone.now(), why
        photo.save(update_fields=["withdrawn_at", "withdrawn_why"])
        events.record(author, "photo.withdrawn", "attachment", uid, tree_id=photo.tree_id)
    return photo
