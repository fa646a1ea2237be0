"""What a live job is done with: devices that may come and go, a record that waits for room."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TypeVar

import click

from companion import parts, sound_cards
from companion.commands.settings import settings_now
from companion.ears.microphone import MicrophoneError
from companion.ears.port import Ears
from companion.live.lasting_voice import LastingVoice
from companion.live.waiting_record import Patience, WaitingClips, WaitingLog
from companion.loop import Room
from companion.procedure.loader import LoadedJob
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import Database
from companion.record.journal import SqliteLog
from companion.record.place import record_path
from companion.screen import Screen
from companion.settled import microphone_deaf_s, render_ahead, settled_ears, settled_voice
from companion.supervision import Heartbeat, service_manager
from companion.voice.player import LoudspeakerError
from companion.voice.port import Voice
from companion.words.language import Language

_LOOK_FOR_DEVICES_S = 2.0
_SIGNS_IN_WATCHDOGS_TIME = 4
Made = TypeVar("Made")


@contextmanager
def devices(
    loaded: LoadedJob,
    choice: parts.EarsChoice,
    voice: parts.VoiceChoice,
    language: Language,
    *,
    wait: bool,
) -> Iterator[tuple[Ears, Voice, Language]]:
    """Ears and voice of a live job, which last until the block ends.

    The language comes back without the synonyms that the ears do not know.

    `wait`: devices that are not plugged in yet are waited for.
    """
    recogniser = None if choice.kind == "typed" else parts.make_recogniser(choice, language)
    if recogniser is not None:
        heard = parts.check_words(recogniser, loaded, language)
        language = heard.language
        if heard.left_out:
            _tell(
                f"{recogniser.name} does not know: {', '.join(heard.left_out)}. "
                "What can only be said with these words is left out; there is another way for each."
            )
    folder = record_path().parent / "voice"
    made = _as_soon_as_there(
        lambda: parts.make_voice(
            voice.kind, folder, voice.sound_file, voice.loudspeaker, language=language
        ),
        wait=wait,
    )
    settings = settings_now()
    settled = settled_voice(made, settings)
    ahead = render_ahead(settled, loaded, language)
    speak = LastingVoice(settled, sound_cards.start_again, _tell)
    try:
        around = _surroundings(speak)
        deaf_s = microphone_deaf_s(settings)
        ears = _as_soon_as_there(
            lambda: parts.make_ears(choice, around, recogniser, language, deaf_s), wait=wait
        )
        hear = settled_ears(ears, settled, settings)
        try:
            yield hear, speak, language
        finally:
            hear.close()
    finally:
        ahead.close()
        speak.close()


def _surroundings(speak: LastingVoice) -> parts.Surroundings:
    manager = service_manager()
    tell = partial(_tell_and_say, speak)
    if manager.watchdog_s is None:
        return parts.Surroundings(tell, speak.interrupt)
    return parts.Surroundings(
        tell, speak.interrupt, manager.alive, manager.watchdog_s / _SIGNS_IN_WATCHDOGS_TIME
    )


def _as_soon_as_there(make: Callable[[], Made], *, wait: bool) -> Made:
    """What `make` makes, once the sound device that it needs is plugged in."""
    told = False
    while True:
        try:
            return make()
        except (MicrophoneError, LoudspeakerError) as error:
            if not wait:
                raise
            if not told:
                _tell(f"{error}. I wait until it is plugged in.")
                told = True
        manager = service_manager()
        manager.ready()
        manager.alive()
        time.sleep(_LOOK_FOR_DEVICES_S)
        sound_cards.start_again()


def _tell(text: str) -> None:
    """Something that the person has to know of the companion itself, in writing."""
    click.secho(f"  note   {text}", fg="yellow", err=True)


def _tell_and_say(voice: Voice, text: str) -> None:
    _tell(text)
    voice.say(text)


def job_room(database: Database, session: str, record: Path, hear: Ears, speak: Voice) -> Room:
    """What a job hears, speaks and keeps with; the service manager is told that it is ready."""
    clips = ClipStore(clips_folder(record))
    manager = service_manager()
    manager.ready()
    tell = partial(_tell_and_say, speak)
    patience = Patience(tell, manager.alive)
    log = WaitingLog(SqliteLog(database, session, clips), patience, tell)
    watcher = Heartbeat(Screen(), manager)
    kept = WaitingClips(clips, patience) if settings_now().keep_sound else None
    return Room(hear, speak, log, kept, watcher)
