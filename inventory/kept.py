"""Files kept by the SHA-256 of their content, a folder a purpose: the same file twice is one file."""

import hashlib
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from django.core.files import File
from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage, default_storage

from inventory.problems import Missing

_SHA256 = re.compile(r"[0-9a-f]{64}")


def keep(folder: str, file: IO[bytes], sha256: str) -> None:
    """Keep a file whose content has this digest."""
    name = _name(folder, sha256)
    if default_storage.exists(name):
        return
    file.seek(0)
    saved = default_storage.save(name, File(file))
    if saved != name:  # somebody kept the same file at the same moment
        default_storage.delete(saved)


def keep_bytes(folder: str, content: bytes) -> str:
    """Keep a small file; return the SHA-256 of its content."""
    sha256 = hashlib.sha256(content).hexdigest()
    keep(folder, ContentFile(content), sha256)
    return sha256


def read(folder: str, sha256: str) -> bytes:
    """A small file's content. Raises Missing where it is not kept, or no longer what it was kept as."""
    with default_storage.open(_found(folder, sha256)) as kept:
        content: bytes = kept.read()
    if hashlib.sha256(content).hexdigest() != sha256:
        raise Missing(f"the file {sha256} is damaged: its content is not what was kept")
    return content


@contextmanager
def opened(folder: str, sha256: str) -> Iterator[Path]:
    """The kept file as a path; a storage that is no folder is copied from. Raises Missing where there is none."""
    name = _found(folder, sha256)
    if isinstance(default_storage, FileSystemStorage):
        yield Path(default_storage.path(name))
        return
    with tempfile.NamedTemporaryFile() as copy, default_storage.open(name) as kept:
        for chunk in kept.chunks():
            copy.write(chunk)
        copy.flush()
        yield Path(copy.name)


def _found(folder: str, sha256: str) -> str:
    # What is no digest is no part of a path either.
    known = isinstance(sha256, str) and _SHA256.fullmatch(sha256) is not None
    if not known or not default_storage.exists(_name(folder, sha256)):
        raise Missing(f"there is no file {sha256!r:.70}: upload it first")
    return _name(folder, sha256)


def _name(folder: str, sha256: str) -> str:
    return f"{folder}/{sha256[:2]}/{sha256}"
