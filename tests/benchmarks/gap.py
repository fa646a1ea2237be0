"""How long the companion takes to reply, on recorded sound: the whole program, live, by voice.

A technician's synthetic voice speaks into the microphone of a quiet room; microphone and
loudspeaker are recorded side by side (tests/runtime/sound_devices.py). The gap runs from the last
loud 10 ms of an answer to the first of what the companion says next; both recordings run through
the same sound server, and their times are good to about 20 ms.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from string import ascii_lowercase

import numpy as np
import yaml

from companion.runtime.assembly import DEFAULT_RECOGNISER, RECOGNISERS
from companion.simulation.speakers import VOICES, SyntheticSpeaker
from tests.benchmarks.common import Results, percentile, rounded
from tests.runtime.running import ROOT, SHORT_JOB, Companion
from tests.runtime.sound_devices import (
    MOUTH,
    RATE_HZ,
    SPEAKER,
    Mouth,
    Recording,
    SoundDevices,
    missing_programs,
    sound_devices,
)
from tests.runtime.technician import GotNowhere, LiveTechnician

NAME = "gap"
WHAT = "end of speech to first sound of the reply, live; start, idle work and memory"
_IDLE_S = 10.0
_ROOM_DBFS = -60.0
_ROOM_S = 1
_LONGEST_ANSWER_S = 25.0
_LOUD_SHARE = 0.02
_BESIDE_READINGS_S, _LONGEST_READING_S = 90.0, 20.0
"""A reading with its read-back and both answers takes some 7 s; one that is refused once, twice
that."""
_PLAUSIBLE_MM = 1000, 1400
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_UNDERSTOOD = "  hears  "
_TICKS_PER_S = os.sysconf("SC_CLK_TCK")


def add_options(parser: argparse.ArgumentParser) -> None:
    """What may be chosen on the command line."""
    parser.add_argument(
        "--readings",
        type=int,
        default=6,
        choices=range(1, len(ascii_lowercase) + 1),
        metavar="COUNT",
        help=f"readings asked for by voice, at most {len(ascii_lowercase)}",
    )
    parser.add_argument("--ears", choices=RECOGNISERS, default=DEFAULT_RECOGNISER)
    parser.add_argument("--voice", choices=VOICES, default="slt", help="the technician's")
    parser.add_argument(
        "--soak-hours", type=float, default=0.0, help="also hours of listening, in compressed time"
    )


def run(options: argparse.Namespace) -> Results:
    """One job; the gaps of all its answers."""
    if missing := missing_programs():
        return {"errors": [f"not installed: {', '.join(missing)}"]}
    with tempfile.TemporaryDirectory(prefix="bay-sound-") as folder:
        path = Path(folder)
        try:
            with sound_devices(path) as devices:
                return _measured(options, devices, path)
        except (GotNowhere, TimeoutError) as error:
            return {"errors": str(error).splitlines()}


def _measured(options: argparse.Namespace, devices: SoundDevices, folder: Path) -> Results:
    mouth, said, room = Mouth(devices), Recording(devices, MOUTH), Mouth(devices)
    still = threading.Event()
    threading.Thread(target=_sound_of_room, args=(room, options.seed, still), daemon=True).start()
    heard = Recording(devices, SPEAKER)
    job, answers = _job(folder, options.readings, options.seed)
    arguments = ["start", "--job", str(job), "--ears", options.ears, "--voice", "speaker"]
    arguments += ["--voice-check", "never"]
    companion = Companion(
        [*arguments, "--record", str(folder / "record.sqlite")], devices.environment, folder
    )
    try:
        speaker = SyntheticSpeaker(options.voice, options.seed, cache_folder=folder / "answers")
        tell = partial(_tell, companion)
        technician = LiveTechnician(companion, mouth, heard, speaker, answers, tell)
        within_s = _BESIDE_READINGS_S + _LONGEST_READING_S * options.readings
        if technician.work("Stand up straight", within_s) is None:
            raise TimeoutError(f"the job ended before it was over\n{companion.printed()}")
        start_s = heard.loud_times()[0] - companion.started_s
        understood_s = [at_s for at_s, line in companion.lines if line.startswith(_UNDERSTOOD)]
        gaps = reply_gaps_s(said.loud_times(_LOUD_SHARE), understood_s, heard.loud_times())
        heard.wait_until_said(companion.lines[-1][0], 1.0, _LONGEST_ANSWER_S)
        idle_percent = _idle_cpu_percent(companion.process.pid)
        rss_mb = _rss_mb(companion.process.pid)
        companion.end()
    finally:
        companion.end()
        still.set()
        for part in (mouth, said, heard, room):
            part.close()
    soaked = _soak(options, folder)
    return {
        "gap_ms_median": rounded(_ms(percentile([gap for _, gap in gaps], 50.0))),
        "gap_ms_p95": rounded(_ms(percentile([gap for _, gap in gaps], 95.0))),
        "understood_ms_median": rounded(_ms(percentile([first for first, _ in gaps], 50.0))),
        "start_s": rounded(start_s, 3),
        "idle_cpu_percent": rounded(idle_percent, 3),
        "rss_mb": rounded(rss_mb, 4),
        "replies": len(gaps),
        "said_again": len(technician.answered) - len(gaps),
        "load_1min": rounded(os.getloadavg()[0], 3),
        "ears": options.ears,
        **soaked,
    }


def _tell(companion: Companion, line: str) -> None:
    """Progress, for who watches."""
    print(f"{time.monotonic() - companion.started_s:6.1f} s  {line}", file=sys.stderr, flush=True)


def _job(folder: Path, readings: int, seed: int) -> tuple[Path, dict[str, str]]:
    """The short job with so many readings, and what the technician answers to its prompts."""
    job = yaml.safe_load(SHORT_JOB.read_text(encoding="utf-8"))
    steps = job["stages"][0]["steps"]
    (reading,) = [step for step in steps if step["step"] == "reading"]
    place = steps.index(reading)
    titles = [f"Distance {letter}" for letter in ascii_lowercase[:readings]]
    steps[place : place + 1] = [
        {**reading, "id": f"distance_{number}_mm", "title": title, "ask": f"{title}."}
        for number, title in enumerate(titles)
    ]
    path = folder / "job.yaml"
    path.write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
    # Each another number: a read-back that nobody has said before has to be rendered first.
    values = np.random.default_rng(seed).choice(np.arange(*_PLAUSIBLE_MM), readings, replace=False)
    said = [" ".join(_DIGITS[int(digit)] for digit in str(value)) for value in values]
    answers = {"keep the sound, or words only.": "words only", "Yes or no?": "yes"}
    answers |= {f"{title}.": words for title, words in zip(titles, said, strict=True)}
    return path, answers


def reply_gaps_s(
    said_s: Sequence[float], understood_s: Sequence[float], replied_s: Sequence[float]
) -> list[tuple[float, float]]:
    """Of each understood answer: its end to its being understood, and to the reply's first sound.

    What was said while the companion still spoke, or was not understood, is no answer.
    """
    said, replied = np.asarray(said_s), np.asarray(replied_s)
    gaps = []
    for at_s in understood_s:
        before, after = said[said < at_s], replied[replied > at_s]
        if len(before) and len(after):
            gaps.append((float(at_s - before[-1]), float(after[0] - before[-1])))
    return gaps


def _sound_of_room(room: Mouth, seed: int, still: threading.Event) -> None:
    """A quiet room at the microphone, until it is to be still or the wire is gone."""
    noise = np.random.default_rng(seed).normal(0.0, 10 ** (_ROOM_DBFS / 20), _ROOM_S * RATE_HZ)
    second = (noise * 32768.0).astype("<i2").tobytes()
    with contextlib.suppress(OSError, ValueError):
        while not still.is_set():
            # Comes back only when the wire has taken it.
            room.speak(second)


def _idle_cpu_percent(process_id: int) -> float:
    """Share of one core while nobody speaks, with a quiet room at the microphone."""
    before_s, began_s = _cpu_s(process_id), time.monotonic()
    time.sleep(_IDLE_S)
    return 100.0 * (_cpu_s(process_id) - before_s) / (time.monotonic() - began_s)


def _soak(options: argparse.Namespace, folder: Path) -> Results:
    """Hours of listening in a process of its own (see `soaking`)."""
    if options.soak_hours <= 0.0:
        return {}
    (folder / "soak").mkdir()
    seconds = str(3600.0 * options.soak_hours)
    command = [*(sys.executable, "-m", "tests.benchmarks.soaking"), seconds]
    ended = subprocess.run(
        [*command, str(folder / "soak"), options.ears],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    soaked: Results = json.loads(ended.stdout.splitlines()[-1])
    return soaked


def _cpu_s(process_id: int) -> float:
    fields = Path(f"/proc/{process_id}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / _TICKS_PER_S


def _rss_mb(process_id: int) -> float:
    status = Path(f"/proc/{process_id}/status").read_text(encoding="ascii")
    (line,) = [line for line in status.splitlines() if line.startswith("VmRSS:")]
    return int(line.split()[1]) * 1024 / 1e6


def _ms(seconds: float | None) -> float | None:
    return None if seconds is None else 1000.0 * seconds
