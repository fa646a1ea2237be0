"""What a check of the record looked at, in words: what was checked, not what is claimed."""

from __future__ import annotations

from collections import Counter

from companion.record.verify_box import Boxes
from companion.record.verify_walk import Look


def told_of(look: Look, boxes: Boxes | None) -> list[str]:
    """One line for each thing that was checked."""
    clips = "" if look.clips is None else f", {look.clips_there} clips"
    told = [f"Checked: {look.sessions} sessions, {look.events} events{clips}."]
    told += ["Not signed by a box: a version before boxes had keys wrote it."]
    if boxes is not None:
        told[1:] = _of_boxes(boxes)
    counted = Counter(signing.told for signing in look.signings if not signing.problem)
    told += [f"Signed {count} times: {what}." for what, count in sorted(counted.items())]
    for name, count in sorted(look.roll.failed.items()):
        told.append(f"A wrong PIN was given {count} times for {name}.")
    unvouched = [one for one in look.roll.enrolments if not one.vouched_by]
    for one in unvouched:
        told.append(f"Nobody vouched for {one.name} ({one.role}), enrolled {one.since_utc[:10]}.")
    return told


def _of_boxes(boxes: Boxes) -> list[str]:
    told = [
        f"Marks {first} to {last} are signed by the box {key}." for key, first, last in boxes.runs
    ]
    if boxes.found:
        told.append(
            f"{len(boxes.found)} sessions, as they then were, a box found when it came to the "
            f"record and did not write: {', '.join(list(boxes.found)[:5])}"
            f"{', ...' if len(boxes.found) > 5 else ''}."
        )
    return told
