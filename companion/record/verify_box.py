"""The marks of the box held against the events: who wrote what, in which order, and what nobody
of the boxes did.

Each mark stands for those before it (`box`), so of a run of one box's marks only the last
signature is looked at; the others are when that one does not hold, to name the first that fails.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field

from companion.errors import RecordError
from companion.record.audit.merkle import prefix_roots
from companion.record.audit.seal import SealedHead, leaf_of
from companion.record.box import MARKS, NO_LINK, Mark
from companion.record.canonical import opening_hash
from companion.record.finding import Finding

_HEADS = """
    SELECT session.id, session.opened_utc, COALESCE(last.seq, 0), last.hash
    FROM session LEFT JOIN event AS last ON last.session_id = session.id
      AND last.seq = (SELECT MAX(seq) FROM event WHERE session_id = session.id)
    ORDER BY session.rowid
"""
_IDLE_BOXES = """
    SELECT number, public_key FROM box
    WHERE NOT EXISTS (SELECT 1 FROM box_mark WHERE box_mark.box = box.number)
"""


@dataclass
class Boxes:
    """What the marks tell: each box's key with its first and last mark; what was only found.

    `found` maps a session to the last event of it that a box found and did not write;
    `marked` a session to its last mark.
    """

    runs: list[tuple[str, int, int]] = field(default_factory=list)
    found: dict[str, int] = field(default_factory=dict)
    marked: dict[str, Mark] = field(default_factory=dict)
    first: dict[str, int] = field(default_factory=dict)
    seals: list[Mark] = field(default_factory=list)


def has_marks(connection: sqlite3.Connection) -> bool:
    """Whether the file is of a version that has marks of the box."""
    found = connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'box_mark'")
    return found.fetchone() is not None


def read_marks(connection: sqlite3.Connection, problems: list[Finding]) -> Boxes:
    """Every mark in order, with its chain and signatures; what is wrong goes into `problems`."""
    boxes = Boxes()
    last: Mark | None = None
    link, number = NO_LINK, 0
    try:
        for row in connection.execute(f"{MARKS} ORDER BY box_mark.number"):
            mark = Mark(*row)
            number += 1
            if mark.number != number or mark.previous != link:
                problems.append(_wrong(mark, "does not follow the mark before it"))
                break
            if last is not None and last.public_key != mark.public_key:
                problems += _signatures(connection, last, boxes)
            _note(boxes, mark)
            link, last = mark.link, mark
        problems += _signatures(connection, last, boxes)
        if boxes.runs and not problems:
            problems += map(_without_a_mark, connection.execute(_IDLE_BOXES))
        (count,) = connection.execute("SELECT COUNT(*) FROM box_mark").fetchone()
        if count != number and not problems:
            told = f"{count - number} marks name a box that there is not"
            problems.append(Finding("", 0, "box", told))
    except (sqlite3.Error, TypeError, ValueError, AttributeError) as error:
        problems.append(Finding("", 0, "box", f"the marks of the box cannot be read: {error}"))
    return boxes


def _without_a_mark(row: tuple[int, str]) -> Finding:
    number, key = row
    told = f"box {number} in it ({key[:16]}…) signed nothing: it was put in by something else"
    return Finding("", 0, "box", told)


def read_session_marks(
    connection: sqlite3.Connection, session_id: str, problems: list[Finding]
) -> Boxes:
    """The marks of one session, of which the last signature is looked at, but not their chain."""
    boxes = Boxes()
    last: Mark | None = None
    rows = connection.execute(
        f"{MARKS} WHERE session_id = ? ORDER BY box_mark.number", (session_id,)
    )
    for last in (Mark(*row) for row in rows):
        _note(boxes, last)
    problems += _signatures(connection, last, boxes)
    return boxes


def _signatures(
    connection: sqlite3.Connection, last: Mark | None, boxes: Boxes
) -> Iterator[Finding]:
    """The last mark of a run stands for it; where it does not hold, the first that does not."""
    if last is None or last.is_signed:
        return
    key, first, _ = boxes.runs[-1]
    rows = connection.execute(
        f"{MARKS} WHERE box_mark.number >= ? ORDER BY box_mark.number", (first,)
    )
    wrong = next((mark for mark in (Mark(*row) for row in rows) if not mark.is_signed), last)
    yield _wrong(wrong, f"was not made with the key of the box {key[:16]}…")


def _note(boxes: Boxes, mark: Mark) -> None:
    new = not boxes.runs or boxes.runs[-1][0] != mark.public_key
    if new:
        boxes.runs.append((mark.public_key, mark.number, mark.number))
    key, first, _ = boxes.runs[-1]
    boxes.runs[-1] = (key, first, mark.number)
    if mark.what == "sealed":
        boxes.seals.append(mark)
        return
    before = boxes.marked.get(mark.session_id)
    if mark.what == "found" and (before is None or before.seq < mark.seq):
        boxes.found[mark.session_id] = mark.seq
    boxes.first.setdefault(mark.session_id, mark.number)
    boxes.marked[mark.session_id] = mark


def _wrong(mark: Mark, what: str) -> Finding:
    return Finding(mark.session_id, mark.seq, "box", f"mark {mark.number} of the box {what}")


def mark_findings(
    connection: sqlite3.Connection,
    boxes: Boxes,
    trusted: Collection[str],
    only_session: str | None,
) -> Iterator[Finding]:
    """The events held against the marks, and the marks against the boxes that are trusted.

    `trusted` are public keys (hexadecimal) kept elsewhere; with none given every box is taken.
    """
    yield from _other_boxes(boxes, trusted)
    last_first = 0
    for session_id, opened_utc, seq, head in connection.execute(_HEADS):
        if only_session not in (None, session_id):
            continue
        mark = boxes.marked.pop(session_id, None)
        if mark is None:
            yield Finding(session_id, 0, "box", "no box signed it: it was put in by something else")
            continue
        if boxes.first[session_id] < last_first:
            told = "it stands in another place than it was recorded in"
            yield Finding(session_id, 0, "box", told)
        last_first = max(last_first, boxes.first[session_id])
        now = head or opening_hash(session_id, opened_utc)
        if mark.seq > seq:
            told = f"it ends here, and the box signed event {mark.seq}: its tail was dropped"
            yield Finding(session_id, seq, "box", told)
        elif mark.seq < seq:
            told = "the box did not sign it: it was put in by something else"
            yield Finding(session_id, mark.seq + 1, "box", told)
        elif mark.head != now:
            yield Finding(session_id, seq, "box", "it is not what the box signed")
    if only_session is None:
        for session_id, mark in boxes.marked.items():
            told = f"the whole session is missing, known by mark {mark.number} of the box"
            yield Finding(session_id, 0, "box", told)


def _other_boxes(boxes: Boxes, trusted: Collection[str]) -> Iterator[Finding]:
    for key, first, last in boxes.runs if trusted else ():
        if key not in trusted:
            told = f"marks {first} to {last} are by another box ({key[:16]}…) than those given"
            yield Finding("", 0, "box", told)


def seal_mark_findings(boxes: Boxes, sealed: Iterable[SealedHead]) -> Iterator[Finding]:
    """The seals that the box signed, held against the sealed heads as they stand now."""
    sealed = tuple(sealed)
    try:
        leaves = [leaf_of(head).hashed for head in sealed if head.head is not None]
    except RecordError as error:
        yield Finding("", 0, "box", str(error))
        return
    wanted = {mark.seq: mark for mark in boxes.seals}
    for count, root in enumerate(prefix_roots(leaves)):
        mark = wanted.pop(count, None)
        if mark is not None and mark.head != root.hex():
            yield _wrong(mark, f"signed another seal over {count} heads than this file gives")
            return
    for count, mark in wanted.items():
        yield _wrong(mark, f"signed a seal over {count} heads, and the file holds fewer")
        return
    last = max((mark.seq for mark in boxes.seals), default=0)
    for head in sealed[last:]:
        # Those of a version before the box's marks stand for what the box then found.
        if head.seq > boxes.found.get(head.session_id, -1):
            told = f"sealed head {head.number} is of no seal that the box signed"
            yield Finding(head.session_id, head.seq, "box", told)
            return


def key_findings(boxes: Boxes, beside: str) -> Iterator[Finding]:
    """The public key that lies beside the record, held against those that signed it.

    Anyone who took it away, to check by it later, would take another's.
    """
    if beside and boxes.runs and beside not in {key for key, _, _ in boxes.runs}:
        told = f"the public key beside it ({beside[:16]}…) is that of no box that wrote it"
        yield Finding("", 0, "box", told)
