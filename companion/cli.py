"""The command line: thin, and made to teach. Every command says what it is for and shows a use."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from companion import __version__, commands
from companion.errors import CompanionError
from companion.parts import RECOGNISERS, EarsChoice, default_recogniser, record_path
from companion.procedure.loader import JobPaths

Command = Callable[..., Any]

EXIT_CODES = """\b
Exit codes:
  0  all well (for a job: inside; for verify: unbroken)
  1  something that the message explains
  2  the command line itself was wrong
  3  a job, vehicle, mount, bay or grammar file is not as it should be
  4  the numbers cannot bear the result
  5  ears: recogniser, microphone or sound file
  6  voice: speech maker or speaker
  7  the record cannot be opened, written or trusted
  8  the job ended without "inside"
"""


class Group(click.Group):
    """Shows the project's own errors as they are, without a traceback, and exits by their code.

    Every command's help ends with the exit codes.
    """

    def add_command(self, cmd: click.Command, name: str | None = None) -> None:
        cmd.epilog = cmd.epilog or EXIT_CODES
        super().add_command(cmd, name)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except CompanionError as error:
            click.echo(f"companion: {error}", err=True)
            sys.exit(error.exit_code)


def _job_files(command: Command) -> Command:
    defaults = JobPaths()
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


def _record(command: Command) -> Command:
    return click.option(
        "--record",
        type=click.Path(path_type=Path),
        default=record_path,
        help="The record (SQLite). Default: in your data folder.",
    )(command)


def _ears_and_voice(command: Command) -> Command:
    for option in (
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
        click.option(
            "--voice-file", type=click.Path(path_type=Path), help="Sound file to speak into."
        ),
    ):
        command = option(command)
    return command


@click.group(cls=Group, epilog=EXIT_CODES)
@click.version_option(__version__, prog_name="companion")
def main() -> None:
    """Takes one technician through the static calibration of a car's forward radar, by voice.

    It asks for one thing at a time, says back what it heard, waits for a yes, does the arithmetic
    with its doubt, says what to move and how far, and keeps a record. It never talks to the car.

    \b
    Try it without a car, a microphone or a stand:
      companion rehearse --seed 1
    A job with typed answers, and its report:
      companion start --technician "A. Example"
      companion report
    """


@main.command()
@_job_files
@_record
@_ears_and_voice
@click.option("--technician", default="", help="Who does the job, for the record.")
def start(**options: Any) -> None:
    """Begin a job and go through it to its result.

    \b
    Example, answers typed:            companion start --technician "A. Example"
    Example, spoken, through speakers: companion start --ears own --voice speaker
    Stop at any time with "stop" or Ctrl-C; "companion resume" goes on from there.
    """
    sys.exit(
        commands.start(_paths(options), **_room_options(options), technician=options["technician"])
    )


@main.command()
@click.argument("session", required=False)
@_job_files
@_record
@_ears_and_voice
def resume(session: str | None, **options: Any) -> None:
    """Go on with a job that was broken off (by default the last one), from where it was.

    \b
    Example: companion resume
    """
    sys.exit(commands.resume(session, _paths(options), **_room_options(options)))


@main.command()
@_job_files
@click.option(
    "--seed", type=int, default=1, show_default=True, help="Which hidden truth and technician."
)
@click.option(
    "--spoken/--typed", default=False, help="Through real speech and a real recogniser, or as text."
)
@click.option(
    "--speaker", type=click.Choice(["slt", "rms", "awb"]), default="slt", show_default=True
)
@click.option(
    "--ears",
    type=click.Choice(["own", "sphinx"]),
    default=default_recogniser,
    help="With --spoken. Default: own where the extra 'ears' is installed, else sphinx.",
)
@click.option(
    "--slips",
    type=click.IntRange(0, 20),
    default=0,
    show_default=True,
    help="Slips that the simulated technician makes.",
)
@click.option(
    "--record",
    type=click.Path(path_type=Path),
    help="Keep the record in this file. Default: not kept.",
)
@click.option(
    "--report", type=click.Path(path_type=Path), help="Write the report of the rehearsal here."
)
@click.option(
    "--voice-file", type=click.Path(path_type=Path), help="Speak every prompt into this sound file."
)
@click.option(
    "--harder",
    is_flag=True,
    help="A bay that needs corrections of the stand and two rounds on the screws.",
)
def rehearse(**options: Any) -> None:
    """A whole job in a simulated bay with a simulated technician.

    The bay's true errors are hidden from the companion and shown at the end.

    \b
    Example, as text, in a second:       companion rehearse --seed 1
    Example, from sound, with a report:  companion rehearse --spoken --report r.html
    """
    sys.exit(commands.rehearse(_paths(options), **_without_paths(options)))


@main.command()
@_record
def sessions(record: Path) -> None:
    """List the jobs in the record.

    \b
    Example: companion sessions
    """
    commands.list_sessions(record)


@main.command()
@click.argument("session", required=False)
@_record
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Where to write it. Default: report-SESSION.html.",
)
def report(session: str | None, record: Path, out: Path | None) -> None:
    """Write the report of a job (by default the last one) as one HTML file.

    \b
    Example: companion report --out job.html
    """
    commands.report(session, record, out)


@main.command()
@click.argument("result")
@click.argument("session", required=False)
@_record
def explain(result: str, session: str | None, record: Path) -> None:
    """Show where a RESULT of a job (by default the last one) came from.

    RESULT is the id of a result, a reading or a step. Shown are its value and doubt, the formula
    and its source, every input and where that came from, and what the doubt is made of.

    \b
    Example: companion explain aim_yaw_deg
    Example: companion explain aim_decision
    """
    commands.explain(result, session, record)


@main.command()
@_record
@click.option("--session", help="Only this job.")
@click.option(
    "--head",
    help="The head hash that a report of this session shows: proves that no end is missing.",
)
def verify(record: Path, session: str | None, head: str | None) -> None:
    """Check that nothing in the record was changed, left out or lost.

    \b
    Example: companion verify
    Example: companion verify --session 0198… --head 3f2a…
    """
    sys.exit(commands.verify(record, session, head))


@main.command()
@click.argument("session", required=False)
@_record
@click.option(
    "--form", type=click.Choice(["jsonl", "csv", "readings"]), default="jsonl", show_default=True
)
@click.option(
    "--out", type=click.Path(path_type=Path), help="Where to write it. Default: the terminal."
)
def export(session: str | None, record: Path, form: str, out: Path | None) -> None:
    """Write the events of a job as JSON lines or CSV, or its readings as CSV.

    \b
    Example: companion export --form readings --out readings.csv
    """
    commands.export(session, record, form, out)


@main.command(name="files")
@_job_files
def check_files(**options: Any) -> None:
    """Check the job, vehicle, mount and bay files, and show the job's stages.

    \b
    Example: companion files --vehicle my_vehicle.yaml --bay my_bay.yaml
    """
    commands.check_files(_paths(options))


@main.command()
@click.argument("step")
@_job_files
def phrases(step: str, **options: Any) -> None:
    """Show what may be said at a step of the job.

    \b
    Example: companion phrases spot_left_mm
    """
    commands.phrases(step, _paths(options))


@main.command()
@click.argument("sound", type=click.Path(path_type=Path))
@click.option("--step", required=True, help="The step whose answer the sound is.")
@click.option(
    "--ears",
    type=click.Choice(RECOGNISERS),
    default=default_recogniser,
    help="Default: own where the extra 'ears' is installed, else sphinx.",
)
@click.option("--model", type=click.Path(path_type=Path), help="Vosk model folder.")
@_job_files
def hear(sound: Path, step: str, ears: str, model: Path | None, **options: Any) -> None:
    """Hear a WAV or FLAC file as the answer to a step, and say what it means.

    \b
    Example: companion hear reading.wav --step plate_distance_mm
    """
    sys.exit(commands.hear(sound, step, EarsChoice(ears, sound, model), _paths(options)))


@main.command(name="fetch-ears")
@click.option(
    "--from-file", type=click.Path(path_type=Path), help="An archive that you already have."
)
@click.option("--url", help="Where to fetch another archive from (https); needs --sha256.")
@click.option("--sha256", help="The archive's SHA-256. Default: the small English model's.")
@click.option(
    "--into", type=click.Path(path_type=Path), help="New folder. Default: in your data folder."
)
def fetch_ears(
    from_file: Path | None, url: str | None, sha256: str | None, into: Path | None
) -> None:
    """Get a Vosk model (by default the small English one), check its SHA-256 and unpack it.

    The only command that uses the network, unless --from-file is given.

    \b
    Example: companion fetch-ears
    Example: companion fetch-ears --from-file vosk-model-small-en-us-0.15.zip
    """
    if url is not None and sha256 is None:
        raise click.UsageError("--url needs --sha256, from a source that you trust.")
    commands.fetch_ears(from_file, url, sha256, into)


def _paths(options: dict[str, Any]) -> JobPaths:
    return JobPaths(
        **{name: options[f"{name}_file"] for name in ("job", "vehicle", "mount", "bay")}
    )


def _without_paths(options: dict[str, Any]) -> dict[str, Any]:
    left_out = ("job_file", "vehicle_file", "mount_file", "bay_file")
    return {name: value for name, value in options.items() if name not in left_out}


def _room_options(options: dict[str, Any]) -> dict[str, Any]:
    return {
        "record": options["record"],
        "ears": EarsChoice(options["ears"], options["sound"], options["model"]),
        "voice": options["voice"],
        "voice_file": options["voice_file"],
    }
