"""The checks before the work, in the report: in words, and apart from the answers."""

from __future__ import annotations

from typing import Any

from companion.facts.kinds import Entry
from companion.record.memory import MemoryLog
from companion.record.port import StoredEvent
from companion.report.hearing import hearings
from companion.report.notable import notable
from companion.report.timeline import line_of
from companion.report.wording import wording_in

NOISE = {
    "floor_dbfs": -31.4,
    "loud_dbfs": -22.0,
    "voice": "unreliable",
    "advice": "It is too loud here. Use the keyboard or the pedal.",
}
CHECK = {
    "outcome": "poor",
    "asked": 10,
    "right": 7,
    "confused": ["five -> nine", "fifteen -> fifty"],
    "speech_dbfs": -24.0,
    "snr_db": 11.2,
    "digit_by_digit": True,
    "least_confidence": 0.91,
}


def events(*told: tuple[str, dict[str, Any]]) -> list[StoredEvent]:
    log = MemoryLog()
    log.append([Entry(kind, body) for kind, body in told])
    return list(log.events(log.session_id))


def test_the_noise_check_is_told_with_its_levels_and_stands_out_where_it_is_too_loud() -> None:
    (event,) = events(("noise_checked", NOISE))
    line = line_of(event, wording_in())
    assert line.told == f"voice unreliable: {NOISE['advice']}"
    assert line.detail == "floor −31 dBFS, often −22"
    assert [found.label for found in notable([event], wording_in())] == ["noise check"]
    quiet = events(("noise_checked", {**NOISE, "voice": "reliable"}))
    assert notable(quiet, wording_in()) == ()


def test_the_voice_check_tells_what_was_heard_and_what_follows_from_it() -> None:
    (event,) = events(("voice_checked", CHECK))
    line = line_of(event, wording_in())
    assert line.told == "heard poorly, 7 of 10 words right"
    assert line.detail == (
        "taken for another: five -> nine, fifteen -> fifty · speech −24 dBFS · "
        "11 dB above the noise · numbers digit by digit from here on · "
        "answers below 0.91 asked again"
    )
    assert [found.label for found in notable([event], wording_in())] == ["voice check"]
    (declined,) = events(("voice_checked", {"outcome": "declined"}))
    assert line_of(declined, wording_in()).told == "declined"
    assert notable([declined], wording_in()) == ()


def test_words_of_the_check_are_not_counted_among_the_answers() -> None:
    asked = {"purpose": "ask", "text": "Say nine.", "mode": "checking_voice"}
    job = events(
        ("said", {**asked, "prompt_id": "p1"}),
        ("heard", {"prompt_id": "p1", "words": "five", "ears": "own"}),
        ("said", {**asked, "prompt_id": "p2", "mode": "asking"}),
        (
            "heard",
            {"prompt_id": "p2", "words": "words only", "ears": "own", "background_dbfs": -52.0},
        ),
    )
    assert [(found.seq, found.noise_dbfs) for found in hearings(job)] == [(4, -52.0)]
