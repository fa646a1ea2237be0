"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from companion.parts import RECOGNISERS, EarsChoice, VoiceChoice
from companion.procedure.loader import JobPaths

Command = Callable[..., Any]


def job_files(command: Command) -> Command:
    """The files of a job."""
    defaults = JobPaths()
    command = click.option(
        "--step-kinds",
        "step_kinds",
        type=click.Path(path_type=Path),
        help="Folder with kinds of step of your own: code that runs as the companion does.",
    )(command)
    for name, what in (
        ("bay", "the bay and its stand"),
        ("mount", "the radar's mount and screws"),
        ("vehicle", "the vehicle maker's figures"),
        ("job", "the job: its stages and steps"),
    ):
        command = click.option(
            f"--{name}",
            f"{name}_file",
            type=click.Path(path_type=Path),
            default=getattr(defaults, name),
            help=f"YAML file of {what}. Default: the shipped example.",
        )(command)
    return command


def ears_and_voice(command: Command) -> Command:
    """What to hear with and how to speak."""
    options = (
        click.option(
            "--ears",
            type=click.Choice(["typed", *RECOGNISERS]),
            default="typed",
            show_default=True,
            help="typed: you type the answers. The others: you speak them.",
        ),
        click.option("--model", type=click.Path(path_type=Path), help="Vosk model folder."),
        click.option(
            "--sound",
            type=click.Path(path_type=Path),
            help="Hear this sound file instead of the microphone.",
        ),
        click.option(
            "--voice",
            type=click.Choice(["silent", "speaker", "file"]),
            default="silent",
            show_default=True,
            help="silent: prompts are only printed. file: spoken into --voice-file.",
        ),
        click.option("--microphone", help="Part of the microphone's name. Default: the system's."),
        click.option(
            "--loudspeaker", help="Part of the loudspeaker's name. Default: the system's."
        ),
        click.option(
            "--pedal",
            default="",
            metavar="KEY",
            help="Key that a pedal sends, such as KEY_F13. Once: yes; twice: no; held: stop.",
        ),
        click.option(
            "--voice-file", type=click.Path(path_type=Path), help="Sound file to speak into."
        ),
    )
    # The help lists first what is applied last.
    for option in reversed(options):
        command = option(command)
    return command


def paths_of(options: dict[str, Any]) -> JobPaths:
    """The files that were chosen."""
    return JobPaths(
        **{name: options[f"{name}_file"] for name in ("job", "vehicle", "mount", "bay")},
        step_kinds=options["step_kinds"],
    )


def without_paths(options: dict[str, Any]) -> dict[str, Any]:
    """The other options."""
    left_out = ("job_file", "vehicle_file", "mount_file", "bay_file", "step_kinds")
    return {name: value for name, value in options.items() if name not in left_out}


def room_options(options: dict[str, Any]) -> dict[str, Any]:
    """Record, ears and voice as they were chosen."""
    return {
        "record": options["record"],
        "ears": EarsChoice(
            options["ears"],
            options["sound"],
            options["model"],
            options["microphone"],
            options["pedal"],
        ),
        "voice": VoiceChoice(options["voice"], options["voice_file"], options["loudspeaker"]),
    }
