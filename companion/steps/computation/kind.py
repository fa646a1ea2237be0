"""The kind `computation`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from companion.calibration.formulas import FORMULAS, evaluate
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.errors import MeasureError
from companion.facts.message import Told
from companion.job.kind import Context, Fault
from companion.job.plan import named
from companion.steps.computation.model import Computation
from companion.steps.computation.run import compute, inputs_of
from companion.steps.kind import Kind
from companion.steps.shared.checks import check_names


class ComputationKind(Kind[Computation]):
    """A formula of the catalogue, its inputs bound to sources, its outputs named."""

    model = Computation
    corrections_can_be_dropped = True

    def numbers(self, step: Computation) -> Mapping[str, str | None]:
        return dict.fromkeys(step.outputs.values())

    def uses(self, step: Computation) -> Iterator[str]:
        return named(*step.inputs.values(), *step.doubts())

    def needs(self, step: Computation) -> Iterator[str]:
        if step.misread is not None:
            yield from step.misread.needs()

    def goes_back_to(self, step: Computation) -> Iterator[str]:
        if step.misread is not None:
            yield from step.misread.readings()

    def check(self, step: Computation, context: Context) -> Iterator[Fault]:
        formula = FORMULAS.get(step.formula)
        if formula is None:
            yield Fault(step.id, f"formula '{step.formula}'", ", ".join(sorted(FORMULAS)))
            return
        yield from check_names(step.id, "inputs", step.inputs, formula.inputs)
        for name in step.input_doubts:
            if name not in step.inputs:
                yield Fault(step.id, f"a doubt of '{name}'", "one of this step's inputs")
        for name, line in step.lines_of.items():
            if name not in step.input_doubts:
                yield Fault(step.id, f"lines_of '{name}'", "an input that this step doubts")
            if not _is_doubted(line, context):
                yield Fault(step.id, f"lines_of: {line}", "STEP.INPUT of a computation's doubts")
        readings = {s.id for s in context.steps if context.files.kinds[s.step].readable(s)}
        for name, reading in step.anew_with.items():
            if name not in step.input_doubts:
                yield Fault(step.id, f"anew_with '{name}'", "an input that this step doubts")
            if reading not in readings:
                yield Fault(step.id, f"anew_with: {reading}", "a reading of this job")
        for name in step.outputs:
            if name not in formula.outputs:
                yield Fault(step.id, f"output '{name}'", ", ".join(formula.outputs))

    def reach(self, tx: Transaction, step: Computation, before: Told) -> None:
        compute(tx, step)

    def supposed(self, state: State, step: Computation) -> State:
        try:
            outputs = evaluate(step.formula, inputs_of(state, step))
        except (MeasureError, KeyError):
            # These typical readings give no result; the bay's own will have to tell.
            return state
        named_results = {result: outputs[name] for name, result in step.outputs.items()}
        return replace(state, results={**state.results, **named_results})


def _is_doubted(line: str, context: Context) -> bool:
    step_id, _, name = line.partition(".")
    other = next((other for other in context.steps if other.id == step_id), None)
    return isinstance(other, Computation) and name in other.input_doubts


KIND = ComputationKind()
