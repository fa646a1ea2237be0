"""The proof that nothing can be said in two ways agrees with listing everything that can."""

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.facts.meanings import No, Yes
from companion.language.ambiguity import find_two_ways
from companion.language.automaton import Automaton
from companion.language.expectation import Expectation
from companion.language.grammar import StepGrammar
from companion.language.step_rules import TOP, StepLine, StepRules
from companion.language.telling import all_phrases
from companion.language.template import Chain, Either, Maybe, Slot, Word

words = st.sampled_from("abc").map(Word)


def rules_of(lines, part_lines):
    return StepRules(
        {
            TOP: tuple(StepLine(phrase, None, f"line {n}") for n, phrase in enumerate(lines)),
            "part": tuple(
                StepLine(phrase, None, f"part {n}") for n, phrase in enumerate(part_lines)
            ),
        }
    )


def grown(inner):
    return st.one_of(
        st.lists(inner, min_size=2, max_size=3).map(lambda parts: Either(tuple(parts))),
        st.lists(inner | inner.map(Maybe), min_size=1, max_size=3)
        .filter(lambda parts: not all(isinstance(part, Maybe) for part in parts))
        .map(lambda parts: Chain(tuple(parts))),
    )


small = st.recursive(words, grown, max_leaves=4)
whole = st.recursive(words | st.just(Slot("part", "part")), grown, max_leaves=6)


@settings(max_examples=600, deadline=None)
@given(st.lists(whole, min_size=1, max_size=3), st.lists(small, min_size=1, max_size=3))
def test_a_phrase_with_two_ways_is_found_exactly_when_there_is_one(lines, part_lines):
    # The part is always used, as the reader of the files makes sure.
    rules = rules_of([*lines, Chain((Word("d"), Slot("part", "part")))], part_lines)
    ways = Counter(
        phrase for line in rules.rules[TOP] for phrase in all_phrases(rules, line.phrase)
    )
    assert (find_two_ways(Automaton(rules)) is not None) == (max(ways.values()) > 1)


def test_should_two_meanings_ever_remain_the_gate_refuses_the_phrase():
    rules = StepRules(
        {
            TOP: (
                StepLine(Word("a"), Yes(), "line 1"),
                StepLine(Word("a"), No(), "line 2"),
                StepLine(Word("b"), No(), "line 3"),
            )
        }
    )
    step = StepGrammar(rules, Expectation(yes_no=True), ())
    assert step.parse("a") is None
    assert step.parse("b") == No()


def test_the_doubled_phrase_and_both_places_are_named():
    lines = [Chain((Word("a"), Maybe(Word("b")), Word("c"))), Chain((Word("a"), Word("c")))]
    found = find_two_ways(Automaton(rules_of(lines, [Word("a")])))
    assert found is not None
    assert (found.phrase, {found.first, found.second}) == ("a c", {"line 0", "line 1"})
