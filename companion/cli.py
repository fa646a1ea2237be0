"""The command line: thin, and made to teach. Every command says what it is for and shows a use."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import click

from companion import __version__
from companion.commands import displays, hearing, jobs, records, reviews
from companion.errors import CompanionError

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


for _command in (
    *jobs.COMMANDS,
    *hearing.COMMANDS,
    *records.COMMANDS,
    *reviews.COMMANDS,
    *displays.COMMANDS,
):
    main.add_command(_command)
