"""The sentences of a language: Fluent files, and how a message becomes one, said or shown.

In a file an argument that is a count or an amount stands as itself (`{ $number }`) and is said or
shown as the language does; beside that there are functions:

    COUNT($n, gender: "feminine")   a count as a cardinal of that gender
    DIGITS($text)                   digits one by one with a pause between, shown as figures
    SIZE($amount)                   an amount without its direction
    FIGURE($amount)                 its number alone
    WAY($amount)                    the id of its direction, to choose by; "none" without one
    DIRECTION($id)                  a direction in words
    LIST($items, last: "or")        items, the last one joined by "or", "and", or nothing (";", ",")
    EXAMPLE($whole, $decimals)      an example of a number with so many digits, as DIGITS
    LOWER($text), CAPITAL($text)    in small letters; with a capital letter
    SENTENCE($text)                 with a capital letter and, where it has no end yet, a full stop
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any, Protocol

from fluent.runtime import FluentBundle
from fluent.runtime.resolver import CurrentEnvironment, ResolverEnvironment
from fluent.runtime.types import FluentType
from fluent.syntax import FluentParser, ast
from fluent.syntax.visitor import Visitor

from companion.errors import CompanionError, GrammarError
from companion.facts.message import Amount, Arg, Message
from companion.language.speaking import Speaker


class SentenceError(CompanionError):
    """A message cannot be put into words: the language does not have it, or an argument is off."""


class ChoiceNames(Protocol):
    """What is needed of the grammar: how an answer is said back."""

    def choice_name(self, choice_id: str) -> str: ...


class Messages:
    """All sentences of a language.

    `texts`: the Fluent files by name. Raises GrammarError naming file and line for what is no
    message, and for an id that stands twice.
    """

    def __init__(self, texts: Mapping[str, str], speaker: Speaker, choices: ChoiceNames) -> None:
        self._where: dict[str, str] = {}
        self._arguments: dict[str, frozenset[str]] = {}
        resources = [self._read(name, text) for name, text in texts.items()]
        self._said = _Renderer(resources, speaker, choices, aloud=True)
        self._shown = _Renderer(resources, speaker, choices, aloud=False)

    def say(self, message: Message) -> str:
        """The sentence to be spoken. Raises SentenceError where there is none."""
        return self._said.render(message)

    def show(self, message: Message) -> str:
        """The sentence to be read, with figures and signs. Raises SentenceError as `say` does."""
        return self._shown.render(message)

    @property
    def arguments(self) -> Mapping[str, frozenset[str]]:
        """Each message's id with the names of its arguments."""
        return self._arguments

    def check_against(self, other: Messages) -> None:
        """Refuse a language that lacks a sentence of the other, or wants other arguments.

        Raises GrammarError naming file and line.
        """
        for id_, wanted in other.arguments.items():
            if id_ not in self._arguments:
                raise GrammarError(f"no sentence {id_!r}, wanted one as at {other._where[id_]}")
            if self._arguments[id_] != wanted:
                raise GrammarError(
                    f"{self._where[id_]}: found {id_!r} with {_named(self._arguments[id_])}, "
                    f"wanted {_named(wanted)} as at {other._where[id_]}"
                )
        for id_, where in self._where.items():
            if id_ not in other.arguments:
                raise GrammarError(f"{where}: found {id_!r}, which no other language has")

    def _read(self, file_name: str, text: str) -> ast.Resource:
        resource = FluentParser().parse(text)
        for entry in resource.body:
            if isinstance(entry, ast.Junk):
                told = ", ".join(each.message or "" for each in entry.annotations)
                at = _line(text, *(each.span for each in entry.annotations), entry.span)
                raise GrammarError(f"{file_name}, line {at}: found {told!r}, wanted a message")
            if not isinstance(entry, ast.Message):
                continue
            where = f"{file_name}, line {_line(text, entry.span)}"
            if entry.id.name in self._where:
                first = self._where[entry.id.name]
                raise GrammarError(
                    f"{where}: found {entry.id.name!r} again, wanted each once "
                    f"(the first is at {first})"
                )
            self._where[entry.id.name] = where
            self._arguments[entry.id.name] = frozenset(_variables(entry))
        return resource


class _Renderer:
    """One way of rendering: aloud, or to be read."""

    def __init__(
        self, resources: list[ast.Resource], speaker: Speaker, choices: ChoiceNames, *, aloud: bool
    ) -> None:
        self._speaker = speaker
        self._choices = choices
        self._aloud = aloud
        functions: dict[str, Any] = {
            "COUNT": self._count,
            "DIGITS": self._digits,
            "SIZE": self._size,
            "FIGURE": lambda amount: self._of(Amount(amount.amount.value)),
            "WAY": lambda amount: amount.amount.direction or "none",
            "DIRECTION": speaker.direction_word,
            "LIST": self._list,
            "LOWER": lambda text: _text(text).lower(),
            "CAPITAL": lambda text: _capital(_text(text)),
            "SENTENCE": lambda text: sentence(_text(text)),
            "EXAMPLE": self._example,
        }
        self._bundle = FluentBundle(
            [speaker.vocabulary.locale], functions=functions, use_isolating=False
        )
        for resource in resources:
            self._bundle.add_resource(resource)
        # What wants no argument is the same each time, and charts ask for it a thousand times.
        self._settled: dict[str, str] = {}

    def render(self, message: Message) -> str:
        match message:
            case Message("row", args):
                parts = args["parts"]
                told = parts if isinstance(parts, tuple) else (parts,)
                return " ".join(filter(None, (self._of(part) for part in told)))
            case Message("choice", {"id": str(choice_id)}):
                return self._choices.choice_name(choice_id)
            case Message("text", {"template": str(template), **values}):
                for name, value in values.items():
                    template = template.replace(f"{{{name.replace('__', '.')}}}", self._of(value))
                return template
            case Message(id_, args) if args:
                return self._formatted(id_, args)
            case Message(id_, args):
                if id_ not in self._settled:
                    self._settled[id_] = self._formatted(id_, args)
                return self._settled[id_]

    def _formatted(self, id_: str, args: Mapping[str, Arg]) -> str:
        if not self._bundle.has_message(id_):
            raise SentenceError(f"no sentence {id_!r} in {self._speaker.vocabulary.name}")
        wrapped = {name: self._wrapped(arg) for name, arg in args.items()}
        # As `FluentBundle.format_pattern` does, which would turn our counts into its own numbers.
        errors: list[Exception] = []
        now = ResolverEnvironment(self._bundle, errors, current=CurrentEnvironment(wrapped))
        pattern = self._bundle.get_message(id_).value
        told = pattern(now) if pattern is not None else ""
        if errors:
            raise SentenceError(
                f"sentence {id_!r} in {self._speaker.vocabulary.name}: {errors[0]!r}"
            )
        return str(told).strip()

    def _wrapped(self, arg: Arg) -> Any:
        match arg:
            case str():
                return arg
            case int():
                return _Count(arg, self._count(arg))
            case Amount():
                return _Told(arg, self._of(arg))
            case tuple():
                return _Items(tuple(self._of(each) for each in arg))
            case _:
                return self._of(arg)

    def _of(self, arg: Arg) -> str:
        match arg:
            case str():
                return arg
            case int():
                return self._count(arg)
            case Fraction():
                return self._of(Amount(arg))
            case Amount():
                speaker = self._speaker
                return speaker.say_amount(arg) if self._aloud else speaker.show_amount(arg)
            case Message():
                return self.render(arg)
            case tuple():
                return self._speaker.say_list([self._of(each) for each in arg])

    def _count(self, count: int, gender: str = "main") -> str:
        if self._aloud:
            return self._speaker.say_cardinal(int(count), gender)
        return self._speaker.show_figure(int(count))

    def _digits(self, digits: str) -> str:
        whole, _, decimals = digits.partition(".")
        if not self._aloud:
            return self._speaker.show_figure(Decimal(digits))
        parts = [self._speaker.say_digits(whole, ", ")]
        if decimals:
            point = self._speaker.vocabulary.numbers.point
            parts += [point, self._speaker.say_digits(decimals, ", ")]
        return ", ".join(parts)

    def _example(self, whole: int, decimals: int) -> str:
        digits = self._speaker.vocabulary.numbers.example_digits
        behind = digits[2 : 2 + int(decimals)]
        return self._digits(digits[: int(whole)] + (f".{behind}" if behind else ""))

    def _size(self, amount: _Told) -> str:
        return self._of(Amount(amount.amount.value, amount.amount.unit))

    def _list(self, items: _Items, last: str = "and") -> str:
        lists = self._speaker.vocabulary.lists
        if last in (";", ","):
            return f"{last} ".join(items.texts)
        joined = lists.disjunction if last == "or" else lists.conjunction
        return self._speaker.say_list(items.texts, joined)


class _Ready(FluentType):
    """A value that is already in words."""

    told: str

    def format(self, locale: object) -> str:
        return self.told


class _Told(_Ready):
    def __init__(self, amount: Amount, told: str) -> None:
        self.amount = amount
        self.told = told


class _Items(_Ready):
    def __init__(self, texts: tuple[str, ...]) -> None:
        self.texts = texts
        self.told = ", ".join(texts)


class _Count(_Ready, int):
    """A count, which Fluent chooses plural forms by."""

    def __new__(cls, count: int, told: str) -> _Count:
        made = super().__new__(cls, count)
        made.told = told
        return made

    def __init__(self, count: int, told: str) -> None: ...


def sentence(text: str) -> str:
    """The text with a capital letter and a full stop, unless it ends as a sentence already."""
    text = text.strip()
    return _capital(text if text.endswith((".", "?", "!")) else f"{text}.")


def _capital(text: str) -> str:
    # A sentence may open with a sign of its own, such as "¿".
    first = next((place for place, sign in enumerate(text) if sign.isalnum()), 0)
    return text[:first] + text[first : first + 1].upper() + text[first + 1 :]


def _text(value: object) -> str:
    return value.told if isinstance(value, _Ready) else str(value)


class _Variables(Visitor):
    def __init__(self) -> None:
        self.names: list[str] = []

    def visit_VariableReference(self, node: ast.VariableReference) -> None:
        self.names.append(node.id.name)


def _variables(entry: ast.Message) -> Iterator[str]:
    found = _Variables()
    found.visit(entry)
    yield from found.names


def _line(text: str, *spans: ast.Span | None) -> int:
    """The line of the first span that is known."""
    start = next((span.start for span in spans if span is not None), 0)
    return text.count("\n", 0, start) + 1


def _named(names: frozenset[str]) -> str:
    return ", ".join(f"${name}" for name in sorted(names)) or "no arguments"
