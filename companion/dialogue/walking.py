"""Walks on through the job: does what needs no answer, and stops at the first thing that does."""

from __future__ import annotations

from companion.dialogue import prompts
from companion.dialogue.aiming import decide_aim
from companion.dialogue.asking import ask_step, ask_task
from companion.dialogue.deciding import compute, decide_on
from companion.dialogue.finishing import ask_to_sign
from companion.dialogue.moving import decide_moves
from companion.dialogue.progress import current_step
from companion.dialogue.shimming import advise_shims
from companion.dialogue.state import Mode
from companion.dialogue.turn import Turn
from companion.dialogue.voice_check import ask_voice
from companion.facts.opening import Stage
from companion.procedure.job import (
    AimDecision,
    AnyStep,
    Checklist,
    Computation,
    Decision,
    Finish,
    Instruction,
    Moves,
    Question,
    Reading,
    ShimAdvice,
)


def walk_on(turn: Turn, before: str = "", *, again: bool = False) -> None:
    """Go on from here until something is asked, stopped or closed.

    `before` is said in the same breath as the next thing asked. `again`: that was asked before,
    and what was read or done for it still stands.
    """
    turn.change(mode=Mode.ASKING, pending=None)
    if turn.state.voice_check is not None:
        ask_voice(turn, before)
        return
    while turn.state.mode is Mode.ASKING:
        if turn.state.tasks:
            task = turn.state.tasks[0]
            _enter_stage(turn, turn.state.plan.step(task.step_id))
            ask_task(turn, task, before, again=again)
            return
        step = current_step(turn.state)
        if step is None:
            return
        match step:
            case Reading() | Question() | Instruction() | Checklist():
                _enter_stage(turn, step)
                ask_step(turn, step, before, again=again)
                return
            case Computation():
                compute(turn, step)
            case Decision():
                decide_on(turn, step)
            case Moves():
                decide_moves(turn, step)
            case ShimAdvice():
                advise_shims(turn, step)
            case AimDecision():
                decide_aim(turn, step)
            case Finish():
                _enter_stage(turn, step)
                if before:
                    turn.announce(before)
                ask_to_sign(turn, step)
                return


def _enter_stage(turn: Turn, step: AnyStep) -> None:
    """Say which stage begins, or begins again."""
    stage = turn.state.plan.stage_of[step.id]
    if stage.id == turn.state.stage_id:
        return
    again = stage.id in turn.state.stages_seen
    number = turn.state.plan.stage_number(stage)
    turn.change(stage_id=stage.id, stages_seen=turn.state.stages_seen | {stage.id})
    turn.record(Stage(stage.id, stage.title, number, of=len(turn.state.plan.files.job.stages)))
    turn.announce(prompts.stage(number, stage.title, again=again))
