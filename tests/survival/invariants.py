"""What must hold after every event of any conversation, kept track of apart from the dialogue.

The watch sees only what goes in (events) and what comes out (facts and prompts). It keeps its own
account of which reading is current and when each result was computed, so that it would notice a
dialogue that decides on something stale.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from companion.dialogue.effects import Close, Effect, Listen, Record, Say
from companion.dialogue.events import Event
from companion.dialogue.machine import step
from companion.dialogue.state import Mode, State
from companion.dialogue.transitions import kind_of, then
from companion.facts.kinds import Entry, body_of
from companion.facts.kinds import kind_of as kind_of_fact
from companion.facts.meanings import Command, Confirmed, Yes
from companion.facts.talking import Heard, Refused, Said, Silent
from companion.steps.aim.state import aim_round
from companion.steps.computation.model import Computation
from companion.steps.reading.model import Reading
from companion.steps.visit_end.model import VisitEnd
from companion.steps.visit_end.run import known
from tests.spoken import said
from tests.survival.broken import must
from tests.survival.voice_check_watch import VoiceCheckWatch


@dataclass
class Watch:
    """Watches one conversation. `check` is called with every step that the dialogue takes."""

    plan: Any
    can_say_stop: Callable[[State], bool]
    clock: int = 0
    current: dict[str, tuple[str, int]] = field(default_factory=dict)
    computed: dict[str, int] = field(default_factory=dict)
    read_back: dict[str, str] = field(default_factory=dict)
    voice_check: VoiceCheckWatch = field(default_factory=VoiceCheckWatch)

    def check(self, before: State, event: Event, after: State, effects: Iterable[Effect]) -> None:
        """Raise Broken when this step did something that must never happen."""
        told = tuple(effects)
        self.clock += 1
        self._modes_are_those_of_the_table(before, event, after)
        kept = [effect.fact for effect in told if isinstance(effect, Record)]
        facts = [Entry(kind_of_fact(fact), body_of(fact)) for fact in kept]
        self._answers_belong_to_their_prompt(before, event, after)
        self._speech_is_plain(told)
        self._one_prompt_at_the_end(before, after, told)
        self._only_yes_accepts(before, event, after, facts)
        self.voice_check.check(before, event, after, facts)
        for fact in facts:
            self._account(fact)
        self._screws_stay_in_travel(after, facts)
        self._stop_leads_out(after)

    def _modes_are_those_of_the_table(self, before: State, event: Event, after: State) -> None:
        doing = then(before.mode, kind_of(event, before))
        allowed = doing.next_modes if doing is not None else (Mode.CLOSED,)
        must(
            after.mode in allowed,
            "a handler led to a mode that it does not name",
            doing,
            after.mode,
        )

    def _answers_belong_to_their_prompt(self, before: State, event: Event, after: State) -> None:
        late = isinstance(event, Heard | Refused | Silent) and (
            before.prompt is None or event.prompt_id != before.prompt.id
        )
        if late or before.mode is Mode.CLOSED:
            kept = ("readings", "answers", "done", "results", "pending", "tasks", "kept", "mode")
            for name in kept:
                must(
                    getattr(before, name) == getattr(after, name),
                    f"a late answer changed {name}",
                    event,
                )

    def _speech_is_plain(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            if isinstance(effect, Say):
                bad = [c for c in effect.text if c.isdigit() or c in "+−±{}_"]
                must(not bad and effect.text.strip(), "not to be spoken", effect.text)
                must(0 < effect.volume <= 1, "loudness", effect.volume)

    def _one_prompt_at_the_end(
        self, before: State, after: State, effects: tuple[Effect, ...]
    ) -> None:
        listens = [effect for effect in effects if isinstance(effect, Listen)]
        if after.mode is Mode.CLOSED:
            must(not listens, "a closed job listens")
            must(
                before.mode is Mode.CLOSED or isinstance(effects[-1], Close),
                "a job closed without saying so",
            )
            return
        if after.prompt is None:
            must(not listens, "listens without a prompt")
            return
        must(len(listens) == 1 and effects[-1] is listens[0], "one prompt, at the end", effects)
        must(listens[0].prompt_id == after.prompt.id, "listens under another prompt")
        must(listens[0].expectation == after.prompt.expectation, "listens for another thing")
        for effect in effects:
            if isinstance(effect, Record) and isinstance(effect.fact, Said):
                said = effect.fact
                if said.purpose == "read_back":
                    self.read_back[said.prompt_id or ""] = said.text

    def _only_yes_accepts(
        self, before: State, event: Event, after: State, facts: list[Entry]
    ) -> None:
        taken = [fact for fact in facts if fact.kind in ("accepted", "answered")]
        new = [n for n, t in after.readings.items() if before.readings.get(n) != t]
        new += [n for n, c in after.answers.items() if before.answers.get(n) != c]
        # Whether another sensor follows is nobody's answer where the visit's list tells it.
        new = [n for n in new if not (isinstance(self.plan.step(n), VisitEnd) and known(after))]
        together = before.prompt.told.together if before.prompt is not None else ()
        most = max(1, len(together))
        must(len(taken) <= most and len(new) <= len(taken), "something was taken in silence", new)
        if len(taken) > 1:
            said_back = {(one.step_id, one.spoken) for one in together}
            yes_to = {(fact.body["reading_id"], fact.body["spoken"]) for fact in taken}
            must(yes_to == said_back, "yes was said to others than these", yes_to, said_back)
        for fact in taken:
            must(isinstance(event, Heard), "taken without a word", event)
            assert isinstance(event, Heard)
            # A yes may have the answer to the question behind the read-back right behind it.
            said_yes = isinstance(event.meaning, Yes | Confirmed)
            must(said_yes, "taken without a yes", event)
            must(
                before.prompt is not None and before.prompt.id == event.prompt_id,
                "taken by a yes to another prompt",
                event,
            )
            words = fact.body.get("spoken") or before.lexicon.choice_name(fact.body["choice"])
            # A read-back may be repeated under a new id; what was last asked is what counts.
            asked = said(before.prompt.ask) if before.prompt is not None else ""
            if together:
                asked = " ".join(one.spoken for one in together)
            must(words.lower() in asked.lower(), "yes was said to something else", words, asked)

    def _account(self, fact: Entry) -> None:
        body = fact.body
        match fact.kind:
            case "accepted":
                self.current[body["reading_id"]] = (body["value"], self.clock)
            case "taken_back":
                self._forget(body["step_ids"])
            case "not_allowed":
                self.current.pop(body["step_id"], None)
            case "computed":
                self._inputs_are_current(body)
                for name in body["outputs"]:
                    self.computed[name] = self.clock
            case "decided":
                self._is_fresh(body["result"])
            case "aim_decided":
                decision = self.plan.step(body["step_id"])
                self._is_fresh(decision.yaw)
                self._is_fresh(decision.elevation)
            case _:
                pass

    def _forget(self, step_ids: Iterable[str]) -> None:
        for step_id in step_ids:
            self.current.pop(step_id, None)
            if "/" in step_id:  # One item of a list of things to do.
                continue
            gone = self.plan.step(step_id)
            if isinstance(gone, Computation):
                for result in gone.outputs.values():
                    self.computed.pop(result, None)

    def _inputs_are_current(self, body: Mapping[str, Any]) -> None:
        for given in body["inputs"].values():
            name = str(given["source"]).removeprefix("minus ")
            sign = -1 if str(given["source"]).startswith("minus ") else 1
            if self._is_reading(name):
                must(name in self.current, "computed from a reading that is not current", name)
                value = sign * float(self.current[name][0])
                must(abs(value - given["value"]) < 1e-9, "computed from another value", name)

    def _is_fresh(self, name: str) -> None:
        """The result (or reading) and everything it came from is current and not newer than it."""
        if self._is_reading(name):
            must(name in self.current, "decided on a reading that is not current", name)
            return
        producers = [
            s
            for s in self.plan.steps
            if isinstance(s, Computation) and name in s.outputs.values() and name in self.computed
        ]
        must(name in self.computed, "decided on a result that was taken back", name)
        made = self.computed[name]
        for producer in producers[:1] if len(producers) == 1 else ():
            for source in producer.inputs.values():
                if not isinstance(source, str):
                    continue
                inner = source.removeprefix("minus ")
                if self._is_reading(inner):
                    must(inner in self.current, "decided on a stale reading", name, inner)
                    must(self.current[inner][1] <= made, "a newer reading was left out", inner)
                elif inner in self.computed:
                    must(self.computed[inner] <= made, "a newer result was left out", inner)

    def _is_reading(self, name: str) -> bool:
        return any(isinstance(s, Reading) and s.id == name for s in self.plan.steps)

    def _screws_stay_in_travel(self, after: State, facts: list[Entry]) -> None:
        aim = aim_round(after)
        if aim is None:
            return
        screws = after.plan.files.mount.screws
        for screw, turned in zip(screws, aim.turned, strict=True):
            low = -Fraction(screw.travel_anticlockwise_turns).limit_denominator(64)
            high = Fraction(screw.travel_clockwise_turns).limit_denominator(64)
            if any(fact.kind == "screw_plan" for fact in facts):
                must(low <= turned <= high, "a screw was told beyond its travel", screw.id, turned)

    def _stop_leads_out(self, after: State) -> None:
        if after.mode in (Mode.CLOSED, Mode.STOPPED) or after.prompt is None:
            return
        must(self.can_say_stop(after), "no stop in what may be said here", after.prompt)
        stopped, _ = step(after, Heard(after.prompt.id, Command("stop")))
        must(stopped.mode is Mode.STOPPED, "stop did not stop", after.mode)
        must(stopped.readings == after.readings, "stop lost a reading")
        if after.mode is Mode.CHECKING_VOICE:
            must(stopped.voice_check is None, "stop did not end the voice check")
