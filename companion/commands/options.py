"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from companion.commands.saying import keep_language
from companion.commands.shared import step_kinds_option
from companion.errors import FileProblem
from companion.job.loader import JobPaths
from companion.job.own_files import SHIPPED_JOBS, NoSuchFile, find, find_job, mount_of
from companion.job.own_folder import Kind
from companion.language.loader import REFERENCE, language_codes
from companion.recognition.keys import key_code
from companion.runtime.assembly import RECOGNISERS, EarsChoice, VoiceChoice
from companion.settings.reading import SettingsRead

Command = Callable[..., Any]


class FileOrName(click.ParamType):  # type: ignore[type-arg]
    """A vehicle, bay or mount file: its path, or the name that the shop gave it."""

    name = "file or name"

    def __init__(self, kind: Kind) -> None:
        self.kind = kind

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        if isinstance(value, Path):
            return value
        try:
            return find(self.kind, value)
        except NoSuchFile:
            read = ctx.obj if ctx is not None else None
            shared = read.shared.published if isinstance(read, SettingsRead) else None
            published = shared.find(self.kind, value) if shared is not None else None
            if published is None:
                raise
            return published


class JobFileOrName(click.ParamType):  # type: ignore[type-arg]
    """A job file: its path, or the name of one that ships."""

    name = "file or name"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        del param, ctx
        return value if isinstance(value, Path) else find_job(value)


_OWN: tuple[Kind, ...] = ("vehicle", "bay", "mount")


def job_files(command: Command) -> Command:
    """The files of a job."""
    defaults = JobPaths()
    command = step_kinds_option(command)
    for name, what in (
        ("bay", "the bay and its stand"),
        ("mount", "the radar's mount and screws"),
        ("vehicle", "the vehicle maker's figures"),
        ("job", f"the job ({', '.join(SHIPPED_JOBS)})"),
    ):
        own = next((kind for kind in _OWN if kind == name), None)
        command = click.option(
            f"--{name}",
            f"{name}_file",
            type=FileOrName(own) if own else JobFileOrName(),
            default=getattr(defaults, name),
            help=f"YAML file or name of {what}. Default: the shipped example.",
        )(command)
    return command


def language_option(command: Command) -> Command:
    """Which language is spoken and shown."""
    return click.option(
        "--language",
        type=click.Choice(language_codes()),
        default=REFERENCE,
        show_default=True,
        help="The language to speak and show.",
        callback=keep_language,
    )(command)


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
    """The files that were chosen. Raises FileProblem where published files are not as published."""
    read = click.get_current_context().obj
    if isinstance(read, SettingsRead) and read.shared.trouble:
        raise FileProblem(read.shared.trouble)
    paths = JobPaths(
        **{name: options[f"{name}_file"] for name in ("job", "vehicle", "mount", "bay")},
        step_kinds=options["step_kinds"],
    )
    return with_mount(paths)


def with_mount(paths: JobPaths) -> JobPaths:
    """The files, with the mount that belongs to the vehicle, unless the command names one."""
    source = click.get_current_context().get_parameter_source("mount_file")
    if source is ParameterSource.COMMANDLINE:
        return paths
    return replace(paths, mount=mount_of(paths.vehicle) or paths.mount)


def without_paths(options: dict[str, Any]) -> dict[str, Any]:
    """The other options."""
    left_out = ("job_file", "vehicle_file", "mount_file", "bay_file", "step_kinds")
    return {name: value for name, value in options.items() if name not in left_out}


def refuse_model_without_vosk(ears: str, model: Path | None) -> None:
    """Say so where a Vosk model is given to ears that would not look at it."""
    if model is not None and ears != "vosk":
        raise click.UsageError(f"--model is for --ears vosk; --ears {ears} takes none.")


def _refuse_what_would_be_ignored(options: dict[str, Any]) -> None:
    given = click.get_current_context().get_parameter_source
    if given("model") is ParameterSource.COMMANDLINE:
        refuse_model_without_vosk(options["ears"], options["model"])
    if options["pedal"]:
        # Fails here for a key that there is not, also where a pedal is not used.
        key_code(options["pedal"])


def room_options(options: dict[str, Any]) -> dict[str, Any]:
    """Record, ears and voice as they were chosen.

    Raises UsageError for an option that would be ignored, EarsError for a pedal's key that is none.
    """
    _refuse_what_would_be_ignored(options)
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
