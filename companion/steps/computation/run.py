"""A formula is evaluated; readings that it cannot use are said to misfit and asked again."""

from __future__ import annotations

from collections.abc import Mapping

from companion.calibration.formulas import FORMULAS, evaluate
from companion.dialogue.retry import Retry, retry
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import measured_value, number, shares_of
from companion.errors import MeasureError
from companion.facts.figures import Grounds
from companion.facts.workings import Computed, Input, Misfit, Output
from companion.steps.computation import prompts
from companion.steps.computation.model import Computation
from companion.steps.shared import fault_isolation
from companion.uncertainty.measured import Measured, measured
from companion.uncertainty.taking import line_of

MISFITS_AT_MOST = 3


def compute(tx: Transaction, step: Computation) -> None:
    """Evaluate the formula; readings that cannot bear it are said to misfit and asked again."""
    state = tx.state
    inputs = inputs_of(state, step)
    try:
        outputs = evaluate(step.formula, inputs)
    except MeasureError as error:
        readings = tuple(
            s for s in step.inputs.values() if isinstance(s, str) and s in state.readings
        )
        tx.record(Misfit(step.id, str(error)))
        again = Retry(
            say=prompts.MISFIT,
            steps=readings or (step.id,),
            at_most=MISFITS_AT_MOST,
            then_stop=prompts.KEEPS_MISFITTING,
            wrong=prompts.DO_NOT_FIT,
        )
        if step.misread is None:
            retry(tx, step.id, again)
        else:
            fault_isolation.ask_misread_level(tx, step.id, step.misread, again)
        return
    named = {result: outputs[name] for name, result in step.outputs.items()}
    tx.change(
        results={**state.results, **named},
        done=state.done | {step.id},
        suspected=fault_isolation.cleared(state, step.id),
    )
    tx.record(computed(step, inputs, outputs))


def computed(
    step: Computation, inputs: Mapping[str, Measured], outputs: Mapping[str, Measured]
) -> Computed:
    """What the record keeps of a computation."""
    formula = FORMULAS[step.formula]
    return Computed(
        step_id=step.id,
        formula=step.formula,
        grounds=Grounds(formula.text, formula.source),
        inputs={
            name: Input(item.value, item.u, str(step.inputs[name])) for name, item in inputs.items()
        },
        outputs={
            result: _output(outputs[name], formula.outputs[name])
            for name, result in step.outputs.items()
        },
    )


def inputs_of(state: State, step: Computation) -> dict[str, Measured]:
    """What goes into the formula at this moment, each with its doubt."""
    return {
        name: _with_doubts(state, step, name, measured_value(state, source))
        for name, source in step.inputs.items()
    }


def _with_doubts(state: State, step: Computation, name: str, value: Measured) -> Measured:
    """On top of what the source brings. Each line is named the same at every take: it repeats.

    But for one that comes anew with the takes of a reading: as that reading's scatter does.
    """
    entered = step.input_doubts.get(name, ())
    sources = entered if isinstance(entered, tuple) else (entered,)
    lines = list(value.contributions)
    for source in sources:
        line = f"{step.lines_of.get(name, f'{step.id}.{name}')}: {source}"
        if name in step.anew_with:
            line = line_of(line, state.readings[step.anew_with[name]].take)
        lines.extend(measured(line, 0.0, number(state, source)).contributions)
    return Measured(value.value, tuple(lines))


def _output(result: Measured, unit: str) -> Output:
    return Output(result.value, result.u, unit, shares_of(result))
