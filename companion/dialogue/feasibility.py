"""Before any work: could anything pass at all with the uncertainties that the files enter?

The job's own arithmetic is gone through once for each route, with every reading as it is in a bay
where all is right. What cannot be inside even then will not be inside in the bay.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import islice

from companion.dialogue import prompts
from companion.dialogue.kind import Infeasible, kind_of
from companion.dialogue.progress import applies
from companion.dialogue.retry import halt
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import grounds, shares_of, unit_of
from companion.facts.workings import CannotPass
from companion.job.job_file import Step

# A job that branches more often is looked into only so far: it must not wait for this.
MOST_ROUTES = 200


def infeasible(state: State) -> tuple[Infeasible, ...]:
    """Every decision that no reading could pass, once each, in the order of the job."""
    found: dict[str, Infeasible] = {}
    for supposed in _routes(state):
        for step in supposed.plan.steps:
            if applies(supposed, step):
                kind = kind_of(supposed.plan, step)
                found |= {item.title: item for item in kind.infeasible(supposed, step)}
    return tuple(found.values())


def warn_of(tx: Transaction, found: Sequence[Infeasible]) -> None:
    """Nothing could pass: say so before anybody has lifted a wheel."""
    for item in found:
        tx.record(
            CannotPass(
                step_id=item.step_id,
                title=item.title,
                result=item.result,
                u=item.value.u,
                unit=unit_of(item.result),
                half_width=item.half_width,
                budget=shares_of(item.value),
                grounds=grounds("best_possible"),
                before_the_work=True,
            )
        )
    text = prompts.could_never_pass(item.title for item in found)
    halt(tx, tx.state.plan.steps[0].id, text)


def _routes(state: State) -> Iterator[State]:
    """The job as it would go for each combination of answers that it branches on."""
    asked = {step.when.question for step in state.plan.steps if step.when is not None}
    onwards = _onwards(replace(state, answers={}), state.plan.steps, asked)
    return islice(onwards, MOST_ROUTES)


def _onwards(state: State, steps: tuple[Step, ...], asked: Collection[str]) -> Iterator[State]:
    """All readings taken as they typically are from here on, and all that follows from them.

    What lies before a question is worked out once for all its answers.
    """
    for place, step in enumerate(steps):
        if step.id not in asked:
            state = _supposed(state, step)
            continue
        for choice in kind_of(state.plan, step).choices(step):
            answered = replace(state, answers={**state.answers, step.id: choice})
            yield from _onwards(_supposed(answered, step), steps[place + 1 :], asked)
        return
    yield state


def _supposed(state: State, step: Step) -> State:
    if not applies(state, step):
        return state
    return kind_of(state.plan, step).supposed(state, step)
