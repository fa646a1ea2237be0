"""The kind `finish`."""

from __future__ import annotations

from companion.dialogue.asking import DONE
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import fill
from companion.facts.message import Told
from companion.language.expectation import Expectation
from companion.steps.finish.model import Finish
from companion.steps.finish.run import ask_to_sign, sign_off
from companion.steps.kind import Kind


class FinishKind(Kind[Finish]):
    """Says the result and closes the record."""

    model = Finish
    ends_the_job = True
    asks = True
    purpose = "instruct"

    def texts(self, step: Finish) -> tuple[str, ...]:
        said = (step.otherwise.say,) if step.otherwise is not None else ()
        return (*said, step.say_signed)

    def asks_for(self, step: Finish) -> tuple[str, ...]:
        return (step.say_signed,)

    def reach(self, tx: Transaction, step: Finish, before: Told) -> None:
        ask_to_sign(tx, step, before)

    def prompt(self, state: State, step: Finish) -> Told:
        return fill(state, step.say_signed)

    def expectation(self, step: Finish, *, digits_only: bool = False) -> Expectation:
        return DONE

    def done(self, tx: Transaction, step: Finish) -> None:
        sign_off(tx, step)


KIND = FinishKind()
