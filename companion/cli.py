"""The command line: thin, and made to teach. Every command says what it is for and shows a use."""

from __future__ import annotations

import io
import sys

import click

from companion import __version__
from companion.commands.grouping import EXIT_CODES, Group, OnDemand

SECTIONS = {
    "A job": ("visit", "start", "resume", "end-visit", "display"),
    "Its files": ("vehicle", "bay", "stand", "mount"),
    "Before it": (
        "check",
        "voice",
        "check-stand",
        "files",
        "settings",
        "rehearse",
        "practise",
        "phrases",
        "card",
        "hear",
        "fetch-ears",
    ),
    "After it": ("report", "explain", "review", "sign", "correct"),
    "Many boxes": ("ship", "store"),
    "The record": ("verify", "seal", "backup", "restore", "export", "clips", "people", "keys"),
}
"""The commands as `companion --help` lists them, by when they are wanted."""
COMMANDS = {
    "jobs": {
        "start": "Start a job and take it through to its result.",
        "resume": "Continue an interrupted job (by default the last one) from where it stopped.",
        "check-stand": "Check the stand once a month: laser heads, and a known turn.",
        "end-visit": "Do what is left at the end of a visit: codes, switching off, road test.",
    },
    "visits": {
        "visit": "Manage visits: one car on one order, with all the jobs done on it.",
    },
    "own_files": {
        "vehicle": "Manage the shop's vehicle files: one for each type of car.",
        "bay": "Manage the shop's bay files: its floor as surveyed, and the stand used in it.",
        "stand": "Manage the shop's stand files: a stand that goes from bay to bay.",
        "mount": "Manage the shop's mount files: the sensor's adjusting screws.",
    },
    "rehearsing": {"rehearse": "Run a whole job in a simulated bay with a simulated technician."},
    "practising": {"practise": "Practise a job yourself in a simulated bay, or one stage of it."},
    "hearing": {
        "phrases": "Show what can be said at a step of the job.",
        "hear": "Recognise a WAV or FLAC file as the answer to a step, and show what it means.",
        "fetch-ears": "Download a Vosk model (by default the small English one), check its SHA-256 "
        "and unpack it.",
    },
    "voices": {"voice": "Manage the voices that the companion's own ears learn."},
    "cards": {
        "card": "Write the card for the wall: what may be said, on one page to print.",
    },
    "records": {
        "verify": "Check that nothing in the record was changed, left out or lost.",
        "seal": "Seal the record: one hash over all its jobs, to be kept away from the record.",
        "backup": "Copy the record to a new file TARGET, with its clips beside it; a job may be "
        "running meanwhile.",
        "restore": "Restore the record from a backup COPY, after verifying it; an existing record "
        "is never overwritten.",
        "export": "Write the events of a job as JSON lines, CSV or Parquet, or its readings.",
    },
    "signing": {
        "sign": "Sign off a job that is over (by default the last one), with your name and PIN.",
        "correct": "Add a supervisor's correction to a job that is over; the event itself is left "
        "unchanged.",
        "people": "Manage who may sign off with a PIN.",
        "keys": "Manage keys for signing sign-offs, where a PIN is not enough.",
        "clips": "Manage the recorded voices.",
    },
    "shipping": {
        "ship": "Send the store everything in the record that it lacks; can be run again at any "
        "time.",
    },
    "storing": {
        "store": "Keep one store of many boxes' records (PostgreSQL 15 or later).",
    },
    "reviews": {
        "review": "Look through past jobs: list, search, show, drift, report, explain, serve.",
    },
    "looking": {
        "sessions": "The older name of review list.",
    },
    "reports": {
        "report": "Write the report of a job (by default the last one) as one HTML file.",
        "explain": "Show where a RESULT of a job (by default the last one) came from.",
    },
    "displays": {
        "display": "Show the running job on a screen in the bay.",
    },
    "checking": {
        "check": "Check everything a job needs, and say what to do about what is missing.",
        "files": "Check the job, vehicle, mount and bay files, and show the job's stages.",
    },
    "settings": {
        "settings": "Show the settings and where each comes from, or write a commented settings "
        "file."
    },
}


def with_settings(command: click.Command) -> None:
    """Options of a command that was loaded take their defaults from the settings."""
    from companion.commands.settings import take_defaults_from_settings

    take_defaults_from_settings(command)


@click.group(cls=Group, epilog=EXIT_CODES, commands=OnDemand(COMMANDS, with_settings, SECTIONS))
@click.version_option(__version__, prog_name="companion")
def main() -> None:
    """Takes one technician through the static calibration of a car's sensors, by voice.

    Forward radar, forward camera, rear corner radar, mats of the surround cameras. It asks for
    one thing at a time, says back what it heard, waits for a yes, works out the result and its
    uncertainty, says what to move and how far, and keeps a record. It never talks to the car.

    \b
    Try it without a car, a microphone or a stand:
      companion rehearse --seed 1
    A job with typed answers, and its report:
      companion start --technician "A. Example"
      companion report
    Another sensor:
      companion start --job forward-camera
    """
    # One byte that is no text, from a stuck key or a wrong cable, must not end a job.
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
