"""The kind `instruction`: said, and over when the technician says done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from companion.dialogue import prompts
from companion.dialogue.advance import advance
from companion.dialogue.asking import DONE, ask_step
from companion.dialogue.progress import applies
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import fill
from companion.facts.answers import Done
from companion.facts.instructions import Direction, TurnScrew
from companion.facts.message import Told
from companion.job.job_file import Step
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
        following = _behind(context.steps, step)
        if step.with_next and (following is None or following.turns is not None):
            yield Fault(step.id, "with_next", "an instruction right behind it, not of a screw")

    def reach(self, tx: Transaction, step: Instruction, before: Told) -> None:
        taken = tx.state.readings.get(step.turns or "")
        if taken is not None and taken.value == 0:
            # Nothing to turn at this screw, so nothing is asked for.
            tx.change(done=tx.state.done | {step.id})
            advance(tx, before)
            return
        ask_step(tx, step, before)

    def prompt(self, state: State, step: Instruction) -> Told:
        return fill(state, " ".join(each.say for each in _together(state, step)))

    def reply(self, state: State, step: Instruction) -> Told:
        several = len(_together(state, step)) > 1
        return prompts.SAY_DONE_TO_ALL if several else prompts.SAY_DONE

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
        for each in _together(tx.state, step):
            tx.record(Done(each.id, tx.words(fill(tx.state, each.say))))
            tx.change(done=tx.state.done | {each.id}, history=(*tx.state.history, each.id))
        advance(tx)


def _together(state: State, step: Instruction) -> tuple[Instruction, ...]:
    """The step, and the one right behind it where that is said with it and is still to be done."""
    following = _behind(state.plan.steps, step) if step.with_next else None
    if following is None or following.id in state.done or not applies(state, following):
        return (step,)
    return step, following


def _behind(steps: Sequence[Step], step: Instruction) -> Instruction | None:
    """The instruction right behind this one; None where another kind of step stands there."""
    place = next(place for place, other in enumerate(steps) if other.id == step.id)
    following = steps[place + 1] if place + 1 < len(steps) else None
    return following if isinstance(following, Instruction) else None


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
