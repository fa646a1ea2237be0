"""What will be said in a job, as far as it can be told before it begins: made ahead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from companion.dialogue import prompts
from companion.dialogue.effects import Pace
from companion.dialogue.kind import kind_of, kinds_in
from companion.dialogue.state import State
from companion.dialogue.values import fill
from companion.facts.message import MessageError, Told, choice, in_a_row
from companion.job.job_file import Step
from companion.language.speaking import SpeakingError

_AT_ANY_TIME = (
    *(prompts.SORRY, prompts.NOT_NOW, in_a_row(prompts.PAUSED, prompts.SAY_CONTINUE)),
    in_a_row(prompts.PAUSED_BY_SILENCE, prompts.PAUSED, prompts.SAY_CONTINUE),
    in_a_row(prompts.STOPPED, prompts.SAY_CONTINUE_OR_END),
    *(prompts.CARRYING_ON, prompts.SPEAK_NOTE, prompts.NOTE_KEPT),
    *(prompts.LOUDER, prompts.QUIETER, prompts.SLOWER, prompts.FASTER),
    *(prompts.STILL_WAITING, prompts.NOTHING_TO_TAKE_BACK),
)


def texts_ahead(state: State) -> Iterator[str]:
    """The texts of a job that has just begun: see `said_ahead`."""
    return (text for text, _ in said_ahead(state))


def said_ahead(state: State) -> Iterator[tuple[str, Pace]]:
    """What a job that has just begun says, in the order of its use, each text once, at the pace at
    which it is said where all goes well.

    Left out is what depends on answers: read-backs, corrections, results.
    """
    seen: set[str] = set()
    for told, pace in _told(state):
        try:
            text = told if isinstance(told, str) else state.lexicon.say(told)
        except SpeakingError:
            # Its figure has no words; a job that gets that far says why.
            continue
        if text not in seen:
            seen.add(text)
            yield text, pace


def _told(state: State) -> Iterator[tuple[Told, Pace]]:
    plan = state.plan
    for caution in plan.files.job.cautions:
        yield caution.say, "unhurried"
    yield from _unhurried(prompts.CAUTIONS_KNOWN, prompts.SIDES, prompts.CLOCKWISE)
    yield in_a_row(prompts.OFFER_VOICE_CHECK, prompts.YES_OR_NO), "unhurried"
    first, *others = state.lexicon.voice_check.words
    yield in_a_row(prompts.EACH_AFTER_ME, prompts.say_word(first)), "unhurried"
    yield from _unhurried(*map(prompts.say_word, others))
    in_front: list[Told] = []
    for number, stage in enumerate(plan.files.job.stages, 1):
        if stage.said:
            yield prompts.stage(number, stage.title, again=False), "unhurried"
        for step in stage.steps:
            kind = kind_of(plan, step)
            if kind.is_said_with_next(state, step):
                in_front.append(kind.prompt(state, step))
                continue
            for told in _of_step(state, step, in_front):
                yield told, "brisk"
            in_front = []
    yield from _unhurried(*_AT_ANY_TIME)
    for kind in kinds_in(plan):
        yield from _unhurried(*kind.usual_remarks)


def _unhurried(*told: Told) -> Iterator[tuple[Told, Pace]]:
    return ((each, "unhurried") for each in told)


def _of_step(state: State, step: Step, in_front: Sequence[Told]) -> Iterator[Told]:
    """What a step asks and says back; `in_front`: the instructions that are said before it."""
    kind = kind_of(state.plan, step)
    if in_front:
        yield from _with_in_front(state, step, in_front)
    for text in kind.asks_for(step):
        try:
            yield in_a_row(fill(state, text), kind.reply(state, step))
            yield fill(state, text)
        except (KeyError, MessageError):
            # It names a reading that is still to be taken.
            continue
    yield from (fill(state, text) for text in kind.short_texts(step))
    for answer in kind.said_back(step):
        yield in_a_row(prompts.sentence(answer), prompts.YES_OR_NO)
        yield prompts.asked_back(answer)


def _with_in_front(state: State, step: Step, in_front: Sequence[Told]) -> Iterator[Told]:
    """A prompt with the instructions that are said in front of it."""
    kind = kind_of(state.plan, step)
    try:
        ask, reply = kind.prompt(state, step), kind.reply(state, step)
    except (KeyError, MessageError):
        return
    if reply == prompts.SAY_DONE:
        reply = prompts.SAY_DONE_TO_ALL
    proposal = kind.proposal(state, step)
    if proposal is not None:
        yield in_a_row(*in_front, prompts.asked_back(choice(proposal)))
    yield in_a_row(*in_front, ask, reply)
    yield in_a_row(*in_front, kind.short(state, step) or ask)
