"""A language: what may be said in it, and every sentence that the companion says or shows."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import replace
from decimal import Decimal
from functools import cached_property
from typing import Literal

from companion.errors import GrammarError
from companion.facts.meanings import COMMAND_NAMES, Number, Pair
from companion.facts.message import Message
from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import Grammar, StepGrammar
from companion.language.listed import Lacking, ListedGrammar, phrases_of
from companion.language.messages import Messages
from companion.language.speaking import Speaker
from companion.language.spelling import COMMANDS as SPELLING_COMMANDS
from companion.language.spelling import Alphabet, SpelledGrammar
from companion.language.typed import TypedWords
from companion.language.vocabulary import Vocabulary, VoiceCheckWords


class Language:
    """One language as a whole. Made by `loader.load_language`.

    `grammar_texts` and `sentence_texts`: the files by name; `pronunciations`: words with their
    phones. Raises GrammarError naming file and line of what is not as it should be.
    """

    def __init__(
        self,
        vocabulary: Vocabulary,
        grammar_texts: Mapping[str, str],
        sentence_texts: Mapping[str, str],
        pronunciations: Mapping[str, str],
    ) -> None:
        self.vocabulary = vocabulary
        self.pronunciations = pronunciations
        self.speaker = Speaker(vocabulary)
        self.grammar = Grammar.from_texts(grammar_texts, self.speaker)
        self._sentence_texts = sentence_texts
        self.whole = self
        """The language with nothing left out."""
        self.left_out: frozenset[str] = frozenset()

    def without(self, words: frozenset[str]) -> Language:
        """The language without what can only be said with these words."""
        if not words:
            return self
        less = copy(self)
        less.grammar = self.grammar.without(words)
        less.left_out = self.left_out | words
        return less

    @property
    def code(self) -> str:
        """The language's code, such as "en"."""
        return self.vocabulary.code

    @property
    def yes_and_next(self) -> bool:
        """Whether "yes" with the next answer behind it may be invited."""
        return self.vocabulary.yes_and_next

    @property
    def voice_check(self) -> VoiceCheckWords:
        """What the voice check asks for."""
        return self.vocabulary.voice_check

    @cached_property
    def messages(self) -> Messages:
        """Every sentence."""
        return Messages(self._sentence_texts, self.speaker, self.grammar)

    @cached_property
    def typed(self) -> TypedWords:
        """Typed text as the words that would have been said."""
        return TypedWords(self.speaker, self.grammar.all_words())

    @cached_property
    def alphabet(self) -> Alphabet:
        """The words of letters and digits where something is spelled."""
        numbers = self.vocabulary.numbers
        digits = {
            str(digit): (word, *numbers.digits_also.get(str(digit), ()))
            for digit, word in enumerate(numbers.digits)
        }
        letters = {s: (w.said, *w.heard) for s, w in self.vocabulary.spelling.items()}
        # "oh" is no digit here: beside letters nobody could tell which was meant.
        return Alphabet({**letters, **digits}).without(frozenset(numbers.never_alone))

    def spelled(
        self,
        alphabet: Alphabet,
        least: int,
        most: int,
        *,
        ends: bool,
        denied: frozenset[str] = frozenset(),
    ) -> SpelledGrammar:
        """What may be said where something is spelled; `ends`: also that it is all.

        `denied`: what was said no to just now.
        """
        commands = {name: self.grammar.command_phrase(name) for name in SPELLING_COMMANDS}
        end = self.grammar.answer_phrases("done")[0] if ends else ""
        return SpelledGrammar(alphabet, least, most, commands, end, denied)

    def listed(self, names: Sequence[tuple[str, ...]], lacking: Lacking) -> ListedGrammar:
        """What may be said to choose one of a list, each with its names; of words the ears know."""
        form = NumberForm("whole", len(str(len(names))))
        asked = Expectation(form, commands=("repeat", "carry_on", "stop"))
        numbers = self.for_step(asked)
        if unknown := lacking(numbers.words()):
            numbers = self.without(unknown).for_step(asked)
        words = [self.read_back(Number(Decimal(n))) for n in range(1, len(names) + 1)]
        before = self.show(Message("listed-before-number")).split()
        phrases = phrases_of(names, numbers, words, before, self.alphabet, lacking)
        return ListedGrammar(numbers, phrases, names, words)

    def say(self, message: Message) -> str:
        """The sentence to be spoken. Raises SentenceError where there is none."""
        return self.messages.say(message)

    def show(self, message: Message) -> str:
        """The sentence to be read. Raises SentenceError where there is none."""
        return self.messages.show(message)

    def for_step(self, expectation: Expectation) -> StepGrammar:
        """What may be said at one prompt. Raises as `Grammar.for_step` does."""
        return self.grammar.for_step(expectation)

    def missing(self, expectation: Expectation, text: str) -> Literal["", "direction"]:
        """What alone makes the text no answer; "" where it is more than that, or nothing.

        A sign in front of what was typed stands for a direction that nobody has agreed on. Where
        several numbers wait for one yes, a place is missing too.
        """
        form = expectation.number
        if form is None or not form.directions or expectation.places:
            return ""
        if self._is_answer(expectation, text):
            return ""
        bare = Expectation(replace(form, directions=()))
        return "direction" if self._is_answer(bare, text.strip().lstrip("+-−")) else ""

    def _is_answer(self, expectation: Expectation, typed: str) -> bool:
        step = self.for_step(expectation)
        return (
            step.parse(self.typed(typed, lambda words: step.parse(words) is not None)) is not None
        )

    def set_apart(self, step: StepGrammar, typed: str) -> str:
        """Two readings typed with a mark or a word between them, in the words of both; else "".

        "421, 420", "421; 420", "421 / 420" and "421 and 420", only where two are asked for and
        each side is one by itself: a comma with no blank behind it may stand for a point.
        """
        if not step.expectation.pair:
            return ""
        alone = self.for_step(replace(step.expectation, pair=False))
        between = rf",\s|[;/]|\s(?:{re.escape(self.vocabulary.lists.conjunction)}|&)\s"
        for mark in re.finditer(between, typed.lower()):
            first, second = (
                self.typed(half, lambda words: isinstance(alone.parse(words), Number))
                for half in (typed[: mark.start()], typed[mark.end() :])
            )
            one, other = alone.parse(first), alone.parse(second)
            if isinstance(one, Number) and isinstance(other, Number):
                both = f"{first} {second}"
                return both if step.parse(both) == Pair(one, other) else ""
        return ""

    def begun(self, step: StepGrammar, typed: str) -> str:
        """Of what may be chosen the only phrase that begins with these words; else the words.

        A beginning alone, for an end may leave a "not" behind: "touched". And never an answer of
        its own: "no" does not begin "no faults".
        """
        said = " ".join(typed.lower().split())
        own = {
            words for name in ("yes", "no", "done") for words in self.grammar.answer_phrases(name)
        }
        if not said or said in own:
            return typed
        found = {
            choice: phrase
            for choice in step.expectation.choices
            for phrase in reversed(self.grammar.choice_phrases(choice))
            if phrase.startswith(f"{said} ")
        }
        return next(iter(found.values())) if len(found) == 1 else typed

    def choice_ids(self) -> tuple[str, ...]:
        """The ids that a job file may name as choices."""
        return self.grammar.choice_ids()

    def lone_numbers(self) -> frozenset[str]:
        """Every single word that is a number of one or two digits."""
        step = self.for_step(Expectation(NumberForm("whole", 2)))
        return frozenset(word for word in step.words() if isinstance(step.parse(word), Number))

    def read_back(self, number: Number) -> str:
        """A number as it is said back."""
        return self.speaker.read_back(number)

    def choice_name(self, choice_id: str) -> str:
        """The choice as it is said back and shown. Raises GrammarError for an unknown one."""
        return self.grammar.choice_name(choice_id)

    def examples(self, expectation: Expectation, number: Number | None = None) -> tuple[str, ...]:
        """One phrase for each thing that this expectation takes; `number`: a likely one of it."""
        return self.grammar.examples(expectation, number)

    def check_against(self, other: Language) -> None:
        """Refuse a language that lacks a sentence or a choice which the other one has.

        Raises GrammarError naming the language, and file and line where there is one.
        """
        missing = set(other.grammar.choice_ids()) ^ set(self.grammar.choice_ids())
        if missing:
            raise GrammarError(
                f"{self.vocabulary.name}: found the choices {', '.join(sorted(missing))} in it or "
                f"in {other.vocabulary.name} alone, wanted them in both"
            )
        try:
            self.messages.check_against(other.messages)
        except GrammarError as error:
            raise GrammarError(f"{self.vocabulary.name}: {error}") from error

    def check_voice_check(self) -> None:
        """Refuse voice check words that the grammar does not have, or that mean two things."""
        words = self.voice_check
        known = self.grammar.all_words()
        said = dict.fromkeys((*words.words, *words.beside), "in the voice check")
        said |= dict.fromkeys(self.vocabulary.learned_words, "among the learned words")
        for word, where in said.items():
            if word not in known:
                raise GrammarError(
                    f"{self.vocabulary.name}: found {word!r} {where}, wanted words of the grammar"
                )
        if not set(words.alike) <= set(words.words):
            raise GrammarError(
                f"{self.vocabulary.name}: found words alike that the voice check does not ask for"
            )
        commands = ("stop", "wait", "carry_on", "repeat", "louder", "quieter")
        assert set(commands) <= set(COMMAND_NAMES)  # noqa: S101
        self.grammar.for_step(Expectation(words=(*words.words, *words.beside), commands=commands))
