"""Advances through the job: does what needs no answer, and stops at the first thing that does."""

from __future__ import annotations

from companion.dialogue import prompts, together
from companion.dialogue.asking import ask_task
from companion.dialogue.kind import kind_of
from companion.dialogue.progress import current_step
from companion.dialogue.state import Mode
from companion.dialogue.transaction import Transaction
from companion.dialogue.voice_check import ask_voice
from companion.facts.message import Told
from companion.facts.opening import Stage
from companion.job.job_file import Step


def advance(tx: Transaction, before: Told = "", *, again: bool = False) -> None:
    """Go on from here until something is asked, stopped or closed.

    `before` is said in the same breath as the next thing asked. `again`: that was asked before,
    and what was read or done for it still stands.
    """
    tx.again = again
    tx.change(mode=Mode.ASKING, pending=None)
    if not tx.state.waiting:
        tx.change(said_first=())
    if tx.state.voice_check is not None:
        ask_voice(tx, before)
        return
    while tx.state.mode is Mode.ASKING:
        if tx.state.tasks:
            task = tx.state.tasks[0]
            _enter_stage(tx, tx.state.plan.step(task.step_id))
            ask_task(tx, task, before)
            return
        if together.is_whole(tx.state):
            together.say_back(tx)
            return
        step = current_step(tx.state)
        if step is None:
            return
        kind = kind_of(tx.state.plan, step)
        if kind.asks:
            _enter_stage(tx, step)
        if kind.is_said_with_next(tx.state, step):
            tx.in_front = (*tx.in_front, kind.prompt(tx.state, step))
            tx.change(said_first=(*tx.state.said_first, step.id))
            continue
        kind.reach(tx, step, before)
        if kind.asks:
            return


def settle_what_was_said_first(tx: Transaction) -> None:
    """The open prompt's answer counts: what was said in front of it was done."""
    first = tx.state.said_first
    tx.change(said_first=())
    for step in (tx.state.plan.step(name) for name in first):
        kind_of(tx.state.plan, step).settle(tx, step)


def _enter_stage(tx: Transaction, step: Step) -> None:
    """Say which stage begins, or begins again."""
    stage = tx.state.plan.stage_of[step.id]
    if stage.id == tx.state.stage_id:
        return
    again = stage.id in tx.state.stages_seen
    number = tx.state.plan.stage_number(stage)
    tx.change(stage_id=stage.id, stages_seen=tx.state.stages_seen | {stage.id})
    tx.record(Stage(stage.id, stage.title, number, of=len(tx.state.plan.files.job.stages)))
    if stage.said:
        tx.announce(prompts.stage(number, stage.title, again=again))
