"""Learns a person's voice from takes of it: those said to enrol, and those kept since."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Protocol, runtime_checkable

import numpy as np

from companion.recognition.own.adaptation import Adaptation
from companion.recognition.own.adapting import Take
from companion.recognition.own.made_noise import under_noise
from companion.recognition.source import LONGEST_ANSWER_S, read_sound
from companion.recognition.voices.store import Person, Voice, VoiceStore
from companion.recognition.voices.takes import How, Kept

NOISES_DB = (10.0, 6.0, 3.0, 0.0)
"""What is said to enrol is learned as it is, and with made noise so far below it."""
_MOST_IN_A_JOB = 300


@runtime_checkable
class LearningRecogniser(Protocol):
    """A recogniser that can be told whose voice it hears, and learns it."""

    name: str
    fingerprint: str

    @property
    def token_count(self) -> int:
        """How many words its heads know."""
        ...

    def take(self, sound: bytes, words: str) -> Take | None:
        """What a sound with these words in it has to teach; None where it cannot be that."""
        ...

    def learned(self, takes: Sequence[Take]) -> Adaptation:
        """What these takes of one person teach."""
        ...

    def use_voice(self, voice: Adaptation | None) -> None:
        """Hear by what was learned from now on."""
        ...


def kept_of(
    voice: Voice,
    recogniser: LearningRecogniser,
    said: Sequence[tuple[str, bytes]],
    how: How,
    today: date,
) -> tuple[Kept, ...]:
    """Words with their sounds as takes to keep; those to enrol with noise under them besides.

    Raises `EarsError` where a sound that may be kept cannot be.
    """
    found: list[Kept] = []
    for number, (words, sound) in enumerate(said):
        take = recogniser.take(sound, words)
        if take is None:
            continue
        found.append(Kept(take, how, today.isoformat(), voice.put_sound(sound)))
        if how == "enrolled":
            found += under_noises(recogniser, words, sound, today, number)
    return tuple(found)


def under_noises(
    recogniser: LearningRecogniser, words: str, sound: bytes, today: date, number: int
) -> list[Kept]:
    """The takes of a sound under made noise; where a take does not fit, it is left out."""
    generator = np.random.default_rng([number, len(sound)])
    takes = (
        recogniser.take(under_noise(sound, level_db, generator), words) for level_db in NOISES_DB
    )
    return [Kept(take, "enrolled", today.isoformat()) for take in takes if take is not None]


def learn(voice: Voice, recogniser: LearningRecogniser, kept: Sequence[Kept]) -> Adaptation | None:
    """Keep these takes and what they teach together; None where there is nothing to learn from.

    Raises `EarsError` where it cannot be written.
    """
    # From what was written, so that learning anew from it comes to the same version.
    left = voice.takes(recogniser.token_count) if voice.keep(kept) else ()
    adaptation = recogniser.learned([one.take for one in left]) if left else None
    voice.keep_learned(adaptation)
    return adaptation


def learn_again(
    store: VoiceStore, voice: Voice, recogniser: LearningRecogniser
) -> tuple[Voice, Adaptation | None]:
    """What all takes teach, computed anew; by other heads than before, from the kept sounds alone.

    Raises `EarsError`.
    """
    if voice.person.heads == recogniser.fingerprint:
        kept = voice.takes(recogniser.token_count)
        return voice, learn(voice, recogniser, kept)
    before = [one for one in voice.takes(1 << 15) if one.sound_sha256]
    again: list[Kept] = []
    for number, one in enumerate(before):
        sound = read_sound(voice.sound_file(one.sound_sha256), LONGEST_ANSWER_S)
        take = recogniser.take(sound, one.take.words)
        if take is None:
            continue
        again.append(Kept(take, one.how, one.day, one.sound_sha256))
        if one.how == "enrolled":
            day = date.fromisoformat(one.day)
            again += under_noises(recogniser, one.take.words, sound, day, number)
    moved = store.allow(voice.person.model_copy(update={"heads": recogniser.fingerprint}))
    return moved, learn(moved, recogniser, again)


def person_of(name: str, language: str, heads: str, today: date, *, sound: bool) -> Person:
    """Who allows, from today, that features are kept, and maybe sound."""
    day = today.isoformat()
    return Person(
        name=" ".join(name.split()),
        language=language,
        heads=heads,
        features_since=day,
        sound_since=day if sound else "",
    )
