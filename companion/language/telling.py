"""Phrases out of the rules of a prompt: one at random, all of a small rule, all the words."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import product
from typing import assert_never

from companion.language.step_rules import StepRules
from companion.language.template import Chain, Either, Maybe, Node, Slot, Word
from companion.language.values import Found, Given, give


def random_phrase(
    rules: StepRules, name: str, generator: random.Random
) -> tuple[tuple[str, ...], Given]:
    """A phrase of the rule and what it gives; every line and every part has an equal chance."""
    line = generator.choice(rules.rules[name])
    words, found = _random_node(rules, line.phrase, generator)
    return words, give(line.gives, found)


def all_phrases(rules: StepRules, node: Node) -> Iterator[tuple[str, ...]]:
    """Every phrase of a part. For fixed answers only: numbers have millions."""
    match node:
        case Word(text):
            yield (text,)
        case Slot(rule):
            for line in rules.rules[rule]:
                yield from all_phrases(rules, line.phrase)
        case Maybe(part):
            yield ()
            yield from all_phrases(rules, part)
        case Either(parts):
            for each in parts:
                yield from all_phrases(rules, each)
        case Chain(parts):
            for pieces in product(*(tuple(all_phrases(rules, part)) for part in parts)):
                yield tuple(word for piece in pieces for word in piece)
        case _:
            assert_never(node)


def words_of(node: Node) -> Iterator[str]:
    """The words written in a part itself, its slots not followed."""
    match node:
        case Word(text):
            yield text
        case Slot():
            return
        case Maybe(part):
            yield from words_of(part)
        case Either(parts) | Chain(parts):
            for each in parts:
                yield from words_of(each)
        case _:
            assert_never(node)


def _random_node(
    rules: StepRules, node: Node, generator: random.Random
) -> tuple[tuple[str, ...], Found]:
    match node:
        case Word(text):
            return (text,), ()
        case Slot(rule, label):
            words, given = random_phrase(rules, rule, generator)
            return words, ((label, given),)
        case Maybe(part):
            return _random_node(rules, part, generator) if generator.random() < 0.5 else ((), ())
        case Either(parts):
            return _random_node(rules, generator.choice(parts), generator)
        case Chain(parts):
            pieces = [_random_node(rules, part, generator) for part in parts]
            return (
                tuple(word for words, _ in pieces for word in words),
                tuple(pair for _, found in pieces for pair in found),
            )
        case _:
            assert_never(node)
