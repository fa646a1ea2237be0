"""The store of many boxes, for the person responsible for what it keeps about people."""

from __future__ import annotations

from pathlib import Path

import click

from companion.commands.saying import say_now, tell
from companion.commands.storing_options import store_address
from companion.store import keeping
from companion.store.connecting import connected
from companion.store.expiring import KINDS, Expired, Kept, expire, keep_for, retention
from companion.store.exporting import export_person
from companion.store.forgetting import Forgotten, replace_name

_person = click.option("--person", required=True, help="The name, as the jobs tell it.")


@click.command("forget")
@_person
@click.option(
    "--keep-whose",
    is_flag=True,
    help="Keep the link between name and pseudonym, so that later events are treated alike.",
)
@store_address
def forget(person: str, keep_whose: bool, where: str, password_file: Path | None) -> None:
    """Replace a person's name by a pseudonym, everywhere in the store.

    No hash breaks; what is proven afterwards, and what is not, stands in docs/store.md. The boxes
    keep the name, and so do older backups. While somebody works on, use --keep-whose.

    \b
    Example: companion store forget --person "A. Example" --keep-whose --store "dbname=companion"
    Example: companion store forget --person "A. Example" --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        done = replace_name(connection, person, for_good=not keep_whose)
    _tell(done)
    if not keep_whose:
        click.echo(say_now()("store-forgotten-for-good", pseudonym=done.pseudonym))


@click.command("export")
@_person
@click.option("--out", type=click.Path(path_type=Path), required=True, help="A new folder.")
@store_address
def export(person: str, out: Path, where: str, password_file: Path | None) -> None:
    """Write all that the store keeps about one person into a folder, their sound included.

    \b
    Example: companion store export --person "A. Example" --out a-example --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        done = export_person(connection, person, out)
    counts = {"jobs": done.jobs, "events": done.events, "clips": done.clips}
    tell(say_now()("store-exported", folder=str(out), **counts))


@click.command("keep")
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("days")
@store_address
def keep(kind: Kept, days: str, where: str, password_file: Path | None) -> None:
    """Set for how many DAYS a KIND of data is kept ("forever": for good); this is recorded.

    \b
    Kinds:
      sound      recorded answers
      listened   who listened to them
      sessions   who logged in at the pages, and when
      names      whose a pseudonym is
    \b
    Example: companion store keep sound 180 --store "dbname=companion"
    """
    count = None if days == "forever" else int(days) if days.isdecimal() else 0
    if count == 0:
        raise click.UsageError(say_now()("store-no-days"))
    with connected(where, password_file) as connection:
        keep_for(connection, kind, count)


@click.command("expire")
@store_address
def expire_all(where: str, password_file: Path | None) -> None:
    """Delete what has been kept for its time: sound, who listened, sessions, names of pseudonyms.

    To be done once a day, for example. Names that became pseudonyms and have come in again are
    replaced again.

    \b
    Example: companion store expire --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        done = expire(connection)
        kept = retention(connection)
    for one in done.replaced:
        _tell(one)
    _tell_expired(done)
    say = say_now()
    told = (
        say("store-kept-days", kind=kind, days=days)
        if days
        else say("store-kept-for-good", kind=kind)
        for kind, days in kept.items()
    )
    click.echo(say("store-kept", told=", ".join(sorted(told))))


@click.command("remove-person")
@click.argument("login")
@store_address
def remove_person(login: str, where: str, password_file: Path | None) -> None:
    """Stop letting a person in, from the next request on; what they signed stays signed.

    \b
    Example: companion store remove-person b.sample --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        keeping.remove_person(connection, login)
    tell(say_now()("store-person-removed", login=login))


def _tell(done: Forgotten) -> None:
    say = say_now()
    counts = {"events": done.events, "jobs": done.jobs, "comments": done.comments}
    tell(say("store-forgotten", pseudonym=done.pseudonym, **counts))
    for left in done.left:
        tell(f"    {say('store-forgotten-left', what=left)}")


def _tell_expired(done: Expired) -> None:
    counts = {
        "clips": done.clips,
        "listened": done.listened,
        "sessions": done.sessions,
        "names": done.names,
    }
    click.echo(say_now()("store-let-go", **counts))


COMMANDS = (forget, export, keep, expire_all, remove_person)
