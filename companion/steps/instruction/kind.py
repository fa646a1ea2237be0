"""The kind `instruction`: said, and over when the technician says done."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from companion.dialogue.advance import advance
from companion.dialogue.asking import DONE, ask_step
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import fill
from companion.facts.answers import Done
from companion.facts.instructions import Direction, TurnScrew
from companion.facts.message import Told
from companion.job.kind import MOUNT, Context, Fault
from companion.language.expectation import Expectation
from companion.steps.instruction.model import Instruction
from companion.steps.kind import Kind
from companion.steps.shared.checks import check_screw


class InstructionKind(Kind[Instruction]):
    """One thing to do; the technician says when it is done."""

    model = Instruction
    asks = True
    purpose = "instruct"

    def needs(self, step: Instruction) -> Iterator[str]:
        if step.each_screw or step.turns is not None:
            yield MOUNT

    def texts(self, step: Instruction) -> tuple[str, ...]:
        return (step.say,)

    def uses(self, step: Instruction) -> Iterator[str]:
        if step.turns is not None:
            yield step.turns

    def check(self, step: Instruction, context: Context) -> Iterator[Fault]:
        yield from check_screw(context, step, step.say)
        if step.turns is not None:
            yield from _check_turns(context, step, step.turns)

    def reach(self, tx: Transaction, step: Instruction, before: Told) -> None:
        ask_step(tx, step, before)

    def prompt(self, state: State, step: Instruction) -> Told:
        return fill(state, step.say)

    def instruction(self, state: State, step: Instruction) -> TurnScrew | None:
        """The turns that another step's reading gave; None where it gave none."""
        taken = state.readings.get(step.turns or "")
        if taken is None or step.screw is None or taken.value == 0:
            return None
        sense = Direction.CLOCKWISE if taken.value > 0 else Direction.ANTICLOCKWISE
        return TurnScrew(step.screw, sense, abs(Fraction(taken.value)))

    def expectation(self, step: Instruction, *, digits_only: bool = False) -> Expectation:
        return DONE

    def done(self, tx: Transaction, step: Instruction) -> None:
        tx.record(Done(step.id, tx.words(fill(tx.state, step.say))))
        tx.change(done=tx.state.done | {step.id}, history=(*tx.state.history, step.id))
        advance(tx)


def _check_turns(context: Context, step: Instruction, turns: str) -> Iterator[Fault]:
    kinds = context.files.kinds
    units = {name: unit for s in context.steps for name, unit in kinds[s.step].numbers(s).items()}
    if units.get(turns) != "turns":
        yield Fault(step.id, f"turns '{turns}'", "a reading in turns")
    mount = context.files.mount
    screws = [screw.id for screw in mount.screws] if mount is not None else []
    if step.screw not in screws:
        yield Fault(step.id, f"screw '{step.screw}'", ", ".join(screws))


KIND = InstructionKind()
