"""All rules of a language, checked together: each one is there once, fits its slots and is used."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from companion.errors import GrammarError
from companion.facts.meanings import COMMAND_NAMES
from companion.language.grammar_file import Line, Rule
from companion.language.template import Chain, Literal, Mention, Slot, mentions, slots

ANSWERS = ("done", "yes", "no")
SHAPES = ("plain", "directed", "turns_plain", "turns_directed")
# The slots of a shape are filled by the step: the amounts by the style of its number.
SHAPE_SLOTS = ("some", "nothing", "spelled", "unit", "direction")
STARTS = (
    "some_whole",
    "some_whole_digits",
    "some_pairs",
    "nothing_whole",
    "some_decimal",
    "some_decimal_digits",
    "nothing_decimal",
    "some_quarters",
    "nothing_quarters",
    "spelled_quarters",
    "correction",
    "place",
)
LIMITS = ("whole", "decimals")


@dataclass(frozen=True, slots=True)
class Rulebook:
    """The checked rules, by kind and name."""

    rules: Mapping[str, Rule]
    choices: Mapping[str, Rule]
    answers: Mapping[str, Rule]
    commands: Mapping[str, Rule]
    shapes: Mapping[str, Rule]

    def family(self, name: str) -> tuple[tuple[int, str], ...]:
        """The sizes of a sized rule and their rules' names: `whole.1`, `whole.2` and so on."""
        return _family(self.rules, name)


def make_rulebook(rules: Iterable[Rule]) -> Rulebook:
    """Checks the rules of all files of a language.

    Raises GrammarError naming file and line for a name given twice, a slot without a rule, a
    rule that leads back to itself, a value that does not fit its slots, a rule that nothing uses,
    and for anything that the companion needs and no file gives.
    """
    by_kind: dict[str, dict[str, Rule]] = {
        kind: {} for kind in ("rule", "choice", "answer", "command", "shape")
    }
    for rule in rules:
        first = by_kind[rule.kind].setdefault(rule.name, rule)
        if first is not rule:
            raise GrammarError(
                f"{rule.where}: found {rule.kind} {rule.name} again, "
                f"wanted each once (the first is at {first.where})"
            )
    _check_names(by_kind["answer"], "answer", ANSWERS)
    _check_names(by_kind["command"], "command", COMMAND_NAMES)
    _check_names(by_kind["shape"], "shape", SHAPES)
    for start in STARTS:
        if start not in by_kind["rule"]:
            raise GrammarError(f"the grammar files: found no rule {start}, wanted one")
    _check_places(by_kind["rule"])
    valued = {name: _with_values(rule, by_kind["rule"]) for name, rule in by_kind["rule"].items()}
    for kind in ("choice", "answer", "command"):
        for rule in by_kind[kind].values():
            _check_plain(rule)
    for rule in by_kind["shape"].values():
        _check_shape(rule)
    _check_reach(valued)
    return Rulebook(
        valued, by_kind["choice"], by_kind["answer"], by_kind["command"], by_kind["shape"]
    )


def _check_places(rules: Mapping[str, Rule]) -> None:
    """A place of several readings said back together is a count."""
    for line in rules["place"].lines if "place" in rules else ():
        if not (isinstance(line.value, Literal) and line.value.text in tuple("123456789")):
            raise GrammarError(
                f"{line.where}: found a place that is no count, wanted one digit, such as -> 2"
            )


def _family(rules: Mapping[str, Rule], name: str) -> tuple[tuple[int, str], ...]:
    members = (each for each in rules if each.partition(".")[0] == name and "." in each)
    return tuple(sorted((int(member.rpartition(".")[2]), member) for member in members))


def _check_names(found: Mapping[str, Rule], kind: str, wanted: tuple[str, ...]) -> None:
    for name, rule in found.items():
        if name not in wanted:
            raise GrammarError(
                f"{rule.where}: found {kind} {name}, wanted one of {', '.join(wanted)}"
            )
    for name in wanted:
        if name not in found:
            raise GrammarError(f"the grammar files: found no {kind} {name}, wanted one")


def _check_plain(rule: Rule) -> None:
    for line in rule.lines:
        for slot in slots(line.phrase):
            raise GrammarError(
                f"{line.where}: found <{slot.rule}> in a {rule.kind}, wanted words only"
            )


def _check_shape(rule: Rule) -> None:
    for line in rule.lines:
        labels = [slot.rule for slot in slots(line.phrase)]
        amounts = [label for label in labels if label in ("some", "nothing", "spelled")]
        if len(amounts) != 1 or len(set(labels)) != len(labels) or set(labels) - set(SHAPE_SLOTS):
            raise GrammarError(
                f"{line.where}: found the slots {labels}, wanted one of <some>, <nothing>, "
                "<spelled> and at most one <unit> and <direction>"
            )


def _targets(rules: Mapping[str, Rule], slot: Slot, line: Line) -> tuple[str, ...]:
    """The names of the rules that a slot can stand for."""
    if slot.limit is None:
        names: tuple[str, ...] = (slot.rule,) if slot.rule in rules else ()
    elif slot.limit not in LIMITS:
        raise GrammarError(
            f"{line.where}: found the limit @{slot.limit}, wanted one of @{', @'.join(LIMITS)}"
        )
    else:
        names = tuple(member for _, member in _family(rules, slot.rule))
    if not names:
        raise GrammarError(f"{line.where}: found <{slot.rule}>, wanted the name of a rule")
    return names


def _with_values(rule: Rule, rules: Mapping[str, Rule]) -> Rule:
    """The rule, a line without a value taking that of its only slot that has one."""
    lines = tuple(_line_with_value(line, rules) for line in rule.lines)
    if len({line.value is None for line in lines}) > 1:
        raise GrammarError(
            f"{rule.where}: found lines with and without a value, wanted all or none"
        )
    return replace(rule, lines=lines)


def _line_with_value(line: Line, rules: Mapping[str, Rule]) -> Line:
    valued = [
        slot for slot in slots(line.phrase) if _gives_value(rules, _targets(rules, slot, line)[0])
    ]
    always = line.phrase.parts if isinstance(line.phrase, Chain) else (line.phrase,)
    for slot in valued:
        if slot not in always:
            raise GrammarError(
                f"{line.where}: found <{slot.rule}> where it may be left out, "
                "wanted it in every way of saying the line"
            )
    labels = [slot.label for slot in valued]
    if line.value is None:
        if len(labels) > 1:
            raise GrammarError(f"{line.where}: found no value, wanted one made of {labels}")
        return replace(line, value=Mention(labels[0]) if labels else None)
    if Counter(mentions(line.value)) != Counter(labels):
        raise GrammarError(
            f"{line.where}: found a value made of {sorted(mentions(line.value))}, "
            f"wanted each slot used once: {sorted(labels)}"
        )
    return line


def _gives_value(rules: Mapping[str, Rule], name: str, above: tuple[str, ...] = ()) -> bool:
    if name in above:
        raise GrammarError(
            f"{rules[name].where}: found {name} leading back to itself "
            f"({' > '.join((*above, name))}), wanted an end"
        )
    gives = False
    for line in rules[name].lines:
        # Every way is gone down, also below a line that gives a value: it may lead back to here.
        below = [
            _gives_value(rules, target, (*above, name))
            for slot in slots(line.phrase)
            for target in _targets(rules, slot, line)
        ]
        gives = gives or line.value is not None or any(below)
    return gives


def _check_reach(rules: Mapping[str, Rule]) -> None:
    reached: set[str] = set()
    waiting = list(STARTS)
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting.extend(_named(rules, rules[name]))
    for name, rule in rules.items():
        if name not in reached:
            raise GrammarError(f"{rule.where}: found rule {name} that nothing uses, wanted a use")


def _named(rules: Mapping[str, Rule], rule: Rule) -> Iterator[str]:
    for line in rule.lines:
        for slot in slots(line.phrase):
            yield from _targets(rules, slot, line)
