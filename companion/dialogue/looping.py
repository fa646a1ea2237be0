"""Going through steps again, at most so often; then the work stops and says why."""

from __future__ import annotations

from companion.dialogue import prompts
from companion.dialogue.asking import STOPPED
from companion.dialogue.progress import mark_stale
from companion.dialogue.state import Mode, Task
from companion.dialogue.turn import Turn
from companion.facts.ending import Stopped
from companion.procedure.job import Again


def halt(turn: Turn, step_id: str, why: str) -> None:
    """Stop the work and say why; only "continue" or "end the job" lead on from here."""
    turn.record(Stopped(why))
    turn.change(tasks=(), misses=0)
    turn.ask(
        step_id,
        prompts.STOPPED,
        STOPPED,
        before=why,
        reply=prompts.SAY_CONTINUE_OR_END,
        mode=Mode.STOPPED,
    )


def once_more(turn: Turn, step_id: str, again: Again, tasks: tuple[Task, ...] = ()) -> None:
    """Go through the loop's steps again, or stop and say why when that was tried often enough."""
    count = turn.state.rounds.get(step_id, 0) + 1
    if count > again.at_most:
        # A person who then says "continue" has looked into it: the count starts anew.
        turn.change(rounds={**turn.state.rounds, step_id: 0})
        mark_stale(turn, again.steps, again.then_stop)
        halt(turn, step_id, again.then_stop)
        return
    turn.change(rounds={**turn.state.rounds, step_id: count})
    if not tasks and again.wait:
        tasks = (Task(step_id, again.say),)
    elif not tasks:
        turn.announce(again.say, "explain")
    mark_stale(turn, again.steps, again.say)
    turn.change(tasks=tasks)
