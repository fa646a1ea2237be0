"""Frozen dataclasses to JSON and back, by their type hints.

Every field is written, but for those marked `LEFT_OUT` that have their default. Reading bears
anything: a field that is absent or of another shape gets its default, or else the nothing of its
type ("", 0, None, empty), and what the model does not know is passed over. So a record of an
older version, or an odd one, is read as far as it goes; whether it can be trusted is for
`companion.record.audit.verify` to say, which looks at the stored bytes and not at this.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from enum import Enum
from fractions import Fraction
from functools import reduce
from operator import or_
from types import MappingProxyType, UnionType
from typing import Annotated, Any, NamedTuple, TypeVar, get_args, get_origin, get_type_hints

from companion.facts.instructions import (
    Instruction,
    InstructionError,
    instruction_from_plain,
    instruction_to_plain,
)
from companion.facts.meanings import (
    NOT_TOLD,
    Meaning,
    MeaningError,
    meaning_from_json,
    meaning_to_json,
)
from companion.facts.message import Message, MessageError
from companion.facts.plain import flat, number

Model = TypeVar("Model")
Read = Callable[[Any], Any]
Write = Callable[[Any], Any]


class Mark(Enum):
    """How a field is written; stands in its `Annotated`."""

    LEFT_OUT = "not written where it has its default"
    SPREAD = "its own fields are written beside the others, not within"


LEFT_OUT, SPREAD = Mark.LEFT_OUT, Mark.SPREAD


@dataclass(frozen=True)
class Key:
    """The name in JSON of a field that Python does not let have it."""

    name: str


class Unreadable(Enum):
    """Says that a value is not of the wanted shape; None may be a value."""

    SIGN = 0


UNREADABLE = Unreadable.SIGN
_SHAPES: dict[Any, tuple[Shape, ...]] = {}
_READERS: dict[Any, list[tuple[str | None, bool, Read, Any]]] = {}


class Shape(NamedTuple):
    """One field of a model: its names, its type, its marks, how it is read and written."""

    name: str
    key: str
    hint: Any
    told: str
    is_spread: bool
    may_be_absent: bool
    default: Any
    read: Read
    write: Write | None
    nothing: Any


def to_json(model: Any) -> dict[str, Any]:
    """The model as JSON values, in the order of its fields."""
    body: dict[str, Any] = {}
    for shape in shapes_of(type(model)):
        value = getattr(model, shape.name)
        if shape.is_spread:
            body.update({} if value is None else to_json(value))
        elif not (shape.may_be_absent and value == shape.default):
            body[shape.key] = value if shape.write is None else shape.write(value)
    return body


def read(model: type[Model], body: Mapping[str, Any]) -> Model:
    """The model that this JSON object tells of, as far as it does."""
    told = []
    for key, is_text, read_one, nothing in _readers_of(model):
        value = body if key is None else body.get(key, UNREADABLE)
        # Most fields are text, and most text is as it should be.
        if not (is_text and value.__class__ is str):
            value = read_one(value)
        told.append(nothing if value is UNREADABLE else value)
    return model(*told)


def _readers_of(model: Any) -> list[tuple[str | None, bool, Read, Any]]:
    """Of each field its key (None: the whole body), and what `read` needs to know of it."""
    found = _READERS.get(model)
    if found is None:
        found = _READERS[model] = [
            (
                None if shape.is_spread else shape.key,
                without_none(shape.hint)[0] is str,
                shape.read,
                shape.nothing,
            )
            for shape in shapes_of(model)
        ]
    return found


def shapes_of(model: Any) -> tuple[Shape, ...]:
    """Every field of a model."""
    found = _SHAPES.get(model)
    if found is None:
        hints = get_type_hints(model, include_extras=True)
        found = _SHAPES[model] = tuple(
            _shape(field.name, field.default, hints[field.name]) for field in fields(model)
        )
    return found


def _shape(name: str, default: Any, annotated: Any) -> Shape:
    hint, *marks = get_args(annotated) if get_origin(annotated) is Annotated else (annotated,)
    hint = hint.__bound__ if isinstance(hint, TypeVar) else hint
    key = next((mark.name for mark in marks if isinstance(mark, Key)), name)
    told = next((mark for mark in marks if isinstance(mark, str)), "")
    has_default = default is not MISSING
    return Shape(
        name,
        key,
        hint,
        told,
        SPREAD in marks,
        LEFT_OUT in marks,
        default if has_default else None,
        _reader(hint, is_spread=SPREAD in marks),
        _writer(hint),
        default if has_default else _nothing(hint),
    )


def without_none(hint: Any) -> tuple[Any, bool]:
    """The hint of a value that may be None, without that, and whether it may."""
    if get_origin(hint) is UnionType and type(None) in get_args(hint):
        return reduce(or_, (part for part in get_args(hint) if part is not type(None))), True
    return hint, False


def _writer(hint: Any) -> Write | None:
    """None where the value is a JSON value already."""
    inner, may_be_none = without_none(hint)
    one = _writer_of_one(inner)
    if one is None or not may_be_none:
        return one
    return lambda value: None if value is None else one(value)


def _writer_of_one(hint: Any) -> Write | None:
    if hint is Message:
        return Message.to_plain
    if hint == Instruction:
        return instruction_to_plain
    if hint == Meaning:
        return meaning_to_json
    if is_dataclass(hint):
        return to_json
    if hint is Fraction:
        return str
    origin, parts = get_origin(hint), get_args(hint)
    item = _writer(parts[-1 if origin is Mapping else 0]) if origin in (tuple, Mapping) else None
    if item is None:
        return None
    if origin is tuple:
        return lambda values: [item(value) for value in values]
    return lambda values: {key: item(value) for key, value in values.items()}


def _reader(hint: Any, *, is_spread: bool = False) -> Read:
    inner, may_be_none = without_none(hint)
    if is_spread and may_be_none:
        keys = frozenset(shape.key for shape in shapes_of(inner))
        return lambda body: None if keys.isdisjoint(body) else read(inner, body)
    one = _reader_of_one(inner)
    if not may_be_none:
        return one
    return lambda value: None if value is None else one(value)


def _reader_of_one(hint: Any) -> Read:
    if hint in _SCALARS:
        return _SCALARS[hint]
    if isinstance(hint, type) and is_dataclass(hint):
        return lambda value: read(hint, value) if isinstance(value, Mapping) else UNREADABLE
    if isinstance(hint, type) and issubclass(hint, tuple):
        return _reader_of_row(hint)
    parts = get_args(hint)
    if get_origin(hint) is tuple:
        return _reader_of_many(_reader(parts[0]))
    if get_origin(hint) is Mapping:
        return _reader_of_named(_reader(parts[1]))
    raise TypeError(f"a fact's field cannot be a {hint}; wanted one of those that JSON can hold")


def _reader_of_many(one: Read) -> Read:
    def read_many(value: Any) -> Any:
        if not isinstance(value, list | tuple):
            return UNREADABLE
        return tuple(item for item in map(one, value) if item is not UNREADABLE)

    return read_many


def _reader_of_named(one: Read) -> Read:
    def read_named(value: Any) -> Any:
        if not isinstance(value, Mapping):
            return UNREADABLE
        found = {key: one(item) for key, item in value.items()}
        return {key: item for key, item in found.items() if item is not UNREADABLE}

    return read_named


def _reader_of_row(row: Any) -> Read:
    """A named tuple, which is written as a list of that length."""
    hints = get_type_hints(row).values()
    columns = [(_reader(hint), _nothing(hint)) for hint in hints]

    def read_row(value: Any) -> Any:
        if not isinstance(value, list | tuple) or len(value) != len(columns):
            return UNREADABLE
        told = [one(item) for (one, _), item in zip(columns, value, strict=True)]
        return row(
            *(
                nothing if item is UNREADABLE else item
                for (_, nothing), item in zip(columns, told, strict=True)
            )
        )

    return read_row


def _nothing(hint: Any) -> Any:
    """What stands for a value of this type that was not recorded."""
    inner, may_be_none = without_none(hint)
    if may_be_none:
        return None
    if inner in _NOTHINGS:
        return _NOTHINGS[inner]
    if isinstance(inner, type) and is_dataclass(inner):
        return read(inner, {})
    return () if get_origin(inner) is tuple else MappingProxyType({})


def _text(value: Any) -> Any:
    if isinstance(value, str):
        return value
    return UNREADABLE if value is None or value is UNREADABLE else flat(value)


def _float(value: Any) -> Any:
    found = number(value)
    return UNREADABLE if found is None else found


def _int(value: Any) -> Any:
    found = number(value)
    return UNREADABLE if found is None else int(found)


def _fraction(value: Any) -> Any:
    try:
        return Fraction(str(value))
    except (ValueError, ZeroDivisionError):
        return UNREADABLE


def _message(value: Any) -> Any:
    try:
        return Message.from_plain(value)
    except MessageError:
        return UNREADABLE


def _instruction(value: Any) -> Any:
    try:
        return instruction_from_plain(value)
    except InstructionError:
        return UNREADABLE


def _meaning(value: Any) -> Any:
    try:
        return meaning_from_json(value) if isinstance(value, Mapping) else UNREADABLE
    except MeaningError:
        return UNREADABLE


_SCALARS: dict[Any, Read] = {
    Any: lambda value: value,
    str: _text,
    float: _float,
    int: _int,
    bool: lambda value: value if isinstance(value, bool) else UNREADABLE,
    Fraction: _fraction,
    Message: _message,
    Instruction: _instruction,
    Meaning: _meaning,
}
_NOTHINGS: dict[Any, Any] = {
    Any: None,
    str: "",
    float: 0.0,
    int: 0,
    bool: False,
    Fraction: Fraction(0),
    Message: Message(""),
    Meaning: NOT_TOLD,
}
