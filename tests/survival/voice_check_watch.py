"""What must hold in a voice check: it tells of the hearing, ends, and takes nothing of the job."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from companion.dialogue.events import Event
from companion.dialogue.kind import kind_of
from companion.dialogue.state import Mode, State, VoiceCheck
from companion.facts.meanings import Command, Word
from companion.facts.opening import Opened
from companion.facts.talking import Heard, Refused, Silent
from companion.record import Entry
from companion.steps.correction.model import Correction
from tests.spoken import said
from tests.survival.broken import must

WORDS_OF_A_CHECK = 10
SILENCES_OF_A_CHECK = 2
OF_THE_JOB = (
    *("readings", "takes", "answers", "done", "results", "pending", "tasks", "rounds", "kept"),
    *("history", "last_moves", "keep_sound"),
)
BY_ITSELF = ("done", "results")


@dataclass
class VoiceCheckWatch:
    """Watches the check of one conversation, with an account of its own of what was heard."""

    right: int = 0
    mistaken: int = 0

    def check(self, before: State, event: Event, after: State, facts: Iterable[Entry]) -> None:
        """Raise Broken where the check did what it must not."""
        told = [fact for fact in facts if fact.kind == "voice_checked"]
        left = before.voice_check is not None and after.voice_check is None
        must(len(told) == left, "a voice check ended in silence, or was told twice", told)
        judged = any("asked" in fact.body for fact in told)
        if not (judged or isinstance(event, Opened)):
            # Only a check made to its end may take the place of what an earlier one found.
            for name in ("least_confidence", "digit_by_digit"):
                kept = getattr(before, name) == getattr(after, name)
                must(kept, f"{name} changed without a check", event)
        if before.mode is Mode.CHECKING_VOICE:
            self._hear(before, event)
            for name in OF_THE_JOB:
                kept = getattr(before, name) == getattr(after, name)
                must(kept or name in BY_ITSELF, f"a voice check changed {name}", event)
            self._did_only_what_nobody_is_asked(before, after)
            if _is_for(before, event) and not _is_a_command(event):
                self._went_on(before, event, after)
        if after.mode is Mode.CHECKING_VOICE:
            self._asks_for_nothing_of_the_job(after)
        for fact in told:
            self._tells_what_was_heard(fact)

    def _did_only_what_nobody_is_asked(self, before: State, after: State) -> None:
        """Once the check is over, the job goes on to its first question."""
        steps = after.plan.steps
        unasked = {step.id for step in steps if not kind_of(after.plan, step).asks}
        names = {step.result for step in steps if isinstance(step, Correction)}
        must(before.done <= after.done <= before.done | unasked, "a voice check changed done")
        same = {name: after.results[name] for name in after.results.keys() - names}
        must(same == {n: r for n, r in before.results.items() if n not in names}, "results changed")

    def _hear(self, before: State, event: Event) -> None:
        """Count a word as somebody would who listens along."""
        if not (isinstance(event, Heard) and isinstance(event.meaning, Word)):
            return
        assert before.prompt is not None
        wanted = before.prompt.expectation.words
        if event.prompt_id == before.prompt.id and event.meaning.text in wanted:
            as_asked = f" {event.meaning.text}." in said(before.prompt.ask).lower()
            self.right += as_asked
            self.mistaken += not as_asked

    def _went_on(self, before: State, event: Event, after: State) -> None:
        """Each answer, and each silence, brings the end nearer."""
        understood = not isinstance(event, Heard) or _takes(before, event)
        if not understood or after.voice_check is None:
            return
        must(_place(after.voice_check) > _place(before.voice_check), "a voice check stood still")
        must(len(after.voice_check.heard) < WORDS_OF_A_CHECK, "a voice check has no end")
        must(after.voice_check.silences < SILENCES_OF_A_CHECK, "a voice check waits for nobody")

    def _asks_for_nothing_of_the_job(self, after: State) -> None:
        assert after.prompt is not None
        must(after.voice_check is not None, "a voice check without a check", after.prompt)
        wanted = after.prompt.expectation
        asked = wanted.number or wanted.choices or wanted.done
        must(not asked, "a voice check asks for something of the job", wanted)

    def _tells_what_was_heard(self, fact: Entry) -> None:
        if "asked" not in fact.body:
            return
        must(fact.body["asked"] == WORDS_OF_A_CHECK, "a check was judged too early", fact)
        must(fact.body["right"] == self.right, "a check counts what was not said", fact)
        must(len(fact.body["confused"]) == self.mistaken, "a check hides a mistake", fact)
        good = fact.body["outcome"] == "well"
        must(not (good and self.mistaken), "a mistake was called hearing well", fact)


def _is_for(state: State, event: Event) -> bool:
    """Whether the event is an answer to the open prompt, or the lack of one."""
    if not isinstance(event, Heard | Refused | Silent) or state.prompt is None:
        return False
    return event.prompt_id == state.prompt.id


def _is_a_command(event: Event) -> bool:
    return isinstance(event, Heard) and isinstance(event.meaning, Command)


def _takes(state: State, event: Heard) -> bool:
    """Whether the check's prompt waits for such an answer: a yes or no, or one of its words."""
    assert state.prompt is not None
    wanted = state.prompt.expectation
    if isinstance(event.meaning, Word):
        return event.meaning.text in wanted.words
    return wanted.yes_no and type(event.meaning).__name__ in ("Yes", "No")


def _place(check: VoiceCheck | None) -> tuple[bool, int, int]:
    assert check is not None
    return check.begun, len(check.heard), check.silences
