"""In words: what was found out about room and voice before the work began."""

from __future__ import annotations

from companion.record import StoredEvent
from companion.review.values import number, sequence, text

_FIGURES = (
    ("speech_dbfs", "speech {:.0f} dBFS"),
    ("snr_db", "{:.0f} dB above the noise"),
)


def checked_beforehand(event: StoredEvent) -> tuple[str, str, str]:
    """A noise or voice check: its label, what came of it, and the figures behind it."""
    return _noise(event) if event.kind == "noise_checked" else _voice(event)


def _noise(event: StoredEvent) -> tuple[str, str, str]:
    body = event.body
    floor_dbfs, loud_dbfs = number(body.get("floor_dbfs")), number(body.get("loud_dbfs"))
    known = floor_dbfs is not None and loud_dbfs is not None
    levels = f"floor {floor_dbfs:.0f} dBFS, often {loud_dbfs:.0f}" if known else ""
    return "noise check", f"voice {text(body.get('voice'))}: {text(body.get('advice'))}", levels


def _voice(event: StoredEvent) -> tuple[str, str, str]:
    body = event.body
    outcome = text(body.get("outcome"))
    if outcome not in ("well", "fair", "poor"):
        return "voice check", outcome, ""
    told = []
    if confused := [text(pair) for pair in sequence(body.get("confused"))]:
        told.append(f"taken for another: {', '.join(confused)}")
    for name, in_words in _FIGURES:
        if (figure := number(body.get(name))) is not None:
            told.append(in_words.format(figure))
    if body.get("digit_by_digit") is True:
        told.append("numbers digit by digit from here on")
    if least := number(body.get("least_confidence")):
        told.append(f"answers below {least:.2f} asked again")
    right, asked = text(body.get("right")), text(body.get("asked"))
    return "voice check", f"heard {outcome}, {right} of {asked} words right", " · ".join(told)
