"""What one session adds to the statistics, folded from its events."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from companion.facts.ending import Finished
from companion.facts.opening import Opened, Resumed, Stage
from companion.facts.talking import Heard, Refused, Said, Silent
from companion.facts.workings import Computed
from companion.record import StoredEvent
from companion.report.hearing import Outcome, hearings, seconds

FLOOR_MEASURES = (
    "floor_slope_up_deg",
    "floor_side_slope_deg",
    "floor_twist_mm",
    "stand_spot_above_mm",
)
STAND_MEASURES = (
    "plate_level_deg",
    "plate_plumb_deg",
    "beam_disagreement_deg",
    "left_run_out_residual_mm",
    "right_run_out_residual_mm",
    "heads_out_left_deg",
    "turn_error_deg",
)
MEASURES = (*FLOOR_MEASURES, *STAND_MEASURES)
"""What stays the same from job to job while a bay's floor and a stand do not change."""

NOISE_STEP_DB = 5
NOISE_NOT_KEPT = 999
KINDS = tuple(
    model.KIND
    for model in (Said, Heard, Refused, Silent, Computed, Stage, Resumed, Opened, Finished)
)
"""The kinds of events that a summary is made of."""


@dataclass(frozen=True)
class Summary:
    """`measures`: first value of each in the session. `stages`: seconds by stage title.
    `technician`, `bay` and `vehicle` are the names that it was opened with.

    `heard` counts spoken answers by noise (dB below full scale, rounded down to the step, or
    `NOISE_NOT_KEPT`) and outcome; typed answers are not in it.
    """

    measures: dict[str, float]
    stages: dict[str, float]
    heard: dict[tuple[int, Outcome], int]
    technician: str = ""
    bay: str = ""
    vehicle: str = ""


def summary(events: Sequence[StoredEvent]) -> Summary:
    """The summary of a session; events of any shape are borne."""
    names = {}
    for event in events:
        if isinstance(opened := event.fact, Opened):
            bay, vehicle = opened.bay_told.name, opened.vehicle_told.name
            names = {"technician": opened.technician, "bay": bay, "vehicle": vehicle}
    return Summary(_measures(events), _stages(events), _heard(events), **names)


def _measures(events: Sequence[StoredEvent]) -> dict[str, float]:
    found: dict[str, float] = {}
    for event in events:
        if not isinstance(event.fact, Computed):
            continue
        for name, output in event.fact.outputs.items():
            if name in MEASURES and output.value is not None:
                found.setdefault(name, output.value)
    return found


def _stages(events: Sequence[StoredEvent]) -> dict[str, float]:
    """Seconds from one event to the next, put to the stage that was on; breaks are left out."""
    spent: dict[str, float] = {}
    stage = ""
    for earlier, later in pairwise(events):
        if isinstance(earlier.fact, Stage):
            stage = earlier.fact.title
        if stage and not isinstance(later.fact, Resumed):
            passed_s = seconds(later.at_utc) - seconds(earlier.at_utc)
            spent[stage] = spent.get(stage, 0.0) + max(0.0, passed_s)
    return spent


def _heard(events: Sequence[StoredEvent]) -> dict[tuple[int, Outcome], int]:
    answers = [answer for answer in hearings(events) if not answer.typed]
    # Where the level was kept with refusals only, every rate by noise would be "all refused".
    kept = any(a.noise_dbfs is not None and a.outcome in ("taken", "misheard") for a in answers)
    return dict(
        Counter(
            (noise_step(answer.noise_dbfs if kept else None), answer.outcome) for answer in answers
        )
    )


def noise_step(noise_dbfs: float | None) -> int:
    """The lower end of the step that a level lies in."""
    if noise_dbfs is None:
        return NOISE_NOT_KEPT
    return math.floor(noise_dbfs / NOISE_STEP_DB) * NOISE_STEP_DB
