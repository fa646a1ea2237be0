"""Synthetic speakers for training: flite, festival, espeak-ng in many variants, neural voices."""

from __future__ import annotations

import json
import math
import random
import shutil
import subprocess
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from companion.recognition.own.recogniser import at_speed
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.recognition.source import read_sound
from tests.benchmarks.ears_neural import (
    KOKORO,
    MANY,
    PIPER,
    mouth_of_many,
    say_kokoro,
    say_piper,
    say_style,
)
from tests.ears_training.phrases import PhraseMaker, Said

FLITE_VOICES = ("slt", "rms", "kal16", "kal")
"""Another voice, awb, is kept for scoring."""
_FESTIVAL_VOICES = ("ked_diphone", "kal_diphone", "cmu_us_slt_arctic_hts")
_ESPEAK_ACCENTS = (
    "en-us",
    "en-us",
    "en-gb",
    "en-gb-x-rp",
    "en-gb-scotland",
    "en-gb-x-gbclan",
    "en-gb-x-gbcwmd",
    "en-029",
)
"""New York (en-us-nyc) is kept for scoring, with the variants m8, f1 and klatt4."""
_SPANISH_ACCENTS = ("es", "es-419")
"""Only ever with a variant: the plain voices are kept for scoring."""
_ESPEAK_VARIANTS = (
    *("m1", "m2", "m3", "m4", "m5", "m6", "m7", "f2", "f3", "f4", "f5", "adam", "Alex"),
    *("Alicia", "Andrea", "Andy", "Annie", "anika", "antonio", "aunty", "belinda", "benjamin"),
    *("boris", "caleb", "david", "Denis", "Diogo", "ed", "edward", "grandma", "grandpa"),
    *("gustave", "Henrique", "Hugo", "iven", "Jacky", "john", "kaukovalta", "klatt", "klatt2"),
    *("klatt3", "klatt5", "klatt6", "Lee", "linda", "marcelo", "Marco", "Mario", "max"),
    *("Michael", "michel", "miguel", "Mike", "norbert", "pablo", "paul", "pedro", "quincy"),
    *("rob", "robert", "sandro", "shelby", "steph", "steph2", "travis", "victor", "zac"),
)
_LONGEST_S = 30.0
_SMALLEST_MOUTH, _LARGEST_MOUTH = 0.82, 1.22
"""A voice is played so many times as fast, and spoken as much slower: another mouth and throat."""

Maker = Callable[[Said, float, random.Random, Path], None]


def _flite(said: Said, mouth: float, generator: random.Random, path: Path) -> None:
    stretch = f"duration_stretch={mouth * generator.uniform(0.8, 1.2):.2f}"
    pitch = f"int_f0_target_mean={generator.uniform(85, 220) / mouth:.0f}"
    command = ["flite", "-voice", generator.choice(FLITE_VOICES), "--setf", stretch]
    _run([*command, "--setf", pitch, "-t", said.text, "-o", str(path)])


def _festival(said: Said, mouth: float, generator: random.Random, path: Path) -> None:
    stretch = mouth * generator.uniform(0.8, 1.2)
    script = path.with_suffix(".scm")
    script.write_text(
        f"(voice_{generator.choice(_FESTIVAL_VOICES)}) "
        f"(Parameter.set 'Duration_Stretch {stretch:.2f})\n"
        f'(set! said (utt.synth (Utterance Text "{said.text}")))\n'
        f'(utt.save.wave said "{path}")\n',
        encoding="ascii",
    )
    _run(["festival", "-b", str(script)])
    script.unlink()


def _espeak(
    accents: tuple[str, ...], said: Said, mouth: float, generator: random.Random, path: Path
) -> None:
    voice = f"{generator.choice(accents)}+{generator.choice(_ESPEAK_VARIANTS)}"
    speed, pitch = round(generator.uniform(120, 210) / mouth), generator.randint(20, 80)
    command = ["espeak-ng", "-v", voice, "-s", str(speed), "-p", str(pitch)]
    _run([*command, "-w", str(path), said.text])


def _piper(said: Said, mouth: float, generator: random.Random, path: Path) -> None:
    samples, rate_hz = say_piper(
        said.text,
        length=mouth * generator.uniform(0.8, 1.2),
        noise=generator.uniform(0.4, 0.9),
        rhythm=generator.uniform(0.5, 1.0),
    )
    soundfile.write(path, samples, rate_hz)


def _kokoro(accent: str, said: Said, mouth: float, generator: random.Random, path: Path) -> None:
    pace = generator.uniform(0.75, 1.2) / mouth
    samples, rate_hz = say_kokoro(said.text, pace, generator, accent)
    soundfile.write(path, samples, rate_hz)


def _many(said: Said, mouth: float, generator: random.Random, path: Path) -> None:
    style, accent = mouth_of_many(generator)
    pace = generator.uniform(0.8, 1.3) / mouth
    samples, rate_hz = say_style(said.text, style, pace, accent)
    soundfile.write(path, samples, rate_hz)


def _pico(said: Said, mouth: float, generator: random.Random, path: Path) -> None:
    import py_nanotts

    voice = generator.choice(("en-GB", "en-US"))
    speed, pitch = generator.uniform(0.75, 1.25) / mouth, generator.uniform(0.75, 1.3) / mouth
    sound = py_nanotts.NanoTTS().speak(said.text, voice, speed, pitch)
    soundfile.write(path, np.frombuffer(sound, "<i2"), SAMPLE_RATE_HZ)


@dataclass(frozen=True)
class VoiceMaker:
    """How a language is spoken by one program; `program` must be on the path."""

    program: str
    say: Maker
    language: str = "en"


MAKERS: dict[str, VoiceMaker] = {
    "flite": VoiceMaker("flite", _flite),
    "festival": VoiceMaker("festival", _festival),
    "espeak": VoiceMaker("espeak-ng", partial(_espeak, _ESPEAK_ACCENTS)),
    PIPER: VoiceMaker("espeak-ng", _piper),
    KOKORO: VoiceMaker("espeak-ng", partial(_kokoro, "en-us")),
    MANY: VoiceMaker("espeak-ng", _many),
    "pico": VoiceMaker("espeak-ng", _pico),
    "espeak_es": VoiceMaker("espeak-ng", partial(_espeak, _SPANISH_ACCENTS), "es"),
    "kokoro_es": VoiceMaker("espeak-ng", partial(_kokoro, "es"), "es"),
}


def _run(command: list[str]) -> None:
    subprocess.run(command, check=True, capture_output=True, timeout=_LONGEST_S)


def render(
    folder: Path, maker: str, count: int, seed: int, phrases: PhraseMaker | None = None
) -> None:
    """So many phrases of one maker as sound; `labels.jsonl` in `folder` tells what is said.

    Without `phrases` they are those of all prompts of the maker's language.

    Raises FileNotFoundError where the speech maker is missing.
    """
    voice = MAKERS[maker]
    if shutil.which(voice.program) is None:
        raise FileNotFoundError(f"{voice.program}: not on the path; wanted for training")
    folder.mkdir(parents=True, exist_ok=True)
    phrases, generator = phrases or PhraseMaker(voice.language), random.Random(seed)
    work = folder / "rendered.wav"
    with (folder / "labels.jsonl").open("w", encoding="utf-8") as labels:
        for number in range(count):
            said = phrases.one(generator)
            mouth = math.exp(generator.uniform(math.log(_SMALLEST_MOUTH), math.log(_LARGEST_MOUTH)))
            voice.say(said, mouth, generator, work)
            sound = np.frombuffer(read_sound(work), "<i2").astype(np.float32)
            name = f"{maker}{number:06d}.s16le"
            spoken = np.clip(np.rint(at_speed(sound, mouth)), -32768, 32767)
            (folder / name).write_bytes(spoken.astype("<i2").tobytes())
            told = {"sound": name, "label": said.label, "text": said.text, "voice": maker}
            labels.write(json.dumps(told) + "\n")
            labels.flush()
    work.unlink()


def read_rendered(folder: Path) -> Iterable[tuple[npt.NDArray[np.float32], tuple[str, ...]]]:
    """Every rendered phrase: samples at 16 kHz, full scale 1.0, and its label."""
    for line in (folder / "labels.jsonl").read_text(encoding="utf-8").splitlines():
        told = json.loads(line)
        samples = np.frombuffer((folder / told["sound"]).read_bytes(), "<i2")
        yield samples.astype(np.float32) / np.float32(32768), tuple(told["label"])
