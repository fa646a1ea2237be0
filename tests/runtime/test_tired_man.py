"""A tired man types what is no answer, at every prompt of a job: each is answered, none is taken.

The job goes its way with a simulated technician; at every prompt the conversation is tried, beside
it, with each wrong line. What it does then is thrown away: the state is a value.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from companion.dialogue.effects import Listen, Record, Say
from companion.dialogue.events import Event
from companion.dialogue.machine import step
from companion.dialogue.state import Mode, State
from companion.facts.answers import Accepted, Answered, Done, Implausible
from companion.facts.message import Amount
from companion.facts.opening import Resumed
from companion.facts.prompting import Prompted
from companion.facts.talking import TYPED, Heard, How, Refused, Said
from companion.job.loader import JobPaths
from companion.language.language import Language
from companion.recognition.into import Begun
from companion.record.memory import MemoryLog
from companion.runtime import assembly, loop
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.technician import Technician
from companion.speech.silent import SilentVoice

LINES = {
    "en": (
        "left",
        "what does it want now",
        "12 cm",
        "1 inch",
        "-12",
        "+12",
        "12,5",
        "about 400",
        "same",
        "same as before",
        "I don't know",
        "later on",
        "skip",
        "12 12 12 12",
        "99999",
        "1e3",
        "one two three " * 13,
    ),
    "es": (
        "izquierda",
        "qué quiere ahora",
        "12 cm",
        "-12",
        "12,5",
        "más o menos 400",
        "igual",
        "lo mismo",
        "no sé",
        "99999",
        "uno dos tres " * 13,
    ),
}
RESTING = {"en": ("stop", "wait"), "es": ("alto", "espera")}


def typed(language: Language, listening: Listen, line: str) -> Event:
    """The line as the loop makes an event of it."""
    grammar = language.for_step(listening.expectation)
    words = assembly.typed_words(language, line, grammar)
    meaning = grammar.parse(words)
    how = How(words, TYPED, None)
    if meaning is not None:
        return Heard(listening.prompt_id, meaning, how)
    missing = language.missing(listening.expectation, words)
    return Refused(listening.prompt_id, "not_in_grammar", how, missing)


class TiredMan:
    """Tries every line at every prompt that is opened, and at rest behind it."""

    def __init__(self, language: Language) -> None:
        self._language = language
        self.tried = 0
        self.unhelpful: list[str] = []

    def at(self, state: State, listening: Listen) -> None:
        for now, asked in ((state, listening), *self._at_rest(state, listening)):
            for line in LINES[self._language.code]:
                self._try(now, asked, line)

    def _at_rest(self, state: State, listening: Listen) -> Iterator[tuple[State, Listen]]:
        if state.mode is not Mode.ASKING:
            return
        words = RESTING[self._language.code]
        for event in (*(typed(self._language, listening, each) for each in words), Resumed()):
            after, effects = step(state, event)
            yield after, next(effect for effect in effects if isinstance(effect, Listen))

    def _try(self, state: State, listening: Listen, line: str) -> None:
        event = typed(self._language, listening, line)
        after, effects = step(state, event)
        self.tried += 1
        where = f"{listening.prompt_id} {state.mode.value} {line[:20]!r}"
        if not any(isinstance(effect, Say) for effect in effects):
            self.unhelpful.append(f"{where}: silence")
        facts = [effect.fact for effect in effects if isinstance(effect, Record)]
        if any(isinstance(fact, Accepted | Answered | Done) for fact in facts):
            self.unhelpful.append(f"{where}: taken")
        if isinstance(event, Refused):
            said = next(fact for fact in facts if isinstance(fact, Said) and fact.prompt_id)
            self._led_on(after, said, where)

    def _led_on(self, state: State, said: Said, where: str) -> None:
        """Whether an example is given, and each that is given would be taken, and not doubted."""
        before = said.messages.get("before")
        if before is None or before.id not in ("does-not-fit", "does-not-fit-or", "which-way"):
            self.unhelpful.append(f"{where}: {said.text}")
            return
        example = before.args.get("example")
        if isinstance(example, Amount):
            examples: tuple[object, ...] = (self._language.speaker.say_amount(example),)
        else:
            examples = (before.args["examples"], before.args.get("ways", ()))
            examples = tuple(each for few in examples if isinstance(few, tuple) for each in few)
        assert state.prompt is not None
        listening = Listen(state.prompt.id, state.prompt.expectation, 1.0, False)
        for each in examples:
            event = typed(self._language, listening, str(each))
            doubted = isinstance(event, Heard) and _is_doubted(state, event)
            if isinstance(event, Refused) or doubted:
                self.unhelpful.append(f"{where}: {said.text} / {each}")


def _is_doubted(state: State, event: Event) -> bool:
    """Behind a move any other figure than the wanted one is: no example should tell that one."""
    if state.prompt is not None and state.prompt.step_id in state.targets:
        return False
    _, effects = step(state, event)
    return any(isinstance(e, Record) and isinstance(e.fact, Implausible) for e in effects)


@pytest.mark.parametrize("code", ["en", "es"])
def test_no_wrong_line_is_taken_or_met_with_silence(
    code: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    language = assembly.language(code)
    loaded = assembly.load(JobPaths(), language)
    man = TiredMan(language)
    met: set[tuple[str, Mode]] = set()
    listen = loop.listen

    def looked_at(
        room: loop.Room, said_in: Language, state: State, listening: Listen, begun: Begun | None
    ) -> Event:
        assert state.prompt is not None
        here = (state.prompt.step_id, state.mode)
        if here not in met:
            met.add(here)
            man.at(state, listening)
        return listen(room, said_in, state, listening, begun)

    monkeypatch.setattr(loop, "listen", looked_at)
    rehearsal = make_rehearsal(loaded, 4, language=language, spread=HARDER)
    ended = run_rehearsal(loaded, language, rehearsal, SilentVoice(), MemoryLog())
    assert ended.state.result == "inside"
    assert len(met) > 60
    # Some 160 places of a job, each with every line.
    assert man.tried > 140 * len(LINES[code])
    assert man.unhelpful == []


def test_going_back_once_at_every_prompt_still_comes_to_the_result(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each is one step that he can name; what was turned is not turned again."""
    language = assembly.language("en")
    loaded = assembly.load(JobPaths(), language)
    listen, done = loop.listen, Technician._do
    went_back: set[tuple[str, str]] = set()
    again: list[str] = []
    did: dict[str, Said] = {}

    def knows_what_he_did(self: Technician, said: Said, asks: Prompted) -> str:
        before = said.messages.get("before")
        ask = str(said.messages.get("ask"))
        if before is not None and before.id == "if-not-done-yet" and ask in did:
            return done(self, did[ask], Prompted("done"))
        did[ask] = said
        return done(self, said, asks)

    def goes_back(
        room: loop.Room, said_in: Language, state: State, listening: Listen, begun: Begun | None
    ) -> Event:
        assert state.prompt is not None
        here = (state.prompt.step_id, state.mode.value)
        if "go_back" in state.prompt.expectation.commands and here not in went_back:
            went_back.add(here)
            event = typed(said_in, listening, "go back")
            after, effects = step(state, event)
            again.extend(each.text for each in effects if isinstance(each, Say))
            assert len(state.readings) - len(after.readings) <= 1, state.prompt.id
            return event
        return listen(room, said_in, state, listening, begun)

    monkeypatch.setattr(Technician, "_do", knows_what_he_did)
    monkeypatch.setattr(loop, "listen", goes_back)
    scenario = Scenario(moved="was_moved")
    rehearsal = make_rehearsal(loaded, 4, language=language, spread=HARDER, scenario=scenario)
    ended = run_rehearsal(loaded, language, rehearsal, SilentVoice(), MemoryLog())
    assert ended.state.result == "inside"
    assert rehearsal.world.truly_inside()
    assert len(went_back) > 60
    assert not [told for told in again if told.count("Taken back") > 1]
