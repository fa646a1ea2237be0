"""The kind `torque`: asked in newton metres, said back, held against its limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from companion.dialogue.advance import advance
from companion.dialogue.asking import ask_step, say_back
from companion.dialogue.retry import Retry, retry
from companion.dialogue.state import Mode, State
from companion.dialogue.transaction import ALWAYS, Transaction
from companion.facts.kinds import Entry, Fact
from companion.facts.meanings import Choice, Number
from companion.facts.shown import Card, Line, Say, Table
from companion.job.kind import Context, Fault, Readable
from companion.language.expectation import Expectation, NumberForm
from companion.steps.kind import Kind

from .model import Torque

FACT = "torque"
NUMBER = NumberForm(style="whole", max_whole_digits=3)


class TorqueKind(Kind[Torque]):
    """One fastening at a time."""

    model = Torque
    asks = True

    def readable(self, step: Torque) -> Readable:
        middle = (step.least_newton_metres + step.most_newton_metres) / 2
        return Readable("", (), Decimal(1), round(middle))

    def check(self, step: Torque, context: Context) -> Iterator[Fault]:
        if step.most_newton_metres > 999:
            yield Fault(step.id, f"{step.most_newton_metres} newton metres", "999 at most")

    def reach(self, tx: Transaction, step: Torque, before: str) -> None:
        ask_step(tx, step, before)

    def title(self, step: Torque) -> str:
        return step.title

    def prompt(self, state: State, step: Torque) -> str:
        return f"Tighten {step.fastening}. Newton metres on the wrench."

    def expectation(self, step: Torque, *, digits_only: bool = False) -> Expectation:
        return Expectation(number=replace(NUMBER, digits_only=digits_only), commands=ALWAYS)

    def confirmation(self, step: Torque, *, digits_only: bool = False) -> Expectation:
        form = replace(NUMBER, digits_only=digits_only)
        return Expectation(yes_no=True, number=form, commands=ALWAYS)

    def take(self, tx: Transaction, step: Torque, meaning: Number | Choice) -> None:
        say_back(tx, step, meaning)

    def accept(
        self, tx: Transaction, step: Torque, meaning: Number | Choice, attempts: int
    ) -> None:
        torque = float(meaning.value)
        held = step.least_newton_metres <= torque <= step.most_newton_metres
        tx.record(Entry(FACT, {"step_id": step.id, "newton_metres": torque, "held": held}))
        if held:
            kept = {**torques(tx.state), step.id: torque}
            history = (*tx.state.history, step.id)
            tx.change(
                kept={**tx.state.kept, FACT: kept},
                done=tx.state.done | {step.id},
                history=history,
            )
        else:
            why = f"That is not within the limits of {step.fastening}."
            retry(tx, step.id, Retry(why, (step.id,), step.at_most, why))
            if tx.state.mode is Mode.STOPPED:
                return
        advance(tx)

    def taken_back(self, tx: Transaction, step: Torque) -> None:
        kept = {name: torque for name, torque in torques(tx.state).items() if name != step.id}
        tx.change(kept={**tx.state.kept, FACT: kept})

    def report(self, facts: Sequence[Fact], say: Say) -> Table | None:
        rows = tuple(
            (
                fact.body["step_id"].replace("_", " "),
                f"{fact.body['newton_metres']:g} N·m",
                "held" if fact.body["held"] else "not within its limits",
            )
            for fact in facts
            if isinstance(fact, Entry) and fact.kind == FACT
        )
        return Table("Fastenings", ("Fastening", "Torque", "Limits"), rows)

    def line(self, fact: Entry, say: Say) -> Line | None:
        if fact.kind != FACT:
            return None
        return Line("torque", f"{fact.body['newton_metres']:g} N·m")

    def card(self, step: Mapping[str, Any]) -> Card:
        limits = f"{step['least_newton_metres']:g} to {step['most_newton_metres']:g} N·m"
        return Card(step["title"], (limits,))


def torques(state: State) -> Mapping[str, float]:
    """What was read at each fastening that held."""
    kept = state.kept.get(FACT, {})
    assert isinstance(kept, Mapping)
    return kept


KIND = TorqueKind()
