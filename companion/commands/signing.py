"""What people add when a job is over: sign-offs and corrections; who they are; letting sound go."""

from __future__ import annotations

from pathlib import Path

import click

from companion.commands.grouping import Group
from companion.commands.shared import own_record, record_option, session_id, told_left_over
from companion.errors import RecordError
from companion.facts.afterwards import Amended, How, Role, Signature, SignedOff
from companion.record.afterwards import amendable, how_it_ended, statement
from companion.record.clips import ClipStore, clips_folder
from companion.record.journal import SqliteLog
from companion.record.keys import make_key, needs_passphrase, public_hex, read_key
from companion.record.people import People
from companion.record.port import entry_of
from companion.record.retention import expire_clips, remove_left_over
from companion.settings.model import Settings

by_option = click.option("--by", required=True, help="Your name.")


@click.command()
@click.argument("session", required=False)
@record_option
@by_option
@click.option(
    "--role",
    type=click.Choice(["technician", "supervisor"]),
    help="Needed where the name is typed only; known people have their role.",
)
@click.option("--remark", default="", help="Anything to be said with it.")
@click.option(
    "--key",
    "key_file",
    type=click.Path(path_type=Path),
    help="Sign with this Ed25519 key as well ('companion keys make').",
)
def sign(
    session: str | None,
    record: Path,
    by: str,
    role: Role | None,
    remark: str,
    key_file: Path | None,
) -> None:
    """Sign off a job that is over (by default the last one), with your name and PIN.

    The sign-off becomes part of the job's record and covers everything before it. A name that
    nobody has registered is kept as typed, and shown as not proven.

    \b
    Example: companion sign --by "A. Example"
    """
    _require_record(record)
    with own_record(record) as database:
        chosen = session_id(database, session, record)
        over = how_it_ended(database.events(chosen))
        last = over.last
        why = f" ({over.why})" if over.why else ""
        click.echo(f"Session {chosen} ended: {over.result.replace('_', ' ')}{why}.")
        name, own_role, how = _who(record, by, role)
        signed = SignedOff(
            by=name, role=own_role, how=how, events=last.seq, head=last.hash, remark=remark
        )
        if key_file is not None:
            signed = _with_signature(signed, chosen, key_file)
        (event,) = SqliteLog(database, chosen).append([entry_of(signed)])
    proven = "by PIN" if how == "pin" else "name typed, not proven"
    click.echo(f"Signed off: session {chosen}, events 1 to {last.seq}, by {name} ({proven}).")
    click.echo(f"The head is now {event.hash}")


@click.command()
@click.argument("session", required=False)
@record_option
@click.option("--event", "seq", type=int, required=True, help="The number of the wrong event.")
@click.option("--now", required=True, help="What it should say.")
@click.option("--why", required=True, help="Why.")
@by_option
def correct(session: str | None, record: Path, seq: int, now: str, why: str, by: str) -> None:
    """Add a supervisor's correction to a job that is over; the event itself is left unchanged.

    \b
    Example: companion correct --event 31 --now "left arm 775" --why "misread" --by "B. Sample"
    """
    _require_record(record)
    with own_record(record) as database:
        chosen = session_id(database, session, record)
        event = amendable(database.events(chosen), seq)
        name, _, how = _who(record, by, "supervisor")
        amended = Amended(by=name, how=how, event=seq, now=now, why=why)
        SqliteLog(database, chosen).append([entry_of(amended)])
    click.echo(f"Added to session {chosen}: event {seq} ({event.kind}) is corrected by {name}.")


def _require_record(record: Path) -> None:
    if not record.is_file():
        raise RecordError(f"{record}: there is no such record file")


def _who(record: Path, name: str, role: Role | None) -> tuple[str, Role, How]:
    """The name, role and how they were proven; known people have to give their PIN."""
    people = People(record)
    known = people.find(name)
    if known is not None:
        if role not in (None, known.role):
            raise RecordError(f"{known.name} is a {known.role} here, not a {role}")
        pin = click.prompt(f"PIN of {known.name}", hide_input=True)
        return people.checked(name, pin).name, known.role, "pin"
    if role is None:
        raise RecordError(f"{name!r} is not among the people of this record; give --role as well")
    if role == "supervisor" and any(one.role == "supervisor" for one in people.all()):
        raise RecordError(
            f"{name!r} is not among the people of this record, and its supervisors have PINs; "
            "wanted: one of them"
        )
    return name.strip(), role, "typed"


def _with_signature(signed: SignedOff, session: str, key_file: Path) -> SignedOff:
    passphrase = ""
    if needs_passphrase(key_file):
        passphrase = click.prompt(f"Passphrase of {key_file}", hide_input=True)
    key = read_key(key_file, passphrase)
    value = key.sign(statement(session, signed)).hex()
    return signed.model_copy(
        update={"signature": Signature(public_key=public_hex(key), value=value)}
    )


@click.group(cls=Group)
def people() -> None:
    """Manage who may sign off with a PIN. The hashes of the PINs lie beside the record, not in it.

    \b
    Example: companion people add "A. Example" --role technician
    Example: companion people list
    """


@people.command(name="add")
@click.argument("name")
@click.option(
    "--role", type=click.Choice(["technician", "supervisor"]), required=True, help="What they are."
)
@record_option
def add_person(name: str, role: Role, record: Path) -> None:
    """Add a person, or change somebody's PIN or role. Asks for the PIN without showing it.

    \b
    Example: companion people add "A. Example" --role technician
    """
    record.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    pin = click.prompt(f"PIN for {name}", hide_input=True, confirmation_prompt=True)
    person = People(record).add(name, role, pin)
    click.echo(f"{person.name} ({person.role}) can sign off now.")


@people.command(name="remove")
@click.argument("name")
@record_option
def remove_person(name: str, record: Path) -> None:
    """Remove a person. What they signed stays signed.

    \b
    Example: companion people remove "A. Example"
    """
    People(record).remove(name)
    click.echo(f"{name} can no longer sign off.")


@people.command(name="list")
@record_option
def list_people(record: Path) -> None:
    """List the people.

    \b
    Example: companion people list
    """
    for person in People(record).all():
        click.echo(f"{person.role:10s}  {person.name}")


@click.group(cls=Group)
def keys() -> None:
    """Manage keys for signing sign-offs, where a PIN is not enough.

    \b
    Example: companion keys make supervisor.key
    """


@keys.command(name="make")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--no-passphrase", is_flag=True, help="Leave the key file unprotected.")
def make_key_file(file: Path, no_passphrase: bool) -> None:
    """Make an Ed25519 key in FILE, and its public half in FILE.pub.

    Give the public half to anyone who will check; 'companion verify' takes it as --key.

    \b
    Example: companion keys make supervisor.key
    """
    passphrase = ""
    if not no_passphrase:
        passphrase = click.prompt("Passphrase", hide_input=True, confirmation_prompt=True)
    click.echo(f"Key: {file}\nPublic key: {make_key(file, passphrase)}, in {file}.pub")


@click.group(cls=Group)
def clips() -> None:
    """Manage the recorded voices.

    \b
    Example: companion clips expire --days 365
    """


@clips.command(name="expire")
@click.option(
    "--days",
    type=click.IntRange(0),
    default=Settings.model_fields["keep_sound_days"].default,
    help="Sound of older jobs is deleted. Default: the setting keep_sound_days.",
)
@click.option("--why", default="kept for the agreed time", show_default=True, help="The reason.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@record_option
def expire(days: int, why: str, yes: bool, record: Path) -> None:
    """Delete the sound of jobs older than so many days; words and hashes stay in the record.

    \b
    Example: companion clips expire
    """
    _require_record(record)
    if not yes:
        click.confirm(f"Delete for good the sound of jobs older than {days} days?", abort=True)
    with own_record(record) as database:
        store = ClipStore(clips_folder(record))
        done = expire_clips(database, store, days, why)
        gone = remove_left_over(database, store)
    for expired in done:
        click.echo(f"{expired.session_id}: {len(expired.clips)} clips deleted")
    click.echo(f"{sum(len(expired.clips) for expired in done)} clips of {len(done)} jobs deleted.")
    if gone.orphans or gone.remnants:
        click.echo(f"Left over by power cuts and deleted: {told_left_over(gone)}.")


COMMANDS = (sign, correct, people, keys, clips)
