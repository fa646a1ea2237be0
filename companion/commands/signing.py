"""What people add when a job is over: sign-offs and corrections; who they are; letting sound go."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import click

from companion.commands.grouping import Group
from companion.commands.shared import (
    own_record,
    record_option,
    retention_options,
    session_id,
    tell,
    told_left_over,
)
from companion.errors import RecordError
from companion.facts.afterwards import Amended, How, Role, Signature, SignedOff
from companion.recognition.voices.store import VoiceStore
from companion.record.afterwards import amendable, how_it_ended, statement
from companion.record.asked import find_asked, keep_waiting, waiting_at
from companion.record.audit.keys import make_key, needs_passphrase, public_hex, read_key
from companion.record.audit.people import KeyRing
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import Database, open_for_reading
from companion.record.enrolling import Office, Signer, read_roll
from companion.record.journal import SqliteLog
from companion.record.port import StoredEvent, entry_of
from companion.record.retention import expire_clips, remove_left_over

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
        tell(f"Session {chosen} ended: {over.result.replace('_', ' ')}{why}.")
        who = _who(database, by, role, f"sign off {chosen}")
        for before in _signed_before(database, chosen, who.name):
            click.echo(f"{who.name} has signed this job off before: event {before.seq}.")
        signed = SignedOff(
            by=who.name,
            role=who.role,
            how=who.how,
            events=last.seq,
            head=last.hash,
            remark=remark,
        )
        if who.signer is not None:
            if key_file is not None:
                raise RecordError(f"{who.name} signs with the key that the PIN unlocks; no --key")
            signed = who.signer.signed_off(chosen, signed)
        elif key_file is not None:
            signed = _with_signature(signed, chosen, key_file)
        (event,) = SqliteLog(database, chosen).append([entry_of(signed)])
    proven = "with their key" if who.signer is not None else "name typed, not proven"
    tell(f"Signed off: session {chosen}, events 1 to {last.seq}, by {who.name} ({proven}).")
    tell(f"The head is now {event.hash}")


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
        who = _who(database, by, "supervisor", f"correct {chosen}")
        amended = Amended(by=who.name, how=who.how, event=seq, now=now, why=why)
        log = SqliteLog(database, chosen)
        if who.signer is not None:
            amended = who.signer.amended(chosen, amended, log.head_hash)
        log.append([entry_of(amended)])
    tell(f"Added to session {chosen}: event {seq} ({event.kind}) is corrected by {who.name}.")


def _signed_before(database: Database, session: str, name: str) -> list[StoredEvent]:
    """The sign-offs of this job by the same name."""
    return [
        event
        for event in database.events(session)
        if isinstance(event.fact, SignedOff) and event.fact.by == name
    ]


def _require_record(record: Path) -> None:
    if not record.is_file():
        raise RecordError(f"{record}: there is no such record file")


@dataclass(frozen=True)
class Who:
    """Who signs; `signer` where their key is unlocked."""

    name: str
    role: Role
    how: How
    signer: Signer | None = None


def _who(database: Database, name: str, role: Role | None, doing: str) -> Who:
    """The name and role, and how they were proven; known people have to give their PIN."""
    office = Office(database)
    known = office.known(name)
    if known is not None:
        if role not in (None, known[1]):
            raise RecordError(f"{known[0]} is a {known[1]} here, not a {role}")
        signer = _signer(office, known[0], doing)
        return Who(signer.name, signer.role, "pin", signer)
    if role is None:
        raise RecordError(f"{name!r} is not among the people of this record; give --role as well")
    if role == "supervisor" and office.supervisors():
        raise RecordError(
            f"{name!r} is not among the people of this record, and its supervisors have PINs; "
            "wanted: one of them"
        )
    return Who(name.strip(), role, "typed")


def _signer(office: Office, name: str, doing: str) -> Signer:
    return office.signer(name, click.prompt(f"PIN of {name}", hide_input=True), doing)


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
    """Manage who may sign off with a PIN. It unlocks their key; the record says who has which key.

    \b
    Example: companion people add "A. Example" --role technician
    Example: companion people list
    """


@people.command(name="add")
@click.argument("name")
@click.option(
    "--role", type=click.Choice(["technician", "supervisor"]), required=True, help="What they are."
)
@click.option("--by", help="The supervisor who vouches for them, by PIN. Default: the only one.")
@click.option(
    "--without-supervisor",
    is_flag=True,
    help="Nobody vouches, as where the only supervisor's PIN is lost; the record says so for good.",
)
@record_option
def add_person(
    name: str, role: Role, by: str | None, without_supervisor: bool, record: Path
) -> None:
    """Add a person, or give somebody a new PIN or role. Asks for PINs without showing them.

    Where there is a supervisor, one must vouch for everybody new and for every lost PIN; another
    PIN of one's own takes the old one. Each of it is an event of the record.

    \b
    Example: companion people add "A. Example" --role technician
    Example: companion people add "A. Example" --role technician --by "B. Sample"
    """
    with own_record(record) as database:
        office = Office(database)
        known = office.known(name)
        doing = f"give {name} a PIN"
        if known is not None and known[1] == role and by is None and not without_supervisor:
            signer = _signer(office, known[0], doing)
            office.change_pin(signer, _new_pin(known[0]))
            tell(f"{known[0]} ({role}) has another PIN now.")
            return
        voucher = None
        supervisors = office.supervisors()
        if supervisors and not without_supervisor:
            voucher = _signer(office, by or _only(supervisors), doing)
        office.enrol(name, role, _new_pin(name), voucher)
    word = f"vouched for by {voucher.name}" if voucher is not None else "vouched for by nobody"
    tell(f"{name} ({role}) can sign off now, {word}.")


def _only(supervisors: list[str]) -> str:
    if not supervisors:
        raise RecordError("no supervisor has a PIN here who could vouch; 'companion people add'")
    if len(supervisors) > 1:
        raise RecordError(f"say with --by who vouches: {', '.join(supervisors)}")
    return supervisors[0]


def _new_pin(name: str) -> str:
    pin = click.prompt(f"New PIN for {name}", hide_input=True, confirmation_prompt=True)
    return str(pin)


@people.command(name="remove")
@click.argument("name")
@click.option("--by", help="The supervisor who signs it, by PIN. Default: they themselves.")
@click.option("--store-key", is_flag=True, help="Only the key that they sign with at the store.")
@record_option
def remove_person(name: str, by: str | None, store_key: bool, record: Path) -> None:
    """Remove a person, by a supervisor's PIN or their own. What they signed stays signed.

    \b
    Example: companion people remove "A. Example" --by "B. Sample"
    """
    _require_record(record)
    with own_record(record) as database:
        office = Office(database)
        signer = _signer(office, by or name, f"remove {name}")
        office.remove(name, signer, of_store=store_key)
    tell(f"{name} can no longer sign off{' from the store' if store_key else ''}.")


@people.command(name="accept")
@click.argument("name")
@click.option("--by", help="The supervisor who vouches for them, by PIN. Default: the only one.")
@record_option
def accept_asked(name: str, by: str | None, record: Path) -> None:
    """Know the key that a supervisor signs with at the store of many boxes.

    They asked for it there, and 'companion ship' fetched it. Compare the key with the one that
    they see at the store: whoever keeps the store could ask in anybody's name.

    \b
    Example: companion people accept "C. Specimen" --by "B. Sample"
    """
    _require_record(record)
    asked = find_asked(record, name).asked
    tell(f"{asked.name} asks to sign here as a {asked.role} with the key {asked.public_key}.")
    with own_record(record) as database:
        office = Office(database)
        voucher = _signer(office, by or _only(office.supervisors()), f"know the key of {name}")
        office.accept(asked, voucher)
    tell(f"What {asked.name} signs at the store is proven here now; {voucher.name} vouched for it.")


@people.command(name="decline")
@click.argument("name")
@record_option
def decline_asked(name: str, record: Path) -> None:
    """Do not know the key of somebody who asked at the store; they are told.

    \b
    Example: companion people decline "C. Specimen"
    """
    _require_record(record)
    declined = find_asked(record, name)
    keep_waiting(
        record,
        tuple(
            one.model_copy(update={"declined": True}) if one.number == declined.number else one
            for one in waiting_at(record)
        ),
    )
    tell(f"{declined.asked.name} is told with the next 'companion ship'.")


@people.command(name="list")
@record_option
def list_people(record: Path) -> None:
    """List the people, with the public key of each, and wrong PINs that were given.

    \b
    Example: companion people list
    """
    _require_record(record)
    with open_for_reading(record) as database:
        roll = read_roll(database)
    for one in roll.current:
        tell(f"{one.role:10s}  {one.name}  {one.public_key}  {one.told}")
    for person in KeyRing(record).all_of_before():
        tell(f"{person.role:10s}  {person.name}  no key yet: it is made by their PIN")
    for asking in waiting_at(record):
        if not asking.declined:
            tell(f"{asking.asked.name} asks to sign from the store: 'companion people accept'")
    for name, count in sorted(roll.failed.items()):
        tell(f"{count} times a wrong PIN was given for {name}")


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
@retention_options("keep_sound_days", "Sound of older jobs is deleted.")
@record_option
def expire(days: int, why: str, yes: bool, record: Path) -> None:
    """Delete the sound of jobs older than so many days; words and hashes stay in the record.

    Sound that was kept to learn a voice ('companion voice') goes by the same age.

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
        oldest = (datetime.now().astimezone().date() - timedelta(days=days)).isoformat()
        learned = sum(voice.let_sound_go(oldest) for voice in VoiceStore(record).voices())
    for expired in done:
        tell(f"{expired.session_id}: {len(expired.clips)} clips deleted")
    tell(f"{sum(len(expired.clips) for expired in done)} clips of {len(done)} jobs deleted.")
    if learned:
        tell(f"{learned} sounds of learned voices deleted.")
    if gone.orphans or gone.remnants:
        tell(f"Left over by power cuts and deleted: {told_left_over(gone)}.")


COMMANDS = (sign, correct, people, keys, clips)
