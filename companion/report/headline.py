"""The result in plain words, and what it does not mean."""

from __future__ import annotations

from dataclasses import dataclass

from companion.facts.plain import text
from companion.report.aim_words import ANSWERS, CHANCE, NOT_MEANT_BEFORE
from companion.report.view import SessionView

NOTHING_IS_SAID = "Nothing is said here about what the job was for."
SAID_BY_THE_JOB = (
    "So the job file ends this job, by the answers that were given. The companion walked the steps "
    "and kept the record; it measured no more than the readings below."
)
MEASURED_BY_THE_JOB = (
    "Each result below was measured in two sets or more that agree. This holds with the limits "
    "entered for this car and the uncertainties entered for the readings and scales."
)
RESTS_ON = (
    "It rests on figures that the shop entered and on readings that one person spoke and "
    "confirmed. A wrong figure in a file, or a scale that is off, shows nowhere in it."
)
EXAMPLES = (
    "It was made with example files. Their limits, dimensions and uncertainties are examples, not "
    "a maker's values: no car may be judged by them."
)


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


def headline(view: SessionView) -> Headline:
    """What the first lines of the report say."""
    tone, mark, answer, meaning = _answer(view)
    known = view.finished is not None and view.finished.probability_inside is not None
    return Headline(tone, mark, answer, meaning, _not_meant(view), CHANCE if known else "")


def _answer(view: SessionView) -> tuple[str, str, str, str]:
    outcome = view.outcome
    if outcome == "stopped":
        why = view.stopped_why or "no reason was recorded"
        return ("open", "■", "Stopped before there was a result.", f"Why: {why}. {NOTHING_IS_SAID}")
    if not outcome:
        meaning = f"The record ends before a result. {NOTHING_IS_SAID}"
        return ("open", "…", "This session was not finished.", meaning)
    if outcome in ANSWERS:
        return ANSWERS[outcome]
    say = view.opened.ending_said(outcome)
    if say and view.opened.ending_measured(outcome):
        return ("inside", "✓", say, MEASURED_BY_THE_JOB)
    if say:
        return ("open", "○", say, SAID_BY_THE_JOB)
    return ("open", "?", f"Ended with “{outcome}”.", "This result is not known here.")


def _not_meant(view: SessionView) -> tuple[str, ...]:
    said = view.opened.job.get("not_meant")
    of_the_job = tuple(map(text, said)) if isinstance(said, list | tuple) else NOT_MEANT_BEFORE
    told = (*of_the_job, RESTS_ON)
    if view.opened.has_an_example:
        return (EXAMPLES, *told)
    return told
