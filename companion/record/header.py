"""The first bytes of an SQLite file, by which it is known without opening it as a database.

Offsets by SQLite's documentation of its file format, "The Database Header".
"""

from __future__ import annotations

HEADER_BYTES = 100
_MAGIC = b"SQLite format 3\0"
_APPLICATION_ID = slice(68, 72)


def is_sqlite(header: bytes) -> bool:
    """Whether a file that begins so is one of SQLite's."""
    return header.startswith(_MAGIC)


def application_id_in(header: bytes) -> int:
    """Whose file it is, by the number that the program which made it put there."""
    return int.from_bytes(header[_APPLICATION_ID], "big")
