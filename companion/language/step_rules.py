"""Cuts the language down to what one prompt allows: the rules that recogniser and parser share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import assert_never

from companion.facts.meanings import Choice, Command, Done, Meaning, No, Yes
from companion.facts.meanings import Word as SpokenWord
from companion.language.expectation import Expectation, ExpectationError, NumberForm
from companion.language.grammar_file import Rule
from companion.language.rulebook import Rulebook
from companion.language.template import (
    Chain,
    Either,
    Literal,
    Maybe,
    Node,
    Slot,
    Value,
    Word,
    chain,
    either,
    slots,
)
from companion.language.vocabulary import Vocabulary

TOP = "step"
READING = "reading"
FIRST, SECOND = "first_reading", "second_reading"
THEN = "then"
BEHIND = "then_"
"""What the names of the rules of an answer behind a yes begin with."""
_EXACT = "exact"


@dataclass(frozen=True, slots=True)
class Reading:
    """The line gives a number, made of the amount, unit and direction found in it.

    `unit_id` is the only unit of the prompt, which holds also when it went unsaid.
    """

    unit_id: str | None


@dataclass(frozen=True, slots=True)
class Passed:
    """The line gives what its slot with this label gives."""

    label: str


@dataclass(frozen=True, slots=True)
class Mends:
    """The line gives one of several numbers that is another: its place, and the number."""


@dataclass(frozen=True, slots=True)
class Pairs:
    """The line gives two numbers, one said right behind the other."""


@dataclass(frozen=True, slots=True)
class Confirms:
    """The line gives a yes and the answer behind it."""


@dataclass(frozen=True, slots=True)
class LeavesOpen:
    """The line gives that answer without the yes."""


Gives = Value | Meaning | Reading | Passed | Mends | Pairs | Confirms | LeavesOpen | None


@dataclass(frozen=True, slots=True)
class StepLine:
    """One way of saying a rule at this prompt, and what it gives."""

    phrase: Node
    gives: Gives
    where: str


@dataclass(frozen=True, slots=True)
class StepRules:
    """All rules that may be heard at a prompt, by name; `TOP` is where they start."""

    rules: Mapping[str, tuple[StepLine, ...]]


def rules_for(book: Rulebook, vocabulary: Vocabulary, expectation: Expectation) -> StepRules:
    """The rules of one prompt, with the units and directions in the words of the vocabulary.

    Raises ExpectationError when nothing may be said or a choice has no phrases.
    """
    rules: dict[str, tuple[StepLine, ...]] = {}
    top: list[StepLine] = []
    if expectation.number is not None:
        rules |= _reading_rules(book, vocabulary, expectation.number)
        phrase: Node = Slot(READING, READING)
        if expectation.places:
            rules["place"] = tuple(
                StepLine(line.phrase, line.value, line.where)
                for line in book.rules["place"].lines
                if isinstance(line.value, Literal) and int(line.value.text) <= expectation.places
            )
            phrase = Chain((Slot("place", "place"), phrase))
        elif expectation.yes_no:
            rules["correction"] = _as_they_are(book.rules["correction"])
            correction: Node = Slot("correction", "correction")
            # A number alone would answer what is asked behind the read-back.
            phrase = Chain((Maybe(correction) if expectation.then is None else correction, phrase))
        gives = Mends() if expectation.places else Passed(READING)
        top.append(StepLine(phrase, gives, "the number of the step"))
        if expectation.pair:
            pairs = _pair_rules(book, vocabulary, expectation.number)
            rules |= pairs
            for name in sorted(set(pairs) & {_ENDED, _LED}):
                both = Chain((Slot(name, FIRST), Slot(name, SECOND)))
                top.append(StepLine(both, Pairs(), "two numbers of the step"))
    for name, rule, meaning in _fixed(book, expectation):
        rules[name] = tuple(StepLine(line.phrase, meaning, line.where) for line in rule.lines)
        top.append(StepLine(Slot(name, name), Passed(name), rule.where))
    for word in expectation.words:
        where = f"the word {word}"
        rules[f"word_{word}"] = (StepLine(Word(word), SpokenWord(word), where),)
        top.append(StepLine(Slot(f"word_{word}", "word"), Passed("word"), where))
    if expectation.then is not None:
        rules |= _behind(rules_for(book, vocabulary, expectation.then))
        top += _behind_yes(book)
        rules["plain_no"] = _plain_no(book)
    if not top:
        raise ExpectationError("a prompt expects nothing at all: wanted at least a command")
    return StepRules({TOP: tuple(top), **rules})


def _behind(then: StepRules) -> dict[str, tuple[StepLine, ...]]:
    """The rules of what is said behind a yes, by names of their own."""
    return {
        BEHIND + name: tuple(replace(line, phrase=_of_behind(line.phrase)) for line in lines)
        for name, lines in then.rules.items()
    }


def _of_behind(node: Node) -> Node:
    match node:
        case Slot():
            return replace(node, rule=BEHIND + node.rule)
        case Word():
            return node
        case Maybe(part):
            return Maybe(_of_behind(part))
        case Either(parts):
            return Either(tuple(_of_behind(part) for part in parts))
        case Chain(parts):
            return Chain(tuple(_of_behind(part) for part in parts))
        case _:
            assert_never(node)


def _behind_yes(book: Rulebook) -> list[StepLine]:
    """Behind a yes; without one, which is understood as that; behind a no, which is no."""
    then = Slot(BEHIND + TOP, THEN)
    return [
        StepLine(Chain((Slot("answer_yes", "yes"), then)), Confirms(), "yes and the next answer"),
        StepLine(then, LeavesOpen(), "the next answer"),
        StepLine(Chain((Slot("plain_no", "no"), then)), No(), book.answers["no"].where),
    ]


def _plain_no(book: Rulebook) -> tuple[StepLine, ...]:
    """The ways to say no that no correction begins with."""
    corrections = {line.phrase for line in book.rules["correction"].lines}
    return tuple(
        StepLine(line.phrase, No(), line.where)
        for line in book.answers["no"].lines
        if line.phrase not in corrections
    )


def _fixed(book: Rulebook, expectation: Expectation) -> Iterable[tuple[str, Rule, Meaning]]:
    """The answers and commands that are said in whole phrases."""
    for choice in expectation.choices:
        if choice not in book.choices:
            raise ExpectationError(
                f"an expectation has the choice {choice!r}: wanted one of {', '.join(book.choices)}"
            )
        yield f"choice_{choice}", book.choices[choice], Choice(choice)
    if expectation.done:
        yield "answer_done", book.answers["done"], Done()
    if expectation.yes_no:
        yield "answer_yes", book.answers["yes"], Yes()
        yield "answer_no", book.answers["no"], No()
    for command in expectation.commands:
        yield f"command_{command}", book.commands[command], Command(command)


def _reading_rules(
    book: Rulebook, vocabulary: Vocabulary, form: NumberForm
) -> dict[str, tuple[StepLine, ...]]:
    starts = _starts(form)
    rules: dict[str, tuple[StepLine, ...]] = {
        f"said_{role}": tuple(
            StepLine(Slot(name, role), Passed(role), book.rules[name].where) for name in names
        )
        for role, names in starts.items()
    }
    if form.units:
        rules["said_unit"] = _named_words(
            {unit: vocabulary.units[unit].all_heard() for unit in form.units}
        )
    if form.directions:
        rules["said_direction"] = _named_words(
            {each: vocabulary.directions[each].all_heard() for each in form.directions}
        )
    rules[READING] = _shape_lines(book, form)
    rules |= _reached(book, form, [name for names in starts.values() for name in names])
    return rules


_ENDED, _LED = "ended_reading", "led_reading"
_MOST_IN_WORDS = 3
"""Whole digits up to which two numbers in one go may be said as words."""


def _pair_rules(
    book: Rulebook, vocabulary: Vocabulary, form: NumberForm
) -> dict[str, tuple[StepLine, ...]]:
    """The number as one of two said in one go, where it has to be clear which digit is whose.

    With directions each ends in one, or each begins with one. Plain numbers have all their digits.
    From thousands on they are said digit by digit: "mil dos mil" would be 1000 and 2000, or 1002
    and 1000.
    """
    if form.style == "whole" and form.max_whole_digits > _MOST_IN_WORDS:
        form = replace(form, digits_only=True)
    rules: dict[str, tuple[StepLine, ...]] = {}
    # A zero that needs no direction is only clear beside numbers that have one.
    roles = ("some", "nothing") if form.directions else ("some",)
    for role in roles:
        of_role = []
        for name in _starts(form)[role]:
            exact = f"{_EXACT}_{name}"
            rules[exact] = _of_a_pair(book, form, name, exactly=role == roles[-1])
            if rules[exact]:
                of_role.append(StepLine(Slot(exact, role), Passed(role), book.rules[name].where))
        rules[f"said_{_EXACT}_{role}"] = tuple(of_role)
    lines = [
        StepLine(_for_a_pair(line.phrase), line.gives, line.where)
        for line in _shape_lines(book, form)
        if {slot.label for slot in slots(line.phrase)}.intersection(roles)
    ]
    led = tuple(line for line in lines if _first_slot(line.phrase) == "direction")
    rules |= {_LED: led, _ENDED: tuple(line for line in lines if line not in led)}
    return {name: found for name, found in rules.items() if found}


def _first_slot(phrase: Node) -> str:
    """The label of the slot that a phrase begins with; "" where it begins otherwise."""
    first = phrase.parts[0] if isinstance(phrase, Chain) else phrase
    return first.label if isinstance(first, Slot) else ""


def _of_a_pair(
    book: Rulebook, form: NumberForm, name: str, *, exactly: bool
) -> tuple[StepLine, ...]:
    """The lines of a rule that can be told apart from a number before or behind.

    None begins with the point. `exactly`: every digit is said that there is room for.
    """
    limits = {"whole": form.max_whole_digits, "decimals": form.decimals}

    def is_clear(phrase: Node) -> bool:
        sized = {slot.limit for slot in slots(phrase)} - {None}
        has_decimals = "decimals" in sized or form.style != "decimal"
        return _first_slot(phrase) != "point" and (has_decimals or not exactly)

    return tuple(
        StepLine(_sized(book, limits, line.phrase, exactly=exactly), line.value, line.where)
        for line in book.rules[name].lines
        if is_clear(line.phrase)
    )


def _for_a_pair(phrase: Node) -> Node:
    match phrase:
        case Slot(_, "some" | "nothing" as role):
            return Slot(f"said_{_EXACT}_{role}", role)
        case Chain(parts):
            return Chain(tuple(_for_a_pair(part) for part in parts))
        case _:
            return phrase


def _starts(form: NumberForm) -> dict[str, tuple[str, ...]]:
    """The rules that an amount begins with, by its role in the shape."""
    match form.style:
        case "whole" | "decimal":
            some = f"some_{form.style}{'_digits' if form.digits_only else ''}"
            pairs = form.style == "whole" and form.max_whole_digits == 3 and not form.digits_only
            return {
                "some": (some, "some_pairs") if pairs else (some,),
                "nothing": (f"nothing_{form.style}",),
            }
        case "quarters":
            return {
                "some": ("some_quarters",),
                "nothing": ("nothing_quarters",),
                "spelled": ("spelled_quarters",),
            }
        case _:
            assert_never(form.style)


def _named_words(phrases: Mapping[str, Sequence[str]]) -> tuple[StepLine, ...]:
    return tuple(
        StepLine(chain([Word(word) for word in phrase.split()]), Literal(name), f"the word {name}")
        for name, heard in phrases.items()
        for phrase in heard
    )


def _shape_lines(book: Rulebook, form: NumberForm) -> tuple[StepLine, ...]:
    """The shape's lines, the unit made certain, possible or impossible by how many there are."""
    direction = "directed" if form.directions else "plain"
    shape = book.shapes[f"turns_{direction}" if form.style == "quarters" else direction]
    reading = Reading(form.units[0] if len(form.units) == 1 else None)
    return tuple(
        StepLine(_to_said(_with_unit(line.phrase, len(form.units))), reading, line.where)
        for line in shape.lines
    )


def _with_unit(phrase: Node, unit_count: int) -> Node:
    match phrase:
        case Maybe(Slot("unit")) if unit_count > 1:
            return phrase.part
        case Chain(parts):
            kept = [part for part in parts if unit_count or part != Maybe(Slot("unit", "unit"))]
            return chain([_with_unit(part, unit_count) for part in kept])
        case _:
            return phrase


def _to_said(phrase: Node) -> Node:
    match phrase:
        case Slot(rule):
            return Slot(f"said_{rule}", rule)
        case Maybe(part):
            return Maybe(_to_said(part))
        case Either(parts):
            return Either(tuple(_to_said(part) for part in parts))
        case Chain(parts):
            return Chain(tuple(_to_said(part) for part in parts))
        case Word():
            return phrase
        case _:
            assert_never(phrase)


def _reached(book: Rulebook, form: NumberForm, names: list[str]) -> dict[str, tuple[StepLine, ...]]:
    limits = {"whole": form.max_whole_digits, "decimals": form.decimals}
    found: dict[str, tuple[StepLine, ...]] = {}
    waiting = list(names)
    while waiting:
        name = waiting.pop(0)
        if name in found:
            continue
        found[name] = tuple(
            StepLine(_sized(book, limits, line.phrase), line.value, line.where)
            for line in book.rules[name].lines
        )
        waiting.extend(slot.rule for line in found[name] for slot in slots(line.phrase))
    return found


def _sized(book: Rulebook, limits: Mapping[str, int], node: Node, *, exactly: bool = False) -> Node:
    """The phrase with each family of sized rules replaced by the sizes within the limits.

    `exactly`: by those of just that size.
    """
    match node:
        case Slot(rule, label, str() as limit):
            most = limits[limit]
            least = most if exactly else 0
            family = book.family(rule)
            return either([Slot(name, label) for size, name in family if least <= size <= most])
        case Slot() | Word():
            return node
        case Maybe(part):
            return Maybe(_sized(book, limits, part, exactly=exactly))
        case Either(parts):
            return Either(tuple(_sized(book, limits, part, exactly=exactly) for part in parts))
        case Chain(parts):
            return Chain(tuple(_sized(book, limits, part, exactly=exactly) for part in parts))
        case _:
            assert_never(node)


def _as_they_are(rule: Rule) -> tuple[StepLine, ...]:
    return tuple(StepLine(line.phrase, line.value, line.where) for line in rule.lines)
