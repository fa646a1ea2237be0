"""The result in plain words, and what it does not mean."""

from __future__ import annotations

from dataclasses import dataclass

from companion.review.view import SessionView


@dataclass(frozen=True)
class Headline:
    """The answer, its tone (inside, outside, open), one sentence more, and the cautions."""

    tone: str
    mark: str
    answer: str
    meaning: str
    not_meant: tuple[str, ...]


def headline(view: SessionView) -> Headline:
    """What the first lines of the report say."""
    tone, mark, answer, meaning = _answer(view)
    return Headline(tone, mark, answer, meaning, _not_meant(view))


def _answer(view: SessionView) -> tuple[str, str, str, str]:
    match view.outcome:
        case "inside":
            return (
                "inside",
                "✓",
                "The radar's aim is inside the entered limits.",
                "This holds with the limits entered for this car and the uncertainties entered "
                "for the readings and scales, at the chance given below.",
            )
        case "tool_inside":
            return (
                "open",
                "○",
                "The scan tool reported the aim as inside.",
                "The companion walked the steps and kept the record; it measured no aim itself.",
            )
        case "not_aimed":
            return (
                "open",
                "○",
                "This job aimed nothing.",
                "The companion walked the steps and kept the record; no aim was measured.",
            )
        case "outside":
            return (
                "outside",
                "✕",
                "The radar's aim is outside the entered limits.",
                "The car must not be handed over as aimed. The last aim and its doubt stand below.",
            )
        case "not_settled":
            return (
                "open",
                "?",
                "Not settled: too close to the limits to call.",
                "With the entered uncertainties, neither inside nor outside can be claimed.",
            )
        case "stopped":
            why = view.stopped_why or "no reason was recorded"
            return (
                "open",
                "■",
                "Stopped before there was a result.",
                f"Why: {why}. Nothing is said here about the radar's aim.",
            )
        case "":
            return (
                "open",
                "…",
                "This session was not finished.",
                "The record ends before a result. Nothing is said here about the radar's aim.",
            )
        case other:
            return ("open", "?", f"Ended with “{other}”.", "This result is not known here.")


def _not_meant(view: SessionView) -> tuple[str, ...]:
    told = (
        "It does not say that driver assistance is safe, or that braking or distance keeping "
        "works: it says where the radar's beam pointed while this was measured.",
        "It rests on figures that the shop entered and on readings that one person spoke and "
        "confirmed. A wrong figure in a file, or a scale that is off, shows nowhere in it.",
        "It does not cover fault codes, software, the windscreen camera, or anything that moved "
        "after the last reading.",
    )
    if view.opened.has_an_example:
        return (
            "It was made with example files. Their limits, dimensions and uncertainties are "
            "examples, not a maker's values: no car may be judged by them.",
            *told,
        )
    return told
