"""The kind `instruction`: said, and over when the technician says done."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.advance import advance
from companion.dialogue.asking import DONE, ask_step
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import fill
from companion.facts.answers import Done
from companion.procedure.kind import MOUNT, Context, Fault
from companion.steps.instruction.model import Instruction
from companion.steps.kind import Kind
from companion.steps.shared.checks import check_screw
from companion.words.expectation import Expectation


class InstructionKind(Kind[Instruction]):
    """One thing to do; the technician says when it is done."""

    model = Instruction
    asks = True
    purpose = "instruct"

    def needs(self, step: Instruction) -> Iterator[str]:
        if step.each_screw:
            yield MOUNT

    def texts(self, step: Instruction) -> tuple[str, ...]:
        return (step.say,)

    def check(self, step: Instruction, context: Context) -> Iterator[Fault]:
        return check_screw(context, step, step.say)

    def reach(self, tx: Transaction, step: Instruction, before: str) -> None:
        ask_step(tx, step, before)

    def prompt(self, state: State, step: Instruction) -> str:
        return fill(state, step.say)

    def expectation(self, step: Instruction, *, digits_only: bool = False) -> Expectation:
        return DONE

    def done(self, tx: Transaction, step: Instruction) -> None:
        tx.record(Done(step.id, fill(tx.state, step.say)))
        tx.change(done=tx.state.done | {step.id})
        advance(tx)


KIND = InstructionKind()
