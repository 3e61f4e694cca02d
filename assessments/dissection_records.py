"""What is sent of a felled stem that was cut open, as frozen dataclasses."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any


@dataclass(frozen=True)
class CutRecord:
    """One cut: a cut of the request of methods/dissection, without its uid."""

    measured: Mapping[str, Any]
    uid: uuid.UUID | None = None


@dataclass(frozen=True)
class DissectionRecord:
    """One felled stem. `measured`: what the request of methods/dissection says beside its cuts; cuts from below."""

    uid: uuid.UUID
    felled_on: date
    dissected_on: date
    reason: str
    measured: Mapping[str, Any] = field(default_factory=dict)
    cuts: tuple[CutRecord, ...] = ()
    note: str = ""

    def cut_uid(self, place: int) -> uuid.UUID:
        """The uid of a cut: as given, else always the same one for the same place."""
        return self.cuts[place].uid or uuid.uuid5(self.uid, f"cut/{place}")
