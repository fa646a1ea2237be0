"""Seals: one hash over the heads of all sessions, to be kept where the record is not.

A chain shows that an event was changed, not that the whole file was replaced by an older or a
rewritten one. A seal does: making one notes the head of each session that has grown since the last
seal as a new leaf of a Merkle tree, and the tree's root, kept elsewhere (in a file, on paper, read
out as a phrase), is the root over those leaves for ever. A leaf is the canonical JSON of
`{head, seq, session}`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from companion.errors import RecordError
from companion.record.audit.check_phrase import check_phrase
from companion.record.audit.merkle import (
    inclusion_proof,
    leaf_hash,
    root_from_proof,
    root_of,
)
from companion.record.canonical import canonical_json, opening_hash
from companion.record.database import Database
from companion.record.durable import read_kept, write_new
from companion.record.rows import insert

LONGEST_SEAL = 100_000_000
"""Bytes of a seal: some 150 for each time that a job had grown when it was sealed."""
_RIGHTS_OUTSIDE = 0o666
"""Seals and proofs are for everybody; the umask may take rights away."""
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]

SEALED_HEADS = """
    SELECT sealed_head.number, sealed_head.session_id, sealed_head.seq, event.hash,
        session.opened_utc
    FROM sealed_head LEFT JOIN event USING (session_id, seq)
        LEFT JOIN session ON session.id = sealed_head.session_id
    ORDER BY sealed_head.number
"""
_GROWN = """
    SELECT session.id, COALESCE(last.seq, 0) AS seq
    FROM session LEFT JOIN event AS last ON last.session_id = session.id
      AND last.seq = (SELECT MAX(seq) FROM event WHERE session_id = session.id)
    WHERE COALESCE(last.seq, 0) IS NOT (
        SELECT MAX(seq) FROM sealed_head WHERE session_id = session.id
    )
    ORDER BY session.rowid
"""


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Leaf(_Model):
    """One session as it stood when it was sealed: its last event then, and that event's hash."""

    session: Annotated[str, Field(min_length=1)]
    seq: Annotated[int, Field(ge=0, description="0: the session was open and had no event yet")]
    head: Hash

    @property
    def hashed(self) -> bytes:
        """The leaf's hash in the tree."""
        return leaf_hash(
            canonical_json({"head": self.head, "seq": self.seq, "session": self.session})
        )


class Seal(_Model):
    """A root with the leaves that it was made over, as it is kept outside of the record."""

    format: Literal["bay-companion seal 1"] = "bay-companion seal 1"
    made_utc: str
    root: Annotated[Hash, Field(description="Merkle tree hash of RFC 6962 over the leaves")]
    phrase: Annotated[str, Field(description="the root's first 64 bits as words")]
    leaves: tuple[Leaf, ...]


class Proof(_Model):
    """That one session was under a seal, without telling of the others (RFC 6962, 2.1.1)."""

    format: Literal["bay-companion proof 1"] = "bay-companion proof 1"
    made_utc: str
    root: Hash
    leaf: Leaf
    place: Annotated[int, Field(ge=0, description="the leaf's place, from 0")]
    count: Annotated[int, Field(ge=1, description="the number of leaves under the root")]
    path: tuple[Hash, ...]

    def holds(self) -> bool:
        """Whether the path leads from the leaf to the root."""
        path = [bytes.fromhex(step) for step in self.path]
        root = root_from_proof(self.leaf.hashed, self.place, self.count, path)
        return root is not None and root.hex() == self.root


_Kept = TypeVar("_Kept", Seal, Proof)


@dataclass(frozen=True)
class SealedHead:
    """A leaf as the file has it now; `head` is None where its event is gone."""

    number: int
    session_id: str
    seq: int
    head: str | None


def make_seal(database: Database) -> Seal:
    """Seal every session as it stands now; needs the record opened for writing."""
    made_utc = database.clock.now().at_utc
    with database.writing() as tables:
        (last,) = tables.execute("SELECT COALESCE(MAX(number), 0) FROM sealed_head").fetchone()
        grown = tables.execute(_GROWN).fetchall()
        for number, (session_id, seq) in enumerate(grown, start=last + 1):
            row = {"number": number, "session_id": session_id, "seq": seq}
            insert(tables, "sealed_head", row, ("number",))
        leaves = tuple(leaf_of(sealed) for sealed in sealed_heads(database))
        root = _root(leaves)
        database.marker.mark(tables, "sealed", "", len(leaves), root.hex())
    return Seal(made_utc=made_utc, root=root.hex(), phrase=check_phrase(root), leaves=leaves)


def sealed_heads(database: Database) -> list[SealedHead]:
    """Every leaf in order, with the hash that its event has now; none before schema version 2."""
    if not database.read("SELECT 1 FROM sqlite_schema WHERE name = 'sealed_head'"):
        return []
    return [
        SealedHead(
            row["number"],
            row["session_id"],
            row["seq"],
            opening_hash(row["session_id"], row["opened_utc"])
            if row["seq"] == 0 and row["opened_utc"] is not None
            else row["hash"],
        )
        for row in database.read(SEALED_HEADS)
    ]


def leaf_of(sealed: SealedHead) -> Leaf:
    """The leaf as it was made; raises `RecordError` where its event is gone."""
    if sealed.head is None:
        raise RecordError(
            f"session {sealed.session_id}: event {sealed.seq} was sealed and is gone; verify the "
            "record before it is sealed again"
        )
    try:
        return Leaf(session=sealed.session_id, seq=sealed.seq, head=sealed.head)
    except ValidationError as error:
        raise RecordError(
            f"session {sealed.session_id}: event {sealed.seq} was sealed and has no hash any more"
        ) from error


def _root(leaves: Sequence[Leaf]) -> bytes:
    return root_of([leaf.hashed for leaf in leaves])


def proof_of(seal: Seal, session_id: str) -> Proof:
    """The proof for the newest leaf of that session; raises `RecordError` when it has none."""
    places = [place for place, leaf in enumerate(seal.leaves) if leaf.session == session_id]
    if not places:
        raise RecordError(f"session {session_id!r} is not under this seal; seal the record again")
    path = inclusion_proof([leaf.hashed for leaf in seal.leaves], places[-1])
    return Proof(
        made_utc=seal.made_utc,
        root=seal.root,
        leaf=seal.leaves[places[-1]],
        place=places[-1],
        count=len(seal.leaves),
        path=tuple(step.hex() for step in path),
    )


def read_seal(path: Path) -> Seal:
    """A seal that was kept; raises `RecordError` when the file is none or contradicts itself."""
    seal = _read(path, Seal)
    root = _root(seal.leaves)
    if root.hex() != seal.root or seal.phrase != check_phrase(root):
        raise RecordError(
            f"{path}: its root is not that of its own leaves: the seal itself was changed; "
            "compare its root with another copy"
        )
    return seal


def read_proof(path: Path) -> Proof:
    """A proof; raises `RecordError` when the file is none or does not lead to its root."""
    proof = _read(path, Proof)
    if not proof.holds():
        raise RecordError(f"{path}: does not lead to its root: the proof itself was changed")
    return proof


def _read(path: Path, form: type[_Kept]) -> _Kept:
    what = f"a {form.__name__.lower()}"
    content = read_kept(path, LONGEST_SEAL, what, also_by_link=True)
    try:
        return form.model_validate_json(content)
    except ValidationError as error:
        problem = error.errors(include_url=False)[0]
        where = ".".join(map(str, problem["loc"])) or "the whole"
        raise RecordError(
            f"{path}: is not a valid {form.__name__.lower()} ({where}: {problem['msg']})"
        ) from error


def write_outside(path: Path, model: BaseModel) -> None:
    """Write a seal or a proof to a new file; raises `RecordError` where one is there already."""
    try:
        write_new(path, (model.model_dump_json(indent=1) + "\n").encode(), _RIGHTS_OUTSIDE)
    except OSError as error:
        raise RecordError(
            f"{path}: cannot be written ({error.strerror}); wanted: a new file, in a folder "
            "that exists and has room"
        ) from error
