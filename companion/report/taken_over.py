"""What the job took over of earlier ones: each thing with the job and the moment it is from."""

from __future__ import annotations

from collections.abc import Sequence

from companion.facts.kinds import Fact
from companion.facts.opening import Opened
from companion.facts.shown import Table
from companion.facts.taking_over import StillTrue, TakenOver

NOTE = (
    "Measured in an earlier job of this record and held to be true still, by what the technician "
    "said and by what the shop entered; not measured in this job."
)


def taken_over(facts: Sequence[Fact]) -> tuple[StillTrue, ...]:
    """What was taken over and by whose word it counts; nothing where nothing was."""
    opened = next((fact for fact in facts if isinstance(fact, Opened)), None)
    kept = next((fact for fact in reversed(facts) if isinstance(fact, TakenOver)), None)
    if opened is None or kept is None:
        return ()
    return tuple(one for one in opened.still_true if one.step_id in kept.steps)


def taken_over_table(facts: Sequence[Fact]) -> Table:
    """Its readings and answers as a table; no rows where nothing was taken over."""
    rows = tuple(
        (one.stage, one.title or one.step_id.replace("_", " "), told(one), source(one))
        for one in taken_over(facts)
        if one.what in ("reading", "answer")
    )
    return Table("Taken over", ("Stage", "What", "Value", "From"), rows, NOTE)


def told(one: StillTrue) -> str:
    """What it came to, in words."""
    return one.spoken or one.value.replace("_", " ")


def source(one: StillTrue) -> str:
    """Which event of which job it is from, and when that was."""
    when = one.at_utc[:16].replace("T", " ")
    return f"job {one.session}, event {one.seq}, {when} UTC"
