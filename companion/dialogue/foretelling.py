"""What will be said in a job, as far as it can be told before the job begins."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from companion.dialogue import prompts
from companion.dialogue.asking import Asked, reply_of
from companion.dialogue.state import State
from companion.dialogue.values import fill
from companion.dialogue.voice_check import WORDS
from companion.procedure.job import Checklist, Instruction, Question, Reading
from companion.words.speaking import SpeakingError

_AT_ANY_TIME = (
    *(prompts.SORRY, prompts.NOT_NOW, f"{prompts.PAUSED} {prompts.SAY_CONTINUE}"),
    f"{prompts.PAUSED_BY_SILENCE} {prompts.PAUSED} {prompts.SAY_CONTINUE}",
    f"{prompts.STOPPED} {prompts.SAY_CONTINUE_OR_END}",
    *(prompts.CARRYING_ON, prompts.SPEAK_NOTE, prompts.NOTE_KEPT),
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
    yield f"{prompts.OFFER_VOICE_CHECK} {prompts.YES_OR_NO}"
    yield f"{prompts.EACH_AFTER_ME} {prompts.say_word(WORDS[0])}"
    yield from map(prompts.say_word, WORDS[1:])
    for number, stage in enumerate(plan.files.job.stages, 1):
        yield prompts.stage(number, stage.title, again=False)
        for step in stage.steps:
            if not isinstance(step, Reading | Question | Instruction | Checklist):
                continue
            for ask in _asks(step):
                try:
                    yield f"{fill(state, ask)} {reply_of(state, step)}".strip()
                except (KeyError, SpeakingError):
                    # It names a reading that is still to be taken.
                    continue
            if isinstance(step, Question):
                for choice in step.choices:
                    name = prompts.sentence(state.lexicon.choice_name(choice))
                    yield f"{name} {prompts.YES_OR_NO}"
    yield from _AT_ANY_TIME


def _asks(step: Asked) -> tuple[str, ...]:
    match step:
        case Reading() | Question():
            return (step.ask,)
        case Instruction():
            return (step.say,)
        case Checklist():
            return step.items
        case _:
            assert_never(step)
