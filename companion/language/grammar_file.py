"""Reads the text of one grammar file into rules; the format is described in grammars/README.md."""

from __future__ import annotations

import re
from dataclasses import dataclass

from companion.errors import GrammarError
from companion.language.template import (
    Node,
    TemplateError,
    Value,
    can_be_empty,
    parse_phrase,
    parse_value,
)

# Nothing that a person says in one breath is longer; nor can brackets then be too deep.
LONGEST_LINE = 200
KINDS = ("rule", "choice", "answer", "command", "shape")
_HEADING = re.compile(r"([a-z]+)\s+([a-z_]+(?:\.[1-9])?)")


@dataclass(frozen=True, slots=True)
class Line:
    """One way of saying a rule, with the value it then has."""

    phrase: Node
    value: Value | None
    where: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A named set of lines. `kind` is one of `KINDS`; `where` is "file, line n"."""

    kind: str
    name: str
    lines: tuple[Line, ...]
    where: str


def parse_grammar_file(text: str, file_name: str) -> tuple[Rule, ...]:
    """The rules of a file, in order.

    Raises GrammarError naming file and line, what was found and what is wanted.
    """
    headings: list[tuple[str, str, str]] = []
    bodies: list[list[Line]] = []
    for number, raw in enumerate(text.splitlines(), start=1):
        written = raw.partition("#")[0].rstrip()
        where = f"{file_name}, line {number}"
        if not written:
            continue
        if not written[0].isspace():
            headings.append((*_heading(written, where), where))
            bodies.append([])
        elif not headings:
            raise GrammarError(f"{where}: found {written.strip()!r}, wanted a heading before it")
        else:
            bodies[-1].append(_line(written.strip(), where))
    return tuple(
        _rule(kind, name, tuple(lines), where)
        for (kind, name, where), lines in zip(headings, bodies, strict=True)
    )


def _heading(written: str, where: str) -> tuple[str, str]:
    heading = _HEADING.fullmatch(written)
    if heading is None or heading[1] not in KINDS:
        raise GrammarError(
            f"{where}: found {written!r}, wanted one of {', '.join(KINDS)} and a name, "
            "or an indented phrase"
        )
    return heading[1], heading[2]


def _line(written: str, where: str) -> Line:
    if len(written) > LONGEST_LINE:
        raise GrammarError(
            f"{where}: found a line of {len(written)} characters, wanted at most {LONGEST_LINE}"
        )
    phrase_text, arrow, value_text = written.partition("->")
    try:
        phrase = parse_phrase(phrase_text)
        value = parse_value(value_text) if arrow else None
    except TemplateError as error:
        raise GrammarError(f"{where}: {error}") from error
    if can_be_empty(phrase):
        raise GrammarError(f"{where}: found a phrase that may be silence, wanted a word that stays")
    return Line(phrase, value, where)


def _rule(kind: str, name: str, lines: tuple[Line, ...], where: str) -> Rule:
    if not lines:
        raise GrammarError(f"{where}: found {name} with no phrase, wanted at least one below it")
    for line in lines:
        if kind != "rule" and line.value is not None:
            raise GrammarError(f"{line.where}: found a value in a {kind}, wanted the phrase alone")
    return Rule(kind, name, lines, where)
