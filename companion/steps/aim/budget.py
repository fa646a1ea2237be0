"""The whole budget of an aim, line by line: what each doubt is, who entered it, what it adds."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from companion.dialogue.state import State
from companion.dialogue.values import as_measured, measured_value, unit_of, unit_of_number
from companion.facts.ending import Term
from companion.steps.aim.state import AimRound
from companion.steps.computation.model import Computation
from companion.steps.correction.model import Correction
from companion.uncertainty.measured import effective_degrees_of_freedom
from companion.uncertainty.sets import Pair, mean_of_sets
from companion.uncertainty.taking import DIGITS, SCALE, UNSAID

Both = tuple[float, float]

# Everything else is taken to be normal.
_U_SHAPED = ("bay.stand.ripple_doubt_db",)
_OF_FORMULA = {
    "plate_edges": "u_shaped",
    "plate_edges_of_five": "u_shaped",
    "plate_flatness": "rectangular",
}
# Less than this part of the variance of both axes is rounding noise of the derivatives.
_NOTHING = 1e-7


@dataclass(frozen=True)
class _Line:
    """A budget line by its name: what it comes from, and which part of that."""

    source: str
    part: str
    entered_in: str


def terms_of(
    state: State, aim: AimRound, judged: Pair, degrees_of_freedom: Mapping[str, float]
) -> tuple[Term, ...]:
    """Every line of the mean aim's budget, the largest first.

    `judged`: the aim with its doubt as it was judged by. Sensitivities are those of the sets as
    entered: where the doubt was widened, contribution is more than sensitivity times u.
    """
    entered, wide = _by_line(mean_of_sets(aim.sets)), _by_line(judged)
    groups: dict[_Line, list[str]] = {}
    for name in wide:
        groups.setdefault(_line_of(name), []).append(name)
    terms = []
    for line, names in groups.items():
        contribution = _together(wide, names)
        least = _NOTHING * (judged[0].u ** 2 + judged[1].u ** 2)
        if contribution[0] ** 2 + contribution[1] ** 2 < least:
            continue
        u = _u_of(state, line)
        moved = _together(entered, names)
        terms.append(
            Term(
                source=line.source,
                part=line.part,
                distribution=_distribution(state, line),
                u=u,
                unit=_unit_of(state, line),
                takes=len(names),
                degrees_of_freedom=degrees_of_freedom.get(names[0]),
                sensitivity=(moved[0] / u, moved[1] / u) if u > 0.0 else (0.0, 0.0),
                contribution=contribution,
                entered_in=line.entered_in,
                at=_at(state, line),
            )
        )
    return tuple(sorted(terms, key=lambda term: (-math.hypot(*term.contribution), term.source)))


def effective(aim: Pair, degrees_of_freedom: Mapping[str, float]) -> tuple[float | None, ...]:
    """Welch and Satterthwaite's, of yaw and of elevation; None where nothing limits them."""
    found = (effective_degrees_of_freedom(axis, degrees_of_freedom) for axis in aim)
    return tuple(None if math.isinf(item) else item for item in found)


def _by_line(aim: Pair) -> dict[str, Both]:
    yaw, elevation = dict(aim[0].contributions), dict(aim[1].contributions)
    names = dict.fromkeys((*yaw, *elevation))
    return {name: (yaw.get(name, 0.0), elevation.get(name, 0.0)) for name in names}


def _together(lines: Mapping[str, Both], names: list[str]) -> Both:
    """One line keeps how it points; takes of one reading are independent of one another."""
    if len(names) == 1:
        return lines[names[0]]
    return (
        math.hypot(*(lines[name][0] for name in names)),
        math.hypot(*(lines[name][1] for name in names)),
    )


def _line_of(name: str) -> _Line:
    head, mark, source = name.partition(": ")
    if mark:
        is_named = not source.replace(".", "", 1).isdigit()
        return _Line(head, "entered", source if is_named else "job")
    for ending, part in (
        (f" {DIGITS} ", "rounding"),
        (f" {SCALE}", "scale"),
        (f" {UNSAID}", "doubt"),
    ):
        reading, found, _ = name.partition(ending)
        if found:
            return _Line(reading, part, "job")
    return _Line(name.partition(" #")[0], "scatter", "job")


def _u_of(state: State, line: _Line) -> float:
    """One take's standard uncertainty, as it was entered."""
    if line.part != "entered":
        # A width may come of levels that were read before the screws were turned.
        reading = state.readings.get(line.source) or state.last_values.get(line.source)
        if reading is None:
            return 0.0
        parts = as_measured(line.source, reading).contributions
        return next((abs(u) for name, u in parts if _line_of(name).part == line.part), 0.0)
    step_id, _, name = line.source.partition(".")
    # What an earlier job read of the car may come of a step that this one does not have.
    step = next((step for step in state.plan.steps if step.id == step_id), None)
    if isinstance(step, Correction) and line.entered_in == step.result:
        # Its own line: what the check that found it was in doubt by.
        return abs(dict(state.results[name].contributions)[step.line_of(step.result)])
    if line.entered_in != "job":
        return measured_value(state, line.entered_in).value
    entered = step.input_doubts.get(name, 0.0) if isinstance(step, Computation) else 0.0
    sources = entered if isinstance(entered, tuple) else (entered,)
    return math.hypot(*(float(one) for one in sources if isinstance(one, int | float)))


def _at(state: State, line: _Line) -> str:
    """What an entered line doubts: the source of the input that it is named by."""
    step_id, _, name = line.source.partition(".")
    if line.part != "entered" or not name:
        return ""
    step = next((step for step in state.plan.steps if step.id == step_id), None)
    source = step.inputs.get(name, "") if isinstance(step, Computation) else ""
    return source.removeprefix("minus ") if isinstance(source, str) else ""


def _unit_of(state: State, line: _Line) -> str:
    if line.part == "entered":
        name = line.source.rpartition(".")[2]
        return unit_of(line.entered_in) or unit_of(name) or ""
    return unit_of_number(state.plan, line.source) or ""


def _distribution(state: State, line: _Line) -> str:
    if line.part == "rounding":
        return "rectangular"
    if line.entered_in in _U_SHAPED:
        return "u_shaped"
    for step in state.plan.steps:
        if isinstance(step, Computation) and line.entered_in in step.outputs.values():
            return _OF_FORMULA.get(step.formula, "normal")
    return "normal"
