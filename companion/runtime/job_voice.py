"""The technician's voice in a job: heard by what was learned, and learned from what is confirmed.

During a job features of answers are only put aside, in memory; they are kept, and what they teach
is worked out, when the job is over.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from companion.errors import CompanionError, EarsError
from companion.facts.answers import Accepted, Answered, Consent, TakenBack
from companion.facts.kinds import Fact
from companion.facts.meanings import (
    Choice,
    Confirmed,
    Meaning,
    Mended,
    No,
    Number,
    Pair,
)
from companion.facts.message import Arg, Message, Tell
from companion.facts.talking import Heard
from companion.facts.watching import Watcher
from companion.recognition.own.adapting import Take
from companion.recognition.port import Heard as HeardSound
from companion.recognition.port import Utterance
from companion.recognition.voices.store import Voice, VoiceStore
from companion.recognition.voices.takes import Kept
from companion.runtime.loop import Room
from companion.runtime.voice_learning import LearningRecogniser, learn

_MOST_IN_A_JOB = 300


@dataclass(frozen=True)
class Said:
    """An answer as it was heard: its words, what it has to teach, and its sound."""

    words: str
    take: Take
    sound: bytes = field(repr=False)


@dataclass
class _Waiting:
    """An answer that waits for its yes: for one of each of its parts, where it gave two readings.

    `parts`: the meanings that are not confirmed yet, in their order; `step_ids`: of those that are.
    """

    said: Said
    parts: list[Number | Choice]
    step_ids: tuple[str, ...] = ()


class LearnsFromJob:
    """Watches a job and puts aside what was read back and confirmed.

    Nothing is put aside before the person has said, in this job, that sound may be kept ("words
    only" means words only), and all is dropped where that is taken back. An answer counts once
    what it says stands in an `Accepted` or `Answered` fact: so it was read back, and "yes" said.
    Two readings in one answer count together, once both stand there as they were said.
    """

    def __init__(self, watcher: Watcher, recogniser: LearningRecogniser) -> None:
        self._watcher = watcher
        self._recogniser = recogniser
        self._allowed = False
        self._last: Said | None = None
        self._waiting: list[_Waiting] = []
        self._behind: _Waiting | None = None
        self._some_confirmed = False
        self._confirmed: list[_Waiting] = []

    def confirmed(self) -> tuple[Said, ...]:
        """What was confirmed so far, and not taken back since."""
        return tuple(one.said for one in self._confirmed)

    def heard(self, heard: HeardSound) -> None:
        """What was just heard in the job, before its fact."""
        self._last = None
        by_voice = isinstance(heard, Utterance) and heard.how.ears == self._recogniser.name
        # Under an answer that began while the companion spoke lies the companion's own voice.
        by_voice = by_voice and heard.how.into is None
        if by_voice and self._allowed and len(self.confirmed()) < _MOST_IN_A_JOB:
            take = self._recogniser.take(heard.sound, heard.words)
            self._last = None if take is None else Said(heard.words, take, heard.sound)

    def fact(self, fact: Fact) -> None:
        """See `Watcher.fact`."""
        match fact:
            case Consent(keep_sound):
                self._allowed = keep_sound
                if not keep_sound:
                    self._waiting.clear()
                    self._behind = None
                    self._confirmed.clear()
            case Heard(meaning=meaning):
                self._heard(meaning)
            case Answered(proposed=True):
                # Nobody said it.
                self._some_confirmed = True
            case Accepted(reading_id=step_id) | Answered(step_id=step_id):
                self._some_confirmed = True
                self._confirm(step_id, fact)
            case TakenBack(step_ids) if fact.withdrawn:
                left = frozenset(step_ids)
                self._confirmed = [o for o in self._confirmed if left.isdisjoint(o.step_ids)]
            case _:
                pass
        self._watcher.fact(fact)

    def _heard(self, meaning: Meaning) -> None:
        denied = isinstance(meaning, No)
        if self._some_confirmed or denied:
            # What was denied, or corrected before the yes, was misheard: it teaches nothing.
            self._waiting.clear()
            self._some_confirmed = False
        behind, self._behind = self._behind, None
        if behind is not None and not denied:
            self._waiting.append(behind)
        last, self._last = self._last, None
        if last is None:
            return
        if isinstance(meaning, Confirmed):
            # It confirms what waits; what it says itself waits for the next yes.
            self._behind = _Waiting(last, _parts(meaning.then))
        elif parts := _parts(meaning):
            self._waiting.append(_Waiting(last, parts))

    def _confirm(self, step_id: str, fact: Accepted | Answered) -> None:
        """The latest answer that says what was confirmed; of two readings both have to be."""
        for one in reversed(self._waiting):
            if not (one.parts and _says(one.parts[0], fact)):
                continue
            del one.parts[0]
            one.step_ids = (*one.step_ids, step_id)
            if not one.parts:
                self._waiting.remove(one)
                self._confirmed.append(one)
            return


def _parts(meaning: Meaning) -> list[Number | Choice]:
    """What of an answer has to be confirmed, each by itself; nothing of another kind of answer."""
    match meaning:
        case Pair(first, second):
            return [first, second]
        case Mended(_, number):
            return [number]
        case Number() | Choice():
            return [meaning]
        case _:
            return []


def _says(meaning: Number | Choice, fact: Accepted | Answered) -> bool:
    if isinstance(fact, Answered) or isinstance(meaning, Choice):
        return isinstance(fact, Answered) and meaning == Choice(fact.choice)
    return meaning.value == abs(Decimal(fact.value)) and meaning.direction == fact.direction


@dataclass(frozen=True)
class JobVoice:
    """Whose voice a job hears. `version`: of what was learned of it; "" where nothing was."""

    voice: Voice
    recogniser: LearningRecogniser
    version: str

    @contextmanager
    def learning(self, room: Room, tell: Tell, *, sound: bool, today: date) -> Iterator[Room]:
        """The room of the job, which puts aside what is confirmed; learned from when it is over.

        `sound`: whether the shop keeps sound at all. What cannot be kept is told of; the job stays.
        """
        learns = LearnsFromJob(room.watcher, self.recogniser)
        try:
            yield replace(room, watcher=learns, listener=learns.heard)
        finally:
            self._learn(learns.confirmed(), tell, sound=sound, today=today)

    def _learn(self, said: tuple[Said, ...], tell: Tell, *, sound: bool, today: date) -> None:
        if not said:
            return
        try:
            before = self.voice.takes(self.recogniser.token_count)
            day = today.isoformat()
            new = [
                Kept(one.take, "confirmed", day, self.voice.put_sound(one.sound) if sound else "")
                for one in said
            ]
            learned = learn(self.voice, self.recogniser, (*before, *new))
        except CompanionError as error:
            tell(Message("live-voice-not-learned", {"why": str(error)}))
            return
        if learned is not None:
            found: dict[str, Arg] = {"count": len(said), "version": learned.version}
            tell(Message("live-voice-learned", found))


def voice_for_job(
    record: Path, technician: str, language: str, recogniser: object, tell: Tell
) -> JobVoice | None:
    """The technician's voice, which the recogniser hears by from now on; None where none is kept.

    One that cannot be used is told of, and the job is heard as anybody's.
    """
    if not technician or not isinstance(recogniser, LearningRecogniser):
        return None
    try:
        voice = VoiceStore(record).find(technician, language)
        if voice is None:
            return None
        if voice.person.heads != recogniser.fingerprint:
            raise EarsError(
                "these ears are others than those it was learned with; "
                f"wanted: companion voice learn {shlex.quote(voice.person.name)}"
            )
        learned = voice.adaptation()
        recogniser.use_voice(learned)
    except CompanionError as error:
        recogniser.use_voice(None)
        tell(Message("live-voice-not-used", {"why": str(error)}))
        return None
    return JobVoice(voice, recogniser, "" if learned is None else learned.version)
