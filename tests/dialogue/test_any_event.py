"""Any event in any state: random conversations with a technician who says just anything."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.dialogue.events import Event
from companion.dialogue.expected import is_expected
from companion.dialogue.machine import begin, replay, step
from companion.dialogue.state import Mode, State
from companion.dialogue.transitions import kind_of, then
from companion.facts.kinds import body_of, fact_of
from companion.facts.meanings import COMMAND_NAMES, Choice, Command, Done, No, Number, Word, Yes
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, How, Refused, Silent
from companion.record.canonical import canonical_json, parsed_json
from tests.spoken import DIRECTIONS, UNITS

WALKS_IN_A_BATCH = 100
STEPS_IN_A_WALK = 12


def any_meaning(random: Random, grammar):
    """Something that may have nothing to do with what was asked."""
    size = Decimal(random.randrange(0, 2_000_000)).scaleb(-random.randrange(0, 5))
    return random.choice(
        [
            Yes(),
            No(),
            Done(),
            Number(
                size,
                random.choice([None, *DIRECTIONS]),
                random.choice([None, *UNITS]),
            ),
            Choice(random.choice(grammar.choice_ids())),
            Command(random.choice(COMMAND_NAMES)),
            Word(random.choice(["yes", "five", "fifty"])),
        ]
    )


def any_event(random: Random, state: State, grammar) -> Event:
    prompt = state.prompt
    open_id = prompt.id if prompt is not None else "p1"
    chance = random.random()
    if chance < 0.62 and prompt is not None:
        step_grammar = grammar.for_step(prompt.expectation)
        if prompt.expectation.yes_no and chance < 0.25:
            return Heard(open_id, Yes())
        return Heard(open_id, step_grammar.generate(random)[1])
    prompt_id = open_id if random.random() < 0.8 else f"p{random.randrange(1, 99)}"
    if chance < 0.80:
        return Heard(prompt_id, any_meaning(random, grammar))
    if chance < 0.89:
        reason = random.choice(["unsure", "not_in_grammar", "too_loud", "clipped"])
        return Refused(prompt_id, reason, How("yes"))
    if chance < 0.96:
        return Silent(prompt_id, 30.0)
    return Resumed() if chance < 0.99 else Opened()


@pytest.mark.parametrize("seed", range(20))
def test_a_hundred_random_talks_from_any_moment_of_a_job(seed, moments, grammar, always_holds):
    random = Random(seed)
    for _ in range(WALKS_IN_A_BATCH):
        start = state = random.choice(moments)
        events = []
        for _ in range(STEPS_IN_A_WALK):
            event = any_event(random, state, grammar)
            events.append(event)
            before = state
            state, effects = step(before, event)
            always_holds(before, event, state, effects)
            doing = then(before.mode, kind_of(event, before))
            if doing is None:
                assert state == before
            else:
                assert state.mode in doing.next_modes, (before.mode, doing)
        assert replay(start, events) == state


def test_the_moments_reach_into_every_part_of_a_job(moments):
    asked = {state.prompt.step_id for state in moments if state.prompt is not None}
    plan = moments[0].plan
    for name in (
        "consent",
        "battery_volt",
        "aim_decision",
        "tool_verdict",
        "finish",
        "tool_yaw_deg",
    ):
        assert name in asked
    modes = {Mode.ASKING, Mode.CONFIRMING, Mode.CLOSED, Mode.CHECKING_VOICE}
    assert {state.mode for state in moments} == modes
    assert any(state.tasks for state in moments)
    assert len(asked) > 0.5 * len(plan.steps)


def test_random_talks_come_into_every_mode(moments, grammar):
    """Whether a correction was begun is asked where one is to be made: few talks come there."""
    random, seen = Random(5), set()
    at_work = [state for state in moments if state.tasks and state.prompt is not None]
    back = [step(state, Heard(state.prompt.id, Command("go_back")))[0] for state in at_work]
    assert Mode.GOING_BACK in {state.mode for state in back}
    for state in (*back, *random.choices(moments, k=500)):
        seen.add(state.mode)
        for _ in range(STEPS_IN_A_WALK):
            state, _ = step(state, any_event(random, state, grammar))
            seen.add(state.mode)
    assert seen == set(Mode)


def test_before_the_job_is_opened_nothing_is_heard(moments):
    unopened = begin(moments[0].plan, moments[0].lexicon)
    for event in (Heard("p1", Yes()), Silent("p1", 30.0), Refused("p1", "unsure", How())):
        state, _ = step(unopened, event)
        assert state.readings == {}
        assert state.answers == {}
        assert state.prompt is None


def test_what_the_grammar_lets_through_is_what_the_dialogue_expects(moments, grammar):
    """The gate in front and the dialogue's own agree, so no good answer is turned away."""
    random = Random(11)
    prompts = {state.prompt.expectation for state in moments if state.prompt is not None}
    assert len(prompts) > 25
    for expectation in prompts:
        step_grammar = grammar.for_step(expectation)
        for _ in range(60):
            _, meaning = step_grammar.generate(random)
            assert is_expected(expectation, meaning), (expectation, meaning)


@settings(max_examples=200, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_an_event_comes_back_from_the_record_as_it_was(moments, grammar, seed):
    random = Random(seed)
    event = any_event(random, random.choice(moments), grammar)
    body = parsed_json(canonical_json(body_of(event)))
    assert fact_of(event.KIND, body) == event
