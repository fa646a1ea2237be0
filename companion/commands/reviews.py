"""Reading the record afterwards: the group of commands for it."""

from __future__ import annotations

import click

from companion.commands.grouping import Group, OnDemand

_COMMANDS = {
    "looking": {
        "list": "List jobs, the newest first: all of them, or those that match.",
        "search": "Find what was said, heard or noted, the newest job first.",
        "show": "Show one job (by default the last) line by line: said, heard, kept, worked out.",
        "drift": "Show for each bay whether its floor and its stand are steady.",
    },
    "reports": {
        "report": "Write the report of a job (by default the last one) as one HTML file.",
        "explain": "Show where a RESULT of a job (by default the last one) came from.",
    },
    "records": {
        "export": "Write the events of a job as JSON lines, CSV or Parquet, or its readings.",
    },
    "serving": {
        "serve": "Show the record in a browser on this machine: list, search, compare, statistics.",
    },
}


@click.group(cls=Group, commands=OnDemand(_COMMANDS))
def review() -> None:
    """Look through past jobs: list, search, show, drift, report, explain, serve.

    \b
    Example: companion review list
    Example: companion review search "left arm"
    Example: companion review show
    """


COMMANDS = (review,)
