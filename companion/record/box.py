"""The box that writes the record signs each batch of events.

Beside the record lies the box's own Ed25519 key, for its owner alone. With each batch, in the same
transaction, goes a mark: the session's head as it then stands, chained to the mark before it and
signed. So writing into the file without the key leaves events without a mark, and the marks
tell in which order all sessions were written.

A mark's signature stands for every mark before it, for the box looks at the last one before it
signs the next. Where a box comes to a record that others wrote (an older version, another box), it
marks what it `found`, which says that it did not write it.
"""

from __future__ import annotations

from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Literal, NamedTuple

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.errors import RecordError
from companion.record.audit.keys import is_signature, make_key, public_hex, read_key
from companion.record.canonical import canonical_json, opening_hash
from companion.record.lock import require_no_link
from companion.record.rows import insert
from companion.record.tables import sqlite_utils

What = Literal["found", "opened", "written", "sealed"]
NO_LINK = bytes(32)
MARKS = """
    SELECT box_mark.number, public_key, what, session_id, seq, head, previous, signature
    FROM box_mark JOIN box ON box.number = box_mark.box
"""
_LAST_OF_SESSION = """
    SELECT seq, head FROM box_mark WHERE session_id = ? ORDER BY number DESC LIMIT 1
"""
# From the end: where the box is at home, the last mark is its own.
_HAS_SIGNED = """
    SELECT 1 FROM box_mark WHERE box = (SELECT number FROM box WHERE public_key = ?)
    ORDER BY number DESC LIMIT 1
"""
_STANDING = """
    SELECT session.id, session.opened_utc, COALESCE(last.seq, 0), last.hash
    FROM session LEFT JOIN event AS last ON last.session_id = session.id
      AND last.seq = (SELECT MAX(seq) FROM event WHERE session_id = session.id)
"""
_LAST = f"{_STANDING} ORDER BY session.rowid DESC LIMIT 1"
_NO_MARK = """
    WHERE NOT EXISTS (
        SELECT 1 FROM box_mark
        WHERE session_id = session.id AND box_mark.seq = COALESCE(last.seq, 0)
    )
    ORDER BY session.rowid
"""
_UNMARKED = f"{_STANDING} {_NO_MARK}"


class Mark(NamedTuple):
    """One mark; `seq` and `head` are the last event of `session_id` then.

    For a seal they are the number of sealed heads and the root over them, and there is no session.
    """

    number: int
    public_key: str
    what: str
    session_id: str
    seq: int
    head: str
    previous: bytes
    signature: bytes

    @property
    def statement(self) -> bytes:
        """What is signed."""
        return statement_of_mark(*self[:-1])

    @property
    def link(self) -> bytes:
        """What the next mark is chained to."""
        return sha256(self.statement + self.signature).digest()

    @property
    def is_signed(self) -> bool:
        """Whether the holder of its key made it."""
        return is_signature(bytes.fromhex(self.public_key), self.signature, self.statement)


def statement_of_mark(
    number: int, public_key: str, what: str, session_id: str, seq: int, head: str, previous: bytes
) -> bytes:
    """The bytes that a mark's signature is made over."""
    told = f"{number}\n{public_key}\n{what}\n{seq}\n{head}\n{previous.hex()}\n"
    return b"bay-companion mark 1\n%b%b" % (told.encode("utf-8"), _json(session_id))


@lru_cache(maxsize=256)
def _json(text: str) -> bytes:
    return canonical_json(text)


def key_path(record_path: Path) -> Path:
    """Where the box's key lies: beside the record."""
    return record_path.with_name("box.key")


def public_key_path(record_path: Path) -> Path:
    """Where its public half lies, to be kept elsewhere too."""
    return record_path.with_name("box.key.pub")


def box_key(record_path: Path) -> Ed25519PrivateKey:
    """The box's key, made where there is none yet.

    Raises `RecordError` where it cannot be read, and where only its public half is left: a lost
    key is to be noticed.
    """
    path = key_path(record_path)
    require_no_link(path)
    if not path.exists():
        if public_key_path(record_path).exists():
            raise RecordError(
                f"{path}: the key by which this box signs the record is gone, its public half is "
                f"here; put it back, or move {public_key_path(record_path).name} to where it is "
                "kept, and the box goes on with a new key"
            )
        make_key(path)
    return read_key(path)


class Marker:
    """Puts the box's marks into an open record."""

    def __init__(self, path: Path, key: Ed25519PrivateKey) -> None:
        self._path = path
        self._key = key
        self.public_key = public_hex(key)
        self._known = NO_LINK

    def begin(self, tables: sqlite_utils.Database) -> None:
        """Mark what a box that is new here found; in a transaction.

        Where others signed all of it, the last session is marked all the same: a box that signed
        nothing is one that something else put in.
        """
        if tables.execute(_HAS_SIGNED, (self.public_key,)).fetchone() is not None:
            return
        found = tables.execute(_UNMARKED).fetchall() or tables.execute(_LAST).fetchall()
        for session_id, opened_utc, seq, head in found:
            now = head or opening_hash(session_id, opened_utc)
            self.mark(tables, "found", session_id, seq, now)

    def _number(self, tables: sqlite_utils.Database) -> int:
        """The box's number in this record, in which it is entered with its first mark."""
        boxes = dict(tables.execute("SELECT public_key, number FROM box").fetchall())
        number = boxes.get(self.public_key)
        if number is None:
            number = max(boxes.values(), default=0) + 1
            row = {"number": number, "public_key": self.public_key}
            insert(tables, "box", row, ("number",))
        return int(number)

    def mark(
        self, tables: sqlite_utils.Database, what: What, session_id: str, seq: int, head: str
    ) -> None:
        """Sign what was just written, within its transaction."""
        number, previous = self._last(tables)
        told = statement_of_mark(number + 1, self.public_key, what, session_id, seq, head, previous)
        signature = self._key.sign(told)
        row = {
            "number": number + 1,
            "box": self._number(tables),
            "what": what,
            "session_id": session_id,
            "seq": seq,
            "head": head,
            "previous": previous,
            "signature": signature,
        }
        insert(tables, "box_mark", row, ("number",))
        self._known = sha256(told + signature).digest()

    def require_own(
        self, tables: sqlite_utils.Database, session_id: str, seq: int, head: str
    ) -> None:
        """Raise `RecordError` unless the session stands as a mark left it."""
        if tables.execute(_LAST_OF_SESSION, (session_id,)).fetchone() != (seq, head):
            raise RecordError(
                f"{self._path}: session {session_id} holds events that this box did not write; "
                "nothing is added to it: look at it with 'companion verify'"
            )

    def _last(self, tables: sqlite_utils.Database) -> tuple[int, bytes]:
        """Number and link of the last mark, which is looked at unless it was just made here."""
        row = tables.execute(f"{MARKS} ORDER BY box_mark.number DESC LIMIT 1").fetchone()
        if row is None:
            return 0, NO_LINK
        mark = Mark(*row)
        link = mark.link
        if link != self._known and not mark.is_signed:
            raise RecordError(
                f"{self._path}: the last mark in it was not made by the box that it names; nothing "
                "is written into it: look at it with 'companion verify', keep it aside and go on "
                "with a new record file"
            )
        return mark.number, link
