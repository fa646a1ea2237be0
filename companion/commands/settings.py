"""The settings file: what it says, and where the options of a command take their defaults from."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import click

from companion.commands.saying import code_now, keep_language, terminal_language
from companion.errors import FileProblem
from companion.language.words import Words
from companion.record.place import record_path
from companion.report.wording import wording_in
from companion.settings.describing import as_json, commented_file, explain
from companion.settings.model import Settings
from companion.settings.reading import SettingsRead, find_settings, settings_path, with_options

_SETTING_OF = {
    "job_file": "job_file",
    "vehicle_file": "vehicle_file",
    "mount_file": "mount_file",
    "bay_file": "bay_file",
    "language": "language",
    "report_language": "report_language",
    "step_kinds": "step_kinds",
    "technician": "technician",
    "record": "record",
    "store": "store",
    "store_password_file": "store_password_file",  # pragma: allowlist secret
    "with_sound": "ship_sound",
    "days": "keep_sound_days",
    "ears": "ears",
    "model": "vosk_model",
    "microphone": "microphone",
    "pedal": "pedal_key",
    "voice_check": "voice_check",
    "voice": "voice",
    "loudspeaker": "loudspeaker",
    "host": "display_host",
    "port": "display_port",
}
"""Which setting gives an option (by the name of its parameter) its default."""


_OPTION = "settings_file"
_OF_THE_JOB = frozenset({"resume"})


def take_defaults_from_settings(command: click.Command) -> None:
    """Give the command, and those below it, `--settings`, and `--language` where it lacks it.

    A job that is resumed, or shown in the bay, is in its own language.
    """
    if isinstance(command, click.Group):
        for below in command.commands.values():
            take_defaults_from_settings(below)
        return
    names = {option.name for option in command.params}
    if not names & {"language", "report_language"} and command.name not in _OF_THE_JOB:
        command.params.append(terminal_language())
    if _OPTION not in names:
        command.params.append(settings_option())


def settings_option() -> click.Option:
    """`--settings`: read before the other options, whose defaults come from the file."""
    return click.Option(
        ["--settings", _OPTION],
        type=click.Path(path_type=Path),
        help="The settings file. Default: in your configuration folder, if there is one.",
        is_eager=True,
        expose_value=False,
        callback=_read,
    )


def settings_now() -> Settings:
    """The settings of the running command: the file's, and over them its own options'.

    A voice into a sound file is no setting, so there the file's voice stays.
    """
    return settings_read_now().settings


def settings_read_now() -> SettingsRead:
    """`settings_now` with the file that they came from."""
    context = click.get_current_context()
    read = context.obj if isinstance(context.obj, SettingsRead) else find_settings()
    given = {
        setting: context.params[name]
        for name, setting in _setting_of(context.command)
        if name in context.params and context.params[name] != "file"
    }
    return replace(read, settings=with_options(read.settings, given))


def _read(context: click.Context, option: click.Parameter, file: Path | None) -> None:
    if context.resilient_parsing:
        return
    read = context.obj = find_settings(file)
    given = read.given()
    keep_language(context, option, given.get("language"))
    context.default_map = {
        name: given[setting] for name, setting in _setting_of(context.command) if setting in given
    }


def _setting_of(command: click.Command) -> Iterator[tuple[str, str]]:
    """The command's options that mean a setting, each with the setting's name."""
    for option in command.params:
        setting = _SETTING_OF.get(option.name or "")
        if setting is None or not isinstance(option, click.Option):
            continue
        # Elsewhere these mean something else: a rehearsal's record, ears to try out.
        if setting == "record" and option.default is not record_path:
            continue
        if setting == "ears" and "typed" not in getattr(option.type, "choices", ()):
            continue
        yield str(option.name), setting


@click.command()
@click.option("--explain", "action", flag_value="explain", help="Every setting and its value now.")
@click.option("--init", "action", flag_value="init", help="Write a file to start from.")
@click.option("--json", "as_data", is_flag=True, help="With --explain: as JSON.")
@click.option(
    "--settings",
    "settings_file",
    type=click.Path(path_type=Path),
    help="The settings file. Default: in your configuration folder, if there is one.",
)
def settings(action: str | None, as_data: bool, settings_file: Path | None) -> None:
    """Show the settings and where each comes from, or write a commented settings file.

    \b
    Example: companion settings --explain
    Example: companion settings --init
    """
    if action == "init":
        file = settings_file or settings_path()
        say = wording_in(code_now())
        _write_new(file, say.words)
        click.echo(f"{say('terminal-written', file=str(file))}\n{say('settings-nothing-set')}")
        return
    read = find_settings(settings_file)
    say = wording_in(code_now(read.settings.language))
    if as_data:
        click.echo(json.dumps(as_json(read, say.words), indent=2, ensure_ascii=False))
        return
    told = say("settings-file", file=str(read.file))
    if read.file is None:
        told = say("settings-no-file", file=str(settings_path()))
    click.echo(f"{told}\n\n{explain(read, say.words)}")


def _write_new(file: Path, words: Words) -> None:
    try:
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with file.open("x", encoding="utf-8") as target:
            target.write(commented_file(words))
    except FileExistsError as error:
        raise FileProblem(
            f"{file}: already exists and is not overwritten; wanted: another --settings",
            said="settings-there",
            file=str(file),
        ) from error
    except OSError as error:
        raise FileProblem(
            f"{file}: cannot be written ({error.strerror}); wanted: a folder that can be",
            said="not-written",
            file=str(file),
            why=str(error.strerror),
        ) from error


COMMANDS = (settings,)
__all__ = ["COMMANDS", "settings_now", "settings_read_now", "take_defaults_from_settings"]
