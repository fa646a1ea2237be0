"""The screen in the bay: as a page for a browser, or in a terminal."""

from __future__ import annotations

import contextlib
from pathlib import Path

import click

from companion.commands.grouping import Group
from companion.commands.saying import say_now
from companion.commands.shared import record_option, shows_of, step_kinds_option


@click.group(cls=Group)
def display() -> None:
    """Show the running job on a screen in the bay. It only reads the record.

    \b
    Example, for a browser:   companion display serve
    Example, in a terminal:   companion display text
    """


@display.command()
@record_option
@step_kinds_option
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on. Any address but this machine's own opens the page to the network.",
)
@click.option("--port", type=click.IntRange(0, 65535), default=8170, show_default=True)
def serve(record: Path, host: str, port: int, step_kinds: Path | None) -> None:
    """Serve the display as a page on this machine, until interrupted.

    \b
    Example: companion display serve --port 8170
    """
    from companion.display.server import make_server
    from companion.web.serving import listen, url

    with listen(host, port) as listening:
        server = make_server(record, host, shows_of(step_kinds))
        address = url(host, listening.getsockname()[1])
        click.echo(say_now()("terminal-display", address=address))
        with contextlib.suppress(KeyboardInterrupt):
            server.run(sockets=[listening])


@display.command()
@record_option
@step_kinds_option
def text(record: Path, step_kinds: Path | None) -> None:
    """Show the display in this terminal, until interrupted.

    \b
    Example: companion display text
    """
    from companion.display.terminal import show_in_terminal

    with contextlib.suppress(KeyboardInterrupt):
        show_in_terminal(record, shows=shows_of(step_kinds))


COMMANDS = (display,)
