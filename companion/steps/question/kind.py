"""The kind `question`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.advance import advance
from companion.dialogue.asking import ask_step, propose, say_back
from companion.dialogue.kind import Outcome
from companion.dialogue.state import State
from companion.dialogue.transaction import ALWAYS, Transaction
from companion.dialogue.values import fill
from companion.facts import message
from companion.facts.answers import Consent
from companion.facts.ending import Finished
from companion.facts.meanings import Choice, Number
from companion.facts.message import Message, Told, in_a_row
from companion.job.kind import Context, Fault
from companion.language.expectation import Expectation
from companion.steps.kind import Kind
from companion.steps.question.model import Question
from companion.steps.question.run import accept_choice

SOUND_GOES = Message("sound-goes-to-the-store")


class QuestionKind(Kind[Question]):
    """One of a few answers."""

    model = Question
    asks = True

    def choices(self, step: Question) -> tuple[str, ...]:
        return step.choices

    def texts(self, step: Question) -> tuple[str, ...]:
        return tuple(text for text in (step.ask, step.reply, step.ask_short) if text is not None)

    def asks_for(self, step: Question) -> tuple[str, ...]:
        return (step.ask,)

    def short_texts(self, step: Question) -> tuple[str, ...]:
        return (step.ask_short,) if step.ask_short is not None else ()

    def keeps_sound(self, step: Question) -> str | None:
        return step.sound_is_kept_when

    def goes_back_to(self, step: Question) -> Iterator[str]:
        for again in step.again.values():
            yield from again.steps

    def check(self, step: Question, context: Context) -> Iterator[Fault]:
        for choice in step.choices:
            if choice not in context.vocabulary.choices:
                yield Fault(step.id, f"choice '{choice}'", "a choice of answers.grammar")
        consent = [step.sound_is_kept_when] if step.sound_is_kept_when else []
        named = (*step.blocked_by, *step.again, *step.ends_as, *consent, *step.may_be_proposed)
        for name in named:
            if name not in step.choices:
                yield Fault(step.id, f"'{name}'", " or ".join(step.choices))
        weighty = {*step.blocked_by, *step.again, *step.ends_as, *consent}
        for name in step.may_be_proposed:
            if name in weighty:
                yield Fault(
                    step.id,
                    f"may_be_proposed: '{name}'",
                    "an answer that neither allows sound to be kept, ends, blocks nor goes back",
                )
        usual = context.files.vehicle.usual_answers.get(step.id)
        if usual is not None and usual not in step.may_be_proposed:
            wanted = " or ".join(step.may_be_proposed) or "none: it is always asked in full"
            yield Fault(step.id, f"'{usual}' among the vehicle's usual_answers", wanted)

    def reach(self, tx: Transaction, step: Question, before: Told) -> None:
        proposal = self.proposal(tx.state, step)
        if proposal is None or step.id in tx.state.proposed:
            ask_step(tx, step, before)
        else:
            propose(tx, step, proposal, before)

    def proposal(self, state: State, step: Question) -> str | None:
        return state.plan.files.vehicle.usual_answers.get(step.id)

    def is_done(self, state: State, step: Question) -> bool:
        return step.id in state.answers

    def title(self, step: Question) -> str:
        return step.title

    def prompt(self, state: State, step: Question) -> Told:
        ask = fill(state, step.ask)
        if step.sound_is_kept_when is not None and state.sound_goes:
            return in_a_row(ask, SOUND_GOES)
        return ask

    def reply(self, state: State, step: Question) -> Told:
        return fill(state, step.reply) if step.reply is not None else ""

    def short(self, state: State, step: Question) -> Told:
        return fill(state, step.ask_short) if step.ask_short is not None else ""

    def expectation(self, step: Question, *, digits_only: bool = False) -> Expectation:
        return Expectation(choices=step.choices, commands=ALWAYS)

    def answered_early(self, step: Question) -> bool:
        return step.answer_early

    def asked_behind_read_back(self, step: Question) -> bool:
        return step.behind_read_back

    def confirmation(self, step: Question, *, digits_only: bool = False) -> Expectation:
        return Expectation(yes_no=True, choices=step.choices, commands=ALWAYS)

    def take(self, tx: Transaction, step: Question, meaning: Number | Choice) -> None:
        if isinstance(meaning, Choice):
            say_back(tx, step, meaning)
        else:
            advance(tx)

    def accept(
        self, tx: Transaction, step: Question, meaning: Number | Choice, attempts: int
    ) -> None:
        if isinstance(meaning, Choice):
            accept_choice(tx, step, meaning.id)
        else:
            advance(tx)

    def taken_back(self, tx: Transaction, step: Question) -> None:
        if step.sound_is_kept_when is not None:
            tx.record(Consent(keep_sound=False))
            tx.change(keep_sound=False)

    def outcome(self, state: State, step: Question, ranges_m: tuple[float, ...]) -> Outcome | None:
        ending = step.ends_as.get(state.answers.get(step.id, ""))
        if ending is None:
            return None
        finished = Finished(ending.result, yaw=None, elevation=None, misses_m=())
        return Outcome(fill(state, ending.say), finished)

    def said_back(self, step: Question) -> Iterator[Message]:
        for choice in step.choices:
            yield message.choice(choice)


KIND = QuestionKind()
