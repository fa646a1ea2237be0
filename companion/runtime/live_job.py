"""What a live job is done with: devices that may come and go, a record that waits for room."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TypeVar

from companion.base import sound_cards
from companion.facts.message import Message, Tell, problem
from companion.facts.watching import Watcher
from companion.job.loader import LoadedJob
from companion.language.language import Language
from companion.language.spelling import Alphabet
from companion.recognition.microphone import MicrophoneError
from companion.recognition.over_voice import Echo
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.port import Ears, Recogniser
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import Database
from companion.record.journal import SqliteLog
from companion.record.last_echo import LastEcho
from companion.record.place import record_path
from companion.runtime import assembly
from companion.runtime.configured import (
    microphone_deaf_s,
    render_ahead,
    settled_ears,
    settled_voice,
)
from companion.runtime.echo_kept import echo_for_answers
from companion.runtime.into_prompts import SpeaksInThread, SpeaksMeanwhile
from companion.runtime.lasting_voice import LastingVoice
from companion.runtime.loop import Room
from companion.runtime.supervision import Heartbeat, service_manager
from companion.runtime.waiting_record import Patience, WaitingClips, WaitingLog
from companion.settings.model import Settings
from companion.speech.player import LoudspeakerError, SoundSink
from companion.speech.port import BRISK_PERCENT, Voice
from companion.speech.tapped import TappedSink

_LOOK_FOR_DEVICES_S = 2.0
_SIGNS_IN_WATCHDOGS_TIME = 4
Made = TypeVar("Made")


@dataclass(frozen=True)
class Bystander:
    """The person who started the job: told in writing what they must know, sees each fact kept."""

    tell: Tell
    watcher: Watcher


@dataclass(frozen=True)
class Devices:
    """Ears and voice of a live job, and the language as these ears know it; see `Open`."""

    ears: Ears
    voice: Voice
    language: Language
    recogniser: Recogniser | None
    meanwhile: SpeaksMeanwhile | None = None
    echo: LastEcho | None = None
    brisk_percent: int = BRISK_PERCENT


@dataclass(frozen=True)
class Open:
    """Ears and voice that are open, before it is known what for.

    `meanwhile`, `echo`: how to say what may be spoken into, and what the microphone hears of it;
    None where the ears are deaf while the companion speaks. `brisk_percent`: see `speed_of`.
    """

    ears: Ears
    voice: Voice
    recogniser: Recogniser | None
    settled: Voice
    meanwhile: SpeaksMeanwhile | None = None
    echo: LastEcho | None = None
    brisk_percent: int = BRISK_PERCENT

    def lacking(self, words: frozenset[str]) -> frozenset[str]:
        """Of these words those that could never be heard; typed, all can."""
        return self.recogniser.missing_words(words) if self.recogniser is not None else frozenset()


@contextmanager
def devices(
    loaded: LoadedJob,
    choice: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    language: Language,
    settings: Settings,
    tell: Tell,
    *,
    wait: bool,
    typed: Callable[[Iterable[str]], Iterable[str]] = iter,
) -> Iterator[Devices]:
    """Ears and voice of a live job: see `open_devices` and `for_job`."""
    with (
        open_devices(choice, voice, language, settings, tell, wait=wait, typed=typed) as found,
        for_job(found, loaded, language, tell) as made,
    ):
        yield made


@contextmanager
def open_devices(
    choice: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    language: Language,
    settings: Settings,
    tell: Tell,
    *,
    wait: bool,
    typed: Callable[[Iterable[str]], Iterable[str]] = iter,
) -> Iterator[Open]:
    """Ears and voice, which last until the block ends.

    `tell`: writes what the person must know of the companion itself. `wait`: devices that are not
    plugged in yet are waited for. `typed`: see `assembly.Surroundings`.
    """
    recogniser = None if choice.kind == "typed" else assembly.make_recogniser(choice, language)
    with _open_with(
        recogniser, choice, voice, language, settings, tell, wait=wait, typed=typed
    ) as found:
        yield found


@contextmanager
def for_job(found: Open, loaded: LoadedJob, language: Language, tell: Tell) -> Iterator[Devices]:
    """The ears and the voice for this job, whose sentences are made ahead until the block ends.

    The language comes back without the synonyms that the ears do not know.
    """
    if found.recogniser is not None:
        heard = assembly.check_words(found.recogniser, loaded, language)
        language = heard.language
        if heard.left_out:
            words = ", ".join(heard.left_out)
            tell(Message("live-words-left-out", {"ears": found.recogniser.name, "words": words}))
    ahead = render_ahead(found.settled, loaded, language, found.brisk_percent)
    try:
        yield Devices(
            found.ears,
            found.voice,
            language,
            found.recogniser,
            found.meanwhile,
            found.echo,
            found.brisk_percent,
        )
    finally:
        ahead.close()


@contextmanager
def devices_for_spelling(
    choice: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    language: Language,
    settings: Settings,
    tell: Tell,
) -> Iterator[tuple[Open, Alphabet]]:
    """Ears and voice outside of a job, and the spelling alphabet as these ears know it.

    Where they lack a letter, it is said plainly and only the keyboard is heard.
    """
    alphabet = language.alphabet
    recogniser = None if choice.kind == "typed" else assembly.make_recogniser(choice, language)
    if recogniser is not None:
        known = alphabet.without(recogniser.missing_words(frozenset(alphabet.signs)))
        if known.unheard:
            tell(Message("spell-type-or-scan", {"ears": recogniser.name}))
            recogniser = None
        else:
            alphabet = known
    with _open_with(recogniser, choice, voice, language, settings, tell, wait=False) as found:
        yield found, alphabet


@contextmanager
def _open_with(
    recogniser: Recogniser | None,
    choice: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    language: Language,
    settings: Settings,
    tell: Tell,
    *,
    wait: bool,
    typed: Callable[[Iterable[str]], Iterable[str]] = iter,
) -> Iterator[Open]:
    echo = _as_soon_as_there(lambda: echo_for_answers(settings, choice, voice), tell, wait=wait)
    folder = record_path().parent / "voice"
    tap: list[TappedSink] = []

    def through(sink: SoundSink) -> SoundSink:
        tap[:] = [TappedSink(sink)]
        return tap[0]

    made = _as_soon_as_there(
        lambda: assembly.make_voice(
            voice.kind,
            folder,
            voice.sound_file,
            voice.loudspeaker,
            language=language,
            through=through,
        ),
        tell,
        wait=wait,
    )
    settled = settled_voice(made, settings)
    speak = LastingVoice(settled, sound_cards.start_again, tell)
    over_voice = None
    if echo is not None:
        heard = partial(tell, Message("live-own-voice-heard"))
        over_voice = OverVoiceSettings(Echo(echo.gain_db, echo.delay_s), heard)
    try:
        around = replace(_surroundings(speak, tell, language), typed=typed)
        deaf_s = microphone_deaf_s(settings)
        ears = _as_soon_as_there(
            lambda: assembly.make_ears(choice, around, recogniser, language, deaf_s, over_voice),
            tell,
            wait=wait,
        )
        hear = settled_ears(ears, settled, settings)
        try:
            brisk_percent, meanwhile = settings.voice_brisk_percent, None
            if echo is not None:
                meanwhile = SpeaksInThread(speak, tap[0], settled.seconds, brisk_percent)
            yield Open(hear, speak, recogniser, settled, meanwhile, echo, brisk_percent)
        finally:
            hear.close()
    finally:
        speak.close()


def _surroundings(speak: LastingVoice, tell: Tell, language: Language) -> assembly.Surroundings:
    manager = service_manager()
    tell_and_say = partial(_tell_and_say, tell, speak, language)
    if manager.watchdog_s is None:
        return assembly.Surroundings(tell_and_say, speak.interrupt)
    return assembly.Surroundings(
        tell_and_say, speak.interrupt, manager.alive, manager.watchdog_s / _SIGNS_IN_WATCHDOGS_TIME
    )


def _as_soon_as_there(make: Callable[[], Made], tell: Tell, *, wait: bool) -> Made:
    """What `make` makes, once the sound device that it needs is plugged in."""
    told = False
    while True:
        try:
            return make()
        except (MicrophoneError, LoudspeakerError) as error:
            if not wait:
                raise
            if not told:
                tell(Message("live-waiting-for-device", {"error": problem(error)}))
                told = True
        manager = service_manager()
        manager.ready()
        manager.alive()
        time.sleep(_LOOK_FOR_DEVICES_S)
        sound_cards.start_again()


def _tell_and_say(tell: Tell, voice: Voice, language: Language, message: Message) -> None:
    tell(message)
    voice.say(language.say(message))


def job_room(
    database: Database,
    session: str,
    record: Path,
    devices: Devices,
    settings: Settings,
    bystander: Bystander,
) -> Room:
    """What a job hears, speaks and keeps with; the service manager is told that it is ready."""
    hear, speak = devices.ears, devices.voice
    clips = ClipStore(clips_folder(record))
    manager = service_manager()
    manager.ready()
    tell = partial(_tell_and_say, bystander.tell, speak, devices.language)
    patience = Patience(tell, manager.alive)
    log = WaitingLog(SqliteLog(database, session, clips), patience, tell)
    watcher = Heartbeat(bystander.watcher, manager)
    kept = WaitingClips(clips, patience) if settings.keep_sound else None
    return Room(
        hear,
        speak,
        log,
        kept,
        watcher,
        devices.meanwhile,
        brisk_percent=devices.brisk_percent,
    )
