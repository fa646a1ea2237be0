"""Jobs in which known prompts are answered before they end: how they are said, and what is known.

The prompts are rendered by the companion's own voice. Typed, nobody hears them; from sound they are
played into the air of the bay and arrive at the microphone, mixed with what the technician says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from companion.dialogue.effects import Say
from companion.facts.beforehand import EchoHeard, IntoPrompts
from companion.facts.kinds import Fact
from companion.job.loader import LoadedJob
from companion.language.language import Language
from companion.recognition.into import BeingSaid
from companion.recognition.over_voice import Echo
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.recognition.samples import Samples
from companion.record import MemoryLog
from companion.runtime.into_prompts import LEAST_SOUNDED_S, as_heard, speed_of
from companion.runtime.preflight import asked_in_full
from companion.runtime.rehearsing import HARDER, OverPrompts, make_rehearsal, run_rehearsal
from companion.simulation.over_prompts import EchoingRoom, TechnicianInAir
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.cache import PromptCache
from companion.speech.loudness import Loudness
from companion.speech.makers import EspeakMaker, MakerChain
from companion.speech.player import read_prompt
from companion.speech.silent import SilentVoice
from companion.speech.tapped import Playing

HEADSET_DB = -50.0
"""What a headset's microphone hears of its loudspeaker, less what is played (an assumption)."""
_BACKGROUND_DBFS = -60.0
"""Of a quiet bay at a headset's microphone."""


class Rendered:
    """Prompts as they are played in a quiet bay, and how long they last."""

    def __init__(self, folder: Path, language: Language) -> None:
        maker = EspeakMaker(voice=language.vocabulary.voice.espeak_ng)
        self._cache = PromptCache(folder, MakerChain([maker]))
        self._gain = Loudness().gain(None)

    def sound(self, say: Say) -> Samples:
        """16 kHz, full scale 1.0."""
        return as_heard(Playing(*self._read(say.text, speed_of(say))))

    def open_after_s(self, say: Say) -> float | None:
        """When it may be answered, as a live job has it (no tone comes before it here)."""
        if not say.open_after:
            return None
        samples, rate_hz = self._read(say.open_after, speed_of(say))
        return max(LEAST_SOUNDED_S, len(samples) / rate_hz)

    def _read(self, text: str, speed_wpm: int) -> tuple[Samples, int]:
        return read_prompt(self._cache.prompt(text, speed_wpm).path, self._gain)


class PlayedInAir:
    """`SpeaksMeanwhile` in the air that the technician's microphone shares."""

    def __init__(self, rendered: Rendered, air: TechnicianInAir) -> None:
        self._rendered = rendered
        self._air = air

    @contextmanager
    def saying(self, say: Say) -> Iterator[BeingSaid]:
        yield self._air.play(self._rendered.sound(say), self._rendered.open_after_s(say))


class _Unheard:
    """`BeingSaid` for a technician who types: it takes no time, and knows when it was hushed."""

    def __init__(self, seconds: float, open_after_s: float | None) -> None:
        self._sound = np.zeros(round(seconds * SAMPLE_RATE_HZ), np.float32)
        self._open_after_s = open_after_s

    def sound(self) -> Samples | None:
        return self._sound

    def open_after_s(self) -> float | None:
        return self._open_after_s

    def is_over(self) -> bool:
        return True

    def is_said_out(self) -> bool:
        return True

    def hush(self) -> None:
        """How much had sounded, the answer's fact tells."""


class SaidUnheard:
    """`SpeaksMeanwhile` for a technician who types; `says` is told each text and its seconds."""

    def __init__(self, rendered: Rendered, says: Callable[[Say, float], None]) -> None:
        self._rendered = rendered
        self._says = says

    @contextmanager
    def saying(self, say: Say) -> Iterator[BeingSaid]:
        seconds = len(self._rendered.sound(say)) / SAMPLE_RATE_HZ
        self._says(say, seconds)
        yield _Unheard(seconds, self._rendered.open_after_s(say))


def allowed(echo_db: float = HEADSET_DB, known: tuple[str, ...] = ()) -> IntoPrompts:
    """What is recorded of it; `known`: prompts that were heard in full earlier that day."""
    echo_dbfs = -25.0 + echo_db
    return IntoPrompts(EchoHeard(echo_dbfs - _BACKGROUND_DBFS, echo_dbfs, 0.12), known)


def in_air(
    rehearsal: Rehearsal,
    rendered: Rendered,
    *,
    echo_db: float = HEADSET_DB,
    measured_db: float | None = None,
    known: tuple[str, ...] = (),
) -> tuple[TechnicianInAir, OverPrompts]:
    """The technician's microphone, and how prompts are said; `measured_db` where it is wrong."""
    air = TechnicianInAir(rehearsal, EchoingRoom(echo_db))
    echo = Echo(echo_db if measured_db is None else measured_db, 0.12)
    settings = OverVoiceSettings(echo)
    return air, OverPrompts(PlayedInAir(rendered, air), allowed(echo_db, known), settings)


class _Facts:
    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def fact(self, fact: Fact) -> None:
        self.facts.append(fact)


def known_after_a_job(loaded: LoadedJob, language: Language, seed: int) -> tuple[str, ...]:
    """The prompts that somebody knows who did such a job before, typed, that day."""
    facts = _Facts()
    rehearsal = make_rehearsal(
        loaded, seed, spread=HARDER, language=language, scenario=Scenario(keeps_sound=True)
    )
    run_rehearsal(loaded, language, rehearsal, SilentVoice(), MemoryLog(), watcher=facts)
    return tuple(dict.fromkeys(asked_in_full(facts.facts)))
