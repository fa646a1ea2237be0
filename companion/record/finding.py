"""What a check of the record finds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from companion.base.plain_text import printable

FindingKind = Literal[
    "damaged",
    "guards",
    "gap",
    "changed",
    "chain",
    "clip_missing",
    "clip_changed",
    "signature",
    "head",
    "orphan",
    "sealed",
    "rolled_back",
    "index",
    "figures",
    "box",
    "car",
    "person",
    "store",
]


@dataclass(frozen=True)
class Finding:
    """One thing that is not as it was written; `seq` is 0 when no single event is meant."""

    session_id: str
    seq: int
    kind: FindingKind
    what: str

    def __str__(self) -> str:
        where = f"session {self.session_id}" if self.session_id else "the file"
        told = f"{where}, event {self.seq}: {self.what}" if self.seq else f"{where}: {self.what}"
        # A name in a foreign file may be anything, also what would wipe this line off a terminal.
        return printable(told)
