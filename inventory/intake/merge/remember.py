"""Choices kept with a dry run while a person goes through its rows; the merge is then asked for with all of them."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from inventory.intake.merge import choices as choosing
from inventory.intake.merge.choices import Choices
from inventory.models import IntakeMerge
from inventory.problems import Conflict, Missing


@transaction.atomic
def remember(uid: uuid.UUID, kinds: Mapping[str, str], single: Mapping[str, Mapping[str, str]]) -> Choices:
    """Keep choices by kind and by `lines` and `trees` (file, ours; empty takes a single one back).

    Nothing of the inventory changes. Raises Missing, Invalid, Conflict where the merge was written already.
    """
    made = IntakeMerge.objects.select_for_update().filter(uid=uid).first()
    if made is None:
        raise Missing(f"there is no merge {uid}, or its dry run was dropped for newer ones")
    if made.state != "checked":
        raise Conflict("this merge was written already: its choices are what was done")
    kept: dict[str, Any] = {"kinds": {**made.choices.get("kinds", {}), **kinds}}
    for name in ("lines", "trees"):
        every = {**made.choices.get(name, {}), **single.get(name, {})}
        kept[name] = {key: word for key, word in every.items() if word}
    found = choosing.read(kept)
    made.choices = found.as_dict()
    made.save(update_fields=["choices"])
    return found
