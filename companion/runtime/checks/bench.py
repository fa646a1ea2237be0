"""What several looks share, made once: the job, the recogniser, some seconds of the room."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from itertools import islice
from pathlib import Path

from companion.job.loader import LoadedJob
from companion.language.language import Language
from companion.recognition.microphone import MicrophoneSource
from companion.recognition.port import FRAME_S, Recogniser
from companion.report.wording import Wording, wording_in
from companion.runtime import assembly
from companion.settings.reading import SettingsRead
from companion.speech.player import DeviceSink, SoundSink
from companion.speech.speech import SpeechVoice, usual_makers

LISTEN_S = 3.0


class Bench:
    """The parts as the settings choose them; each raises its own CompanionError when it fails.

    `ask` puts a request to the person in writing; None where nobody is to be asked. `ears_work`:
    processor seconds for a second of speech, once that was measured.
    """

    def __init__(
        self, read: SettingsRead, voice_folder: Path, ask: Callable[[str], None] | None = None
    ) -> None:
        self.read = read
        self.ask = ask
        self.settings = read.settings
        self.voice_folder = voice_folder
        self.ears_work: float | None = None

    @cached_property
    def language(self) -> Language:
        """The language that is set."""
        return assembly.language(self.settings.language)

    @cached_property
    def say(self) -> Wording:
        """What a look tells, in that language."""
        return wording_in(self.settings.language)

    @cached_property
    def loaded(self) -> LoadedJob:
        """The job of these files."""
        return assembly.load(self.settings.job_paths, self.language)

    @property
    def needs_microphone(self) -> bool:
        """Whether answers are heard."""
        return self.settings.ears != "typed"

    @property
    def needs_loudspeaker(self) -> bool:
        """Whether prompts are spoken."""
        return self.settings.voice == "speaker"

    @cached_property
    def ears_kind(self) -> str:
        """The recogniser to look at: the one that is set, else the one that would be used."""
        return self.settings.ears if self.needs_microphone else assembly.DEFAULT_RECOGNISER

    @cached_property
    def recogniser(self) -> Recogniser:
        """The recogniser, loaded."""
        choice = assembly.EarsChoice(self.ears_kind, model=self.settings.vosk_model)
        return assembly.make_recogniser(choice, self.language)

    def open_microphone(self) -> MicrophoneSource:
        """The microphone, recording."""
        return MicrophoneSource(self.settings.microphone)

    def open_loudspeaker(self) -> DeviceSink:
        """The loudspeaker."""
        return DeviceSink(self.settings.loudspeaker)

    def speaking(self, into: SoundSink) -> SpeechVoice:
        """The language's own voice, speaking into this."""
        makers = usual_makers(self.language.vocabulary.voice.espeak_ng)
        return SpeechVoice(self.voice_folder, into, makers)

    @cached_property
    def room_sound(self) -> bytes:
        """What the microphone gives for `LISTEN_S` while nobody is asked to speak."""
        microphone = self.open_microphone()
        try:
            return b"".join(islice(microphone.frames(), round(LISTEN_S / FRAME_S)))
        finally:
            microphone.close()
