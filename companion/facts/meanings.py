"""What a heard answer means, whatever words it was said in; and how the record keeps that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any, assert_never

from companion.errors import CompanionError


class MeaningError(CompanionError):
    """A meaning was built or read back from a record with values it cannot have."""


COMMAND_NAMES: tuple[str, ...] = (
    "repeat",
    "wait",
    "carry_on",
    "go_back",
    "stop",
    "end_job",
    "what_can_i_say",
    "where_are_we",
    "note",
    "louder",
    "quieter",
    "slower",
    "faster",
)


@dataclass(frozen=True, slots=True)
class Number:
    """A reading: a size that is never negative, and the way it points, in words.

    `value` keeps the decimals as they were said: `0.40` stays two digits long, though it equals
    `0.4`. `direction` is None when none was said, which a directed reading allows only at zero.
    `unit` is the unit id, also where the step knows only one unit and it went unsaid.
    """

    value: Decimal
    direction: str | None = None
    unit: str | None = None

    def __post_init__(self) -> None:
        if not self.value.is_finite() or self.value.is_signed():
            raise MeaningError(
                f"a number meaning of {self.value}: wanted zero or more, "
                "with the direction as a word"
            )


@dataclass(frozen=True, slots=True)
class Pair:
    """Two readings said in one go, in the order that they were asked for."""

    first: Number
    second: Number


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the answers that the step offers, by its id."""

    id: str


@dataclass(frozen=True, slots=True)
class Done:
    """The thing asked for has been done."""


@dataclass(frozen=True, slots=True)
class Yes:
    """What was said back is right."""


@dataclass(frozen=True, slots=True)
class No:
    """What was said back is wrong."""


@dataclass(frozen=True, slots=True)
class Command:
    """Something said to the companion itself, by its name from `COMMAND_NAMES`."""

    name: str

    def __post_init__(self) -> None:
        if self.name not in COMMAND_NAMES:
            raise MeaningError(
                f"a command named {self.name!r}: wanted one of {', '.join(COMMAND_NAMES)}"
            )


@dataclass(frozen=True, slots=True)
class Word:
    """A single word that was asked to be said for its own sake, to learn how it is heard."""

    text: str


@dataclass(frozen=True, slots=True)
class Mended:
    """One of several numbers that were said back together is this one instead; the first is 1."""

    place: int
    number: Number


NextAnswer = Number | Pair | Choice
"""What answers a question that was asked in one breath with a read-back."""


@dataclass(frozen=True, slots=True)
class Confirmed:
    """Yes to what was said back, and the answer to what was asked behind it."""

    then: NextAnswer


@dataclass(frozen=True, slots=True)
class Unconfirmed:
    """The answer to what was asked behind a read-back, without a yes or no to that."""

    then: NextAnswer


Meaning = (
    Number | Pair | Mended | Choice | Done | Yes | No | Command | Word | Confirmed | Unconfirmed
)

NOT_TOLD = Word("")
"""The meaning of a record that tells none, or none that can be read."""


def meaning_to_json(meaning: Meaning) -> dict[str, Any]:
    """The meaning as a plain dictionary; decimals stay text, so nothing is rounded."""
    match meaning:
        case Number(value, direction, unit):
            return {
                "kind": "number",
                "value": format(value, "f"),
                "direction": direction,
                "unit": unit,
            }
        case Pair(first, second):
            return {"kind": "pair", "numbers": [meaning_to_json(each) for each in (first, second)]}
        case Mended(place, number):
            return {**meaning_to_json(number), "kind": "mended", "place": str(place)}
        case Choice(choice_id):
            return {"kind": "choice", "id": choice_id}
        case Confirmed(then):
            return {"kind": "confirmed", "then": meaning_to_json(then)}
        case Unconfirmed(then):
            return {"kind": "unconfirmed", "then": meaning_to_json(then)}
        case Done():
            return {"kind": "done"}
        case Yes():
            return {"kind": "yes"}
        case No():
            return {"kind": "no"}
        case Command(name):
            return {"kind": "command", "name": name}
        case Word(text):
            return {"kind": "word", "text": text}
        case _:
            assert_never(meaning)


def meaning_from_json(plain: Mapping[str, Any]) -> Meaning:
    """The meaning that `meaning_to_json` wrote. Raises MeaningError for anything else."""
    match dict(plain):
        case {"kind": "number", **rest}:
            return _number(rest)
        case {
            "kind": "pair",
            "numbers": [{"kind": "number", **first}, {"kind": "number", **second}],
            **rest,
        } if not rest:
            return Pair(_number(first), _number(second))
        case {"kind": "mended", "place": "1" | "2" | "3" as place, **rest}:
            return Mended(int(place), _number(rest))
        case {"kind": "choice", "id": str(choice_id), **rest} if not rest:
            return Choice(choice_id)
        case {"kind": "confirmed" | "unconfirmed" as kind, "then": dict() as then, **rest} if (
            not rest
        ):
            answer = meaning_from_json(then)
            if not isinstance(answer, Number | Pair | Choice):
                raise MeaningError(f"{kind} with {answer!r}: wanted numbers or a choice")
            return Confirmed(answer) if kind == "confirmed" else Unconfirmed(answer)
        case {"kind": "done", **rest} if not rest:
            return Done()
        case {"kind": "yes", **rest} if not rest:
            return Yes()
        case {"kind": "no", **rest} if not rest:
            return No()
        case {"kind": "command", "name": str(name), **rest} if not rest:
            return Command(name)
        case {"kind": "word", "text": str(text), **rest} if not rest:
            return Word(text)
        case other:
            raise MeaningError(f"a meaning read as {other!r}: wanted one that was written here")


def _number(plain: Mapping[Any, Any]) -> Number:
    match plain:
        case {
            "value": str(value),
            "direction": str() | None as direction,
            "unit": str() | None as unit,
            **rest,
        } if not rest:
            try:
                return Number(Decimal(value), direction, unit)
            except InvalidOperation as error:
                raise MeaningError(
                    f"a number meaning of {value!r}: wanted decimal digits"
                ) from error
        case other:
            raise MeaningError(f"a number read as {other!r}: wanted one that was written here")
