"""The store of many boxes, for its keeper: made, let in, sealed, verified."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from companion.commands.grouping import Group
from companion.commands.publishing import publish
from companion.commands.saying import new_secret, say_now, tell
from companion.commands.shared import require_new, tell_seal
from companion.commands.storing_options import store_address
from companion.commands.storing_people import COMMANDS as ABOUT_PEOPLE
from companion.record.audit.keys import read_public_key
from companion.record.audit.seal import write_outside
from companion.record.durable import write_new
from companion.store import keeping
from companion.store.connecting import StoreError, connected
from companion.store.keeping import Kind, Login
from companion.store.migrating import migrate
from companion.store.review.indexing import index_anew, index_store
from companion.store.review.people import set_password
from companion.store.sealing import read_store_seal, seal_store
from companion.store.verifying import verify_store

BROKEN = 9


@click.group("store", cls=Group)
def store() -> None:
    """Keep one store of many boxes' records (PostgreSQL 15 or later).

    \b
    Example: companion store init --store "host=/run/postgresql dbname=companion"
    Example: companion store list --store "dbname=companion"
    Example: companion store verify --store "dbname=companion"
    """


def _out(command: Any) -> Any:
    return click.option(
        "--out",
        type=click.Path(path_type=Path),
        required=True,
        help="Write the password to this new file, to be brought to where it is used.",
    )(command)


@store.command("init")
@store_address
def init(where: str, password_file: Path | None) -> None:
    """Set up the store in an empty database, or bring an older one up to date.

    Needs the login of an administrator: a superuser, or the database's owner with the right to make
    roles.

    \b
    Example: companion store init --store "host=/run/postgresql dbname=companion"
    """
    with connected(where, password_file) as connection:
        steps = migrate(connection)
    for step in steps:
        click.echo(f"{step.number}: {step.name.replace('_', ' ')}")
    click.echo(say_now()("store-up-to-date"))


@store.command("migrate")
@store_address
def migrate_store(where: str, password_file: Path | None) -> None:
    """Bring the store up to date with this program; the same as init.

    \b
    Example: companion store migrate --store "host=/run/postgresql dbname=companion"
    """
    with connected(where, password_file) as connection:
        migrate(connection)
    click.echo(say_now()("store-up-to-date"))


@store.command("add-box")
@click.argument("name")
@click.option("--site", required=True, help="Where it stands; a new name makes a new site.")
@click.option(
    "--key",
    "key_file",
    type=click.Path(path_type=Path),
    required=True,
    help="The box's public key: box.key.pub from beside its record.",
)
@_out
@store_address
def add_box(
    name: str, site: str, key_file: Path, out: Path, where: str, password_file: Path | None
) -> None:
    """Let a box in, by its public key.

    \b
    Example: companion store add-box "Bay 1" --site A --key b.pub --out b.pass --store "dbname=s"
    """
    require_new(out)
    with connected(where, password_file) as connection:
        login = keeping.add_box(connection, name, site, read_public_key(key_file))
    _write(out, login)
    told = {"box": name, "site": site, "login": login.role, "file": str(out)}
    tell(say_now()("store-box-added", **told))


@store.command("add-key")
@click.argument("name")
@click.option("--key", "key_file", type=click.Path(path_type=Path), required=True)
@store_address
def add_key(name: str, key_file: Path, where: str, password_file: Path | None) -> None:
    """Accept a new key for a box whose key was replaced; this is recorded permanently.

    \b
    Example: companion store add-key "Bay 1" --key new.pub --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        keeping.add_box_key(connection, name, read_public_key(key_file))


@store.command("retire-box")
@click.argument("name")
@store_address
def retire_box(name: str, where: str, password_file: Path | None) -> None:
    """Accept nothing more from a box; what it has sent stays.

    \b
    Example: companion store retire-box "Bay 1" --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        keeping.retire_box(connection, name)


@store.command("excuse")
@click.argument("name")
@click.option("--why", required=True, help="Why its clock was wrong; recorded permanently.")
@store_address
def excuse(name: str, why: str, where: str, password_file: Path | None) -> None:
    """Accept a box's next events although its clock contradicts their order.

    \b
    Example: companion store excuse "Bay 1" --why "flat battery" --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        connection.execute("SELECT store.excuse(%s, %s)", (name, why))


def _add_person(kind: Kind, what: str) -> None:
    @store.command(f"add-{kind}")
    @click.argument("name")
    @click.option("--login", help="Another name to log in by. Default: the name.")
    @click.option("--site", "sites", multiple=True, help="A site that they see or work at.")
    @_out
    @store_address
    def add(
        name: str,
        login: str | None,
        sites: tuple[str, ...],
        out: Path,
        where: str,
        password_file: Path | None,
    ) -> None:
        if sites and kind not in ("supervisor", "technician"):
            raise click.UsageError(say_now()("store-no-site", kind=kind))
        require_new(out)
        with connected(where, password_file) as connection:
            made = keeping.add_person(connection, name, login or name, kind, sites)
        _write(out, made)
        tell(say_now()("store-person-added", name=name, login=made.role, file=str(out)))

    site = " --site A" if kind in ("supervisor", "technician") else ""
    add.help = (
        f"Let a person in {what}.\n\n\b\nExample: companion store add-{kind} b.sample{site} "
        '--out b.pass --store "dbname=companion"'
    )


_add_person("supervisor", "who sees the jobs of the sites given, and no others")
_add_person("auditor", "who sees everything and changes nothing")
_add_person("keeper", "who seals and verifies the store")
_add_person("technician", "who sees who listened to their voice, by the name of their jobs")


@store.command("add-pages")
@_out
@store_address
def add_pages(out: Path, where: str, password_file: Path | None) -> None:
    """Let in the program that shows the pages ('review serve --store').

    Through it, people log in with their own passwords, and each sees what they are allowed to see.

    \b
    Example: companion store add-pages --out pages.pass --store "dbname=companion"
    """
    require_new(out)
    with connected(where, password_file) as connection:
        made = keeping.add_pages(connection)
    _write(out, made)
    tell(say_now()("store-pages-added", login=made.role, file=str(out)))


@store.command("set-password")
@click.argument("login")
@click.option(
    "--password-from",
    type=click.Path(path_type=Path),
    help="Read it from the first line of this file instead of asking.",
)
@store_address
def set_password_of(
    login: str, password_from: Path | None, where: str, password_file: Path | None
) -> None:
    """Give a person a password for the pages, and a key that they sign with; asks for it.

    If it is forgotten, a new one brings a new key: only the old password unlocks the old key.

    \b
    Example: companion store set-password b.sample --store "dbname=companion"
    """
    if password_from is None:
        say = say_now()
        password = new_secret(say("prompt-password-of", login=login), say)
    else:
        password = password_from.read_text("utf-8").partition("\n")[0]
    with connected(where, password_file) as connection:
        key = set_password(connection, login, password)
    tell(say_now()("store-password-set", login=login, key=key))


@store.command("index")
@click.option("--anew", is_flag=True, help="Discard the index and rebuild it all.")
@store_address
def index(anew: bool, where: str, password_file: Path | None) -> None:
    """Build the index that makes the pages fast; the pages also do this by themselves.

    \b
    Example: companion store index --store "dbname=companion"
    """
    with connected(where, password_file) as connection:
        done = index_anew(connection) if anew else index_store(connection)
    click.echo(say_now()("store-indexed", count=done))


@store.command("list")
@store_address
def list_boxes(where: str, password_file: Path | None) -> None:
    """List the boxes: when last seen, what they report, and what was not accepted from them.

    \b
    Example: companion store list --store "host=/run/postgresql dbname=companion"
    """
    with connected(where, password_file) as connection:
        rows = connection.execute(
            "SELECT s.name, b.name, b.last_seen, b.last_mark, b.told, b.retired, "
            "(SELECT string_agg(r.told, '; ' ORDER BY r.last DESC) FROM store.refusal r "
            "WHERE r.box = b.box), (SELECT jsonb_build_array(a.version, a.taken, a.told) "
            "FROM store.publication_box a WHERE a.box = b.box ORDER BY a.version DESC LIMIT 1) "
            "FROM store.box b JOIN store.site s USING (site) "
            "ORDER BY s.name, b.name"
        ).fetchall()
    say = say_now()
    for site, name, seen, mark, told, retired, refused, files in rows:
        when = say("fleet-never") if seen is None else f"{seen:%Y-%m-%d %H:%M} UTC"
        line = say(
            "store-box",
            box=say("store-box-retired", box=name) if retired else name,
            site=site,
            seen=when,
            mark=str(mark),
            version=str(told.get("version", "?")),
            outbox=str(told.get("outbox_events", "?")),
        )
        if told.get("clock_trusted") is False:
            line = say("store-box-clock", told=line)
        tell(line)
        if refused:
            tell(f"    {say('store-box-refused', why=refused)}")
        if files is not None:
            version, taken, why = files
            state = {True: "taken", False: "refused", None: "wait"}[taken]
            state = say(f"fleet-files-{state}", version=str(version))
            tell(f"    {say('store-box-files', state=state)}{f' ({why})' if why else ''}")


@store.command("seal")
@click.option("--out", type=click.Path(path_type=Path), help="Write the seal to this new file.")
@store_address
def seal(out: Path | None, where: str, password_file: Path | None) -> None:
    """Seal the state of every box: one root over all of them, to be kept away from the store.

    To be done once a day, for example. The phrase can be read to somebody over the telephone.

    \b
    Example: companion store seal --out monday.seal --store "dbname=companion"
    """
    if out is not None:
        require_new(out)
    with connected(where, password_file) as connection:
        made = seal_store(connection)
    if out is not None:
        write_outside(out, made)
    say = say_now()
    number, count = str(made.number), len(made.leaves)
    click.echo(say("store-sealed", when=made.made_utc, number=number, count=count))
    tell_seal(made.root, made.phrase, say)


@store.command("verify")
@click.option(
    "--seal", "seal_file", type=click.Path(path_type=Path), help="A seal that was kept elsewhere."
)
@click.option("--root", default="", help="The root or check phrase, if that is all you kept.")
@store_address
def verify(seal_file: Path | None, root: str, where: str, password_file: Path | None) -> None:
    """Check every hash, chain and signature of the store, its guards, and what boxes were refused.

    \b
    Example: companion store verify --seal monday.seal --store "dbname=companion"
    """
    outside = None if seal_file is None else read_store_seal(seal_file)
    with connected(where, password_file) as connection:
        done = verify_store(connection, outside, root)
    for problem in done.problems:
        click.echo(str(problem))
    say = say_now()
    counts = {"boxes": done.boxes, "jobs": done.jobs, "events": done.events, "marks": done.marks}
    click.echo(say("store-checked", **counts))
    if done.problems:
        click.echo(say("store-not-in-order"))
        sys.exit(BROKEN)
    if done.redacted:
        click.echo(say("store-redacted", count=done.redacted))
    click.echo(say("store-in-order"))
    if outside is None and not root:
        click.echo(say("store-nothing-elsewhere"))


for _command in ABOUT_PEOPLE:
    store.add_command(_command)


def _write(out: Path, login: Login) -> None:
    try:
        write_new(out, login.line().encode(), 0o600)
    except OSError as error:
        raise StoreError(
            f"{out}: the password cannot be written ({error.strerror}) and is lost; remove the "
            "login and add it again",
            said="password-lost",
            file=str(out),
            why=str(error.strerror),
        ) from error


store.add_command(publish)

COMMANDS = (store,)
