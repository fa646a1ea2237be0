"""Hours of listening, as fast as they can be heard: `python -m tests.benchmarks.soaking`.

A job stands open in a quiet bay and a technician says something once a minute that leaves it open.
Sound is handed over without waiting, so time is compressed; nothing else is: the loop, the ears,
the record on the disk are those of a live job. The prompts are not spoken. Prints one JSON object.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np

from companion.commands.job_screen import Screen
from companion.job.loader import JobPaths
from companion.recognition.port import FRAME_BYTES, FRAME_S, SoundEnded
from companion.record import SqliteLog, open_record
from companion.runtime import assembly
from companion.runtime.hearing_watch import HearingWatch
from companion.runtime.live_ears import Hands, LiveEars
from companion.runtime.loop import Room, start_job
from companion.runtime.waiting_record import Patience, WaitingLog
from companion.simulation.speakers import SyntheticSpeaker
from companion.speech.silent import SilentVoice
from tests.runtime.running import SHORT_JOB
from tests.spoken import as_typed

_ROOM_DBFS = -60.0
_BETWEEN_ANSWERS_S = 60.0
_SAID = ("repeat", "words only", "no", "carry on", "where are we", "wait", "carry on")
_SETTLED_SHARE = 0.1


class LongShift:
    """A microphone in a quiet bay for so many seconds; notes the memory along the way."""

    gone = False

    def __init__(self, seconds: float, folder: Path) -> None:
        self._seconds = seconds
        speaker = SyntheticSpeaker("slt", 1, cache_folder=folder)
        self._answers = [speaker.say(words) for words in _SAID]
        self.rss_mb: list[float] = []
        self.heard_s = 0.0

    def frames(self) -> Iterator[bytes]:
        """The room's noise with an answer in it once a minute."""
        random, answer, number = np.random.default_rng(1), b"", 0
        scale = 32768.0 * 10.0 ** (_ROOM_DBFS / 20.0)
        next_answer_s, next_look_s = _BETWEEN_ANSWERS_S, self._seconds * _SETTLED_SHARE
        while self.heard_s < self._seconds:
            if self.heard_s >= next_answer_s:
                answer, number = self._answers[number % len(self._answers)], number + 1
                next_answer_s += _BETWEEN_ANSWERS_S
            if self.heard_s >= next_look_s:
                self.rss_mb.append(rss_mb())
                next_look_s += self._seconds * _SETTLED_SHARE
            noise = random.normal(0.0, scale, FRAME_BYTES // 2)
            spoken, answer = answer[:FRAME_BYTES].ljust(FRAME_BYTES, b"\0"), answer[FRAME_BYTES:]
            mixed = noise + np.frombuffer(spoken, "<i2")
            self.heard_s += FRAME_S
            yield np.clip(np.rint(mixed), -32768, 32767).astype("<i2").tobytes()
        self.rss_mb.append(rss_mb())

    def flush(self, *, deaf: bool = True) -> None:
        """Nothing waits."""

    def close(self) -> None:
        """Nothing to let go of."""


def rss_mb() -> float:
    """The memory that this process holds now."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    (line,) = [line for line in status.splitlines() if line.startswith("VmRSS:")]
    return int(line.split()[1]) * 1024 / 1e6


def main(seconds: float, folder: Path, kind: str) -> None:
    """Listen for so long with these ears, the record in the folder."""
    loaded = assembly.load(JobPaths(job=SHORT_JOB))
    recogniser = assembly.make_recogniser(assembly.EarsChoice(kind), assembly.language())
    shift, watch = LongShift(seconds, folder), HearingWatch(60.0, lambda: None)
    settings = assembly.endpoint_settings(kind)
    ears = LiveEars(shift, recogniser, Hands([]), as_typed, watch, settings)
    began_s = time.monotonic()
    with open_record(folder / "record.sqlite") as database:
        session = database.create_session()
        log = WaitingLog(SqliteLog(database, session), Patience(print), print)
        room = Room(ears, SilentVoice(), log, None, Screen(quiet=True))
        with suppress(SoundEnded):
            start_job(room, loaded, assembly.language())
        events = database.session(session).event_count
    told = {
        "soak_hours": round(shift.heard_s / 3600.0, 3),
        "soak_took_s": round(time.monotonic() - began_s, 1),
        "soak_events": events,
        "soak_rss_mb_each_tenth": [round(megabytes, 1) for megabytes in shift.rss_mb],
        "soak_rss_mb": round(shift.rss_mb[-1], 1),
        "soak_growth_mb": round(shift.rss_mb[-1] - shift.rss_mb[0], 1),
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main(float(sys.argv[1]), Path(sys.argv[2]), sys.argv[3])
