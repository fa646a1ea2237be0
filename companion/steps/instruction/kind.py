"""The kind `instruction`: said, and over when the technician says done."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from companion.dialogue import prompts
from companion.dialogue.advance import advance
from companion.dialogue.asking import DONE, ask_step
from companion.dialogue.kind import DialogueKind, kind_of
from companion.dialogue.progress import applies
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

    def title(self, step: Instruction) -> str | None:
        return step.title

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
        if step.with_next and not _can_be_followed(context, step):
            wanted = "an instruction, a reading or a question right behind it, not of a screw"
            yield Fault(step.id, "with_next", wanted)

    def reach(self, tx: Transaction, step: Instruction, before: Told) -> None:
        taken = tx.state.readings.get(step.turns or "")
        if taken is not None and taken.value == 0:
            # Nothing to turn at this screw, so nothing is asked for.
            tx.change(done=tx.state.done | {step.id})
            advance(tx, before)
            return
        ask_step(tx, step, before)

    def prompt(self, state: State, step: Instruction) -> Told:
        return fill(state, step.say)

    def reply(self, state: State, step: Instruction) -> Told:
        return prompts.SAY_DONE

    def is_said_with_next(self, state: State, step: Instruction) -> bool:
        following = state.plan.behind(step) if step.with_next else None
        if following is None or not applies(state, following):
            return False
        kind = kind_of(state.plan, following)
        return kind.asks and not kind.is_done(state, following)

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
        self.settle(tx, step)
        advance(tx)

    def settle(self, tx: Transaction, step: Instruction) -> None:
        tx.record(Done(step.id, tx.words(fill(tx.state, step.say))))
        tx.change(done=tx.state.done | {step.id}, history=(*tx.state.history, step.id))


def _can_be_followed(context: Context, step: Instruction) -> bool:
    """Whether what stands right behind asks for an answer, and turns no screw."""
    place = next(place for place, other in enumerate(context.steps) if other.id == step.id)
    if place + 1 == len(context.steps):
        return False
    following = context.steps[place + 1]
    kind = context.files.kinds[following.step]
    of_a_screw = isinstance(following, Instruction) and following.turns is not None
    return isinstance(kind, DialogueKind) and kind.asks and not of_a_screw


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
