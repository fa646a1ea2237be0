"""What the conversation asks of a kind of step. It knows the kinds by this alone.

The conversation asks, hears, confirms, retries, pauses and goes back. What is asked at a step, what
an answer does and when the step is done, the step's kind says.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from companion.dialogue import prompts
from companion.dialogue.effects import Purpose
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.facts.ending import Finished
from companion.facts.instructions import Instruction
from companion.facts.meanings import Choice, Number, Pair
from companion.facts.message import Message, Told
from companion.job.job_file import Step
from companion.job.kind import S, StepKind
from companion.job.plan import Plan
from companion.language.expectation import Expectation
from companion.uncertainty.measured import Measured


@dataclass(frozen=True)
class Outcome:
    """What the job comes to by what one of its steps found: as it is said, and as it is kept."""

    say: Told
    finished: Finished


@dataclass(frozen=True)
class Infeasible:
    """A decision that nothing could pass, with its uncertainty as it is when all is right."""

    step_id: str
    title: str
    result: str
    value: Measured
    half_width: float
    level: float
    best_probability: float


class DialogueKind(StepKind[S]):
    """One kind of step, as far as the conversation goes.

    A kind that `asks` opens a prompt when the walk comes to its step; any other does its work and
    either marks the step as done, or sends back, or stops the work.
    """

    asks: ClassVar[bool] = False
    purpose: ClassVar[Purpose] = "ask"
    corrections_can_be_dropped: ClassVar[bool] = False
    """Whether "go back" may drop what such a step asked to be put right."""
    usual_remarks: ClassVar[tuple[Message, ...]] = ()
    """What such a step often says, word for word: the voice makes it ahead."""

    def reach(self, tx: Transaction, step: S, before: Told) -> None:
        """The walk has come to the step. `before` is said with the next thing asked."""
        raise NotImplementedError

    def is_done(self, state: State, step: S) -> bool:
        return step.id in state.done

    def is_begun(self, state: State, step: S) -> bool:
        """Whether there is anything to take back."""
        return self.is_done(state, step)

    def title(self, step: S) -> str | None:
        """What the step is called when one asks where we are; None: by its stage."""
        return None

    def prompt(self, state: State, step: S) -> Told:
        """What is asked now."""
        raise NotImplementedError

    def reply(self, state: State, step: S) -> Told:
        """How to answer, said behind what is asked."""
        return prompts.SAY_DONE if self.purpose == "instruct" else ""

    def short(self, state: State, step: S) -> Told:
        """What is enough for who has heard what is asked; "": there is nothing shorter."""
        return ""

    def short_next(self, state: State, step: S) -> Told:
        """What is enough right behind that step, and nowhere else; "": the short form is."""
        return ""

    def short_after(self, step: S) -> str | None:
        """The step right behind which the short form is enough from the first."""
        return None

    def names_sides(self, step: S) -> bool:
        """Whether left or right stands in what is asked, though no answer holds them."""
        return False

    def instruction(self, state: State, step: S) -> Instruction | None:
        """What is to be done by hand, as a value; None where it is nothing that is known."""
        return None

    def expectation(self, step: S, *, digits_only: bool = False) -> Expectation | None:
        """What may be answered to the step's own prompt; None where the step asks nothing."""
        return None

    def confirmation(self, step: S, *, digits_only: bool = False) -> Expectation | None:
        """The same at a read-back: yes, no, or a new answer that replaces the old one."""
        return None

    def take(self, tx: Transaction, step: S, meaning: Number | Choice) -> None:
        """An answer was heard: say it back, or doubt it."""
        raise NotImplementedError

    def accept(self, tx: Transaction, step: S, meaning: Number | Choice, attempts: int) -> None:
        """Yes to what was said back: it counts from here on, and the walk goes on."""
        raise NotImplementedError

    def said_back_with(self, step: S) -> str | None:
        """The set whose readings are said back together; None: by itself."""
        return None

    def asked_behind_read_back(self, step: S) -> bool:
        """Whether it may be asked in one breath with the read-back of what comes before it."""
        return False

    def proposal(self, state: State, step: S) -> str | None:
        """The answer that the files give and the job lets be proposed; None: it is asked."""
        return None

    def answered_early(self, step: S) -> bool:
        """Whether who knows its prompt may answer before it ends: nothing is to be done first."""
        return False

    def forms(self, step: S, *, both: bool) -> tuple[str, ...]:
        """Of its texts those that ask for the very same, `both`: together with the next."""
        return self.texts(step)

    def asked_with_next(self, step: S) -> bool:
        """Whether the reading right behind may be said in the same answer."""
        return False

    def take_pair(self, tx: Transaction, step: S, following: Step, meaning: Pair) -> None:
        """Two readings were said in one answer: they wait to be said back, or are doubted."""
        raise NotImplementedError

    def count(self, tx: Transaction, step: S, meaning: Number, attempts: int) -> None:
        """It was confirmed together with others: it counts, and the walk does not go on yet."""
        raise NotImplementedError

    def done(self, tx: Transaction, step: S) -> None:
        """ "Done" was said: with what was asked; the walk goes on."""
        raise NotImplementedError

    def example(self, step: S) -> Number | None:
        """A number that would be taken, as an example; None: any of its form."""
        return None

    def is_likely(self, step: S, meaning: Number | Choice) -> bool:
        """Whether such an answer is to be expected in a bay where all is right."""
        return True

    def is_said_with_next(self, state: State, step: S) -> bool:
        """Whether it is said in front of the next thing asked, and done with that answer."""
        return False

    def settle(self, tx: Transaction, step: S) -> None:
        """It was said in front of a prompt whose answer counts: it was done."""
        raise NotImplementedError

    def taken_back(self, tx: Transaction, step: S) -> None:
        """The step's answer was taken back: what else has to be undone."""

    def before_taken_back(self, tx: Transaction, step: S, source: Step) -> None:
        """An answer that this step rests on is about to be taken back."""

    def after_break(self, tx: Transaction, step: S) -> None:
        """The work rested and goes on: what does not outlast a break is to be read anew."""

    def forget_correction(self, tx: Transaction, step: S) -> None:
        """What the step asked to be put right was not begun, and will not be done."""

    def supposed(self, state: State, step: S) -> State:
        """The state once the step is over, in a bay where all is right; without a word."""
        return state

    def infeasible(self, state: State, step: S) -> Iterator[Infeasible]:
        """What this step decides and nothing could pass, all before it being as `supposed`."""
        return iter(())

    def outcome(self, state: State, step: S, ranges_m: tuple[float, ...]) -> Outcome | None:
        """What the job comes to by this step; None where it has nothing to say of that."""
        return None

    def asks_for(self, step: S) -> tuple[str, ...]:
        """Of its texts those that are asked, each with the reply behind it."""
        return self.texts(step)

    def short_texts(self, step: S) -> tuple[str, ...]:
        """Of its texts those that are said to who knows the rest."""
        return ()

    def said_back(self, step: S) -> Iterator[Message]:
        """Answers whose read-backs can be told before the job begins, as they are spoken."""
        return iter(())


def kind_of(plan: Plan, step: Step) -> DialogueKind[Any]:
    """The step's kind, as the conversation needs it.

    Raises TypeError where a job was made of kinds that cannot be talked about.
    """
    kind = plan.files.kinds[step.step]
    if not isinstance(kind, DialogueKind):
        raise TypeError(f"the kind of step '{step.step}' is no DialogueKind")
    return kind


def expectation_of(plan: Plan, step: Step, *, digits_only: bool = False) -> Expectation:
    """What may be answered to the step's own prompt; raises TypeError where it asks nothing."""
    return _asked(step, kind_of(plan, step).expectation(step, digits_only=digits_only))


def confirmation_of(plan: Plan, step: Step, *, digits_only: bool = False) -> Expectation:
    """At a read-back: yes, no, or a new answer; raises TypeError where nothing is said back."""
    return _asked(step, kind_of(plan, step).confirmation(step, digits_only=digits_only))


def _asked(step: Step, expectation: Expectation | None) -> Expectation:
    if expectation is None:
        raise TypeError(f"no answer is waited for at step '{step.id}'")
    return expectation


def kinds_in(plan: Plan) -> Iterator[DialogueKind[Any]]:
    """Every kind of which the job has a step, once, in the order of its steps."""
    seen: set[str] = set()
    for step in plan.steps:
        if step.step not in seen:
            seen.add(step.step)
            yield kind_of(plan, step)


def title_of(plan: Plan, step: Step) -> str:
    """What to call the step when one asks where we are."""
    return kind_of(plan, step).title(step) or plan.stage_of[step.id].title
