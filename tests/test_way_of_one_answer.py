"""One spoken answer from the microphone to the record: who hands on what (DEVELOPERS.md)."""

from __future__ import annotations

import re
import types
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args, get_origin, get_type_hints

import companion
from companion.facts.talking import Heard, Refused, Silent
from companion.recognition.listening import StreamEars
from companion.recognition.microphone import MicrophoneSource
from companion.recognition.own.endpointer import HeadEndpointer
from companion.recognition.own.evidence import Evidence, weigh
from companion.recognition.own.head import Judged
from companion.recognition.own.listening_head import ListeningHead
from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.own.search import Hearing, hearing
from companion.recognition.port import Recognition, Refusal, Utterance
from companion.record.journal import SqliteLog
from companion.record.port import StoredEvent
from companion.record.rows import row_of_event
from companion.runtime import loop

HANDS: tuple[tuple[Callable[..., Any], set[Any]], ...] = (
    (MicrophoneSource.frames, {bytes}),
    (ListeningHead.judge, {Judged}),
    (hearing, {Hearing}),
    (weigh, {Evidence}),
    (OwnRecogniser.recognise, {Recognition}),
    (HeadEndpointer.follow, {Recognition, Refusal}),
    (StreamEars.hear, {Utterance, Refusal}),
    (loop.listen, {Heard, Refused, Silent}),
    (SqliteLog.append, {StoredEvent}),
    (row_of_event, {dict}),
)
"""Of each hand the types that it gives on. More than these are not wanted on the way."""
DIRECTLY = (
    (HeadEndpointer.follow, bytes),
    (weigh, Hearing),
    (OwnRecogniser._told, Evidence),
    (StreamEars._judged, Recognition),
    (loop._as_event, Utterance),
    (SqliteLog.append, Heard),
    (row_of_event, StoredEvent),
)
"""Who takes what another gave without anything between them."""
HEARS = {
    "recognition/listening.py": "StreamEars",
    "recognition/port.py": "Ears",
    "recognition/signals.py": "SignallingEars",
    "recognition/typed.py": "TypedEars",
    "runtime/live_ears.py": "LiveEars",
    "runtime/practising.py": "_PracticeEars",
    "runtime/rehearsing.py": "_TechnicianEars",
    "simulation/sources.py": "TypedTechnician",
    "simulation/technician.py": "Technician",
}
A_CLASS_THAT_HEARS = re.compile(r"^class (\w+)(?:(?!^class ).)*?^    def hear\(", re.M | re.S)


def types_in(hint: Any) -> set[Any]:
    """The plain types of a hint, out of its unions and rows."""
    origin = get_origin(hint)
    if origin is dict or origin is Heard:
        return {origin}
    if origin is None:
        return set() if hint in (types.NoneType, ...) else {hint}
    return {each for part in get_args(hint) for each in types_in(part)}


def test_each_hand_gives_on_one_type_and_no_other() -> None:
    for hand, wanted in HANDS:
        assert types_in(get_type_hints(hand)["return"]) == wanted, hand


def test_each_takes_what_the_one_before_gave() -> None:
    for hand, wanted in DIRECTLY:
        hints = get_type_hints(hand)
        del hints["return"]
        assert wanted in {each for hint in hints.values() for each in types_in(hint)}, hand


def test_nobody_else_hears() -> None:
    package = Path(companion.__file__).parent
    found = {}
    for path in package.rglob("*.py"):
        for name in A_CLASS_THAT_HEARS.findall(path.read_text(encoding="utf-8")):
            found[path.relative_to(package).as_posix()] = name
    assert found == HEARS
