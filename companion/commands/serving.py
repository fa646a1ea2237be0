"""Serving the pages for reviewing."""

from __future__ import annotations

from pathlib import Path

import click

from companion.browse.server import LOOPBACK, Opened, prepare, serve
from companion.commands.options import language_option
from companion.commands.saying import say_now
from companion.commands.shared import record_option, shows_of, step_kinds_option, store_options
from companion.errors import RecordError
from companion.facts.shown import Shows
from companion.record import open_for_reading


@click.command("serve")
@record_option
@step_kinds_option
@language_option
@click.option("--host", default=LOOPBACK, show_default=True, help="Address to listen on.")
@click.option("--port", default=8460, show_default=True, type=click.IntRange(0, 65535))
@store_options
@click.option(
    "--public",
    default="",
    help="With --store: the address that browsers know the pages by, behind a reverse proxy on "
    "this machine, such as https://review.example.",
)
def serve_pages(
    record: Path,
    host: str,
    port: int,
    step_kinds: Path | None,
    language: str,
    store: str | None,
    store_password_file: Path | None,
    public: str,
) -> None:
    """Show the record in a browser on this machine: list, search, compare, statistics. Read only.

    With --store the pages are over all boxes of a store, for people who log in; a supervisor sees
    the sites given, and signs, corrects and comments there.

    With any --host other than this machine's own, everybody on the shop's network who has the
    address and its token can read names, readings and voices: open it only where that is allowed.

    \b
    Example: companion review serve
    Example: companion review serve --host 192.168.10.5
    Example: companion review serve --store "dbname=companion user=ROLE" --password-file pages.pass
    """
    if store is not None:
        _serve_store(host, port, shows_of(step_kinds), language, store, store_password_file, public)
        return
    if public:
        raise click.UsageError(say_now()("serve-public-needs-store"))
    with open_for_reading(record):
        pass
    say = say_now()
    click.echo(say("serve-indexing"), err=True)
    try:
        prepare(record)
    except RecordError as error:
        # One damaged session must not keep the others from being read.
        click.echo(f"companion: {say.words.problem(error)}", err=True)
    serve(record, host, port, _tell, shows_of(step_kinds), language)


def _serve_store(
    host: str,
    port: int,
    shows: Shows,
    language: str,
    store: str,
    password_file: Path | None,
    public: str,
) -> None:
    from companion.store.review.serving import serve_store

    def tell(address: str) -> None:
        click.echo(say_now()("serve-all-boxes", address=address))

    serve_store(store, password_file, host, port, public, tell, shows, language)


def _tell(opened: Opened) -> None:
    click.echo(say_now()("serve-review", address=opened.address))
    if opened.token:
        click.echo(say_now()("serve-token"))


COMMANDS = (serve_pages,)
