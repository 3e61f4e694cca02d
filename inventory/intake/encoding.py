"""Which encoding a text file is in, by evidence in its bytes."""

import codecs
from pathlib import Path

from inventory.problems import Invalid

BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
# Bytes that Windows-1252 leaves undefined: a file with them is not in it.
UNDEFINED = frozenset(b"\x81\x8d\x8f\x90\x9d")
CHUNK = 1 << 20


def encoding_of(path: Path) -> str:
    """Return utf-8, utf-8-sig, utf-16 or cp1252. Raises Invalid for binary content and for mixed encodings."""
    with path.open("rb") as file:
        start = file.read(4)
    for bom, encoding in BOMS:
        if start.startswith(bom):
            _prove(path, encoding)
            return encoding
    return "utf-8" if _is_utf8(path) else _one_byte(path)


def _is_utf8(path: Path) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    with path.open("rb") as file:
        try:
            while chunk := file.read(CHUNK):
                if b"\0" in chunk:
                    raise Invalid.field("#/file", "binary content (a zero byte): this is not a text file")
                decoder.decode(chunk)
            decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            return False
    return True


def _one_byte(path: Path) -> str:
    """Not UTF-8 as a whole: Windows-1252, unless some lines are UTF-8 all the same (mixed) or nothing fits."""
    utf8_line = other_line = 0
    with path.open("rb") as file:
        for number, line in enumerate(file, 1):
            if b"\0" in line or not UNDEFINED.isdisjoint(line):
                raise Invalid.field("#/file", f"line {number} is neither UTF-8 nor Windows-1252 text")
            if not line.isascii():
                try:
                    line.decode("utf-8")
                    utf8_line = utf8_line or number
                except UnicodeDecodeError:
                    other_line = other_line or number
    if utf8_line:
        raise Invalid.field(
            "#/file", f"mixed encodings: line {utf8_line} is UTF-8, line {other_line} is not; save it as UTF-8"
        )
    return "cp1252"


def _prove(path: Path, encoding: str) -> None:
    try:
        with path.open(encoding=encoding, newline="") as file:
            while file.read(CHUNK):
                pass
    except UnicodeError as error:
        raise Invalid.field("#/file", f"begins as {encoding} but is not: {error}") from error
