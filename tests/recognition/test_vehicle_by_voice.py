"""Which vehicle it is, by number or spelled, from the sound of a synthetic technician."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.job.own_files import OwnFile
from companion.language.loader import load_language
from companion.recognition.listening import StreamEars
from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.port import SoundEnded
from companion.recognition.source import FileSource
from companion.runtime.aloud import Aloud
from companion.runtime.vehicle_aloud import VehicleAloud, VehicleLeft
from companion.speech.silent import SilentVoice

SHOP = ("Blue estate", "Green four", "Grey hatchback", "Red van", "White transporter")


@pytest.mark.parametrize(
    ("said", "chosen"), [("two", "Green four"), ("number four", "Red van"), ("alfa", "")]
)
def test_our_own_ears_hear_which_vehicle_it_is(
    technician: Callable[..., bytes], tmp_path: Path, said: str, chosen: str
) -> None:
    """What begins like none of them is not understood, and nothing is chosen by it."""
    sound = b"".join(technician(words) for words in (said, *(["yes"] if chosen else ["stop"])))
    file = tmp_path / "answers.wav"
    soundfile.write(file, np.frombuffer(sound, "<i2"), 16_000, subtype="PCM_16")
    recogniser, shown = OwnRecogniser(), list[str]()
    ears = StreamEars(FileSource(file), recogniser)
    talk = Aloud(ears, SilentVoice(), load_language(), shown.append)
    offered = [OwnFile(name.split()[0].lower(), Path(name), name, example=False) for name in SHOP]
    asking = VehicleAloud(talk, offered, recogniser.missing_words)
    if chosen:
        assert asking.choose()[0].told == chosen
    else:
        with pytest.raises((VehicleLeft, SoundEnded)):
            asking.choose()
