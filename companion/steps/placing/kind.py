"""The kind `placing`: said with its figures, and over when the technician says done.

Once one of its readings was taken it is over too: from there on moves put the rest right.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal

from companion.dialogue.advance import advance
from companion.dialogue.asking import DONE, ask_step
from companion.dialogue.kind import kind_of
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import measured_value
from companion.facts.answers import Done
from companion.facts.instructions import PlaceBy
from companion.facts.message import Amount, Told, text
from companion.job.kind import Context, Fault
from companion.job.plan import PLACEHOLDER, named
from companion.language.expectation import Expectation
from companion.steps.kind import Kind
from companion.steps.placing.model import Placing


class PlacingKind(Kind[Placing]):
    """Something to be put in its place by what is read there."""

    model = Placing
    asks = True
    purpose = "instruct"

    def uses(self, step: Placing) -> Iterator[str]:
        return named(*step.reads.values())

    def check(self, step: Placing, context: Context) -> Iterator[Fault]:
        plain = set()
        for other in context.steps:
            readable = context.files.kinds[other.step].readable(other)
            if readable is not None and not readable.directions:
                plain.add(other.id)
        for name in step.reads:
            if name not in plain:
                yield Fault(step.id, f"reads '{name}'", "a reading of this job without directions")
        for name in PLACEHOLDER.findall(step.say):
            if name not in step.reads:
                yield Fault(step.id, f"'{{{name}}}'", "one of the readings that it names")

    def texts(self, step: Placing) -> tuple[str, ...]:
        return ()  # Its braces hold what will be read, which is no source.

    def reach(self, tx: Transaction, step: Placing, before: Told) -> None:
        ask_step(tx, step, before)

    def is_done(self, state: State, step: Placing) -> bool:
        return step.id in state.done or any(state.takes.get(name) for name in step.reads)

    def is_begun(self, state: State, step: Placing) -> bool:
        return step.id in state.done

    def prompt(self, state: State, step: Placing) -> Told:
        figures = dict(self._figures(state, step))
        spoken = {name: Amount(figures[name], None) for name in PLACEHOLDER.findall(step.say)}
        return text(step.say, spoken)

    def instruction(self, state: State, step: Placing) -> PlaceBy:
        return PlaceBy(tuple(self._figures(state, step)))

    def expectation(self, step: Placing, *, digits_only: bool = False) -> Expectation:
        return DONE

    def done(self, tx: Transaction, step: Placing) -> None:
        tx.record(Done(step.id, tx.words(self.prompt(tx.state, step))))
        tx.change(done=tx.state.done | {step.id}, history=(*tx.state.history, step.id))
        advance(tx)

    def _figures(self, state: State, step: Placing) -> Iterator[tuple[str, Decimal]]:
        """What each will read, as finely as it is read."""
        for name, source in step.reads.items():
            reading = state.plan.step(name)
            readable = kind_of(state.plan, reading).readable(reading)
            assert readable is not None  # noqa: S101  -- the job's check
            value = Decimal(repr(measured_value(state, source).value))
            steps = (value / readable.smallest_step).quantize(Decimal(1), ROUND_HALF_UP)
            yield name, steps * readable.smallest_step


KIND = PlacingKind()
