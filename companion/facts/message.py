"""A sentence as data: which one, and what it tells. A language says it aloud or shows it.

Nobody has to read a sentence to know what it says: the message has it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from companion.errors import CompanionError

TEXT = "text"
"""The id of a sentence of the job file: its template is the argument `template`, the values of its
placeholders are the others, by their names with `.` written as `__`."""
ROW = "row"
"""The id of sentences said one after the other: the argument `parts`."""
CHOICE = "choice"
"""The id of an answer to a question as it is said back: the argument `id`."""


class MessageError(CompanionError):
    """A message holds something that cannot be said."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A size with its unit and the way that it points; never negative.

    `unit` and `direction` are ids (`facts.quantities`), None where there is none. A `Decimal` keeps
    the decimals that it was written with. Raises MessageError for a sign.
    """

    value: Decimal | Fraction | int
    unit: str | None = None
    direction: str | None = None

    def __post_init__(self) -> None:
        value = self.value
        signed = value.is_signed() if isinstance(value, Decimal) else value < 0
        if signed or (isinstance(value, Decimal) and not value.is_finite()):
            raise MessageError(
                f"an amount of {value}: wanted zero or more, with the direction beside it"
            )


@dataclass(frozen=True, slots=True)
class Message:
    """A sentence, or a part of one, by its id in the language's files, with its arguments."""

    id: str
    args: Mapping[str, Arg] = field(default_factory=lambda: MappingProxyType({}))

    def __hash__(self) -> int:
        return hash((self.id, frozenset(self.args.items())))

    def to_plain(self) -> dict[str, Any]:
        """The message as JSON values."""
        return {"id": self.id, "args": {name: _plain(arg) for name, arg in self.args.items()}}

    @classmethod
    def from_plain(cls, plain: object) -> Message:
        """What `to_plain` wrote. Raises MessageError for anything else."""
        match plain:
            case {"id": str(id_), "args": Mapping() as args}:
                return cls(id_, {str(name): _arg(arg) for name, arg in args.items()})
            case _:
                raise MessageError(f"a message read as {plain!r}: wanted its id and arguments")


Arg = str | int | Fraction | Amount | Message | tuple["Arg", ...]


Tell = Callable[[Message], None]
"""Tells the person there something about the companion itself, in their language."""

Told = Message | str
"""What is said: a message, or a sentence of the job file as it stands; "" says nothing."""


def as_message(told: Told) -> Message:
    """The same as a message."""
    return told if isinstance(told, Message) else text(told)


def problem(error: CompanionError) -> Message | str:
    """What is wrong, as a message; in English where only the box's keeper sees it."""
    return Message(f"problem-{error.said}", error.values) if error.said else str(error)


def in_a_row(*parts: Told | None) -> Message:
    """Sentences one after the other, those left out that say nothing; one stands for itself.

    Rows within are laid open, so that a row never holds a row.
    """
    laid_open: list[Arg] = []
    for told in parts:
        if not told:
            continue
        part = as_message(told)
        within = part.args["parts"] if part.id == ROW else None
        laid_open += within if isinstance(within, tuple) else [part]
    if len(laid_open) == 1 and isinstance(laid_open[0], Message):
        return laid_open[0]
    return Message(ROW, {"parts": tuple(laid_open)})


def text(template: str, values: Mapping[str, Arg] | None = None) -> Message:
    """A sentence of the job file; `values` of its placeholders by name."""
    named = {name.replace(".", "__"): value for name, value in (values or {}).items()}
    return Message(TEXT, {"template": template, **named})


def choice(choice_id: str) -> Message:
    """An answer to a question in its own words."""
    return Message(CHOICE, {"id": choice_id})


def _plain(arg: Arg) -> Any:
    match arg:
        case str() | int():
            return arg
        case Fraction():
            return {"fraction": str(arg)}
        case Amount(value, unit, direction):
            told = format(value, "f") if isinstance(value, Decimal) else str(value)
            return {"amount": told, "unit": unit, "direction": direction}
        case Message():
            return arg.to_plain()
        case tuple():
            return [_plain(each) for each in arg]


def _arg(plain: object) -> Arg:
    match plain:
        case bool():
            pass
        case str() | int():
            return plain
        case {"fraction": str(told)}:
            return Fraction(told)
        case {"amount": str(told), "unit": str() | None as unit, "direction": direction} if (
            direction is None or isinstance(direction, str)
        ):
            return Amount(_value(told), unit, direction)
        case {"id": _}:
            return Message.from_plain(plain)
        case list() | tuple():
            return tuple(_arg(each) for each in plain)
        case _:
            pass
    raise MessageError(f"a message's argument read as {plain!r}: wanted one that was written here")


def _value(told: str) -> Decimal | Fraction:
    try:
        return Fraction(told) if "/" in told else Decimal(told)
    except (InvalidOperation, ValueError, ZeroDivisionError) as error:
        raise MessageError(f"an amount read as {told!r}: wanted digits") from error
