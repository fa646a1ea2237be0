"""What the terminal shows while a job runs: the stage, what is said, what is heard, what counts."""

from __future__ import annotations

import click

from companion.facts.aim import AimDecided, MoveJudged
from companion.facts.answers import Accepted, Answered
from companion.facts.ending import DriftNoticed, Finished, Stopped
from companion.facts.kinds import Fact
from companion.facts.opening import Stage
from companion.facts.talking import Heard, Refused, Said, Silent
from companion.facts.workings import Decided
from companion.report import advised, wording


class Screen:
    """A watcher that prints each prompt as it is spoken and each answer as it was heard."""

    def __init__(self, *, quiet: bool = False) -> None:
        self._quiet = quiet

    def fact(self, fact: Fact) -> None:
        line = None if self._quiet else _line(fact)
        if line is not None:
            click.echo(line)


def _line(fact: Fact) -> str | None:
    match fact:
        case Stage(number=number, of=of, title=title):
            done = "■" * number + "□" * (of - number)
            return "\n" + click.style(f"{done}  {number} of {of}  {title}", bold=True)
        case Said(text=text):
            return f"  says   {text}"
        case Heard(how=how):
            unsure = how.confidence is not None and how.confidence < 1
            sure = f"  ({how.confidence:.2f})" if unsure else ""
            return click.style(f"  hears  {how.words}{sure}", fg="cyan")
        case Refused(reason=reason, how=how):
            words = f" {how.words!r}" if how.words else ""
            return click.style(f"  not    {wording.refusal(reason)}{words}", fg="yellow")
        case Silent(waited_s=waited_s):
            return click.style(f"  not    nothing heard in {waited_s or 0:.0f} s", fg="yellow")
        case Accepted(title=title, spoken=spoken):
            return click.style(f"  taken  {title}: {spoken}", fg="green")
        case Answered(title=title, choice=choice):
            return click.style(f"  taken  {title}: {choice.replace('_', ' ')}", fg="green")
        case Decided() as decided:
            return _decided(decided)
        case AimDecided() as decided:
            return _aim(decided)
        case MoveJudged() as judged if judged.kind != "as_planned":
            return click.style(f"  judged {advised.stories(judged)}", fg="red")
        case Stopped(why):
            return click.style(f"  stops  {why}", fg="red", bold=True)
        case Finished(result):
            return click.style(f"\nResult: {result.replace('_', ' ')}", bold=True)
        case DriftNoticed() as drift:
            told = f"{wording.drifted(drift)}: have it checked before the next job"
            return click.style(f"  drift  {told}", fg="red", bold=True)
        case _:
            return None


def _decided(decided: Decided) -> str:
    name = decided.result
    value = wording.amount_with_doubt(decided.quantity, name)
    limits = wording.limits(decided.low, decided.high, decided.unit or "", name)
    colour = "green" if decided.answer == "inside" else "yellow"
    answer = wording.answer_words(decided.answer)
    return click.style(f"  judged {decided.title}: {answer} ({value}; {limits})", fg=colour)


def _aim(decided: AimDecided) -> str:
    told = []
    for axis, title in (("yaw", "sideways"), ("elevation", "height")):
        found = decided.axes[axis]
        value = wording.amount_with_doubt(found.quantity, f"aim_{axis}_deg")
        told.append(f"{title} {value}, {wording.limits_about_zero(found.tolerance, 'deg')}")
    answer = wording.answer_words(decided.answer)
    return click.style(
        f"  judged Aim: {answer}, {wording.percent(decided.probability_inside)} inside "
        f"({'; '.join(told)})",
        fg="green" if answer == "inside" else "yellow",
    )
