"""Prompts of a job file that say how to answer, where the companion says it by itself.

A prompt asks for one thing; "Say done." and "Yes or no?" come behind it. A job file that writes
them into its texts has them said twice.
"""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue import prompts
from companion.dialogue.kind import kind_of
from companion.job.plan import Plan
from companion.language.language import Language

ADDED = (prompts.SAY_DONE, prompts.YES_OR_NO, prompts.SAY_CONTINUE)


def said_twice(plan: Plan, language: Language) -> tuple[str, ...]:
    """The ids of steps of which a text ends as the companion ends it anyway."""
    added = tuple(_letters(language.say(each)) for each in ADDED)
    return tuple(
        step.id
        for step in plan.steps
        if any(_letters(text).endswith(added) for text in kind_of(plan, step).texts(step))
        or _repeats_its_reply(plan, step.id)
    )


def _repeats_its_reply(plan: Plan, step_id: str) -> bool:
    """Whether what is asked ends with the reply that stands beside it."""
    step = plan.step(step_id)
    reply = _letters(getattr(step, "reply", None) or "")
    asked = kind_of(plan, step).asks_for(step)
    return bool(reply) and any(_letters(text).endswith(reply) for text in asked)


def _letters(text: str) -> str:
    """Words in small letters with a space before each: no stop or capital keeps two apart."""
    return "".join(f" {word}" for word in _words(text))


def _words(text: str) -> Iterator[str]:
    for word in text.casefold().split():
        letters = "".join(sign for sign in word if sign.isalnum())
        if letters:
            yield letters
