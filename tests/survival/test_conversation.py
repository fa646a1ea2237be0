"""Any event in any state: nothing is taken without a yes, decided when stale, or turned too far."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from companion.dialogue import answering, checking_voice, commanding, machine, transitions
from companion.dialogue.events import Event
from companion.dialogue.state import Mode, State, WordHeard
from companion.dialogue.transitions import Then
from companion.dialogue.voice_check import expectation_in
from companion.facts.meanings import COMMAND_NAMES, Choice, Command, Done, No, Number, Word, Yes
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, How, Refused, Silent
from companion.job.loader import JobPaths
from companion.job.plan import Plan
from companion.runtime import assembly
from tests.spoken import DIRECTIONS, UNITS
from tests.survival.broken import Broken
from tests.survival.conversation import REASONS, Walk, walks

EVENTS_IN_A_BATCH = 5_000
LOADED, GRAMMAR = assembly.load(JobPaths()), assembly.language()

sizes = st.integers(0, 2_000_000).flatmap(
    lambda whole: st.integers(0, 4).map(lambda places: Decimal(whole).scaleb(-places))
)
numbers = st.builds(
    Number,
    sizes,
    st.sampled_from([None, *DIRECTIONS]),
    st.sampled_from([None, *UNITS]),
)
meanings = st.one_of(
    st.sampled_from([Yes(), No(), Done()]),
    numbers,
    st.sampled_from(GRAMMAR.choice_ids()).map(Choice),
    st.sampled_from(COMMAND_NAMES).map(Command),
    st.sampled_from(expectation_in(assembly.language()).words).map(Word),
)


class AnyConversation(RuleBasedStateMachine):
    """Hypothesis chooses what happens next, and shortens what breaks."""

    @initialize(seed=st.integers(0, 10_000))
    def begin(self, seed: int) -> None:
        self.walk = Walk(LOADED, GRAMMAR, seed)

    def open_id(self) -> str:
        prompt = self.walk.state.prompt
        return prompt.id if prompt is not None else "p1"

    @precondition(lambda self: self.walk.state.mode is not Mode.CLOSED)
    @rule(answers=st.integers(1, 60))
    def the_technician_works(self, answers: int) -> None:
        for _ in range(answers):
            if self.walk.state.mode is not Mode.CLOSED:
                self.walk.do(self.walk.meant())

    @rule(meaning=meanings)
    def anything_is_heard(self, meaning: Any) -> None:
        self.walk.do(Heard(self.open_id(), meaning))

    @rule(meaning=meanings, number=st.integers(0, 400))
    def it_was_meant_for_another_prompt(self, meaning: Any, number: int) -> None:
        self.walk.do(Heard(f"p{number}", meaning))

    @rule(back=st.integers(1, 30))
    def an_event_comes_twice(self, back: int) -> None:
        self.walk.do(self.walk.events[-min(back, len(self.walk.events))])

    @rule(first=meanings, second=meanings)
    def two_keys_at_once(self, first: Any, second: Any) -> None:
        prompt_id = self.open_id()
        self.walk.do(Heard(prompt_id, first))
        self.walk.do(Heard(prompt_id, second))

    @rule(reason=st.sampled_from(REASONS))
    def a_noise(self, reason: str) -> None:
        self.walk.do(Refused(self.open_id(), reason, How("yes")))

    @rule(waited_s=st.floats(allow_nan=False, allow_infinity=False))
    def nothing_for_any_time(self, waited_s: float) -> None:
        self.walk.do(Silent(self.open_id(), waited_s))

    @rule()
    def the_power_goes(self) -> None:
        self.walk.check_replay()
        self.walk.do(Resumed())

    @rule()
    def the_job_is_opened_again(self) -> None:
        self.walk.do(Opened())

    @invariant()
    def the_record_leads_to_here(self) -> None:
        if hasattr(self, "walk") and len(self.walk.events) % 16 == 0:
            self.walk.check_replay()


AnyConversation.TestCase.settings = settings(
    max_examples=60,
    stateful_step_count=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
TestAnyConversation = AnyConversation.TestCase


@pytest.mark.parametrize("batch", range(4))
def test_twenty_thousand_events_in_four_batches(batch: int) -> None:
    """The benchmark `survive` does as many as it is told to."""
    seen = walks(100 + batch, EVENTS_IN_A_BATCH, share=0.1 + 0.1 * batch)
    assert seen["events"] >= EVENTS_IN_A_BATCH
    for fact in ("accepted", "decided", "taken_back", "late"):
        assert seen[f"fact {fact}"] > 10, fact
    # Among so many slips few walks come as far as the aim, or say yes to the voice check.
    for fact in ("aim_decided", "voice_checked"):
        assert seen[f"fact {fact}"] > 1, fact


ADVANCES = (Mode.ASKING, Mode.STOPPED)


def _accepts_a_no(monkeypatch: pytest.MonkeyPatch) -> None:
    table = {**transitions.TRANSITIONS}
    table[Mode.CONFIRMING] = {
        **table[Mode.CONFIRMING],
        transitions.EventKind.NO: Then(answering.accept, *ADVANCES),
    }
    monkeypatch.setattr(transitions, "TRANSITIONS", table)


def _takes_late_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    def careless(event: Event, state: State) -> transitions.EventKind:
        if isinstance(event, Heard) and state.prompt is not None:
            event = replace(event, prompt_id=state.prompt.id)
        return transitions.kind_of(event, state)

    monkeypatch.setattr(machine, "kind_of", careless)


def _forgets_what_depends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Plan, "with_dependents", lambda self, step_ids: frozenset(step_ids))


def _forgets_the_check_when_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    table = {**transitions.TRANSITIONS}
    table[Mode.CHECKING_VOICE] = {
        **table[Mode.CHECKING_VOICE],
        transitions.EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
    }
    monkeypatch.setattr(transitions, "TRANSITIONS", table)


def _hears_what_it_wants(monkeypatch: pytest.MonkeyPatch) -> None:
    def flattering(asked: str, taken: str, how: How) -> WordHeard:
        return WordHeard(asked, asked, 1.0)

    monkeypatch.setattr(checking_voice, "word_heard", flattering)


def _wanders(monkeypatch: pytest.MonkeyPatch) -> None:
    """A handler that leads to a mode which its row of the table does not name."""
    table = {**transitions.TRANSITIONS}
    asking = table[Mode.ASKING]
    wait = Then(commanding.stop, *asking[transitions.EventKind.WAIT].next_modes)
    table[Mode.ASKING] = {**asking, transitions.EventKind.WAIT: wait}
    monkeypatch.setattr(transitions, "TRANSITIONS", table)


FAULTS = (
    *(_accepts_a_no, _takes_late_answers, _forgets_what_depends),
    *(_forgets_the_check_when_stopped, _hears_what_it_wants, _wanders),
)


@pytest.mark.parametrize("fault", FAULTS)
def test_the_watch_would_notice(
    fault: Callable[[pytest.MonkeyPatch], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    fault(monkeypatch)
    with pytest.raises(Broken):
        walks(7, 20_000, share=0.3)
