"""What an answer does: taken, said back, confirmed, replaced, doubted."""

from __future__ import annotations

from decimal import Decimal

from companion.dialogue import prompts
from companion.dialogue.asking import ask_again, ask_step, confirmation_of, wants_digits
from companion.dialogue.events import Event, Heard
from companion.dialogue.finishing import sign_off
from companion.dialogue.looping import once_more
from companion.dialogue.progress import current_step, item_id
from companion.dialogue.state import Mode, TakenReading
from companion.dialogue.turn import Turn
from companion.dialogue.values import as_written, fill, is_plausible, number, reading_u, signed
from companion.dialogue.walking import walk_on
from companion.facts.answers import Accepted, Answered, Consent, Done, Doubted, NotAllowed
from companion.facts.prompting import Prompted, SaidBack
from companion.procedure.job import Again, Checklist, Finish, Instruction, Question, Reading
from companion.words.expectation import Expectation
from companion.words.meanings import Choice, Number
from companion.words.speaking import read_back as say_back
from companion.words.speaking import say_figure


def take_number(turn: Turn, event: Event) -> None:
    """A number was heard: doubt it when it is unlikely, else say it back."""
    step = current_step(turn.state)
    meaning = _meaning(event)
    assert isinstance(meaning, Number)  # noqa: S101  -- the table sends only numbers here
    assert isinstance(step, Reading)  # noqa: S101  -- only readings expect a number
    doubt = _why_unlikely(turn, step, meaning)
    if doubt is not None and turn.state.doubted != meaning:
        turn.record(Doubted(step.id, say_back(meaning), doubt))
        turn.change(doubted=meaning)
        ask_step(turn, step, doubt)
        return
    turn.change(pending=meaning, silences=0)
    expectation = confirmation_of(step, digits_only=wants_digits(turn.state))
    said_back = SaidBack(
        say_back(meaning),
        value=format(meaning.value, "f"),
        unit=step.unit,
        direction=meaning.direction,
    )
    _say_back(turn, step, said_back, expectation)


def take_choice(turn: Turn, event: Event) -> None:
    """A choice was heard: say it back."""
    step = current_step(turn.state)
    meaning = _meaning(event)
    assert isinstance(meaning, Choice)  # noqa: S101  -- the table sends only choices here
    assert isinstance(step, Question)  # noqa: S101  -- only questions expect a choice
    turn.change(pending=meaning, silences=0)
    said_back = SaidBack(turn.state.lexicon.choice_name(meaning.id), choice=meaning.id)
    _say_back(turn, step, said_back, confirmation_of(step))


def _say_back(
    turn: Turn, step: Reading | Question, said_back: SaidBack, expectation: Expectation
) -> None:
    turn.ask(
        step.id,
        prompts.sentence(said_back.spoken),
        expectation,
        reply=prompts.YES_OR_NO,
        purpose="read_back",
        mode=Mode.CONFIRMING,
        told=Prompted(said_back=said_back),
    )


def accept(turn: Turn, event: Event) -> None:
    """Yes to what was said back: it counts from here on."""
    step, pending = current_step(turn.state), turn.state.pending
    attempts = turn.state.misses + 1
    turn.change(pending=None, doubted=None, misses=0, silences=0)
    if isinstance(step, Reading) and isinstance(pending, Number):
        _accept_reading(turn, step, pending, attempts)
    elif isinstance(step, Question) and isinstance(pending, Choice):
        _accept_choice(turn, step, pending.id)
    else:
        walk_on(turn)


def reject(turn: Turn, event: Event) -> None:
    """No to what was said back: ask again, a number digit by digit."""
    turn.change(pending=None, misses=turn.state.misses + 1, silences=0, mode=Mode.ASKING)
    step = current_step(turn.state)
    assert isinstance(step, Reading | Question)  # noqa: S101  -- only these are said back
    ask_step(turn, step, prompts.NOT_TAKEN, again=True)


def take_done(turn: Turn, event: Event) -> None:
    """Done: with the task at hand, or with the step."""
    turn.change(misses=0, silences=0)
    state = turn.state
    if state.tasks:
        turn.record(Done(state.tasks[0].step_id, state.tasks[0].text))
        turn.change(tasks=state.tasks[1:])
        walk_on(turn)
        return
    step = current_step(state)
    match step:
        case Instruction():
            turn.record(Done(step.id, fill(state, step.say)))
            turn.change(done=state.done | {step.id})
        case Checklist():
            index = next(i for i in range(len(step.items)) if item_id(step, i) not in state.done)
            text = fill(state, step.items[index])
            turn.record(Done(item_id(step, index), text))
            turn.change(done=state.done | {item_id(step, index)})
        case Finish():
            sign_off(turn, step)
            return
        case _:
            pass
    walk_on(turn)


def missed(turn: Turn, event: Event) -> None:
    """Something was heard that does not count: ask again, easier each time."""
    turn.change(misses=turn.state.misses + 1, silences=0)
    ask_again(turn)


def _why_unlikely(turn: Turn, step: Reading, meaning: Number) -> str | None:
    value = signed(step, meaning)
    spoken = say_back(meaning)
    if not is_plausible(step, meaning):
        low, high = step.plausible
        return prompts.implausible(spoken, _bound(step, low), _bound(step, high))
    last = turn.state.last_values.get(step.id)
    if step.far_from_last is not None and last is not None:
        change = abs(value - last.value)
        if change > Decimal(str(step.far_from_last)):
            return prompts.far_from_last(spoken, last.spoken)
    return None


def _bound(step: Reading, bound: float) -> str:
    directions = step.number.directions
    direction = None
    if directions and bound != 0:
        direction = directions[0] if bound > 0 else directions[1]
    return say_figure(as_written(abs(bound)), step.unit, direction)


def _accept_reading(turn: Turn, step: Reading, meaning: Number, attempts: int) -> None:
    state = turn.state
    value = signed(step, meaning)
    take = state.takes.get(step.id, 0) + 1
    taken = TakenReading(value, say_back(meaning), take)
    turn.record(
        Accepted(
            reading_id=step.id,
            title=step.title,
            value=format(value, "f"),
            unit=step.unit,
            direction=meaning.direction,
            spoken=taken.spoken,
            u=reading_u(step),
            take=take,
            attempts=attempts,
        )
    )
    turn.change(takes={**state.takes, step.id: take})
    if step.allowed is not None:
        low, high = number(state, step.allowed.low), number(state, step.allowed.high)
        if not low <= float(value) <= high:
            _not_allowed(turn, step)
            return
    turn.change(
        readings={**state.readings, step.id: taken},
        last_values={**state.last_values, step.id: taken},
        history=(*state.history, step.id),
    )
    walk_on(turn)


def _not_allowed(turn: Turn, step: Reading) -> None:
    """A true reading that stops the work: ask for a new one after it was put right."""
    assert step.allowed is not None  # noqa: S101  -- only called with limits
    turn.record(NotAllowed(step.id, step.allowed.otherwise))
    again = Again(
        say=step.allowed.otherwise,
        steps=(step.id,),
        at_most=step.allowed.at_most,
        then_stop=step.allowed.otherwise,
    )
    once_more(turn, step.id, again)
    if turn.state.mode is not Mode.STOPPED:
        walk_on(turn)


def _accept_choice(turn: Turn, step: Question, choice: str) -> None:
    state = turn.state
    turn.record(Answered(step.id, step.title, choice))
    if choice in step.blocked_by:
        ask_step(turn, step, step.blocked_by[choice])
        return
    if step.sound_is_kept_when is not None:
        keep_sound = choice == step.sound_is_kept_when
        turn.record(Consent(keep_sound))
        turn.change(keep_sound=keep_sound)
    turn.change(answers={**state.answers, step.id: choice}, history=(*state.history, step.id))
    if choice in step.again:
        once_more(turn, step.id, _with_itself(step, choice))
        if turn.state.mode is Mode.STOPPED:
            return
    walk_on(turn)


def _with_itself(step: Question, choice: str) -> Again:
    """The loop of a question also asks the question itself again."""
    again = step.again[choice]
    return again.model_copy(update={"steps": (*again.steps, step.id)})


def _meaning(event: Event) -> object:
    assert isinstance(event, Heard)  # noqa: S101  -- the table sends only heard answers here
    return event.meaning
