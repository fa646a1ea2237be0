"""Groups of commands that show the project's own errors plainly and tell the exit codes."""

from __future__ import annotations

import sys
from typing import Any

import click

from companion.errors import CompanionError

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
