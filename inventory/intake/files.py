"""Uploaded tree files, kept by the SHA-256 of their content."""

import hashlib
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.conf import settings

from inventory import kept
from inventory.intake.read import Source, open_source
from inventory.problems import Invalid

FOLDER: Final = "intake"


@dataclass(frozen=True)
class Stored:
    """A kept file."""

    sha256: str
    size: int


def store(chunks: Iterable[bytes]) -> Stored:
    """Keep a file. Raises Invalid where it is empty, larger than UPLOAD_MAX_BYTES or no file that can be read."""
    digest, size = hashlib.sha256(), 0
    with tempfile.NamedTemporaryFile() as file:
        for chunk in chunks:
            size += len(chunk)
            if size > settings.UPLOAD_MAX_BYTES:
                raise Invalid.field("#/file", f"more than {settings.UPLOAD_MAX_BYTES:,} bytes (UPLOAD_MAX_MIB)")
            digest.update(chunk)
            file.write(chunk)
        file.flush()
        # What cannot be read is refused at the door, by its bytes and not by its name.
        open_source(Path(file.name))
        kept.keep(FOLDER, file, digest.hexdigest())
    return Stored(digest.hexdigest(), size)


@contextmanager
def opened(sha256: str, name: str = "") -> Iterator[Source]:
    """Open a kept file. Raises Missing where there is none, Invalid where it cannot be read."""
    with kept.opened(FOLDER, sha256) as path:
        yield open_source(path, name=name or sha256[:12])
