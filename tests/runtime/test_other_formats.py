"""A card that records 44.1 kHz stereo and nothing else is heard; one that gives nothing is refused.

The sound server takes any format, as a desktop's does. A bare card does not: PortAudio then refuses
to open it, which is put between the program and the server's real device here.
"""

from __future__ import annotations

import shutil
import subprocess
import sys

import pytest

from companion.simulation.speakers import SyntheticSpeaker
from tests.runtime.running import ROOT
from tests.runtime.sound_devices import Mouth, SoundDevices

BARE_CARD = """
import sys
import sounddevice
from companion.runtime import assembly
from companion.dialogue.asking import YES_NO
from companion.recognition.listening import StreamEars
from companion.recognition.microphone import MicrophoneSource
from companion.recognition.port import Listening
from companion.errors import EarsError

RATE, CHANNELS = int(sys.argv[1]), int(sys.argv[2])
opened = sounddevice.RawInputStream

def as_a_bare_card(**wanted):
    if (wanted["samplerate"], wanted["channels"]) != (RATE, CHANNELS):
        raise sounddevice.PortAudioError("Invalid sample rate", -9997)
    return opened(**wanted)

sounddevice.RawInputStream = as_a_bare_card
try:
    source = MicrophoneSource()
except EarsError as error:
    print("refused", error, flush=True)
    sys.exit(0)
recogniser = assembly.make_recogniser(assembly.EarsChoice("sphinx"), assembly.language())
ears = StreamEars(source, recogniser)
grammar = assembly.language().for_step(YES_NO)
print("listening", flush=True)
print("heard", ears.hear(Listening("p", grammar, 30.0)).words, flush=True)
ears.close()
"""


@pytest.mark.skipif(shutil.which("flite") is None, reason="flite is not installed")
def test_a_card_of_another_rate_and_two_channels_is_heard(
    devices: SoundDevices, mouth: Mouth
) -> None:
    with program(devices, 44_100, 2) as hearing:
        assert hearing.stdout is not None
        assert hearing.stdout.readline() == "listening\n"
        for _ in range(5):
            mouth.speak(SyntheticSpeaker("slt", seed=1).say("stop") + bytes(32_000))
        assert hearing.stdout.readline() == "heard stop\n"


def test_a_card_that_gives_no_format_is_refused_before_the_job(devices: SoundDevices) -> None:
    with program(devices, 8_000, 7) as hearing:
        assert hearing.stdout is not None
        told = hearing.stdout.readline()
    assert told.startswith("refused microphone (default): can record neither"), told
    assert "wanted a connected microphone" in told


def program(devices: SoundDevices, rate_hz: int, channels: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", BARE_CARD, str(rate_hz), str(channels)],
        env={**devices.environment, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
