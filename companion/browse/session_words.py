"""What a line of a list says of a session beside its names."""

from __future__ import annotations

from companion.archive.digest import BROKEN_OFF, Digest
from companion.archive.visits import VisitSeen
from companion.report.wording import Wording

ORDERS = (
    "newest",
    "oldest",
    "stood_out",
    "not_understood",
    "technician",
    "vehicle",
    "bay",
    "result",
)
ONLY = ("unsigned", "signed", "stood_out", "no_rehearsal", "rehearsal")


def where_it_ended(session: Digest, wording: Wording) -> str:
    """The stage in which it broke off or was stopped, and why; "" where it was finished."""
    stage = wording("list-in-stage", stage=session.stage) if session.stage else ""
    if session.result == BROKEN_OFF:
        return stage or wording("list-before-the-first-stage")
    if session.result == "stopped":
        return ": ".join(filter(None, (stage, session.stopped_why)))
    return ""


def car_told(seen: VisitSeen | None) -> str:
    """What a person calls the car by: order and plate, else the VIN; "" where nothing is known."""
    car = seen.car if seen is not None else None
    if car is None:
        return ""
    return ", ".join(filter(None, (car.order, car.plate))) or car.vin


def stood_out(session: Digest, wording: Wording) -> list[str]:
    """What a supervisor should know before opening it; empty where nothing stood out."""
    counted = (
        ("list-damaged", session.unreadable),
        ("list-unlikely", session.doubts),
        ("list-odd-moves", session.odd_moves),
        ("list-taken-back", session.taken_back),
        ("list-notes", session.notes),
        ("list-not-understood", session.refusals),
        ("list-breaks", session.resumed),
        ("list-corrections", session.corrections),
    )
    told = [wording(id_, count=count) for id_, count in counted if count]
    if not session.clock_trusted:
        told.append(wording("list-clock"))
    if session.is_rehearsal:
        told.append(wording("list-rehearsal"))
    elif session.is_example:
        told.append(wording("list-example"))
    return told
