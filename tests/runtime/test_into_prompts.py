"""Answers into prompts, live: measured, allowed or refused at the start, and "stop" into a caution.

Real player, real microphone, on a sound server of its own; what the loudspeaker leaks into the
microphone is a third wire between the two.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.facts.opening import Opened
from companion.facts.talking import Heard, Said
from companion.record import open_for_reading
from companion.record.audit.verify import verify
from companion.simulation.speakers import SyntheticSpeaker
from tests.runtime.running import SHORT_JOB, Companion
from tests.runtime.sound_devices import RATE_HZ, Mouth, Recording, SoundDevices

ROOM_DBFS = -58.0
MOST_ATTEMPTS = 3
ANSWERS = "kind: settings\nanswers_into_prompts: true\n"
LONG_CAUTION = "Brakes on and wheels chocked and ignition only when I ask and nobody in front."
LIVE = ("start", "--job", str(SHORT_JOB), "--ears", "own", "--voice", "speaker")


class Room:
    """A room that is never silent, as no real one is; words are said over it."""

    def __init__(self, mouth: Mouth) -> None:
        self._mouth = mouth
        self._words = b""
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._sound, daemon=True)
        self._thread.start()

    def _sound(self) -> None:
        random = np.random.default_rng(1)
        count = RATE_HZ // 20
        began_s, given = time.monotonic(), 0
        while not self._closed.is_set():
            words, self._words = self._words[: 2 * count], self._words[2 * count :]
            sound = 32768.0 * 10 ** (ROOM_DBFS / 20) * random.normal(size=count)
            sound[: len(words) // 2] += np.frombuffer(words, "<i2")
            self._mouth.speak(np.clip(sound, -32768, 32767).astype("<i2").tobytes())
            given += count
            self._closed.wait(max(0.0, began_s + given / RATE_HZ - 0.1 - time.monotonic()))

    def say(self, words: bytes) -> None:
        self._words = words

    def close(self) -> None:
        self._closed.set()
        self._thread.join(5.0)


@pytest.fixture
def room(mouth: Mouth) -> Iterator[Room]:
    room = Room(mouth)
    yield room
    room.close()


def run(devices: SoundDevices, folder: Path, *arguments: str) -> Companion:
    environment = {**devices.environment, "XDG_CONFIG_HOME": str(folder / "config")}
    return Companion(arguments, environment, folder)


def allow(folder: Path, settings: str = ANSWERS) -> None:
    file = folder / "config" / "bay-companion" / "settings.yaml"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(settings, encoding="utf-8")


def measured(companion: Companion) -> tuple[int, dict[str, object]]:
    code = companion.wait(90.0)
    printed = companion.printed()
    return code, json.loads(printed[printed.index("{") :])


def stopped_in_a_caution(companion: Companion, room: Room, heard: Recording) -> bool:
    """Whether "stop" is heard that is said while the long caution sounds."""
    companion.next_line(LONG_CAUTION)
    began_s = time.monotonic()
    while not heard.loud_since(began_s):
        time.sleep(0.02)
        assert time.monotonic() - began_s < 60.0, companion.printed()
    time.sleep(0.5)
    room.say(SyntheticSpeaker("slt", seed=1).say("stop"))
    try:
        return companion.next_line("hears", within_s=8.0) is not None
    except TimeoutError:
        return False


def test_a_headset_is_measured_and_stop_into_a_caution_stops_it(
    devices: SoundDevices, room: Room, heard: Recording, tmp_path: Path
) -> None:
    code, found = measured(run(devices, tmp_path, "check", "--echo", "--json"))
    assert code == 0, found
    assert found["allows_answers"] is True
    allow(tmp_path)
    job = tmp_path / "job.yaml"
    job.write_text(SHORT_JOB.read_text("utf-8").replace("Brakes on.", LONG_CAUTION), "utf-8")
    # A busy machine loses sound, and a prompt with a gap in what was heard of it is not followed.
    for attempt in range(MOST_ATTEMPTS):
        record = tmp_path / str(attempt) / "record.sqlite"
        record.parent.mkdir()
        options = ("--voice-check", "never", "--record", str(record), "--job", str(job))
        companion = run(devices, tmp_path, *LIVE, *options)
        try:
            if stopped_in_a_caution(companion, room, heard):
                companion.next_line("Stopped")
                companion.type("continue")
                companion.next_line("Carrying on")
                break
        finally:
            companion.end()
    else:
        pytest.fail(f"no stop of {MOST_ATTEMPTS} was heard; {companion.printed()}")
    assert verify(record) == []
    with open_for_reading(record) as database:
        facts = [event.fact for event in database.events(database.sessions()[-1].session_id)]
    opened = next(fact for fact in facts if isinstance(fact, Opened))
    assert opened.hearing.into_prompts is not None
    stop = next(fact for fact in facts if isinstance(fact, Heard))
    assert stop.how.into is not None
    # What was cut off is told again before the work goes on.
    told = [fact.text for fact in facts if isinstance(fact, Said)].count(LONG_CAUTION)
    assert told == (2 if stop.how.into.announced == 0 else 1)
    assert stop.how.into.sounded_s <= stop.how.into.whole_s


def test_a_loudspeaker_beside_the_microphone_is_measured_and_refused(
    devices: SoundDevices, room: Room, tmp_path: Path
) -> None:
    devices.leak(percent=60)
    code, found = measured(run(devices, tmp_path, "check", "--echo", "--json"))
    assert code == 1, found
    assert found["allows_answers"] is False
    assert 0.0 < float(str(found["delay_s"])) < 0.6
    allow(tmp_path)
    companion = run(devices, tmp_path, *LIVE, "--record", str(tmp_path / "record.sqlite"))
    assert companion.wait(60.0) == 5
    assert "hears the loudspeaker" in companion.printed()


def test_without_a_measurement_the_job_does_not_begin(
    devices: SoundDevices, room: Room, tmp_path: Path
) -> None:
    allow(tmp_path)
    companion = run(devices, tmp_path, *LIVE, "--record", str(tmp_path / "record.sqlite"))
    assert companion.wait(60.0) == 5
    assert "companion check --echo" in companion.printed()
