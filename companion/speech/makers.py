"""Speech makers: each renders one text into one WAV file, in a process of its own.

A speech library that hangs or crashes takes only its own process with it; after the time limit
that process is killed and the next maker is asked.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import soundfile

from companion.errors import VoiceError
from companion.speech.port import FASTEST_WPM, SLOWEST_WPM

_FAILURES_UNTIL_LEFT_OUT = 2
_SHARE_OF_LIMIT = 0.8
"""Of a maker's limit, its own process waits so long, to be able to say what it lacked."""
_PYTTSX3_SCRIPT = Path(__file__).with_name("pyttsx3_child.py")


class SpeechMaker(Protocol):
    """Renders text. `name` and `voice` are part of a rendered prompt's identity."""

    @property
    def name(self) -> str: ...

    @property
    def voice(self) -> str: ...

    def make(self, text: str, speed_wpm: int, target: Path) -> None:
        """Write `text` as a complete WAV file at `target`, or raise `VoiceError`."""
        ...


def is_complete_wav(path: Path) -> bool:
    """Whether `path` is a WAV file with sound in it, as long as its header promises."""
    try:
        with path.open("rb") as stream:
            head = stream.read(12)
        if head[:4] != b"RIFF" or head[8:12] != b"WAVE":
            return False
        if int.from_bytes(head[4:8], "little") + 8 > path.stat().st_size:
            return False
        return int(soundfile.info(path).frames) > 0
    except (OSError, soundfile.SoundFileError):
        return False


def _run(maker: str, command: Sequence[str], text: str, limit_s: float) -> None:
    """Run a maker's process with the text on its standard input; kill it after `limit_s`."""
    try:
        # An argument list without a shell; the text itself goes through standard input.
        done = subprocess.run(  # noqa: S603
            command, input=text.encode(), capture_output=True, timeout=limit_s, check=False
        )
    except subprocess.TimeoutExpired:
        raise VoiceError(f"{maker}: not finished after {limit_s:.0f} s, stopped") from None
    except OSError as error:
        raise VoiceError(f"{maker}: cannot be started ({error})") from error
    if done.returncode != 0:
        reason = done.stderr.decode(errors="replace").strip().splitlines()
        raise VoiceError(
            f"{maker}: ended with code {done.returncode}"
            + (f" ({reason[-1][:200]})" if reason else "")
        )


def _require_file(maker: str, target: Path) -> None:
    if not is_complete_wav(target):
        raise VoiceError(f"{maker}: wrote no complete sound file at {target}")


def _within_limits(speed_wpm: int) -> int:
    return min(max(speed_wpm, SLOWEST_WPM), FASTEST_WPM)


@dataclass(frozen=True)
class EspeakMaker:
    """The `espeak-ng` program. `voice` is one of its voice names."""

    voice: str = "en-gb"
    program: str = "espeak-ng"
    limit_s: float = 10.0
    name: str = "espeak-ng"

    def make(self, text: str, speed_wpm: int, target: Path) -> None:
        """See `SpeechMaker.make`."""
        program = shutil.which(self.program)
        if program is None:
            raise VoiceError(f"{self.name}: the program {self.program!r} is not installed")
        speed = str(_within_limits(speed_wpm))
        command = [program, "-b", "1", "-v", self.voice, "-s", speed, "-w", str(target), "--stdin"]
        _run(self.name, command, text, self.limit_s)
        _require_file(self.name, target)


@dataclass(frozen=True)
class Pyttsx3Maker:
    """The `pyttsx3` library in a throw-away process. `voice` "" is the library's own choice."""

    voice: str = ""
    limit_s: float = 10.0
    name: str = "pyttsx3"
    script: Path = _PYTTSX3_SCRIPT

    def make(self, text: str, speed_wpm: int, target: Path) -> None:
        """See `SpeechMaker.make`."""
        speed = str(_within_limits(speed_wpm))
        # By its file and without the folder on the import path (-P): the same from any folder.
        waits_s = f"{_SHARE_OF_LIMIT * self.limit_s:.1f}"
        command = [sys.executable, "-P", str(self.script), str(target), speed, self.voice, waits_s]
        _run(self.name, command, text, self.limit_s)
        _require_file(self.name, target)


@dataclass(frozen=True)
class Made:
    """Who rendered a text, and what the makers asked before had to complain of."""

    maker: SpeechMaker
    complaints: tuple[str, ...]


class MakerChain:
    """Makers in order of preference; each failure is reported and the next maker asked.

    A maker that fails twice in a row is left out from then on, so that a hanging one does not
    delay every prompt.
    """

    def __init__(self, makers: Sequence[SpeechMaker]) -> None:
        if not makers:
            raise VoiceError("no speech maker is given; wanted at least one")
        self._makers = tuple(makers)
        self._failures = [0] * len(self._makers)

    def usable(self) -> tuple[SpeechMaker, ...]:
        """The makers not left out, in order; all of them when every one has failed."""
        usable = tuple(
            maker
            for maker, failures in zip(self._makers, self._failures, strict=True)
            if failures < _FAILURES_UNTIL_LEFT_OUT
        )
        return usable or self._makers

    def make(self, text: str, speed_wpm: int, target: Path) -> Made:
        """Render with the first maker that can. Raises `VoiceError` with every complaint."""
        complaints: list[str] = []
        for maker in self.usable():
            place = self._makers.index(maker)
            try:
                maker.make(text, speed_wpm, target)
            except VoiceError as error:
                self._failures[place] += 1
                complaints.append(str(error))
                continue
            self._failures[place] = 0
            return Made(maker, tuple(complaints))
        raise VoiceError("no speech maker could say the prompt: " + "; ".join(complaints))
