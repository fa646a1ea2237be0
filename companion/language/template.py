"""One line of a grammar file: the phrase that may be said, and the value that it has."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import assert_never

from companion.language.vocabulary import is_word


class TemplateError(ValueError):
    """A line cannot be read; the reader of the file adds where it stands."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word, in lower-case letters, as the recogniser knows it."""

    text: str


@dataclass(frozen=True, slots=True)
class Slot:
    """The phrases of another rule. `label` is the name under which its value is found.

    `limit` is set while a family of sized rules is meant, until the step says how far it goes.
    """

    rule: str
    label: str
    limit: str | None = None


@dataclass(frozen=True, slots=True)
class Maybe:
    """A part that may be left out."""

    part: Node


@dataclass(frozen=True, slots=True)
class Either:
    """One of several parts."""

    parts: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """Parts said one after the other."""

    parts: tuple[Node, ...]


Node = Word | Slot | Maybe | Either | Chain


@dataclass(frozen=True, slots=True)
class Literal:
    """Digits, or a decimal point, given in the grammar file."""

    text: str


@dataclass(frozen=True, slots=True)
class Mention:
    """The value of the slot with this label; the second mention is that of the second slot."""

    label: str


@dataclass(frozen=True, slots=True)
class Combined:
    """Two values: `+` added, `*` multiplied, `&` written one behind the other."""

    sign: str
    first: Value
    second: Value


Value = Literal | Mention | Combined

_TOKEN = re.compile(r"\s*(?:(<[a-z_0-9.@]+>)|([^\s<>\[\]()/]+)|([\[\]()/]))")
_SLOT = re.compile(r"<([a-z_]+(?:\.[1-9])?)>|<([a-z_]+)\.@([a-z]+)>")
_TERM = re.compile(r"<([a-z_]+)>|([0-9.]+)")
_CLOSING = {"[": "]", "(": ")"}


def parse_phrase(text: str) -> Node:
    """A phrase template: words, `[what may be left out]`, `(one / or another)`, `<rule>`."""
    pieces = _tokens(text)
    node, rest = _alternatives(pieces, closing=None)
    if rest:
        raise TemplateError(f"found {rest[0]!r}, wanted a word or the end of the phrase")
    return node


def parse_value(text: str) -> Value:
    """A value: digits and `<rule>` joined by `*`, `+` and `&`, which bind in this order."""
    for sign in "&+*":
        # The last sign splits, so that equal signs work from left to right.
        head, found, tail = text.rpartition(f" {sign} ")
        if found:
            return Combined(sign, parse_value(head), parse_value(tail))
    term = _TERM.fullmatch(text.strip())
    if term is None:
        raise TemplateError(f"found the value {text.strip()!r}, wanted digits or <rule>")
    return Mention(term[1]) if term[1] else Literal(term[2])


def evaluate(value: Value, found: Mapping[str, Sequence[str]]) -> str:
    """The value as decimal digits, from the values of the slots in the order they were said."""
    unused = {label: iter(values) for label, values in found.items()}
    return _evaluated(value, unused)


def mentions(value: Value) -> Iterator[str]:
    """The labels that a value uses, in order."""
    match value:
        case Literal():
            return
        case Mention(label):
            yield label
        case Combined(_, first, second):
            yield from mentions(first)
            yield from mentions(second)
        case _:
            assert_never(value)


def slots(node: Node) -> Iterator[Slot]:
    """The slots of a phrase, in the order they are written."""
    match node:
        case Word():
            return
        case Slot():
            yield node
        case Maybe(part):
            yield from slots(part)
        case Either(parts) | Chain(parts):
            for each in parts:
                yield from slots(each)
        case _:
            assert_never(node)


def can_be_empty(node: Node) -> bool:
    """Whether nothing at all needs to be said; a rule always needs a word."""
    match node:
        case Word() | Slot():
            return False
        case Maybe():
            return True
        case Either(parts):
            return any(can_be_empty(part) for part in parts)
        case Chain(parts):
            return all(can_be_empty(part) for part in parts)
        case _:
            assert_never(node)


def chain(parts: Sequence[Node]) -> Node:
    """The parts one after the other; a single part stands for itself."""
    return parts[0] if len(parts) == 1 else Chain(tuple(parts))


def either(parts: Sequence[Node]) -> Node:
    """One of the parts; a single part stands for itself."""
    return parts[0] if len(parts) == 1 else Either(tuple(parts))


def _evaluated(value: Value, unused: Mapping[str, Iterator[str]]) -> str:
    match value:
        case Literal(text):
            return text
        case Mention(label):
            return next(unused[label])
        case Combined(sign, first, second):
            one, other = _evaluated(first, unused), _evaluated(second, unused)
            if sign == "&":
                return one + other
            result = Decimal(one) + Decimal(other) if sign == "+" else Decimal(one) * Decimal(other)
            return format(result, "f")
        case _:
            assert_never(value)


def _tokens(text: str) -> list[str]:
    pieces: list[str] = []
    position, stripped = 0, text.rstrip()
    while position < len(stripped):
        piece = _TOKEN.match(stripped, position)
        if piece is None or (piece[2] and not is_word(piece[2])):
            raise TemplateError(
                f"found {stripped[position:].strip()!r}, wanted lower-case words, "
                "<rule>, [ ], ( ) or /"
            )
        pieces.append(piece[0].strip())
        position = piece.end()
    return pieces


def _alternatives(pieces: list[str], closing: str | None) -> tuple[Node, list[str]]:
    """Parts divided by `/` up to the closing bracket, and the pieces that follow it."""
    parts: list[list[Node]] = [[]]
    while pieces and pieces[0] != closing:
        piece, pieces = pieces[0], pieces[1:]
        if piece in _CLOSING:
            inner, pieces = _alternatives(pieces, _CLOSING[piece])
            parts[-1].append(Maybe(inner) if piece == "[" else inner)
        elif piece == "/" and closing is not None:
            parts.append([])
        else:
            parts[-1].append(_single(piece))
    if closing is not None:
        if not pieces:
            raise TemplateError(f"found the end of the phrase, wanted {closing!r}")
        pieces = pieces[1:]
    if not all(parts):
        raise TemplateError("found an empty part, wanted at least one word in it")
    return either([chain(part) for part in parts]), pieces


def _single(piece: str) -> Node:
    if is_word(piece):
        return Word(piece)
    slot = _SLOT.fullmatch(piece)
    if slot is None:
        raise TemplateError(f"found {piece!r}, wanted a word, <rule>, <rule.3> or <rule.@limit>")
    if slot[1]:
        return Slot(slot[1], slot[1].partition(".")[0])
    return Slot(slot[2], slot[2], slot[3])
