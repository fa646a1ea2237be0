"""The store's own seals: where every box stood, as one root, each over the one before it.

Told outside of the store (a file, or a phrase of eight words), a seal is the witness against the
store's own keeper: a store that lost or changed a mark since then no longer gives that root.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from psycopg import Connection
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from companion.record.audit.check_phrase import check_phrase, same_phrase
from companion.record.audit.merkle import leaf_hash, root_of
from companion.record.audit.seal import LONGEST_SEAL, Hash
from companion.record.box import Mark
from companion.record.canonical import canonical_json
from companion.record.durable import read_kept
from companion.record.rfc3339 import format_rfc3339
from companion.store.connecting import StoreError
from companion.store.migrating import one

_MARKS = """
    SELECT b.name, m.number, encode(m.public_key, 'hex'), m.what, m.job_id, m.sequence,
        encode(m.head, 'hex'), m.previous, m.signature
    FROM store.mark m JOIN store.box b USING (box) ORDER BY m.box, m.number
"""


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class BoxLeaf(_Model):
    """Where one box stood: its last mark then, and what the next is chained to."""

    box: str
    mark: Annotated[int, Field(ge=0)]
    link: Hash

    @property
    def hashed(self) -> bytes:
        """The leaf's hash in the tree."""
        return leaf_hash(canonical_json({"box": self.box, "link": self.link, "mark": self.mark}))


class StoreSeal(_Model):
    """One seal of a store, as it is kept outside of it; the root before it is its first leaf."""

    format: Literal["bay-companion store seal 1"] = "bay-companion store seal 1"
    number: Annotated[int, Field(ge=1)]
    made_utc: str
    root: Hash
    phrase: Annotated[str, Field(description="the root's first 64 bits as words")]
    previous: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")]
    leaves: tuple[BoxLeaf, ...]

    @property
    def made_of(self) -> bytes:
        """The root that its leaves give."""
        return root_over(self.previous, self.leaves)


def root_over(previous: str, leaves: Sequence[BoxLeaf]) -> bytes:
    """The Merkle root (RFC 6962) over the root before and the boxes, by their names."""
    first = leaf_hash(canonical_json({"previous": previous}))
    return root_of([first, *(leaf.hashed for leaf in leaves)])


@dataclass(frozen=True)
class Problem:
    """What does not hold; `box` names one, or is ""."""

    box: str
    what: str

    def __str__(self) -> str:
        return f"box {self.box}: {self.what}" if self.box else f"the store: {self.what}"


def seal_store(connection: Connection) -> StoreSeal:
    """Seal where every box is now; by the login of a keeper."""
    with connection.transaction():
        connection.execute("SELECT pg_advisory_xact_lock(hashtext('companion_store_seal'))")
        last = connection.execute(
            "SELECT seal, root FROM store.seal ORDER BY seal DESC LIMIT 1"
        ).fetchone()
        number, previous = (1, b"") if last is None else (last[0] + 1, bytes(last[1]))
        boxes = connection.execute(
            'SELECT box, name, last_mark, last_link FROM store.box ORDER BY name COLLATE "C"'
        ).fetchall()
        leaves = tuple(BoxLeaf(box=b[1], mark=b[2], link=bytes(b[3]).hex()) for b in boxes)
        root = root_over(previous.hex(), leaves)
        (made,) = one(connection, "SELECT now()")
        connection.execute(
            "INSERT INTO store.seal (seal, made, root, previous) VALUES (%s, now(), %s, %s)",
            (number, root, previous),
        )
        with connection.cursor() as cursor:
            cursor.executemany(
                "INSERT INTO store.seal_leaf (seal, place, box, name, mark, link) "
                "VALUES (%s, %s, %s, %s, %s, %s)",
                [
                    (number, place, box[0], box[1], box[2], bytes(box[3]))
                    for place, box in enumerate(boxes, start=1)
                ],
            )
    return StoreSeal(
        number=number,
        made_utc=format_rfc3339(made),
        root=root.hex(),
        phrase=check_phrase(root),
        previous=previous.hex(),
        leaves=leaves,
    )


def kept_seals(connection: Connection) -> list[StoreSeal]:
    """Every seal that the store has, in order."""
    leaves: dict[int, list[BoxLeaf]] = {}
    for seal, name, mark, link in connection.execute(
        "SELECT seal, name, mark, link FROM store.seal_leaf ORDER BY seal, place"
    ).fetchall():
        leaves.setdefault(seal, []).append(BoxLeaf(box=name, mark=mark, link=bytes(link).hex()))
    return [
        StoreSeal(
            number=number,
            made_utc=format_rfc3339(made),
            root=bytes(root).hex(),
            phrase=check_phrase(bytes(root)),
            previous=bytes(previous).hex(),
            leaves=tuple(leaves.get(number, ())),
        )
        for number, made, root, previous in connection.execute(
            "SELECT seal, made, root, previous FROM store.seal ORDER BY seal"
        ).fetchall()
    ]


def seal_problems(
    connection: Connection, outside: StoreSeal | None = None, root: str = ""
) -> Iterator[Problem]:
    """The seals held against each other, against the boxes' marks, and against one kept outside.

    `root`: 64 hexadecimal digits or a check phrase, if that is all that was kept.
    """
    seals = kept_seals(connection)
    links = _links(connection)
    before = ""
    for place, seal in enumerate(seals, start=1):
        if seal.number != place or seal.previous != before or seal.made_of.hex() != seal.root:
            yield Problem("", f"seal {place} is gone or was changed")
            break
        before = seal.root
    for leaf in {leaf.box: leaf for seal in seals for leaf in seal.leaves}.values():
        yield from _leaf_problems(leaf, links, "a seal of the store")
    if outside is not None:
        if outside.made_of.hex() != outside.root:
            yield Problem("", "the seal that was kept contradicts itself: it was changed")
        by = f"the seal of {outside.made_utc}"
        if not any(seal.root == outside.root for seal in seals):
            yield Problem("", f"{by} is not among its own: it was rewritten, or is an older copy")
        for leaf in outside.leaves:
            yield from _leaf_problems(leaf, links, by)
    told = root.strip().lower()
    if told and not any(
        told == seal.root or same_phrase(told, bytes.fromhex(seal.root)) for seal in seals
    ):
        yield Problem("", f"it never had the root {told!r}: it was rewritten, or is an older copy")


def marks_of(connection: Connection) -> Iterator[tuple[str, Mark]]:
    """Every mark that is kept, by the box's name, in order."""
    for name, number, key, what, job, seq, head, previous, signature in connection.execute(_MARKS):
        yield name, Mark(number, key, what, job, seq, head, bytes(previous), bytes(signature))


def _links(connection: Connection) -> dict[tuple[str, int], str]:
    return {(name, mark.number): mark.link.hex() for name, mark in marks_of(connection)}


def _leaf_problems(leaf: BoxLeaf, links: dict[tuple[str, int], str], by: str) -> Iterator[Problem]:
    if leaf.mark == 0:
        return
    found = links.get((leaf.box, leaf.mark))
    if found is None:
        yield Problem(leaf.box, f"its mark {leaf.mark} is gone, known by {by}")
    elif found != leaf.link:
        yield Problem(leaf.box, f"its mark {leaf.mark} is another one than known by {by}")


def read_store_seal(path: Path) -> StoreSeal:
    """A seal that was kept; raises `StoreError` where the file is none."""
    content = read_kept(path, LONGEST_SEAL, "a seal of a store", StoreError, also_by_link=True)
    try:
        return StoreSeal.model_validate_json(content)
    except ValidationError as error:
        where = ".".join(map(str, error.errors(include_url=False)[0]["loc"])) or "the whole"
        raise StoreError(f"{path}: is not a seal of a store ({where})") from error
