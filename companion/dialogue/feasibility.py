"""Before any work: could anything pass at all with the uncertainties that the files enter?

The job's own arithmetic is gone through once for each route, with every reading as it is in a bay
where all is right. What cannot be inside even then will not be inside in the bay.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice, product

from companion.dialogue import prompts
from companion.dialogue.kind import Infeasible, kind_of
from companion.dialogue.progress import applies
from companion.dialogue.retry import halt
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import grounds, shares_of, unit_of
from companion.facts.workings import CannotPass

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
    plan = state.plan
    asked = {step.when.question for step in plan.steps if step.when is not None}
    questions = [step for step in plan.steps if step.id in asked]
    choices = [kind_of(plan, question).choices(question) for question in questions]
    for answers in islice(product(*choices), MOST_ROUTES):
        answered = {q.id: answer for q, answer in zip(questions, answers, strict=True)}
        yield _worked_out(replace(state, answers=answered))


def _worked_out(state: State) -> State:
    """All readings taken as they typically are, and all that follows from them."""
    for step in state.plan.steps:
        if applies(state, step):
            state = kind_of(state.plan, step).supposed(state, step)
    return state
