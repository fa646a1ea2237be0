"""What the terminal shows while a job runs: the stage, what is said, what is heard, what counts."""

from __future__ import annotations

import click

from companion.facts.aim import AimDecided, MoveJudged
from companion.facts.answers import Accepted, Answered
from companion.facts.ending import DriftNoticed, Finished, Stopped
from companion.facts.kinds import Fact
from companion.facts.opening import Opened, Stage
from companion.facts.taking_over import TakenOver
from companion.facts.talking import Heard, Refused, Said, Silent
from companion.facts.workings import Decided
from companion.language.loader import REFERENCE
from companion.report import advised
from companion.report.wording import Wording, wording_in

_MARKS = ("says", "hears", "not", "taken", "judged", "stops", "drift", "note", "you")


class Screen:
    """A watcher that prints each prompt as it is spoken and each answer as it was heard.

    `language`: that of the job.
    """

    def __init__(self, language: str = REFERENCE, *, quiet: bool = False) -> None:
        self._quiet = quiet
        self._wording = wording_in(language)
        self._stage_of: dict[str, str] = {}
        self._taken_over: frozenset[str] = frozenset()
        self._now = self._shown = ""

    def fact(self, fact: Fact) -> None:
        match fact:
            case Opened():
                self._wording = self._wording.of(fact)
                stages = fact.job_told.stages
                self._stage_of = {step.id: stage.title for stage in stages for step in stage.steps}
            case TakenOver(stages=stages):
                self._taken_over = frozenset(stages)
            case Stage(title=title):
                self._now = self._shown = title
            case _:
                pass
        line = None if self._quiet else _line(fact, self._wording)
        if line is not None:
            of_step = fact.step_id if isinstance(fact, Decided) else ""
            self._under(self._stage_of.get(of_step, self._now))
            click.echo(line)

    def _under(self, stage: str) -> None:
        """What is worked out of readings that were taken over stands under its own stage."""
        if stage != self._shown and (stage in self._taken_over or self._shown in self._taken_over):
            told = stage
            if stage in self._taken_over and stage != self._now:
                told = self._wording("screen-stage-taken-over", title=stage)
            click.echo("\n" + click.style(told, bold=True))
            self._shown = stage


def marked(mark: str, told: str, wording: Wording) -> str:
    """A line behind its mark, "says" or "hears" and the like; all marks are as wide."""
    width = max(len(wording(f"mark-{each}")) for each in _MARKS)
    return f"  {wording(f'mark-{mark}'):{width}} {told}"


def _line(fact: Fact, wording: Wording) -> str | None:
    match fact:
        case Stage(number=number, of=of, title=title):
            done = "■" * number + "□" * (of - number)
            told = wording("screen-stage-number", number=number, of=of, title=title)
            return "\n" + click.style(f"{done}  {told}", bold=True)
        case Said(text=text):
            return None if not text else marked("says", text, wording)
        case Heard(how=how):
            unsure = how.confidence is not None and how.confidence < 1
            sure = f"  ({wording.number(how.confidence or 0.0, 2)})" if unsure else ""
            return click.style(marked("hears", f"{how.words}{sure}", wording), fg="cyan")
        case Refused(how=how) as note if note.is_note:
            return click.style(marked("hears", how.words or "…", wording), fg="cyan")
        case Refused(reason=reason, how=how):
            words = f" {wording.quoted(how.words)}" if how.words else ""
            told = f"{wording.refusal(reason)}{words}"
            return click.style(marked("not", told, wording), fg="yellow")
        case Silent(waited_s=waited_s):
            told = wording("line-no-answer-in", seconds=round(waited_s or 0))
            return click.style(marked("not", told, wording), fg="yellow")
        case Accepted(title=title, spoken=spoken):
            return click.style(_titled("taken", title, spoken, wording), fg="green")
        case Answered(choice=choice) as answered:
            said, title = wording.words.choice(choice), wording.words.asked(answered)
            return click.style(_titled("taken", title, said, wording), fg="green")
        case Decided() as decided:
            return _decided(decided, wording)
        case AimDecided() as decided:
            return _aim(decided, wording)
        case MoveJudged() as judged if judged.kind != "as_planned":
            told = advised.stories(judged, wording)
            return click.style(marked("judged", told, wording), fg="red")
        case Stopped(why):
            return click.style(marked("stops", why, wording), fg="red", bold=True)
        case Finished(result):
            told = wording("advice-result", result=wording.ending(result))
            return click.style(f"\n{told}", bold=True)
        case DriftNoticed() as drift:
            told = f"{wording.drifted(drift)}. {wording('line-drift-advice')}"
            return click.style(marked("drift", told, wording), fg="red", bold=True)
        case _:
            return None


def _titled(mark: str, title: str, value: str, wording: Wording) -> str:
    return marked(mark, wording("line-title-and-value", title=title, value=value), wording)


def _decided(decided: Decided, wording: Wording) -> str:
    name = decided.result
    value = wording.amount_with_uncertainty(decided.quantity, name)
    limits = wording.limits(decided.low, decided.high, decided.unit or "", name)
    colour = "green" if decided.answer == "inside" else "yellow"
    told = f"{wording.answer(decided.answer)} ({value}; {limits})"
    return click.style(_titled("judged", decided.title, told, wording), fg=colour)


def _aim(decided: AimDecided, wording: Wording) -> str:
    axes = []
    for axis, found in decided.axes.items():
        name = f"aim_{axis}_deg"
        value = wording.amount_with_uncertainty(found.quantity, name)
        limits = wording.limits_about_zero(found.tolerance, "deg")
        axes.append(f"{wording.title_of(name)} {value}, {limits}")
    chance = wording("line-chance", chance=wording.percent(decided.probability_inside))
    told = f"{wording.answer(decided.answer)}, {chance} ({'; '.join(axes)})"
    colour = "green" if decided.answer == "inside" else "yellow"
    return click.style(_titled("judged", wording("part-aim"), told, wording), fg=colour)
