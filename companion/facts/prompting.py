"""What a prompt asks for, as values: what answers it, what was said back, what is to be done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from companion.facts.codec import LEFT_OUT
from companion.facts.instructions import Instruction

AnswerKind = Literal["number", "choice", "done", "yes_no", "word", "note", "command"]


@dataclass(frozen=True, slots=True)
class NumberWanted:
    """The number that answers."""

    unit: str
    directions: Annotated[
        tuple[str, ...], LEFT_OUT, "one of them is said with it; the first counts as positive"
    ] = ()
    digit_by_digit: Annotated[bool, LEFT_OUT, "taken digit by digit alone"] = False


@dataclass(frozen=True, slots=True)
class SaidBack:
    """The answer, heard or proposed, that is to be confirmed: a number or a choice."""

    spoken: Annotated[str, "as it is said back"]
    value: Annotated[str | None, LEFT_OUT, "decimal text, never negative"] = None
    unit: Annotated[str, LEFT_OUT] = ""
    direction: Annotated[str | None, LEFT_OUT] = None
    choice: Annotated[str | None, LEFT_OUT, "the choice's id"] = None
    step_id: Annotated[str, LEFT_OUT, "whose answer it is, where several are said back"] = ""
    proposed: Annotated[bool, LEFT_OUT, "nobody said it yet: the vehicle's file gives it"] = False


@dataclass(frozen=True, slots=True)
class AskedBehind:
    """What was asked in one breath with a read-back, to be answered behind its yes."""

    step_id: str
    answer: Annotated[str, "number or choice"]
    number: Annotated[NumberWanted | None, LEFT_OUT] = None
    also: Annotated[
        tuple[str, ...], LEFT_OUT, "the steps whose numbers may be said in the same answer, behind"
    ] = ()
    choices: Annotated[tuple[str, ...], LEFT_OUT, "ids of the answers to choose from"] = ()


@dataclass(frozen=True, slots=True)
class Prompted:
    """What the open prompt asks for."""

    answer: Annotated[str, "number, choice, done, yes_no, word, note or command"] = ""
    number: Annotated[NumberWanted | None, LEFT_OUT] = None
    also: Annotated[
        tuple[str, ...], LEFT_OUT, "the steps whose numbers may be said in the same answer, behind"
    ] = ()
    first: Annotated[
        tuple[str, ...], LEFT_OUT, "the instructions said in front of it, done with its answer"
    ] = ()
    choices: Annotated[tuple[str, ...], LEFT_OUT, "ids of the answers to choose from"] = ()
    commands: Annotated[tuple[str, ...], LEFT_OUT, "what leads on where only a command does"] = ()
    word: Annotated[str, LEFT_OUT, "the word to say, in the voice check"] = ""
    said_back: Annotated[SaidBack | None, LEFT_OUT, "what is to be confirmed"] = None
    together: Annotated[
        tuple[SaidBack, ...], LEFT_OUT, "what is to be confirmed with one answer, in its order"
    ] = ()
    behind: Annotated[
        AskedBehind | None, LEFT_OUT, "what else was asked, answered behind the yes"
    ] = None
    instruction: Annotated[Instruction | None, LEFT_OUT, "what is to be done by hand"] = None
    again: Annotated[
        bool, LEFT_OUT, "an answer to it was given, or awaited, and did not get through"
    ] = False
    keyboard: Annotated[bool, LEFT_OUT, "typing the answer is offered"] = False
    open_after: Annotated[
        str, LEFT_OUT, "once these words of it are out it may be answered, before its end"
    ] = ""

    @property
    def to_confirm(self) -> tuple[SaidBack, ...]:
        """What is said back, one answer or several; not what is only proposed."""
        if self.said_back is None or self.said_back.proposed:
            return self.together
        return (self.said_back,)
