"""Devices go, hang and come back: the companion says so, goes on, and takes nothing unsaid."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from companion.errors import EarsError
from companion.record import StoredEvent, open_for_reading
from companion.record.audit.verify import verify
from companion.simulation.speakers import SyntheticSpeaker
from tests.runtime.running import ROOT, SHORT_JOB, Companion
from tests.runtime.sound_devices import MOUTH, SPEAKER, Mouth, Recording, SoundDevices

ASKS_CONSENT = "Say keep the sound, or words only."
ENOUGH_QUIET_S = 0.8
HANGS = """
import threading
from companion.runtime import assembly
from companion.cli import main
from companion.recognition.sphinx import SphinxRecogniser
assembly.LONGEST_THOUGHT_S = 3.0
SphinxRecogniser.recognise = lambda ears, sound: threading.Event().wait()
main()
"""


class Bay:
    """The companion with its devices, its record and a voice to answer with."""

    def __init__(self, devices: SoundDevices, heard: Recording, folder: Path) -> None:
        self.devices, self.heard, self.record = devices, heard, folder / "record.sqlite"
        self.speaker = SyntheticSpeaker("slt", seed=1)
        self._folder = folder
        self._started: list[Companion] = []

    def start(self, *more: str, program: str | None = None) -> Companion:
        arguments = ["start", "--job", str(SHORT_JOB), "--ears", "sphinx", "--voice", "speaker"]
        arguments += ["--voice-check", "never"]
        also = {"program": program} if program else {}
        companion = Companion(
            [*arguments, "--record", str(self.record), *more],
            self.devices.environment,
            self._folder,
            **also,
        )
        self._started.append(companion)
        return companion

    def until_it_listens(self, companion: Companion) -> None:
        """Until the newest prompt has been spoken to its end."""
        since_s = companion.lines[-1][0]
        assert self.heard.wait_until_said(since_s, ENOUGH_QUIET_S, within_s=60.0)

    def events(self) -> Sequence[StoredEvent]:
        assert verify(self.record) == []
        with open_for_reading(self.record) as database:
            session = database.sessions()[-1]
            return list(database.events(session.session_id))

    def close(self) -> None:
        for companion in self._started:
            companion.end()


@pytest.fixture
def bay(devices: SoundDevices, heard: Recording, tmp_path: Path) -> Iterator[Bay]:
    bay = Bay(devices, heard, tmp_path)
    yield bay
    bay.close()


def heard_words(events: Sequence[StoredEvent]) -> list[tuple[str, str]]:
    return [(e.body["words"], e.body["ears"]) for e in events if e.kind == "heard"]


def say_until_heard(bay: Bay, companion: Companion, answer: str, line: str) -> str | None:
    """Say it, and once more as people do, until the line comes."""
    mouth = Mouth(bay.devices)
    try:
        for _ in range(3):
            mouth.speak(bay.speaker.say(answer))
            try:
                return companion.next_line(line, within_s=15.0)
            except TimeoutError:
                continue
    finally:
        mouth.close()
    raise AssertionError(f"{answer!r} was not heard; {companion.printed()}")


def test_an_unplugged_microphone_is_told_and_typing_goes_on_until_it_is_back(bay: Bay) -> None:
    companion = bay.start()
    companion.next_line(ASKS_CONSENT)
    bay.until_it_listens(companion)

    bay.devices.unplug(MOUTH)
    assert companion.next_line("The microphone is gone", within_s=60.0)
    assert companion.next_line("not    the microphone is gone")
    companion.type("words only")
    assert companion.next_line("hears  words only")

    bay.devices.plug_in(MOUTH)
    assert companion.next_line("The microphone is back", within_s=60.0)
    bay.until_it_listens(companion)
    assert say_until_heard(bay, companion, "yes", "taken  Keeping recorded voices")

    companion.end()
    events = bay.events()
    assert heard_words(events) == [("words only", "typed"), ("yes", "pocketsphinx")]
    assert "no_microphone" in [e.body["reason"] for e in events if e.kind == "refused"]
    told = [line for _, line in companion.lines if "The microphone is gone" in line]
    assert len(told) == 1


def test_without_a_loudspeaker_the_prompts_are_read_and_the_ears_stay_open(bay: Bay) -> None:
    companion = bay.start()
    companion.next_line(ASKS_CONSENT)

    bay.devices.unplug(SPEAKER)
    assert companion.next_line("The voice is gone; read the prompts on the screen", within_s=60.0)
    assert say_until_heard(bay, companion, "words only", "hears  words only")
    assert companion.next_line("says   Words only. Yes or no?")

    bay.devices.plug_in(SPEAKER)
    time.sleep(5.0)  # The devices are looked for every five seconds, not at each prompt.
    again = Recording(bay.devices, SPEAKER)
    since_s = time.monotonic()
    companion.type("yes")
    assert companion.next_line("The voice is back", within_s=60.0)
    assert again.wait_until_said(since_s, ENOUGH_QUIET_S, within_s=60.0)
    again.close()

    companion.end()
    assert heard_words(bay.events()) == [("words only", "pocketsphinx"), ("yes", "typed")]


def test_a_recogniser_that_hangs_ends_the_program_and_the_job_goes_on_in_the_next(
    bay: Bay,
) -> None:
    companion = bay.start(program=HANGS)
    companion.next_line(ASKS_CONSENT)
    bay.until_it_listens(companion)
    hangs = "My hearing has stopped responding. I am restarting; nothing is lost."
    assert say_until_heard(bay, companion, "words only", hangs)
    assert companion.wait(60.0) == EarsError.exit_code
    assert heard_words(bay.events()) == []

    resumed = bay.start("--or-resume")
    assert resumed.next_line("I am back. We were at keeping recorded voices.")
    bay.until_it_listens(resumed)
    assert say_until_heard(bay, resumed, "words only", "hears  words only")
    resumed.end()
    assert [e.kind for e in bay.events()].count("opened") == 1


def test_a_service_that_starts_before_the_headset_is_plugged_in_waits_for_it(bay: Bay) -> None:
    bay.devices.unplug(MOUTH)
    companion = bay.start("--or-resume")
    assert companion.next_line("I am waiting until it is plugged in.")
    bay.devices.plug_in(MOUTH)
    assert companion.next_line(ASKS_CONSENT)
    assert companion.process.poll() is None


def test_asked_to_end_it_ends_in_good_order_and_says_how_to_go_on(bay: Bay) -> None:
    companion = bay.start()
    companion.next_line(ASKS_CONSENT)
    assert companion.end(within_s=60.0) == 8
    assert "Interrupted; nothing is lost. To continue: companion resume" in companion.printed()


def test_a_loudspeaker_that_was_hushed_speaks_the_next_prompt(devices: SoundDevices) -> None:
    """Hushed before or while it plays, only that one prompt is cut off."""
    code = (
        "import numpy as np\n"
        "from companion.speech.player import DeviceSink\n"
        "sink, sound = DeviceSink(), np.zeros(8_000, dtype=np.float32)\n"
        "sink.hush()\n"
        "print(sink.play(sound, 16_000))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**devices.environment, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stdout.split() == ["True"], done.stderr
