"""What the terminal shows while a job runs: the stage, what is said, what is heard, what counts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click


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
            return click.style(f"  not    {body['reason'].replace('_', ' ')}{words}", fg="yellow")
        case "silent":
            return click.style(f"  not    nothing heard in {body['waited_s']:.0f} s", fg="yellow")
        case "accepted":
            return click.style(f"  taken  {body['title']}: {body['spoken']}", fg="green")
        case "answered":
            return click.style(f"  taken  {body['title']}: {body['choice']}", fg="green")
        case "decided":
            return _decided(body)
        case "aim_decided":
            return _aim(body)
        case "move_judged" if body["kind"] != "as_planned":
            return click.style(f"  judged {body['kind'].replace('_', ' ')}", fg="red")
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
    figures = (
        f"{body['value']:.3g} ± {2 * body['u']:.2g} in {body['low']:.3g} to {body['high']:.3g}"
    )
    answer = body["answer"].replace("_", " ")
    colour = "green" if answer == "inside" else "yellow"
    return click.style(f"  judged {body['title']}: {answer} ({figures})", fg=colour)


def _aim(body: Mapping[str, Any]) -> str:
    yaw, elevation = body["yaw"], body["elevation"]
    answer = body["answer"].replace("_", " ")
    return click.style(
        f"  judged Aim: {answer}, {body['probability_inside']:.1%} inside"
        f" (yaw {yaw['value']:+.2f}° ± {2 * yaw['u']:.2f}°,"
        f" height {elevation['value']:+.2f}° ± {2 * elevation['u']:.2f}°;"
        f" limits ±{yaw['tolerance']}°, ±{elevation['tolerance']}°)",
        fg="green" if answer == "inside" else "yellow",
    )
