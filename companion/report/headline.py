"""The result in plain words, and what it does not mean."""

from __future__ import annotations

from dataclasses import dataclass

from companion.facts.plain import text
from companion.report.aim_words import ANSWERS, CHANCE, NOT_MEANT_BEFORE
from companion.report.view import SessionView
from companion.report.wording import Wording


@dataclass(frozen=True)
class Headline:
    """The answer, its tone (inside, outside, open), one sentence more, and the cautions.

    `chance`: what the recorded probability is the chance of; "" where there is none.
    """

    tone: str
    mark: str
    answer: str
    meaning: str
    not_meant: tuple[str, ...]
    chance: str = ""


def headline(view: SessionView, wording: Wording) -> Headline:
    """What the first lines of the report say."""
    tone, mark, answer, meaning = _answer(view, wording)
    known = view.finished is not None and view.finished.probability_inside is not None
    chance = wording(CHANCE) if known else ""
    return Headline(tone, mark, answer, meaning, _not_meant(view, wording), chance)


def _answer(view: SessionView, wording: Wording) -> tuple[str, str, str, str]:
    outcome = view.outcome
    if outcome == "stopped":
        why = view.stopped_why or wording("line-no-reason")
        meaning = wording("headline-stopped-means", why=why)
        return "open", "■", wording("headline-stopped"), meaning
    if not outcome:
        return "open", "…", wording("headline-unfinished"), wording("headline-unfinished-means")
    if outcome in ANSWERS:
        tone, mark = ANSWERS[outcome]
        id_ = f"headline-{outcome}"
        return tone, mark, wording(id_), wording(f"{id_}-means")
    say = view.opened.ending_said(outcome)
    if say and view.opened.ending_measured(outcome):
        return "inside", "✓", say, wording("headline-measured-by-the-job-means")
    if say:
        return "open", "○", say, wording("headline-of-the-job-means")
    answer = wording("headline-unknown", result=outcome)
    return "open", "?", answer, wording("headline-unknown-means")


def _not_meant(view: SessionView, wording: Wording) -> tuple[str, ...]:
    said = view.opened.job.get("not_meant")
    of_the_job = (
        tuple(map(text, said))
        if isinstance(said, list | tuple)
        else tuple(map(wording, NOT_MEANT_BEFORE))
    )
    told = (*of_the_job, wording("headline-rests-on"))
    return (wording("headline-examples"), *told) if view.opened.has_an_example else told
