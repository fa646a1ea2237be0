"""What may be said, as a whole and at one prompt."""

from __future__ import annotations

import random
import unicodedata
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from functools import cached_property, lru_cache

from companion.errors import GrammarError
from companion.facts.meanings import COMMAND_NAMES, Meaning, Number
from companion.language.ambiguity import find_two_ways
from companion.language.automaton import Automaton
from companion.language.expectation import MOST_PLACES, Expectation, NumberForm
from companion.language.grammar_file import Rule, parse_grammar_file
from companion.language.jsgf import jsgf_text
from companion.language.lacking import lost, without_words
from companion.language.rulebook import Rulebook, make_rulebook
from companion.language.speaking import Speaker
from companion.language.step_rules import BEHIND, TOP, StepRules, rules_for
from companion.language.telling import all_phrases, random_phrase, words_of
from companion.language.template import Literal

_KEPT_PHRASES = 4096

# Prompts that together use every number rule; a file that makes one of them unclear is refused
# when it is read, not when a technician stands in front of it.
_WIDEST_NUMBERS = (
    NumberForm("whole", 6, directions=("left", "right", "in", "out"), units=("mm", "deg")),
    NumberForm("whole", 3, directions=("up", "down"), units=("mm",)),
    NumberForm("decimal", 4, 4, ("towards", "away", "clockwise", "anticlockwise"), ("mm_per_m",)),
    NumberForm("decimal", 6, 4, digits_only=True, units=("db", "celsius", "volt", "bar")),
    NumberForm("quarters", 2, directions=("clockwise", "anticlockwise"), units=("turns",)),
)
# Two of these may be said in one go: it has to be clear where one ends.
_PAIRED_NUMBERS = (
    NumberForm("whole", 3, units=("mm",)),
    NumberForm("whole", 4, units=("mm",)),
    NumberForm("whole", 3, directions=("left", "right"), units=("mm",)),
    NumberForm("decimal", 2, 1, units=("db",)),
    NumberForm("decimal", 1, 2, directions=("in", "out"), units=("deg",)),
    NumberForm("decimal", 1, 1, directions=("in", "out"), units=("mm",)),
)


class StepGrammar:
    """What may be said at one prompt: for the recognisers, and as the gate behind them.

    The automaton, `parse` and the JSGF text accept the same phrases. Made by `Grammar.for_step`.
    """

    def __init__(self, rules: StepRules, expectation: Expectation, examples: tuple[str, ...]):
        self.automaton = Automaton(rules)
        self._rules = rules
        self._examples = examples
        self.expectation = expectation
        # Ears that listen along ask the same of every stretch of sound.
        self.parse = lru_cache(_KEPT_PHRASES)(self._parse)

    def jsgf(self) -> str:
        """The language as JSGF 1.0, lower-case words, one public rule."""
        return self._jsgf

    def phrases(self) -> tuple[str, ...]:
        """Every answer and command in full, and the single words of the number.

        For recognisers that take a list of phrases and not a grammar: they hear more than the
        language, which is why `parse` stands behind them.
        """
        return self._phrases

    def words(self) -> frozenset[str]:
        """Every word of the language."""
        return self._words

    def _parse(self, text: str) -> Meaning | None:
        """What the words mean; None when they are not of the language, or mean two things."""
        words = unicodedata.normalize("NFC", text).lower().split()
        if not words or not self._words.issuperset(words):
            return None
        meanings = self.automaton.meanings(words)
        return next(iter(meanings)) if len(meanings) == 1 else None

    def generate(self, generator: random.Random) -> tuple[str, Meaning]:
        """A random phrase of the language, with what it means."""
        words, meaning = random_phrase(self._rules, TOP, generator)
        if meaning is None or isinstance(meaning, str):
            raise GrammarError(
                f"a step gives {meaning!r} for {' '.join(words)!r}: wanted a meaning"
            )
        return " ".join(words), meaning

    def examples(self) -> tuple[str, ...]:
        """One phrase for each thing that can be said now, the step's own answers first."""
        return self._examples

    @cached_property
    def _jsgf(self) -> str:
        return jsgf_text(self._rules)

    @cached_property
    def _words(self) -> frozenset[str]:
        return frozenset(
            word
            for lines in self._rules.rules.values()
            for line in lines
            for word in words_of(line.phrase)
        )

    @cached_property
    def _phrases(self) -> tuple[str, ...]:
        fixed: list[str] = []
        rules = self._rules.rules
        for name, lines in rules.items():
            if _is_fixed(name):
                for line in lines:
                    fixed += [" ".join(words) for words in all_phrases(self._rules, line.phrase)]
        in_fixed = {name for name in rules if _is_fixed(name)}
        single = {
            word
            for name, lines in rules.items()
            if name not in in_fixed
            for line in lines
            for word in words_of(line.phrase)
        }
        return tuple(dict.fromkeys([*fixed, *sorted(single)]))


class Grammar:
    """All that may ever be said in a language."""

    def __init__(
        self, book: Rulebook, speaker: Speaker, lacking: frozenset[str] = frozenset()
    ) -> None:
        self._book = book
        self._speaker = speaker
        self._lacking = lacking
        self._steps: dict[Expectation, StepGrammar] = {}
        if lacking:
            return
        for number in (None, *_WIDEST_NUMBERS):
            self.for_step(
                Expectation(number, done=True, yes_no=True, commands=COMMAND_NAMES),
            )
        for number in _WIDEST_NUMBERS:
            self.for_step(Expectation(number, yes_no=True, commands=COMMAND_NAMES, places=3))
        for number in _PAIRED_NUMBERS:
            self.for_step(Expectation(number, commands=COMMAND_NAMES, pair=True))
        for choice in book.choices:
            self.for_step(Expectation(choices=(choice,), commands=COMMAND_NAMES))
        for number in _PAIRED_NUMBERS:
            self._prove_behind_yes(number)

    @classmethod
    def from_texts(cls, texts: Mapping[str, str], speaker: Speaker) -> Grammar:
        """The grammar of these files, by file name, with the speaker's units and directions.

        Raises GrammarError naming file, line, what was found and what is wanted.
        """
        rules: list[Rule] = []
        for file_name, text in texts.items():
            rules.extend(parse_grammar_file(text, file_name))
        return cls(make_rulebook(rules), speaker)

    def for_step(self, expectation: Expectation) -> StepGrammar:
        """The grammar of one prompt; made once, then remembered.

        Raises ExpectationError for an expectation of nothing or of an unknown choice, and
        GrammarError for one in which a phrase can be said in two ways.
        """
        step = self._steps.get(expectation)
        if step is None:
            rules = rules_for(self._book, self._speaker.vocabulary, expectation)
            if self._lacking:
                rules = without_words(rules, self._lacking)
            step = StepGrammar(rules, expectation, self.examples(expectation))
            doubled = find_two_ways(step.automaton)
            if doubled is not None:
                raise GrammarError(
                    f"{doubled.second}: found {doubled.phrase!r}, which {doubled.first} gives "
                    "too at the same prompt, wanted one way to say it"
                )
            self._steps[expectation] = step
        return step

    def without(self, words: frozenset[str]) -> Grammar:
        """The grammar without what can only be said with these words."""
        return Grammar(self._book, self._speaker, self._lacking | words) if words else self

    def _prove_behind_yes(self, form: NumberForm) -> None:
        """Two numbers behind a yes to one, and to several."""
        then = Expectation(form, pair=True)
        for places in (0, MOST_PLACES):
            read_back = Expectation(form, yes_no=True, commands=COMMAND_NAMES, places=places)
            self.for_step(replace(read_back, then=then))

    def lost(self, expectation: Expectation, optional: frozenset[str]) -> tuple[str, ...]:
        """What nobody can say at this prompt for want of words, in words for a person.

        Words asked for their own sake may go where they are `optional`.
        """
        rules = rules_for(self._book, self._speaker.vocabulary, expectation)
        return lost(rules, self._lacking, expectation, optional, self._speaker)

    def all_words(self) -> frozenset[str]:
        """Every word that may ever be said."""
        return frozenset(word for step in self._steps.values() for word in step.words()) | {
            word
            for words in (self._speaker.vocabulary.units, self._speaker.vocabulary.directions)
            for each in words.values()
            for phrase in each.all_heard()
            for word in phrase.split()
        }

    def choice_ids(self) -> tuple[str, ...]:
        """The ids that a job file may name as choices."""
        return tuple(self._book.choices)

    def choice_name(self, choice_id: str) -> str:
        """The choice as it is said back and shown. Raises GrammarError for an unknown one."""
        if choice_id not in self._book.choices:
            raise GrammarError(
                f"a choice {choice_id!r}: wanted one of {', '.join(self._book.choices)}"
            )
        # Said back, never heard: it stays also where a recogniser does not know it.
        return _first_phrase(self._book.choices[choice_id], frozenset())

    def choice_phrases(self, choice_id: str) -> tuple[str, ...]:
        """Every way to say the choice, its name first. Raises GrammarError for an unknown one."""
        name = self.choice_name(choice_id)
        return tuple(dict.fromkeys([name, *self._phrases(self._book.choices[choice_id])]))

    def answer_phrases(self, answer: str) -> tuple[str, ...]:
        """Every way to say `done`, `yes` or `no`, the first one written first."""
        return self._phrases(self._book.answers[answer])

    def command_phrase(self, command: str) -> str:
        """The command as it is offered."""
        return _first_phrase(self._book.commands[command], self._lacking)

    def _phrases(self, rule: Rule) -> tuple[str, ...]:
        phrases = (all_phrases(StepRules({}), line.phrase) for line in rule.lines)
        every = (" ".join(words) for phrase in phrases for words in phrase)
        known = (phrase for phrase in every if self._lacking.isdisjoint(phrase.split()))
        return tuple(dict.fromkeys(known))

    def examples(self, expectation: Expectation, number: Number | None = None) -> tuple[str, ...]:
        """One phrase for each thing that can be said, the step's own answers first.

        `number`: the one to make the example of; without it one of the form's digits.
        """
        rules = [self._book.choices[choice] for choice in expectation.choices]
        if expectation.done:
            rules.append(self._book.answers["done"])
        if expectation.yes_no:
            rules += [self._book.answers["yes"], self._book.answers["no"]]
        rules += [self._book.commands[command] for command in expectation.commands]
        first: tuple[str, ...] = ()
        if expectation.number is not None:
            example = self._speaker.read_back(number or _number_of(expectation.number))
            if expectation.pair:
                first = (f"{example} {example}",)
            elif not expectation.places:
                first = (example,)
            elif self.places():
                first = (f"{self.places()[0]} {example}",)
        return (*first, *(_first_phrase(rule, self._lacking) for rule in rules))

    def places(self) -> tuple[str, ...]:
        """What is said before a number that mends the first, second or third of several.

        The fullest way to say each, as it is taught ("the third is"). Empty where the words for it
        are not all known.
        """
        found: dict[str, str] = {}
        for line in self._book.rules["place"].lines:
            phrases = all_phrases(StepRules({}), line.phrase)
            known = [tuple(phrase) for phrase in phrases if self._lacking.isdisjoint(phrase)]
            if isinstance(line.value, Literal) and known:
                fullest = max(known, key=len)
                found.setdefault(line.value.text, " ".join(fullest))
        return tuple(found[place] for place in sorted(found)) if len(found) == MOST_PLACES else ()


def _is_fixed(rule: str) -> bool:
    """Whether it is said in whole phrases, also behind a yes."""
    return rule.removeprefix(BEHIND).startswith(("choice_", "answer_", "command_"))


def _number_of(form: NumberForm) -> Number:
    """Some number of the form."""
    match form.style:
        case "quarters":
            value = Decimal("2.75")
        case "decimal":
            value = Decimal("4.25").quantize(Decimal(1).scaleb(-min(form.decimals, 2)))
        case _:
            value = Decimal("123456"[: form.max_whole_digits])
    direction = form.directions[0] if form.directions else None
    return Number(value, direction, form.units[0] if form.units else None)


def _first_phrase(rule: Rule, lacking: frozenset[str]) -> str:
    phrases = [tuple(words_of(line.phrase)) for line in rule.lines]
    known = next((phrase for phrase in phrases if lacking.isdisjoint(phrase)), phrases[0])
    return " ".join(known)
