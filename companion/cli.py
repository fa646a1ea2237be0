"""The command line: thin, and made to teach. Every command says what it is for and shows a use."""

from __future__ import annotations

import click

from companion import __version__
from companion.commands import (
    checking,
    displays,
    hearing,
    jobs,
    records,
    reviews,
    settings,
    signing,
)
from companion.commands.grouping import EXIT_CODES, Group


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
    *signing.COMMANDS,
    *reviews.COMMANDS,
    *displays.COMMANDS,
    *checking.COMMANDS,
    *settings.COMMANDS,
):
    main.add_command(_command)
settings.take_defaults_from_settings(main)
