"""The record file held against what was kept outside of it: heads, seals, roots, phrases."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Literal

from companion.errors import RecordError
from companion.record.audit.check_phrase import WORD_COUNT, WORDS, same_phrase
from companion.record.audit.merkle import prefix_roots
from companion.record.audit.seal import Leaf, Proof, Seal, SealedHead, leaf_of, sealed_heads
from companion.record.canonical import opening_hash
from companion.record.database import Database
from companion.record.finding import Finding

_ROOT = re.compile(r"[0-9a-f]{64}")


def findings(
    database: Database,
    heads: Mapping[str, str],
    seal: Seal | None = None,
    root: str = "",
    proof: Proof | None = None,
) -> Iterator[Finding]:
    """What shows against each of them; the file's own seals are held against its events first.

    Raises `RecordError` for a root that is neither 64 hexadecimal digits nor a check phrase.
    """
    for session_id, head in heads.items():
        yield from _head_findings(database, session_id, head.strip().lower())
    sealed = sealed_heads(database)
    yield from _sealed_findings(database, sealed)
    if seal is not None:
        yield from _seal_findings(database, sealed, seal)
    if proof is not None:
        by = f"the proof of {proof.made_utc}"
        yield from _leaf_findings(database, proof.leaf.session, proof.leaf, by)
    if root:
        yield from _root_findings(sealed, root)


def _head_findings(database: Database, session_id: str, head: str) -> Iterator[Finding]:
    if not _is_there(database, session_id):
        yield Finding(session_id, 0, "head", "the whole session is missing from the file")
        return
    session = database.session(session_id)
    if session.head_hash == head:
        return
    later = database.read(
        "SELECT seq FROM event WHERE session_id = ? AND hash = ?", (session_id, head)
    )
    if later:
        what = f"the given head is event {later[0]['seq']}; events were added after it"
    else:
        what = (
            f"it ends at event {session.event_count} with head {session.head_hash}, not with the "
            f"head given ({head}): its tail was dropped or it was rewritten"
        )
    yield Finding(session_id, session.event_count, "head", what)


def _is_there(database: Database, session_id: str) -> bool:
    return bool(database.read("SELECT 1 FROM session WHERE id = ?", (session_id,)))


def _sealed_findings(database: Database, sealed: list[SealedHead]) -> Iterator[Finding]:
    """What was sealed in this file and is no longer there."""
    for place, leaf in enumerate(sealed, start=1):
        if leaf.number != place:
            yield Finding("", 0, "sealed", f"sealed head {place} is missing from the file")
            return
        if leaf.head is None:
            yield _lost(database, leaf.session_id, leaf.seq, "sealed", "this file's own seal")


def _lost(
    database: Database, session_id: str, seq: int, kind: Literal["sealed", "rolled_back"], by: str
) -> Finding:
    if not _is_there(database, session_id):
        return Finding(session_id, 0, kind, f"the whole session is missing, known by {by}")
    count = database.session(session_id).event_count
    return Finding(
        session_id,
        count,
        kind,
        f"it ends here, and {by} knows event {seq}: its tail was dropped",
    )


def _seal_findings(database: Database, sealed: list[SealedHead], seal: Seal) -> Iterator[Finding]:
    by = f"the seal of {seal.made_utc}"
    if len(sealed) < len(seal.leaves):
        yield Finding(
            "",
            0,
            "rolled_back",
            f"it holds {len(sealed)} sealed heads and {by} was made over {len(seal.leaves)}: "
            "an older file was put in its place",
        )
    lost = {leaf.session: leaf for leaf in seal.leaves}
    for session_id, leaf in lost.items():
        yield from _leaf_findings(database, session_id, leaf, by)
    for place, (now, then) in enumerate(zip(sealed, seal.leaves, strict=False), start=1):
        if (now.session_id, now.seq) != (then.session, then.seq):
            yield Finding(
                then.session, 0, "sealed", f"leaf {place} of {by} is another one in this file"
            )
            return


def _leaf_findings(database: Database, session_id: str, leaf: Leaf, by: str) -> Iterator[Finding]:
    """Whether the event that was a session's last when it was sealed is there unchanged."""
    if leaf.seq == 0:
        opened = database.read("SELECT opened_utc FROM session WHERE id = ?", (session_id,))
        if not opened:
            yield _lost(database, session_id, 0, "rolled_back", by)
        elif opening_hash(session_id, opened[0]["opened_utc"]) != leaf.head:
            yield Finding(session_id, 0, "sealed", f"it is not the opening that {by} was made over")
        return
    found = database.read(
        "SELECT hash FROM event WHERE session_id = ? AND seq = ?", (session_id, leaf.seq)
    )
    if not found:
        yield _lost(database, session_id, leaf.seq, "rolled_back", by)
    elif found[0]["hash"] != leaf.head:
        yield Finding(
            session_id, leaf.seq, "sealed", f"it is not the event that {by} was made over"
        )


def _root_findings(sealed: list[SealedHead], root: str) -> Iterator[Finding]:
    told = root.strip().lower()
    words = told.replace("-", " ").replace(",", " ").split()
    is_phrase = len(words) == WORD_COUNT and all(word in WORDS for word in words)
    if _ROOT.fullmatch(told) is None and not is_phrase:
        raise RecordError(
            f"{root!r} is neither a root nor a check phrase; wanted: 64 hexadecimal digits, or "
            "the eight words that 'companion seal' showed"
        )
    try:
        standing = [leaf_of(leaf).hashed for leaf in sealed if leaf.head is not None]
    except RecordError as error:
        yield Finding("", 0, "sealed", str(error))
        return
    for made in prefix_roots(standing):
        if made.hex() == told or same_phrase(told, made):
            return
    yield Finding(
        "",
        0,
        "rolled_back",
        f"no state of this file ever had the root {told!r}: it was rewritten, or an older file "
        "was put in its place",
    )
