"""A read-back and the question behind it, said in one breath: "Two eight five? Left arm scale."

It is answered by "yes" and the next reading, by "yes" alone, or by "no". Only an explicit yes
confirms: an answer without one has the read-back said once more. Which question may be asked so its
step says (`behind_read_back`): one for which nothing has to be done by hand first. What comes after
the yes is found by looking ahead, so nothing is asked that would not be asked anyhow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.dialogue import prompts
from companion.dialogue.effects import Say
from companion.dialogue.expected import is_expected
from companion.dialogue.kind import kind_of
from companion.dialogue.state import Mode, Prompt, State
from companion.dialogue.transaction import Transaction
from companion.facts.meanings import NextAnswer
from companion.facts.message import Told, in_a_row
from companion.facts.prompting import AskedBehind, Prompted
from companion.language.expectation import Expectation

KNOWN_BY = "read-back and the next"
FIRST_FEW = 1
"""So often it is said that the next question is for the case of a yes."""
NOT_HEARD = "read-back and the next, not heard"
LEAST_MISSES, MOST_MISSED = 2, 0.25
"""A voice whose answers are refused so often is asked one thing at a time for the rest of the job:
a refusal costs some 7 s, an answer that is heard saves some 2 s (docs/talk.md)."""
MOST_WORDS = 14
"""In one breath: with more a prompt would last longer than six seconds."""


@dataclass(frozen=True)
class ReadBack:
    """An answer said back: `asks` and `reply` in full, `spoken` where less than that is said."""

    step_id: str
    asks: Told
    reply: Told
    expectation: Expectation
    short: Told
    told: Prompted
    spoken: Told | None


@dataclass(frozen=True)
class _Behind:
    """What is asked behind a read-back. `asks`: all of it, for the screen; `spoken`: as said."""

    expectation: Expectation
    asks: Told
    spoken: str
    told: AskedBehind


def say_back(tx: Transaction, back: ReadBack) -> None:
    """Say it back; with the next question behind it where that may be."""
    behind = _found(tx, back, back.spoken) if back.spoken is not None else None
    expectation, told, spoken = back.expectation, back.told, back.spoken
    if behind is not None and spoken is not None:
        expectation = replace(expectation, then=behind.expectation)
        told = replace(told, behind=behind.told)
        spoken = _in_a_row(tx, spoken, behind)
    tx.ask(
        back.step_id,
        back.asks,
        expectation,
        reply=back.reply,
        short=back.short,
        spoken=spoken,
        behind=behind.asks if behind is not None else "",
        purpose="read_back",
        mode=Mode.CONFIRMING,
        told=told,
    )


def _found(tx: Transaction, back: ReadBack, spoken_back: Told) -> _Behind | None:
    """What to ask behind this read-back; None where it stands alone.

    It does after a miss, a doubt or a break, for a voice that is too often not heard so, and where
    the next thing is no question that may be asked so, or is too long.
    """
    state = tx.state
    if not state.lexicon.yes_and_next or _is_seldom_heard(state):
        return None
    in_trouble = state.no_matches or state.silences or state.doubted is not None
    if tx.yes is None or in_trouble or state.in_full or state.one_by_one:
        return None
    ahead = Transaction(replace(state, mode=Mode.CONFIRMING))
    tx.yes(ahead)
    prompt = ahead.state.prompt
    spoken = [effect.text for effect in ahead.effects if isinstance(effect, Say)]
    if ahead.state.mode is not Mode.ASKING or prompt is None or len(spoken) != 1:
        return None
    if prompt.expectation.yes_no:
        # A second yes behind the first would say nothing of which is meant.
        return None
    step = state.plan.step(prompt.step_id)
    if ahead.state.said_first or not kind_of(state.plan, step).asked_behind_read_back(step):
        return None
    if len(f"{tx.words(spoken_back)} {spoken[0]}".split()) > MOST_WORDS:
        return None
    expectation = _answers(prompt)
    if set(expectation.choices) & set(back.expectation.choices):
        return None
    asks = prompt.told
    told = AskedBehind(step.id, asks.answer, asks.number, asks.also, asks.choices)
    return _Behind(expectation, in_a_row(prompt.ask, prompt.reply), spoken[0], told)


def count_miss(tx: Transaction) -> None:
    """Remember an answer to both that was not understood; anything else is not counted."""
    prompt = tx.state.prompt
    if prompt is not None and prompt.expectation.then is not None:
        misses = tx.state.told.get(NOT_HEARD, 0)
        tx.change(told={**tx.state.told, NOT_HEARD: misses + 1})


def _is_seldom_heard(state: State) -> bool:
    asked, misses = (state.told.get(what, 0) for what in (KNOWN_BY, NOT_HEARD))
    return misses >= LEAST_MISSES and misses >= MOST_MISSED * asked


def _in_a_row(tx: Transaction, said_back: Told, behind: _Behind) -> Told:
    """Both as they are spoken; the first few times with what the second is for."""
    times = tx.state.told.get(KNOWN_BY, 0)
    tx.count(KNOWN_BY)
    between = prompts.IF_YES if times < FIRST_FEW else ""
    return in_a_row(said_back, between, behind.spoken)


def was_asked(tx: Transaction, then: NextAnswer | None = None) -> bool:
    """Whether the yes leads to what the open prompt asked behind its read-back.

    `then`: and that takes this answer.
    """
    prompt = tx.state.prompt
    if tx.yes is None or prompt is None or prompt.expectation.then is None:
        return False
    ahead = Transaction(tx.state)
    tx.yes(ahead)
    following = ahead.state.prompt
    leads_there = (
        ahead.state.mode is Mode.ASKING
        and following is not None
        and _answers(following) == prompt.expectation.then
    )
    if not leads_there or following is None:
        return False
    return then is None or is_expected(following.expectation, then)


def alone(prompt: Prompt) -> Prompt:
    """The read-back without what was asked behind it: that is asked again after the yes."""
    expectation = replace(prompt.expectation, then=None)
    return replace(prompt, expectation=expectation, told=replace(prompt.told, behind=None))


def _answers(prompt: Prompt) -> Expectation:
    """What answers the prompt itself."""
    return replace(prompt.expectation, commands=())
