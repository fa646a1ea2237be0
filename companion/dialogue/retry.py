"""Going through steps again, at most so often; then the work stops and says why."""

from __future__ import annotations

from dataclasses import dataclass

from companion.dialogue import prompts
from companion.dialogue.asking import STOPPED
from companion.dialogue.progress import mark_stale
from companion.dialogue.state import Mode, Task
from companion.dialogue.transaction import Transaction
from companion.facts.ending import Stopped
from companion.facts.message import Told
from companion.job.job_file import Again


@dataclass(frozen=True)
class Retry:
    """Which steps are gone through again, and what is said: as `Again` of a job, or made up here.

    `wait`: the technician says done first. `wrong`: what is wrong, without what is done about it;
    None where only `say` tells.
    """

    say: Told
    steps: tuple[str, ...]
    at_most: int
    then_stop: Told
    wait: bool = False
    wrong: Told | None = None


def of_job(again: Again) -> Retry:
    """What the job file says of going again."""
    return Retry(again.say, again.steps, again.at_most, again.then_stop, again.wait)


def halt(tx: Transaction, step_id: str, why: Told) -> None:
    """Stop the work and say why; only "continue" or "end the job" lead on from here."""
    tx.record(Stopped(tx.words(why)))
    tx.change(waiting=(), one_by_one={}, tasks=(), tasks_done=(), no_matches=0)
    tx.ask(
        step_id,
        prompts.STOPPED,
        STOPPED,
        before=why,
        reply=prompts.SAY_CONTINUE_OR_END,
        mode=Mode.STOPPED,
    )


def retry(tx: Transaction, step_id: str, again: Retry, tasks: tuple[Task, ...] = ()) -> None:
    """Go through the loop's steps again, or stop and say why when that was tried often enough."""
    count = tx.state.rounds.get(step_id, 0) + 1
    if count > again.at_most:
        # A person who then says "continue" has looked into it: the count starts anew.
        tx.change(rounds={**tx.state.rounds, step_id: 0})
        mark_stale(tx, again.steps, again.then_stop)
        halt(tx, step_id, again.then_stop)
        return
    tx.change(rounds={**tx.state.rounds, step_id: count})
    if not tasks and again.wait:
        tasks = (Task(step_id, again.say),)
    elif not tasks:
        tx.announce(again.say, "explain")
    mark_stale(tx, again.steps, again.say)
    tx.change(tasks=tasks, tasks_done=())
