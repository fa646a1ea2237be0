"""What will be said in a job, as far as it can be told before the job begins."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue import prompts
from companion.dialogue.state import State
from companion.dialogue.values import fill
from companion.procedure.job import AnyStep, Checklist, Instruction, Question, Reading
from companion.words.speaking import SpeakingError

_AT_ANY_TIME = (
    *(prompts.SORRY, prompts.NOT_NOW, prompts.PAUSED, prompts.PAUSED_BY_SILENCE),
    *(prompts.CARRYING_ON, prompts.STOPPED, prompts.SPEAK_NOTE, prompts.NOTE_KEPT),
    *(prompts.LOUDER, prompts.QUIETER, prompts.SLOWER, prompts.FASTER),
    *(prompts.STILL_WAITING, prompts.NOTHING_TO_TAKE_BACK, prompts.ONCE_MORE_TO_BE_SURE),
)


def texts_ahead(state: State) -> Iterator[str]:
    """The texts of a job that has just begun, in the order of their use, each once.

    Left out is what depends on answers: read-backs, corrections, results.
    """
    seen: set[str] = set()
    for text in _texts(state):
        if text not in seen:
            seen.add(text)
            yield text


def _texts(state: State) -> Iterator[str]:
    plan = state.plan
    for caution in plan.files.job.cautions:
        yield caution.say
    yield prompts.SIDES
    yield prompts.OFFER_VOICE_CHECK
    first, *others = state.lexicon.voice_check.words
    yield f"{prompts.EACH_AFTER_ME} {prompts.say_word(first)}"
    yield from map(prompts.say_word, others)
    for number, stage in enumerate(plan.files.job.stages, 1):
        yield prompts.stage(number, stage.title, again=False)
        for step in stage.steps:
            for ask in _asks(step):
                try:
                    yield fill(state, ask)
                except (KeyError, SpeakingError):
                    # It names a reading that is still to be taken.
                    continue
            if isinstance(step, Question):
                for choice in step.choices:
                    yield prompts.read_back(state.lexicon.choice_name(choice))
    yield from _AT_ANY_TIME


def _asks(step: AnyStep) -> tuple[str, ...]:
    match step:
        case Reading() | Question():
            return (step.ask,)
        case Instruction():
            return (step.say,)
        case Checklist():
            return step.items
        case _:
            return ()
