"""The kind `correction`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import number
from companion.facts.message import Told
from companion.job.kind import Context, Fault
from companion.job.plan import named
from companion.steps.correction.model import Correction
from companion.steps.kind import Kind
from companion.uncertainty.measured import Measured, measured


class CorrectionKind(Kind[Correction]):
    """What a check of the shop's own gear found; taken over by `taken_over`, else unmeasured."""

    model = Correction

    def numbers(self, step: Correction) -> Mapping[str, str | None]:
        return {step.result: None}

    def uses(self, step: Correction) -> Iterator[str]:
        return named(step.unmeasured_doubt, step.doubt_since)

    def check(self, step: Correction, context: Context) -> Iterator[Fault]:
        holds = step.holds or next(
            stage.holds for stage in context.files.job.stages if step in stage.steps
        )
        if holds != "heads":
            yield Fault(step.id, f"a correction that holds for '{holds}'", "holds: heads")

    def title(self, step: Correction) -> str:
        return step.title

    def reach(self, tx: Transaction, step: Correction, before: Told) -> None:
        state = tx.state
        tx.change(
            results={**state.results, step.result: unmeasured(state, step)},
            done=state.done | {step.id},
        )

    def supposed(self, state: State, step: Correction) -> State:
        if step.id in state.done:
            return state
        return replace(state, results={**state.results, step.result: unmeasured(state, step)})


def unmeasured(state: State, step: Correction) -> Measured:
    """Nothing is put right, and all of the entered doubt stands."""
    source = step.unmeasured_doubt
    return measured(step.line_of(source), 0.0, number(state, source))


KIND = CorrectionKind()
