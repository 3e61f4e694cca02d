"""Rows to and from PostgreSQL's binary COPY as numpy structured arrays: no Python object a row is made.

Every column is of fixed width and not NULL. Types go by dtype: i8 bigint, i4 integer, u1 smallint, f4 real.
"""

from collections.abc import Mapping
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
from django.db import connection

Rows: TypeAlias = npt.NDArray[np.void]

_SIGNATURE = b"PGCOPY\n\xff\r\n\0"
# Signature, flags, length of the header's extension.
_HEADER = _SIGNATURE + bytes(8)
_TRAILER = b"\xff\xff"
_WIRE = {"i8": ">i8", "i4": ">i4", "u1": ">i2", "f4": ">f4"}


def _wire(dtype: np.dtype[Any]) -> np.dtype[Any]:
    """The layout of one row: the number of columns, then each column's length and value."""
    fields: list[tuple[str, str]] = [("columns", ">i2")]
    for name in dtype.names or ():
        fields += [(f"length of {name}", ">i4"), (name, _WIRE[dtype[name].str[1:]])]
    return np.dtype(fields)


def read(query: str, params: Mapping[str, Any], dtype: np.dtype[Any]) -> Rows:
    """Run a query and return its rows as (n,) of `dtype`, whose fields are the query's columns in order.

    Raises ValueError where a column is NULL or of another width.
    """
    with connection.cursor() as cursor:
        # Put in here: the framework's logging cursor takes a COPY without parameters only.
        text = cursor.mogrify(f"COPY ({query}) TO STDOUT (FORMAT BINARY)", params)
        with cursor.copy(text) as copy:
            data = b"".join(copy)
    if not data.startswith(_SIGNATURE):
        raise ValueError("this is not a binary COPY")
    return _unwire(data[len(_HEADER) : -len(_TRAILER)], dtype)


def _unwire(data: bytes, dtype: np.dtype[Any]) -> Rows:
    layout = _wire(dtype)
    if len(data) % layout.itemsize:
        raise ValueError(f"a row is not of {layout.itemsize} bytes: a column is NULL or of another type")
    wire = np.frombuffer(data, layout)
    rows = np.empty(len(wire), dtype)
    for name in dtype.names or ():
        if not np.all(wire[f"length of {name}"] == layout[name].itemsize):
            raise ValueError(f"{name}: NULL or of another type")
        rows[name] = wire[name]
    return rows


def write(table: str, rows: Rows) -> None:
    """Append (n,) rows to a table whose columns are the fields of their dtype, in order."""
    dtype = rows.dtype
    layout = _wire(dtype)
    wire = np.empty(len(rows), layout)
    wire["columns"] = len(dtype.names or ())
    for name in dtype.names or ():
        wire[f"length of {name}"] = layout[name].itemsize
        wire[name] = rows[name]
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} FROM STDIN (FORMAT BINARY)") as copy:
        copy.write(_HEADER + wire.tobytes() + _TRAILER)
