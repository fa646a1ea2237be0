"""Looking, before a job begins, at everything that it needs, and at the files it is made of."""

from __future__ import annotations

import contextlib
import json
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path
from textwrap import fill
from typing import Any

import click
from click.core import ParameterSource

from companion.commands.options import (
    job_files,
    language_option,
    paths_of,
    refuse_model_without_vosk,
)
from companion.commands.settings import settings_read_now
from companion.commands.shared import about, record_option
from companion.dialogue.endings import said_twice
from companion.dialogue.feasibility import infeasible
from companion.dialogue.machine import begin
from companion.record.clock import SystemClock
from companion.record.last_check import LastCheck, keep
from companion.record.last_echo import keep as keep_echo
from companion.record.place import record_path
from companion.report.wording import Wording, wording_in
from companion.runtime import assembly
from companion.runtime.assembly import RECOGNISERS
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.devices import device_lines
from companion.runtime.checks.echo import judged, measure
from companion.runtime.checks.everything import all_well, look_at_everything
from companion.runtime.checks.finding import Finding
from companion.uncertainty.measured import budget

NOT_READY = 1
_COLOURS = {"well": "green", "look": "yellow", "wrong": "red", "skipped": "white", "ask": "white"}


@click.command()
@job_files
@record_option
@language_option
@click.option(
    "--ears",
    type=click.Choice(["typed", *RECOGNISERS]),
    default="typed",
    show_default=True,
    help="What the job will be heard with.",
)
@click.option("--model", type=click.Path(path_type=Path), help="Vosk model folder.")
@click.option(
    "--voice",
    type=click.Choice(["silent", "speaker"]),
    default="silent",
    show_default=True,
    help="How the job will speak.",
)
@click.option("--microphone", help="Its name or a part of it. Default: the system's own.")
@click.option("--loudspeaker", help="Its name or a part of it. Default: the system's own.")
@click.option("--no-speaking", is_flag=True, help="Do not ask anybody to say a sentence.")
@click.option("--json", "as_data", is_flag=True, help="One JSON object, for programs.")
@click.option(
    "--echo",
    is_flag=True,
    help="Only measure what the microphone hears of the loudspeaker: whether prompts may be "
    "answered before they end.",
)
@click.option("--devices", is_flag=True, help="Only list the sound devices by name.")
def check(as_data: bool, devices: bool, echo: bool, no_speaking: bool, **options: Any) -> None:
    """Check everything a job needs, and say what to do about what is missing. Speaks and listens.

    With spoken answers it asks you at the end to say a sentence, and carries on if you do not.

    Exits with 0 if nothing is wrong, otherwise with 1; with --echo, with 0 if prompts may be
    answered before they end. What --echo finds is kept for these devices and this volume.

    \b
    Example: companion check
    Example: companion check --echo --microphone USB --loudspeaker USB
    Example: companion check --ears own --voice speaker --json
    """
    if click.get_current_context().get_parameter_source("model") is ParameterSource.COMMANDLINE:
        refuse_model_without_vosk(options["ears"], options["model"])
    read = settings_read_now()
    say = wording_in(read.settings.language)
    if devices:
        for line in device_lines(say):
            click.echo(line)
        return

    if echo:
        sys.exit(_measure_echo(Bench(read, Path(record_path().parent / "voice")), as_data=as_data))

    def ask(request: str) -> None:
        """On the error stream, so that JSON stays JSON."""
        _progress("")
        click.secho(f"  {_mark('ask', say)}  {request}", bold=True, err=True)

    with tempfile.TemporaryDirectory() as scratch:
        bench = Bench(read, Path(scratch), None if no_speaking else ask)
        told: list[dict[str, Any]] = []
        findings: dict[str, Finding] = {}
        for identifier, title, finding in look_at_everything(bench, _progress):
            findings[identifier] = finding
            told.append({"id": identifier, "title": title, **asdict(finding)})
            if not as_data:
                _show(title, finding, say)
    _progress("")
    _keep(read.settings.record, bench, findings)
    well = all_well(list(findings.values()))
    if as_data:
        click.echo(json.dumps({"ready": well, "looks": told}, indent=2, ensure_ascii=False))
    else:
        click.echo(f"\n{say('check-ready' if well else 'check-not-ready')}")
    sys.exit(0 if well else NOT_READY)


def _measure_echo(bench: Bench, *, as_data: bool) -> int:
    """Measure what the microphone hears of the loudspeaker, tell and keep it."""
    say = bench.say
    click.secho(f"  {_mark('ask', say)}  {say('check-echo-listening')}", bold=True, err=True)
    measured = measure(bench)
    keep_echo(measured)
    if as_data:
        click.echo(json.dumps(asdict(measured), indent=2, ensure_ascii=False))
    else:
        _show(say("check-title-echo"), judged(measured, say), say)
    return 0 if measured.allows_answers else NOT_READY


def _keep(record: Path, bench: Bench, findings: dict[str, Finding]) -> None:
    """What was found, for the store, beside the record where there is one."""
    if not record.exists():
        return
    by_state = {
        state: tuple(name for name, found in findings.items() if found.state == state)
        for state in ("wrong", "look")
    }
    ears = bench.recogniser.name if bench.ears_work is not None else ""
    at_utc = SystemClock().now().at_utc
    found = LastCheck(at_utc, by_state["wrong"], by_state["look"], ears, bench.ears_work)
    # Those who may only look at the record may check all the same.
    with contextlib.suppress(OSError):
        keep(record, found)


def _progress(title: str) -> None:
    """The look that is under way, where a person watches; the next line goes over it."""
    if sys.stderr.isatty():
        click.echo(f"\r\x1b[K{f'  ...     {title}' if title else ''}", nl=False, err=True)


def _mark(state: str, say: Wording) -> str:
    """The mark of a line; all of them are as wide."""
    marks = {each: say(f"check-mark-{each}") for each in _COLOURS}
    return f"{marks[state]:{max(map(len, marks.values()))}}"


def _show(title: str, finding: Finding, say: Wording) -> None:
    _progress("")
    mark = _mark(finding.state, say)
    line = say("check-line", title=title, found=finding.found)
    click.echo(f"  {click.style(mark, fg=_COLOURS[finding.state])}  {line}")
    behind = " " * (len(mark) + 4)
    if finding.state != "well" and finding.state != "skipped":
        click.echo(behind + say("check-wanted", wanted=finding.wanted))
    if finding.to_do:
        click.echo(behind + say("check-to-do", what=finding.to_do))


@click.command(name="files")
@job_files
@language_option
def check_files(language: str, **options: Any) -> None:
    """Check the job, vehicle, mount and bay files, and show the job's stages.

    \b
    Example: companion files --vehicle my_vehicle.yaml --bay my_bay.yaml
    """
    spoken, say = assembly.language(language), wording_in(language)
    loaded = assembly.load(paths_of(options), spoken)
    click.echo(f"{about(loaded, spoken)}\n")
    for number, stage in enumerate(loaded.plan.files.job.stages, 1):
        steps = ", ".join(step.id for step in stage.steps)
        told = f"{number:3d}  {stage.title}: {steps}"
        click.echo(fill(told, subsequent_indent="     ", break_on_hyphens=False, width=100))
    twice = said_twice(loaded.plan, spoken)
    if twice:
        found = say("check-files-reply-twice", steps=", ".join(twice), count=len(twice))
        click.secho(f"\n{found} {say('check-files-reply-twice-to-do')}", fg="yellow")
    for item in infeasible(begin(loaded.plan, spoken)):
        told = say(
            "files-could-never-pass",
            title=item.title,
            result=item.result,
            uncertainty=say.words.decimals(f"{item.value.u:.2g}"),
            allowed=say.words.decimals(f"{item.half_width:g}"),
            best=say.percent(item.best_probability),
            wanted=say.percent(item.level),
            cause=budget(item.value)[0].name,
        )
        click.secho(f"\n{told}", fg="yellow")


COMMANDS = (check, check_files)
