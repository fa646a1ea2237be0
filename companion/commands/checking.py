"""Looking, before a job begins, at everything that it needs, and at the files it is made of."""

from __future__ import annotations

import json
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path
from textwrap import fill
from typing import Any

import click

from companion.commands.options import job_files, paths_of
from companion.commands.settings import settings_read_now
from companion.commands.shared import about, record_option
from companion.dialogue.feasibility import infeasible
from companion.dialogue.machine import begin
from companion.runtime import assembly
from companion.runtime.assembly import RECOGNISERS
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.devices import device_lines
from companion.runtime.checks.everything import all_well, look_at_everything
from companion.runtime.checks.finding import Finding
from companion.uncertainty.measured import budget

NOT_READY = 1
_MARKS = {"well": ("well", "green"), "look": ("look", "yellow"), "wrong": ("WRONG", "red")}


@click.command()
@job_files
@record_option
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
@click.option("--no-speaking", is_flag=True, help="Ask nobody to say a sentence.")
@click.option("--json", "as_data", is_flag=True, help="One JSON object, for programs.")
@click.option("--devices", is_flag=True, help="Only list the sound devices by name.")
def check(as_data: bool, devices: bool, no_speaking: bool, **options: Any) -> None:
    """Check everything a job needs, and say what to do about what is missing. Speaks and listens.

    With spoken answers it asks you at the end to say a sentence, and carries on if you do not.

    Exits with 0 if nothing is wrong, otherwise with 1.

    \b
    Example: companion check
    Example: companion check --ears own --voice speaker --json
    """
    if devices:
        for line in device_lines():
            click.echo(line)
        return
    with tempfile.TemporaryDirectory() as scratch:
        bench = Bench(settings_read_now(), Path(scratch), None if no_speaking else _ask)
        told: list[dict[str, Any]] = []
        findings: list[Finding] = []
        for identifier, title, finding in look_at_everything(bench, _progress):
            findings.append(finding)
            told.append({"id": identifier, "title": title, **asdict(finding)})
            if not as_data:
                _show(title, finding)
    _progress("")
    well = all_well(findings)
    if as_data:
        click.echo(json.dumps({"ready": well, "looks": told}, indent=2, ensure_ascii=False))
    else:
        click.echo("\nReady." if well else "\nNot ready: see what is WRONG above.")
    sys.exit(0 if well else NOT_READY)


def _progress(title: str) -> None:
    """The look that is under way, where a person watches; the next line goes over it."""
    if sys.stderr.isatty():
        click.echo(f"\r\x1b[K{f'  ...     {title}' if title else ''}", nl=False, err=True)


def _ask(request: str) -> None:
    """On the error stream, so that JSON stays JSON."""
    _progress("")
    click.secho(f"  ask     {request}", bold=True, err=True)


def _show(title: str, finding: Finding) -> None:
    _progress("")
    mark, colour = _MARKS.get(finding.state, ("-", "white"))
    click.echo(f"  {click.style(f'{mark:6s}', fg=colour)}  {title}: {finding.found}")
    if finding.state != "well" and finding.state != "skipped":
        click.echo(f"          wanted: {finding.wanted}")
    if finding.to_do:
        click.echo(f"          to do: {finding.to_do}")


@click.command(name="files")
@job_files
def check_files(**options: Any) -> None:
    """Check the job, vehicle, mount and bay files, and show the job's stages.

    \b
    Example: companion files --vehicle my_vehicle.yaml --bay my_bay.yaml
    """
    loaded = assembly.load(paths_of(options))
    click.echo(f"{about(loaded)}\n")
    for number, stage in enumerate(loaded.plan.files.job.stages, 1):
        steps = ", ".join(step.id for step in stage.steps)
        told = f"{number:3d}  {stage.title}: {steps}"
        click.echo(fill(told, subsequent_indent="     ", break_on_hyphens=False, width=100))
    for item in infeasible(begin(loaded.plan, assembly.language())):
        click.secho(
            f"\nNothing could pass at {item.title.lower()}: the doubt of {item.result} would be "
            f"{item.value.u:.2g} where {item.half_width:g} is allowed, so at best "
            f"{item.best_probability:.0%} inside; wanted is {item.level:.0%}. Most of it comes "
            f"from {budget(item.value)[0].name}.",
            fg="yellow",
        )


COMMANDS = (check, check_files)
