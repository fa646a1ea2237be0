"""What people add when a job is over: sign-offs and corrections; who they are; letting sound go."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import get_args

import click

from companion.archive.correcting import correctable
from companion.commands.grouping import Group
from companion.commands.saying import new_secret, require_agreed, say_now, secret, tell
from companion.commands.shared import (
    own_record,
    record_option,
    require_record,
    retention_options,
    session_id,
    told_left_over,
)
from companion.errors import RecordError
from companion.facts.afterwards import Amended, How, Role, Signature, SignedOff
from companion.recognition.voices.refusals import raise_all
from companion.recognition.voices.store import VoiceStore
from companion.record.afterwards import how_it_ended, statement
from companion.record.asked import find_asked, keep_waiting, waiting_at
from companion.record.audit.keys import make_key, needs_passphrase, public_hex, read_key
from companion.record.audit.people import KeyRing
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import Database, open_for_reading
from companion.record.enrolling import Office, Signer, read_roll
from companion.record.journal import SqliteLog
from companion.record.port import StoredEvent
from companion.record.retention import expire_clips, remove_left_over
from companion.report.wording import Wording

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
    require_record(record)
    say = say_now()
    with own_record(record) as database:
        chosen = session_id(database, session, record)
        over = how_it_ended(database.events(chosen))
        last = over.last
        told = {"session": chosen, "result": say.ending(over.result), "why": over.why}
        tell(say("sign-ended-why" if over.why else "sign-ended", **told))
        who = _who(database, by, role, f"sign off {chosen}", say)
        for before in _signed_before(database, chosen, who.name):
            tell(say("sign-before", name=who.name, event=str(before.seq)))
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
                raise RecordError(
                    f"{who.name} signs with the key that the PIN unlocks; no --key",
                    said="key-beside-pin",
                    name=who.name,
                )
            signed = who.signer.signed_off(chosen, signed)
        elif key_file is not None:
            signed = _with_signature(signed, chosen, key_file, say)
        (event,) = SqliteLog(database, chosen).append([signed])
    proven = say("sign-with-key" if who.signer is not None else "line-name-typed")
    told = {"session": chosen, "last": str(last.seq), "name": who.name, "proven": proven}
    tell(say("signed", **told))
    tell(say("sign-head", hash=event.hash))


@click.command()
@click.argument("session", required=False)
@record_option
@click.option("--event", "seq", type=int, required=True, help="The number of the wrong event.")
@click.option("--now", required=True, help="What it should say.")
@click.option("--why", required=True, help="Why.")
@by_option
def correct(session: str | None, record: Path, seq: int, now: str, why: str, by: str) -> None:
    """Add a supervisor's correction to a job that is over; the event itself is left unchanged.

    Of a reading, an answer, something done or a note, and by PIN alone.

    \b
    Example: companion correct --event 31 --now "left arm 775" --why "misread" --by "B. Sample"
    """
    require_record(record)
    say = say_now()
    with own_record(record) as database:
        chosen = session_id(database, session, record)
        event = correctable(database.events(chosen), seq, now, why)
        if not Office(database).supervisors():
            raise RecordError(
                "a correction is signed with a supervisor's PIN, and no supervisor has one in this "
                "record; 'companion people add NAME --role supervisor' gives one",
                said="correct-without-supervisor",
            )
        who = _who(database, by, "supervisor", f"correct {chosen}", say)
        amended = Amended(by=who.name, how=who.how, event=seq, now=now, why=why)
        log = SqliteLog(database, chosen)
        if who.signer is not None:
            amended = who.signer.amended(chosen, amended, log.head_hash)
        log.append([amended])
    told = {"session": chosen, "event": str(seq), "kind": event.kind, "name": who.name}
    tell(say("corrected", **told))


def _signed_before(database: Database, session: str, name: str) -> list[StoredEvent]:
    """The sign-offs of this job by the same name."""
    return [
        event
        for event in database.events(session)
        if isinstance(event.fact, SignedOff) and event.fact.by == name
    ]


@dataclass(frozen=True)
class Who:
    """Who signs; `signer` where their key is unlocked."""

    name: str
    role: Role
    how: How
    signer: Signer | None = None


def _who(database: Database, name: str, role: Role | None, doing: str, say: Wording) -> Who:
    """The name and role, and how they were proven; known people have to give their PIN."""
    office = Office(database)
    known = office.known(name)
    if known is not None:
        if role not in (None, known[1]):
            raise RecordError(
                f"{known[0]} is a {known[1]} here, not a {role}",
                said="another-role",
                name=known[0],
                role=known[1],
                other=str(role),
            )
        signer = _signer(office, known[0], doing, say)
        return Who(signer.name, signer.role, "pin", signer)
    if role is None:
        raise RecordError(
            f"{name!r} is not among the people of this record; give --role as well",
            said="not-known-give-role",
            name=name,
        )
    if role == "supervisor" and office.supervisors():
        raise RecordError(
            f"{name!r} is not among the people of this record, and its supervisors have PINs; "
            "wanted: one of them",
            said="not-known-supervisor",
            name=name,
        )
    return Who(name.strip(), role, "typed")


def _signer(office: Office, name: str, doing: str, say: Wording) -> Signer:
    return office.signer(name, secret(say("prompt-pin", name=name)), doing)


def _with_signature(signed: SignedOff, session: str, key_file: Path, say: Wording) -> SignedOff:
    passphrase = ""
    if needs_passphrase(key_file):
        passphrase = secret(say("prompt-passphrase-of", file=str(key_file)))
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
    say = say_now()
    with own_record(record) as database:
        office = Office(database)
        known = office.known(name)
        doing = f"give {name} a PIN"
        if known is not None and known[1] == role and by is None and not without_supervisor:
            signer = _signer(office, known[0], doing, say)
            office.change_pin(signer, _new_pin(known[0], say))
            tell(say("people-other-pin", name=known[0], role=say(f"role-{role}")))
            return
        voucher = None
        supervisors = office.supervisors()
        if supervisors and not without_supervisor:
            voucher = _signer(office, by or _only(supervisors), doing, say)
        office.enrol(name, role, _new_pin(name, say), voucher)
    by_whom = say("vouched-nobody")
    if voucher is not None:
        by_whom = say("vouched-by", name=voucher.name)
    tell(say("people-added", name=name, role=say(f"role-{role}"), vouched=by_whom))


def _only(supervisors: list[str]) -> str:
    if not supervisors:
        raise RecordError(
            "no supervisor has a PIN here who could vouch; 'companion people add'",
            said="no-supervisor-here",
        )
    if len(supervisors) > 1:
        names = ", ".join(supervisors)
        raise RecordError(f"say with --by who vouches: {names}", said="say-who", names=names)
    return supervisors[0]


def _new_pin(name: str, say: Wording) -> str:
    return new_secret(say("prompt-new-pin", name=name), say)


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
    require_record(record)
    say = say_now()
    with own_record(record) as database:
        office = Office(database)
        signer = _signer(office, by or name, f"remove {name}", say)
        office.remove(name, signer, of_store=store_key)
    tell(say("people-store-key-removed" if store_key else "people-removed", name=name))


@people.command(name="accept")
@click.argument("name")
@click.option("--by", help="The supervisor who vouches for them, by PIN. Default: the only one.")
@record_option
def accept_asked(name: str, by: str | None, record: Path) -> None:
    """Know the key that a supervisor signs with at the store of many boxes.

    They asked for it there, and 'companion ship' fetched it. Compare the key with the one that
    they see at the store: its keeper could ask in anybody's name.

    \b
    Example: companion people accept "C. Specimen" --by "B. Sample"
    """
    require_record(record)
    say = say_now()
    asked = find_asked(record, name).asked
    role = say(f"role-{asked.role}")
    tell(say("people-asks-to-sign", name=asked.name, role=role, key=asked.public_key))
    with own_record(record) as database:
        office = Office(database)
        voucher = _signer(office, by or _only(office.supervisors()), f"know the key of {name}", say)
        office.accept(asked, voucher)
    tell(say("people-store-key-known", name=asked.name, by=voucher.name))


@people.command(name="decline")
@click.argument("name")
@record_option
def decline_asked(name: str, record: Path) -> None:
    """Do not know the key of somebody who asked at the store; they are told.

    \b
    Example: companion people decline "C. Specimen"
    """
    require_record(record)
    declined = find_asked(record, name)
    keep_waiting(
        record,
        tuple(
            one.model_copy(update={"declined": True}) if one.number == declined.number else one
            for one in waiting_at(record)
        ),
    )
    tell(say_now()("people-declined", name=declined.asked.name))


@people.command(name="list")
@record_option
def list_people(record: Path) -> None:
    """List the people, with the public key of each, and wrong PINs that were given.

    \b
    Example: companion people list
    """
    require_record(record)
    say = say_now()
    with open_for_reading(record) as database:
        roll = read_roll(database)
    of_before, waiting = KeyRing(record).all_of_before(), waiting_at(record)
    if not (roll.current or of_before or waiting or roll.failed):
        tell(say("people-nobody"))
    width = max(len(say(f"role-{role}")) for role in get_args(Role))
    for one in roll.current:
        told = say(one.told.id, **one.told.args)
        tell(f"{say(f'role-{one.role}'):{width}}  {one.name}  {one.public_key}  {told}")
    for person in of_before:
        role = say(f"role-{person.role}")
        tell(f"{role:{width}}  {person.name}  {say('people-no-key')}")
    for asking in waiting:
        if not asking.declined:
            tell(say("people-is-asking", name=asking.asked.name))
    for name, count in sorted(roll.failed.items()):
        tell(say("verify-wrong-pin", name=name, count=count))


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
    say = say_now()
    passphrase = "" if no_passphrase else new_secret(say("prompt-passphrase"), say)
    public = make_key(file, passphrase)
    click.echo(say("key-made", file=str(file)))
    click.echo(say("key-public", key=public, file=f"{file}.pub"))


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
    require_record(record)
    say = say_now()
    if not yes:
        require_agreed(say("clips-really", days=days), say)
    with own_record(record) as database:
        store = ClipStore(clips_folder(record))
        done = expire_clips(database, store, days, why)
        gone = remove_left_over(database, store)
        # That the date is vouched for, `expire_clips` has made sure.
        today = datetime.now().astimezone().date()
        oldest = today - timedelta(days=days)
        learned = VoiceStore(record).let_sound_go(oldest.isoformat(), today.isoformat())
    for expired in done:
        tell(say("clips-of-job", session=expired.session_id, count=len(expired.clips)))
    clips_gone = sum(len(expired.clips) for expired in done)
    tell(say("clips-gone", clips=clips_gone, jobs=len(done)))
    if learned.sounds:
        tell(say("clips-of-voices-gone", count=learned.sounds))
    if gone.orphans or gone.remnants:
        tell(say("clips-left-over-gone", told=told_left_over(gone, say)))
    # Told last and as a failure: somebody's sound may be older than was agreed.
    raise_all(learned.hindered)


COMMANDS = (sign, correct, people, keys, clips)
