"""What the job took over of earlier ones: each thing with the job and the moment it is from."""

from __future__ import annotations

import math
from collections.abc import Sequence

from companion.facts.figures import Quantity
from companion.facts.kinds import Fact
from companion.facts.opening import Opened
from companion.facts.shown import Table
from companion.facts.taking_over import StillTrue, TakenOver
from companion.report.tables import value_with_way
from companion.report.wording import Wording


def taken_over(facts: Sequence[Fact]) -> tuple[StillTrue, ...]:
    """What was taken over and by whose word it counts; nothing where nothing was."""
    opened = next((fact for fact in facts if isinstance(fact, Opened)), None)
    kept = next((fact for fact in reversed(facts) if isinstance(fact, TakenOver)), None)
    if opened is None or kept is None:
        return ()
    return tuple(one for one in opened.still_true if one.step_id in kept.steps)


def taken_over_table(facts: Sequence[Fact], wording: Wording) -> Table:
    """Readings, answers and corrections as a table; no rows where nothing was taken over."""
    rows = tuple(
        (
            one.stage,
            one.title or wording.step(one.step_id),
            told(one, wording),
            source(one, wording),
        )
        for one in taken_over(facts)
        if one.what in ("reading", "answer", "correction")
    )
    columns = ("column-stage", "column-what", "column-value", "column-from")
    title, note = wording("taken-over-title"), wording("taken-over-note")
    return Table(title, tuple(map(wording, columns)), rows, note)


def told(one: StillTrue, wording: Wording) -> str:
    """What it came to: a reading in figures, as the job's own stand in the report."""
    if one.what == "correction":
        u = math.hypot(*(part.adds for part in one.parts))
        return wording.amount_with_uncertainty(Quantity(one.figure, u, one.unit), one.result)
    if one.what == "reading":
        return value_with_way(one.value, one.unit, one.direction, wording)
    return wording.words.choice(one.value)


def source(one: StillTrue, wording: Wording) -> str:
    """Which event of which job it is from, and when that was."""
    when = one.at_utc[:16].replace("T", " ")
    return wording("taken-over-from", session=one.session, event=one.seq, when=when)
