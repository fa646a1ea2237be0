"""What a prompt turns out to want of the technician."""

from __future__ import annotations

from dataclasses import dataclass

from companion.rehearsal.acts import Act


@dataclass(frozen=True, slots=True)
class WantsReading:
    """Read a scale; `before` are the things to do first ("plate in the middle, top towards")."""

    scale: str
    where: str = ""
    before: tuple[Act, ...] = ()


@dataclass(frozen=True, slots=True)
class WantsChoice:
    """A question with a few answers, by what it is about."""

    about: str


@dataclass(frozen=True, slots=True)
class WantsDone:
    """Do this and say done; `act` is None where it changes nothing that is simulated."""

    act: Act | None


@dataclass(frozen=True, slots=True)
class WantsYes:
    """What was said comes back: is it right? `words` without the question itself."""

    words: str


@dataclass(frozen=True, slots=True)
class WantsLastAgain:
    """Look at the last scale once more and say it."""


@dataclass(frozen=True, slots=True)
class WantsCarryOn:
    """The companion pauses until it is told to carry on."""


@dataclass(frozen=True, slots=True)
class WantsNote:
    """A spoken note is awaited."""


@dataclass(frozen=True, slots=True)
class WantsVoiceCheck:
    """Asked whether to check how well he is heard."""


@dataclass(frozen=True, slots=True)
class WantsWord:
    """One word is to be said after the companion."""

    word: str


@dataclass(frozen=True, slots=True)
class Unclear:
    """Nothing in the words tells what is wanted."""


Wanted = (
    WantsReading
    | WantsChoice
    | WantsDone
    | WantsYes
    | WantsLastAgain
    | WantsCarryOn
    | WantsNote
    | WantsVoiceCheck
    | WantsWord
    | Unclear
)


@dataclass(frozen=True, slots=True)
class Prompt:
    """A prompt as it was understood.

    `repeated`: asked once more because the answer did not get through, so that what was read or
    done already still stands. `digit_by_digit`: numbers are wanted so.
    """

    wanted: Wanted
    repeated: bool = False
    digit_by_digit: bool = False
