"""What became of the answers: taken, done, doubted, taken back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from companion.facts.codec import LEFT_OUT
from companion.facts.figures import Spoken, U

# Records that do not tell who took it back say so in these words, or in none.
_BY_TECHNICIAN_BEFORE = frozenset(
    {"", "taken back by the technician", "correction taken back by the technician"}
)


@dataclass(frozen=True, slots=True)
class Accepted:
    """A reading that was said back and confirmed."""

    KIND: ClassVar[str] = "accepted"

    reading_id: str
    title: str
    value: Annotated[str, "decimal text as it was said, signed by `direction`, in `unit`"]
    unit: str
    direction: Annotated[str | None, "left, up, in and the like; null where it has none"]
    spoken: Spoken
    u: U
    take: Annotated[int, "how many times it was taken, from 1"] = 1
    attempts: Annotated[int, "hearings needed"] = 1


@dataclass(frozen=True, slots=True)
class Answered:
    """A choice that was said back and confirmed."""

    KIND: ClassVar[str] = "answered"

    step_id: str
    title: str
    choice: str
    asked: Annotated[
        str, LEFT_OUT, "break or correction: what the companion asked by itself; then no title"
    ] = ""
    proposed: Annotated[bool, LEFT_OUT, "the vehicle's file gave it, and the answer was yes"] = (
        False
    )


@dataclass(frozen=True, slots=True)
class Done:
    """Something that was asked for was said to be done."""

    KIND: ClassVar[str] = "done"

    step_id: Annotated[str, "of an item of a checklist: step/number"]
    text: Annotated[str, "what was asked for, as it was said"]


@dataclass(frozen=True, slots=True)
class Consent:
    """Whether the technician lets sound be kept."""

    KIND: ClassVar[str] = "consent"

    keep_sound: bool


@dataclass(frozen=True, slots=True)
class Implausible:
    """A number that is unlikely, and why; it is asked for again."""

    KIND: ClassVar[str] = "doubted"

    step_id: str
    spoken: Spoken
    why: str


@dataclass(frozen=True, slots=True)
class NotAllowed:
    """A true reading that stops the work until it was put right."""

    KIND: ClassVar[str] = "not_allowed"

    step_id: str
    why: str


@dataclass(frozen=True, slots=True)
class TakenBack:
    """These steps no longer count, nor what came of them; the record keeps both."""

    KIND: ClassVar[str] = "taken_back"

    step_ids: tuple[str, ...]
    why: Annotated[str, "in words"]
    by_technician: Annotated[bool, LEFT_OUT, "he asked for it"] = False

    @property
    def withdrawn(self) -> bool:
        """Whether the technician took it back, and no loop of the job."""
        return self.by_technician or self.why in _BY_TECHNICIAN_BEFORE
