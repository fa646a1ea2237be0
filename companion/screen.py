"""What the terminal shows while a job runs: the stage, what is said, what is heard, what counts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from companion.review import advised, wording
from companion.review.values import quantity

WHY_NOT = {
    "not_in_grammar": "no answer here",
    "unsure": "not sure enough",
    "clipped": "too loud for the microphone",
    "overrun": "sound was lost",
}
"""Why nothing was taken, in words; the record's own word where none stands here."""


class Screen:
    """A watcher that prints each prompt as it is spoken and each answer as it was heard."""

    def __init__(self, *, quiet: bool = False) -> None:
        self._quiet = quiet

    def fact(self, kind: str, body: Mapping[str, Any]) -> None:
        line = None if self._quiet else _line(kind, body)
        if line is not None:
            click.echo(line)


def _line(kind: str, body: Mapping[str, Any]) -> str | None:
    match kind:
        case "stage":
            done = "■" * body["number"] + "□" * (body["of"] - body["number"])
            title = f"{done}  {body['number']} of {body['of']}  {body['title']}"
            return "\n" + click.style(title, bold=True)
        case "said":
            return f"  says   {body['text']}"
        case "heard":
            return _heard(body)
        case "refused":
            words = f" {body['words']!r}" if body.get("words") else ""
            why = WHY_NOT.get(body["reason"], body["reason"].replace("_", " "))
            return click.style(f"  not    {why}{words}", fg="yellow")
        case "silent":
            return click.style(f"  not    nothing heard in {body['waited_s']:.0f} s", fg="yellow")
        case "accepted":
            return click.style(f"  taken  {body['title']}: {body['spoken']}", fg="green")
        case "answered":
            return click.style(
                f"  taken  {body['title']}: {body['choice'].replace('_', ' ')}", fg="green"
            )
        case "decided":
            return _decided(body)
        case "aim_decided":
            return _aim(body)
        case "move_judged" if body["kind"] != "as_planned":
            return click.style(f"  judged {advised.stories(body)}", fg="red")
        case "stopped":
            return click.style(f"  stops  {body['why']}", fg="red", bold=True)
        case "finished":
            return click.style(f"\nResult: {body['result'].replace('_', ' ')}", bold=True)
        case _:
            return None


def _heard(body: Mapping[str, Any]) -> str:
    confidence = body.get("confidence")
    sure = f"  ({confidence:.2f})" if confidence is not None and confidence < 1 else ""
    return click.style(f"  hears  {body['words']}{sure}", fg="cyan")


def _decided(body: Mapping[str, Any]) -> str:
    name = body["result"]
    value = wording.amount_with_doubt(quantity(body), name)
    limits = wording.limits(body["low"], body["high"], body["unit"], name)
    colour = "green" if body["answer"] == "inside" else "yellow"
    answer = wording.answer_words(body["answer"])
    return click.style(f"  judged {body['title']}: {answer} ({value}; {limits})", fg=colour)


def _aim(body: Mapping[str, Any]) -> str:
    told = []
    for axis, title in (("yaw", "sideways"), ("elevation", "height")):
        value = wording.amount_with_doubt(quantity(body[axis], "deg"), f"aim_{axis}_deg")
        tolerance = body[axis]["tolerance"]
        told.append(f"{title} {value}, {wording.limits(-tolerance, tolerance, 'deg')}")
    answer = wording.answer_words(body["answer"])
    return click.style(
        f"  judged Aim: {answer}, {wording.percent(body['probability_inside'])} inside "
        f"({'; '.join(told)})",
        fg="green" if answer == "inside" else "yellow",
    )
