"""What the job's sources stand for at this moment: numbers with their doubt, and their words."""

from __future__ import annotations

import math
from decimal import Decimal

from companion.dialogue.kind import kind_of
from companion.dialogue.state import State, TakenReading
from companion.facts.figures import Budget, Grounds, Share
from companion.facts.meanings import Choice, Confirmed, Number, Pair, Unconfirmed
from companion.facts.message import Amount, Message, text
from companion.facts.quantities import UNIT_IDS
from companion.job.job_file import NumberOrSource
from companion.job.plan import PLACEHOLDER, Plan, file_field
from companion.uncertainty.measured import Measured, budget, exact, measured, resolution_u
from companion.uncertainty.methods import METHODS
from companion.uncertainty.taking import line_of, taken


def grounds(method: str) -> Grounds:
    """The method as a fact of the record carries it."""
    return Grounds(METHODS[method].text, METHODS[method].source)


def shares_of(value: Measured) -> Budget:
    """Who adds how much to the doubt, in percent of its variance, as the record keeps it."""
    return tuple(Share(share.name, round(share.percent, 3)) for share in budget(value))


def number(state: State, source: NumberOrSource) -> float:
    """The plain number of a source: a literal, a file's field, a reading or a result."""
    return measured_value(state, source).value


def measured_value(
    state: State, source: NumberOrSource, doubt: float = 0.0, doubt_name: str = ""
) -> Measured:
    """The source with its standard uncertainty.

    `doubt` comes on top of what the source brings, and `doubt_name` is what the budget calls it.
    """
    value = _value(state, source)
    if doubt == 0:
        return value
    return Measured(
        value.value, (*value.contributions, *measured(doubt_name, 0, doubt).contributions)
    )


def _value(state: State, source: NumberOrSource) -> Measured:
    if isinstance(source, int | float):
        return exact(float(source))
    name = source.removeprefix("minus ")
    value = _positive(state, name)
    if name == source:
        return value
    return Measured(-value.value, tuple((base, -part) for base, part in value.contributions))


def _positive(state: State, name: str) -> Measured:
    if name in state.results:
        return state.results[name]
    if name in state.readings:
        return as_measured(name, state.readings[name])
    return exact(state.plan.file_value(name))


def as_measured(reading_id: str, reading: TakenReading) -> Measured:
    """A reading with its budget: what scatters, what its scale rounds, what repeats."""
    rest = math.sqrt(max(0.0, reading.u**2 - resolution_u(reading.resolution) ** 2))
    if reading.scatters is None:
        split = {"unsaid": rest}
    else:
        scatters = min(reading.scatters, rest)
        stays = math.sqrt(rest**2 - scatters**2)
        # What is left of two roots that are one figure is no doubt.
        split = {"scatters": scatters, "stays": stays if stays > 1e-6 * rest else 0.0}
    return taken(
        reading_id, float(reading.value), reading.take, resolution=reading.resolution, **split
    )


def reading_name(reading_id: str, take: int) -> str:
    """What a budget calls that which scatters in one take of a reading."""
    return line_of(reading_id, take)


def is_likely(state: State, meaning: object) -> bool:
    """Whether an answer of this meaning is likely at the open prompt."""
    prompt = state.prompt
    if prompt is None:
        return True
    step_id = prompt.step_id
    if isinstance(meaning, Confirmed | Unconfirmed) and prompt.told.behind is not None:
        step_id, meaning = prompt.told.behind.step_id, meaning.then
    if not isinstance(meaning, Number | Choice | Pair):
        return True
    step = state.plan.step(step_id)
    kind = kind_of(state.plan, step)
    if isinstance(meaning, Pair):
        return all(kind.is_likely(step, each) for each in (meaning.first, meaning.second))
    return kind.is_likely(step, meaning)


def fill(state: State, template: str) -> Message:
    """A sentence of the job with each `{source}` as an amount.

    Raises KeyError for a reading that is still to be taken, MessageError for a negative figure.
    """
    sources = PLACEHOLDER.findall(template)
    return text(template, {source: _amount(state, source) for source in sources})


def amount_of(meaning: Number) -> Amount:
    """A heard number as it is said back."""
    return Amount(meaning.value, meaning.unit, meaning.direction)


def _amount(state: State, source: str) -> Amount:
    if source in state.readings:
        return state.readings[source].amount
    value = file_field(state.plan.files, source)
    if value is None:
        raise KeyError(source)
    return Amount(as_written(value), unit_of(source))


def unit_of_number(plan: Plan, name: str) -> str | None:
    """The unit of a reading or result: that of the step which brings it about, else of its name."""
    for step in plan.steps:
        unit = kind_of(plan, step).numbers(step).get(name)
        if unit is not None:
            return unit
    return unit_of(name)


def unit_of(name: str) -> str | None:
    """The unit that a field's name ends with, as the words know it."""
    return next((unit for unit in UNIT_IDS if name.endswith(f"_{unit}")), None)


def as_written(value: float) -> Decimal:
    """The number with the decimals that one would write: 3 for 3.0, 0.1 for 0.1."""
    return Decimal(int(value)) if value == int(value) else Decimal(str(value))
