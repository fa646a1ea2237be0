"""What a line of a list says of a session beside its names."""

from __future__ import annotations

from companion.archive.digest import BROKEN_OFF, Digest

ORDER_WORDS = {
    "newest": "newest first",
    "oldest": "oldest first",
    "stood_out": "what stood out the most",
    "not_understood": "least understood",
    "technician": "technician",
    "vehicle": "vehicle",
    "bay": "bay",
    "result": "result",
}
ONLY_WORDS = {
    "unsigned": "over, not signed off",
    "signed": "signed off",
    "stood_out": "something stood out",
    "no_rehearsal": "no rehearsals",
    "rehearsal": "rehearsals only",
}


def where_it_ended(session: Digest) -> str:
    """The stage in which it broke off or was stopped, and why; "" where it was finished."""
    if session.result == BROKEN_OFF:
        return f"in {session.stage}" if session.stage else "before the first stage"
    if session.result == "stopped":
        told = f"in {session.stage}" if session.stage else ""
        return ": ".join(filter(None, (told, session.stopped_why)))
    return ""


def stood_out(session: Digest) -> list[str]:
    """What a supervisor should know before opening it; empty where nothing stood out."""
    told = [
        _counted(session.unreadable, "damaged event"),
        _counted(session.doubts, "doubt"),
        _counted(session.odd_moves, "move not as planned", "moves not as planned"),
        f"{session.taken_back} taken back" if session.taken_back else "",
        _counted(session.notes, "note"),
        f"{session.refusals} not understood" if session.refusals else "",
        _counted(session.resumed, "break"),
        _counted(session.corrections, "correction"),
        "" if session.clock_trusted else "clock not vouched for",
        "rehearsal" if session.is_rehearsal else "",
        "example files" if session.is_example and not session.is_rehearsal else "",
    ]
    return [one for one in told if one]


def signed(session: Digest) -> str:
    """Whether it was signed off; "" while it is not over."""
    if session.signatures:
        return "signed off"
    return "not signed off" if session.is_over else ""


def _counted(count: int, one: str, many: str = "") -> str:
    if not count:
        return ""
    return f"{count} {one if count == 1 else many or one + 's'}"
