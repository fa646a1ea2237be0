"""How well the companion heard: each answer with its noise, and what became of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

from companion.facts.plain import number
from companion.record import StoredEvent
from companion.review.values import mapping, text

Outcome = Literal["taken", "misheard", "refused", "silent"]
# The names under which ears have kept the background's level, dB below full scale.
NOISE_FIELDS = ("noise_dbfs", "background_dbfs", "noise_floor_dbfs")
SNR_FIELDS = ("snr_db", "speech_above_background_db", "above_background_db")
_BACKGROUND_IN_WORDS = re.compile(r"background (?:is at )?(-?\d+(?:\.\d+)?) dBFS")


@dataclass(frozen=True)
class Hearing:
    """One answer under a prompt.

    `misheard`: something was taken, said back, and then denied or replaced by the technician.
    `noise_dbfs` is the background's level where the ears kept one, `snr_db` how far the voice
    stood above it. `typed` answers say nothing of hearing.
    """

    seq: int
    at_s: float
    outcome: Outcome
    noise_dbfs: float | None
    snr_db: float | None
    typed: bool


def hearings(events: Iterable[StoredEvent]) -> tuple[Hearing, ...]:
    """Every answer in order; seconds count from the first event."""
    found: list[Hearing] = []
    purpose_of: dict[str, str] = {}
    began_s: float | None = None
    for event in events:
        at_s = seconds(event.at_utc)
        began_s = at_s if began_s is None else began_s
        if event.kind == "said":
            purpose_of[text(event.body.get("prompt_id"))] = text(event.body.get("purpose"))
        elif event.kind in ("heard", "refused", "silent"):
            purpose = purpose_of.get(text(event.body.get("prompt_id")), "")
            if found and purpose == "read_back" and _denies(event):
                _mark_misheard(found)
            found.append(_hearing(event, at_s - began_s))
    return tuple(found)


def _hearing(event: StoredEvent, at_s: float) -> Hearing:
    body = event.body
    outcomes: dict[str, Outcome] = {"heard": "taken", "refused": "refused", "silent": "silent"}
    return Hearing(
        event.seq,
        at_s,
        outcomes[event.kind],
        noise_of(event),
        _first(event, SNR_FIELDS),
        "typed" in text(body.get("ears")),
    )


def _denies(event: StoredEvent) -> bool:
    """A "no", or another number in its place."""
    return event.kind == "heard" and text(mapping(event.body.get("meaning")).get("kind")) in (
        "no",
        "number",
    )


def _mark_misheard(found: list[Hearing]) -> None:
    for place in range(len(found) - 1, -1, -1):
        if found[place].outcome == "taken":
            old = found[place]
            found[place] = Hearing(
                old.seq, old.at_s, "misheard", old.noise_dbfs, old.snr_db, old.typed
            )
            return


def noise_of(event: StoredEvent) -> float | None:
    """The background's level in dB below full scale, from its field or from the ears' words."""
    told = _first(event, NOISE_FIELDS)
    if told is not None:
        return told
    found = _BACKGROUND_IN_WORDS.search(text(event.body.get("detail")))
    return float(found[1]) if found else None


def _first(event: StoredEvent, names: tuple[str, ...]) -> float | None:
    levels = mapping(event.body.get("levels"))
    for name in names:
        for place in (event.body, levels):
            value = number(place.get(name))
            if value is not None:
                return value
    return None


def seconds(at_utc: str) -> float:
    """The stamp as seconds, 0 where it cannot be read."""
    try:
        moment = datetime.fromisoformat(at_utc)
    except ValueError:
        return 0.0
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
