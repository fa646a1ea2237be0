"""What will be said in a job, as far as it can be told before it begins: made ahead."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue import prompts
from companion.dialogue.kind import kind_of, kinds_in
from companion.dialogue.opening import remarks
from companion.dialogue.state import State
from companion.dialogue.values import fill
from companion.words.speaking import SpeakingError

_AT_ANY_TIME = (
    *(prompts.SORRY, prompts.NOT_NOW, f"{prompts.PAUSED} {prompts.SAY_CONTINUE}"),
    f"{prompts.PAUSED_BY_SILENCE} {prompts.PAUSED} {prompts.SAY_CONTINUE}",
    f"{prompts.STOPPED} {prompts.SAY_CONTINUE_OR_END}",
    *(prompts.CARRYING_ON, prompts.SPEAK_NOTE, prompts.NOTE_KEPT),
    *(prompts.LOUDER, prompts.QUIETER, prompts.SLOWER, prompts.FASTER),
    *(prompts.STILL_WAITING, prompts.NOTHING_TO_TAKE_BACK),
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
    yield remarks(plan)
    yield f"{prompts.OFFER_VOICE_CHECK} {prompts.YES_OR_NO}"
    first, *others = state.lexicon.voice_check.words
    yield f"{prompts.EACH_AFTER_ME} {prompts.say_word(first)}"
    yield from map(prompts.say_word, others)
    for number, stage in enumerate(plan.files.job.stages, 1):
        yield prompts.stage(number, stage.title, again=False)
        for step in stage.steps:
            kind = kind_of(plan, step)
            for text in kind.asks_for(step):
                try:
                    yield f"{fill(state, text)} {kind.reply(state, step)}".strip()
                except (KeyError, SpeakingError):
                    # It names a reading that is still to be taken.
                    continue
            for spoken in kind.said_back(step, state.lexicon):
                yield f"{prompts.sentence(spoken)} {prompts.YES_OR_NO}"
    yield from _AT_ANY_TIME
    for kind in kinds_in(plan):
        yield from kind.usual_remarks
