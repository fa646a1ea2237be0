"""What a supervisor should look at first: doubts raised, moves gone wrong, and what is new."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from companion.record import StoredEvent
from companion.review import advised
from companion.review.timeline import is_known, line_of
from companion.review.values import text

QUESTIONING = frozenset(
    """doubted misfit not_allowed noted late stopped resumed amended suspected
    cannot_pass""".split()  # noqa: SIM905 - a list to be read
)
ROUTINE = frozenset({"stand_moves"})
"""Advice that every job has some of."""

MOST_SHOWN = 5
LONGEST_TOLD = 160


@dataclass(frozen=True)
class Notable:
    """One thing that stood out, and the event (of the timeline) that tells it whole."""

    seq: int
    label: str
    told: str
    times: int = 1


def notable(events: Iterable[StoredEvent]) -> tuple[Notable, ...]:
    """Each thing once, in the order in which it first came, with how often it came."""
    first: dict[tuple[str, str], Notable] = {}
    times: Counter[tuple[str, str]] = Counter()
    for event in events:
        if not _stands_out(event):
            continue
        label, told = _told(event)
        key = (label, told)
        times[key] += 1
        first.setdefault(key, Notable(event.seq, label, _short(told)))
    return tuple(
        Notable(found.seq, found.label, found.told, times[key]) for key, found in first.items()
    )


def _told(event: StoredEvent) -> tuple[str, str]:
    """The label and the sentence; advice is told shorter than in the timeline."""
    line = line_of(event)
    match event.kind:
        case "suspected":
            return "likely misread", advised.suspects(event.body)
        case "shims":
            return "shims", advised.shims(event.body)
        case "cannot_pass":
            return "nothing could pass", advised.cannot_pass(event.body)
        case "decided" | "aim_decided":
            return line.label, f"{line.told}; {advised.to_settle(event)}"
        case _:
            return line.label, line.told


def _stands_out(event: StoredEvent) -> bool:
    if event.kind in QUESTIONING:
        return True
    if event.kind == "noise_checked":
        return text(event.body.get("voice")) == "unreliable"
    if event.kind == "voice_checked":
        return text(event.body.get("outcome")) == "poor"
    if event.kind == "move_judged":
        return text(event.body.get("kind")) not in ("as_planned", "")
    if event.kind == "taken_back":
        return "technician" in text(event.body.get("why"))
    if event.kind == "shims":
        return event.body.get("needed") is True
    if event.kind in ("decided", "aim_decided"):
        return bool(advised.to_settle(event))
    return event.kind not in ROUTINE and not is_known(event.kind)


def _short(told: str) -> str:
    return told if len(told) <= LONGEST_TOLD else told[: LONGEST_TOLD - 1] + "…"
