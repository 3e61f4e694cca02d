"""Uploaded files, kept by the SHA-256 of their content: the same file twice is one file."""

import hashlib
import re
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from django.conf import settings
from django.core.files import File
from django.core.files.storage import FileSystemStorage, default_storage

from inventory.intake.read import Source, open_source
from inventory.problems import Invalid, Missing

_SHA256 = re.compile(r"[0-9a-f]{64}")


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
        _keep(file, digest.hexdigest())
    return Stored(digest.hexdigest(), size)


def _keep(file: IO[bytes], sha256: str) -> None:
    if default_storage.exists(_name(sha256)):
        return
    file.seek(0)
    kept = default_storage.save(_name(sha256), File(file))
    if kept != _name(sha256):  # somebody kept the same file at the same moment
        default_storage.delete(kept)


def _name(sha256: str) -> str:
    return f"intake/{sha256[:2]}/{sha256}"


@contextmanager
def opened(sha256: str, name: str = "") -> Iterator[Source]:
    """Open a kept file. Raises Missing where there is none, Invalid where it cannot be read."""
    if not isinstance(sha256, str) or not _SHA256.fullmatch(sha256) or not default_storage.exists(_name(sha256)):
        raise Missing(f"there is no file {sha256!r:.70}: upload it first")
    with _local(sha256) as path:
        yield open_source(path, name=name or sha256[:12])


@contextmanager
def _local(sha256: str) -> Iterator[Path]:
    """The kept file as a path; a storage that is no folder is copied from."""
    if isinstance(default_storage, FileSystemStorage):
        yield Path(default_storage.path(_name(sha256)))
        return
    with tempfile.NamedTemporaryFile() as copy, default_storage.open(_name(sha256)) as kept:
        for chunk in kept.chunks():
            copy.write(chunk)
        copy.flush()
        yield Path(copy.name)
