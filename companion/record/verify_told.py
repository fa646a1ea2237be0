"""What a check of the record looked at, in words: what was checked, not what is claimed."""

from __future__ import annotations

from collections import Counter

from companion.facts.message import Arg, Message
from companion.record.verify_box import Boxes
from companion.record.verify_walk import Look

MOST_NAMED = 5


def told_of(look: Look, boxes: Boxes | None) -> list[Message]:
    """One line for each thing that was checked."""
    counts: dict[str, Arg] = {"sessions": look.sessions, "events": look.events}
    told = [Message("verify-checked", counts)]
    if look.clips is not None:
        told = [Message("verify-checked-clips", {**counts, "clips": look.clips_there})]
    told += [Message("verify-no-box")] if boxes is None else _of_boxes(boxes)
    counted = Counter(one.told for one in look.signings if one.told is not None)
    told += [
        Message("verify-signed", {"count": count, "worth": worth})
        for worth, count in sorted(counted.items(), key=lambda item: str(item[0].to_plain()))
    ]
    for name, count in sorted(look.roll.failed.items()):
        told.append(Message("verify-wrong-pin", {"name": name, "count": count}))
    for one in look.roll.enrolments:
        if not one.vouched_by:
            role, day = Message(f"role-{one.role}"), one.since_utc[:10]
            told.append(Message("verify-unvouched", {"name": one.name, "role": role, "day": day}))
    return told


def _of_boxes(boxes: Boxes) -> list[Message]:
    told = [
        Message("verify-marks", {"first": str(first), "last": str(last), "box": key})
        for key, first, last in boxes.runs
    ]
    if boxes.found:
        names = list(boxes.found)
        some = ", ".join(names[:MOST_NAMED]) + (", ..." if len(names) > MOST_NAMED else "")
        told.append(Message("verify-found", {"count": len(names), "names": some}))
    return told
