"""The film of docs: a minute of a spoken job, drawn anew: `python -m tests.draw_film`.

A synthetic technician in a loud bay is heard by the companion's own ears. What is said, by both, is
laid one after the other over the noise that the ears heard, beside what the bay's screen showed.
Needs ffmpeg, flite, espeak-ng and Chromium.
"""

from __future__ import annotations

import base64
import contextlib
import html
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import soundfile
import soxr
from playwright.sync_api import Page

from companion.display import page
from companion.display.fold import Told, take
from companion.display.look import look
from companion.display.moment import Moment
from companion.facts.instructions import TurnScrew
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.job.loader import JobPaths
from companion.recognition.port import SAMPLE_RATE_HZ, SoundEnded
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal
from companion.simulation.speakers import SyntheticSpeaker
from companion.speech.player import Samples
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from companion.speech.speech import SpeechVoice, usual_makers
from tests.benchmarks.noisy_speaker import NoisySpeaker
from tests.browsers import running_browser
from tests.draw_display import ADDRESS, SIZE, answers_with

FILM = Path(__file__).parents[1] / "docs" / "film.mp4"
SEED = 3
NOISE_DB = 15.0
"""The noise lies so far below the technician's speech."""
LONGEST_S = 58.0
BEFORE_ANSWER_S, AFTER_S = 0.35, 0.25
CAPTION_PX = 80
FRAMES_PER_S = 5


@dataclass(frozen=True)
class Shot:
    """The screen while somebody speaks; samples at 16 kHz, full scale 1."""

    moment: Moment
    who: Literal["companion", "technician"]
    text: str
    sound: Samples


class Camera:
    """Keeps a shot of each thing that is said in a job, from the first turn of a screw on."""

    def __init__(self) -> None:
        self.shots: list[Shot] = []
        self.speaker: NoisySpeaker | None = None
        self._told = Told()
        self._begun = False

    def fact(self, fact: Fact) -> None:
        """See `Watcher.fact`."""
        self._told = take(self._told, fact)
        asks = fact.prompt if isinstance(fact, Said) else None
        self._begun = self._begun or (asks is not None and isinstance(asks.instruction, TurnScrew))

    def takes(self, who: Literal["companion", "technician"], text: str, sound: Samples) -> None:
        """Somebody says this now."""
        if self._begun and self.seconds < LONGEST_S:
            self.shots.append(Shot(look(self._told), who, text, sound))

    @property
    def seconds(self) -> float:
        """How long the film is so far."""
        return sum(len(shot.sound) for shot in self.shots) / SAMPLE_RATE_HZ


class FilmedVoice(SpeechVoice):
    """The companion's voice in the same room: what it says is mixed with the bay's noise."""

    def __init__(self, folder: Path, camera: Camera, maker: str) -> None:
        super().__init__(folder, _Sink(self), usual_makers(maker))
        self._camera = camera
        self._text = ""

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        """See `Voice.say`."""
        self._text = text
        return super().say(text, speed, volume)

    def played(self, samples: Samples, rate_hz: int) -> None:
        """A prompt came out of the loudspeaker."""
        speaker = self._camera.speaker
        assert speaker is not None
        heard = soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ)
        heard = np.concatenate([heard * 0.6, np.zeros(round(AFTER_S * SAMPLE_RATE_HZ))])
        self._camera.takes("companion", self._text, heard + _samples(speaker.quiet(2 * len(heard))))


class _Sink:
    """A loudspeaker that only the film hears."""

    def __init__(self, voice: FilmedVoice) -> None:
        self._voice = voice

    def play(self, samples: Samples, rate_hz: int) -> bool:
        self._voice.played(samples, rate_hz)
        return True

    def hush(self) -> None:
        pass

    def close(self) -> None:
        pass


class FilmedSpeaker:
    """The technician in the noise; what he says is filmed as the ears get it."""

    def __init__(self, inner: NoisySpeaker, camera: Camera) -> None:
        self._inner = inner
        self._camera = camera
        camera.speaker = inner

    def say(self, text: str) -> bytes:
        """See `Speaker.say`."""
        if self._camera.seconds >= LONGEST_S:
            raise SoundEnded("the film is long enough")
        sound = self._inner.say(text)
        before, after = (
            self._inner.quiet(2 * round(s * SAMPLE_RATE_HZ)) for s in (BEFORE_ANSWER_S, AFTER_S)
        )
        self._camera.takes("technician", text, _samples(before + sound + after))
        return sound

    def quiet(self, size: int) -> bytes:
        """See `Speaker.quiet`."""
        return self._inner.quiet(size)


def main() -> None:
    """Do the job, then draw, then put sound and pictures together."""
    if shutil.which("ffmpeg") is None:
        raise SystemExit("ffmpeg is not installed; wanted: apt-get install ffmpeg")
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        shots = filmed(folder)
        draw(shots, folder)
        put_together(shots, folder)
    size_mb = FILM.stat().st_size / 1e6
    seconds = sum(len(shot.sound) for shot in shots) / SAMPLE_RATE_HZ
    print(f"{FILM.name}: {len(shots)} shots, {seconds:.0f} s, {size_mb:.1f} MB")


def filmed(folder: Path) -> list[Shot]:
    """A spoken rehearsal, heard by the companion's own ears."""
    language, loaded, camera = assembly.language(), assembly.load(JobPaths()), Camera()
    noisy = NoisySpeaker(SyntheticSpeaker("awb", SEED), [], NOISE_DB, SEED)
    rehearsal = make_rehearsal(loaded, SEED, spread=HARDER, speaker=FilmedSpeaker(noisy, camera))
    ears = assembly.make_recogniser(assembly.EarsChoice("own"), language)
    language = assembly.check_words(ears, loaded, language).language
    voice = FilmedVoice(folder / "voice", camera, language.vocabulary.voice.espeak_ng)
    with contextlib.suppress(SoundEnded):
        run_rehearsal(
            loaded, language, rehearsal, voice, MemoryLog(), recogniser=ears, watcher=camera
        )
    return camera.shots


def draw(shots: list[Shot], folder: Path) -> None:
    """One picture a shot: the bay's screen, and below it what is being said."""
    with running_browser() as browser:
        screen = browser.new_page(viewport=SIZE)
        whole = browser.new_page(
            viewport={"width": SIZE["width"], "height": SIZE["height"] + CAPTION_PX}
        )
        for number, shot in enumerate(shots):
            screen.unroute_all()
            screen.route("**/*", answers_with(page.shell(shot.moment)))
            screen.goto(ADDRESS)
            _captioned(whole, screen.screenshot(), shot, folder / f"{number}.png")


def _captioned(whole: Page, picture: bytes, shot: Shot, path: Path) -> None:
    name = {"companion": "Companion", "technician": "Technician"}[shot.who]
    colour = {"companion": "#10181f", "technician": "#0b3d75"}[shot.who]
    shown = base64.b64encode(picture).decode()
    whole.set_content(
        f"<body style='margin:0;background:{colour};color:#fff;font:600 25px sans-serif'>"
        f"<img style='display:block' src='data:image/png;base64,{shown}'>"
        f"<p style='margin:0;padding:8px 22px;height:{CAPTION_PX - 16}px;line-height:32px'>"
        f"<span style='opacity:.75'>{name}:</span> {html.escape(shot.text)}</p></body>"
    )
    whole.screenshot(path=path)


def put_together(shots: list[Shot], folder: Path) -> None:
    """Sound and pictures as one file that any browser plays."""
    sound = np.clip(np.concatenate([shot.sound for shot in shots]) * 2.0, -1.0, 1.0)
    soundfile.write(folder / "sound.wav", sound, SAMPLE_RATE_HZ)
    listed = [
        f"file '{number}.png'\nduration {len(shot.sound) / SAMPLE_RATE_HZ:.3f}"
        for number, shot in enumerate(shots)
    ]
    # The last picture is told twice, or it would not last.
    listed.append(f"file '{len(shots) - 1}.png'")
    (folder / "pictures.txt").write_text("\n".join(listed), encoding="ascii")
    subprocess.run(
        [
            *("ffmpeg", "-y", "-loglevel", "error"),
            *("-f", "concat", "-safe", "0", "-i", "pictures.txt", "-i", "sound.wav"),
            *("-vf", f"fps={FRAMES_PER_S},scale=960:-2", "-c:v", "libx264", "-crf", "30"),
            *("-preset", "veryslow", "-tune", "stillimage", "-pix_fmt", "yuv420p"),
            *("-c:a", "aac", "-b:a", "64k", "-shortest", "-movflags", "+faststart"),
            str(FILM),
        ],
        cwd=folder,
        check=True,
    )


def _samples(sound: bytes) -> Samples:
    return np.frombuffer(sound, "<i2").astype(np.float32) / 32768.0


if __name__ == "__main__":
    main()
