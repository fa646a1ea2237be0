"""Sending the record to the store of many boxes, and taking what waits there for this box."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from companion import __version__
from companion.commands.saying import say_now, tell
from companion.commands.settings import settings_read_now
from companion.commands.shared import record_option, store_options
from companion.errors import CompanionError
from companion.published.kept import keys_of, newest_version, published_folder
from companion.published.manifest import Manifest
from companion.record.asked import Waiting
from companion.record.audit.keys import read_public_key
from companion.record.box import public_key_path
from companion.record.clock import SystemClock
from companion.record.going_on import is_a_job_going_on
from companion.record.last_check import last_check
from companion.record.store_word import LastWord, keep, last_word, state_path
from companion.report.wording import Wording
from companion.settings.published import FILES
from companion.settings.reading import SettingsRead
from companion.store.after_job import sending_alone
from companion.store.asking import Answered, fetch_askings
from companion.store.connecting import StoreError
from companion.store.incoming import take_what_waits
from companion.store.shipping import Refused, Shipped, what_would_go
from companion.store.shipping import ship as send_all
from companion.store.sound import ship_sound, sound_that_would_go
from companion.store.taking_files import OfBox, take_published


@click.command()
@record_option
@store_options
@click.option("--check", is_flag=True, help="Only say what would go.")
@click.option(
    "--sound/--no-sound",
    "with_sound",
    default=False,
    help="Send sound, too, of jobs whose technician was told so and agreed. Default: the setting "
    "ship_sound.",
)
def ship(
    record: Path, store: str | None, store_password_file: Path | None, check: bool, with_sound: bool
) -> None:
    """Send the store everything in the record that it lacks; can be run again at any time.

    What has not been sent yet simply waits: days without a network do no harm, and whatever
    breaks, nothing is lost and nothing goes twice. The store looks at every event and at the
    box's signature, and says what it does not take. Files that were published to this box are
    taken, where it believes the signer and no job is being done.

    \b
    Example: companion ship
    Example: companion ship --check
    """
    if store is None:
        raise StoreError(
            "no store is named; give --store, or the setting 'store'", said="no-store-named"
        )
    say = say_now()
    if check:
        place, waiting = what_would_go(record, store, store_password_file)
        counts = {"events": waiting.events, "jobs": waiting.jobs}
        told = say("ship-would-go", box=place.name, mark=str(place.last_mark), **counts)
        tell(told)
        _tell_sound(record, store, store_password_file, say, with_sound)
        return
    try:
        with sending_alone(record) as alone:
            if not alone:
                click.echo(say("ship-already"))
                return
            _send(record, store, store_password_file, with_sound)
    except OSError as error:
        raise StoreError(f"{error.filename}: {error.strerror}") from error


def _send(record: Path, store: str, password_file: Path | None, with_sound: bool) -> None:
    say = say_now()
    word = LastWord(SystemClock().now().at_utc)
    try:
        for answer in take_what_waits(record, store, password_file):
            if answer.taken:
                tell(say("ship-taken-in", job=answer.job_id))
            else:
                why = say.words.problem(answer.problem) if answer.problem else ""
                tell(say("ship-not-taken-in", job=answer.job_id, why=why))
        word = replace(word, files_told=_take_files(record, store, password_file))
        shipped = send_all(record, store, password_file, about_itself(record), _count)
        _tell_askings(*fetch_askings(record, store, password_file), say)
        heard = ship_sound(record, store, password_file) if with_sound else None
        if heard is not None and heard.told:
            raise Refused("sound", "; ".join(heard.told))
    except StoreError as error:
        what = error.what if isinstance(error, Refused) else ""
        _note(record, replace(word, told=str(error), what=what))
        raise
    _note(record, word)
    tell(say("shipped", box=shipped.box, events=shipped.events, mark=str(shipped.last_mark)))
    if heard is not None:
        size = say.number(heard.bytes / 1e6, 1)
        tell(say("ship-sound-sent", clips=heard.clips, size=size))


def _tell_askings(
    answered: tuple[Answered, ...], waiting: tuple[Waiting, ...], say: Wording
) -> None:
    for one in answered:
        if one.taken:
            tell(say("ship-key-known", name=one.name))
        else:
            tell(say("ship-key-declined", name=one.name, why=one.told))
    for asked in waiting:
        tell(say("ship-key-asked", name=asked.asked.name, key=asked.asked.public_key))


def _tell_sound(
    record: Path, store: str, password_file: Path | None, say: Wording, sound: bool
) -> None:
    waiting = sound_that_would_go(record, store, password_file)
    size = say.number(waiting.bytes / 1e6, 1)
    told = "ship-sound-would-go" if sound else "ship-sound-stays"
    click.echo(say(told, clips=waiting.clips, size=size))


def _take_files(record: Path, store: str, password_file: Path | None) -> str:
    """Take what was published to this box; why it was refused, or ""."""
    answer = take_published(_of_box(record, settings_read_now()), store, password_file)
    say = say_now()
    match answer.became:
        case "taken":
            click.echo(say("ship-files-taken", version=str(answer.version)))
        case "waits":
            click.echo(say("ship-files-wait", version=str(answer.version)))
        case "refused":
            told = say("ship-files-refused", version=str(answer.version), why=answer.told)
            click.echo(told, err=True)
        case _:
            pass
    return answer.told


def _of_box(record: Path, read: SettingsRead) -> OfBox:
    published_by = read.settings.published_by

    def check(place: Path, manifest: Manifest) -> None:
        # Much is loaded for it, and a new version is a rare thing.
        from companion.runtime.checks.published import Place, check_published

        own = {
            kind: getattr(read.settings, name) for name, kind in FILES.items() if name in read.lines
        }
        check_published(
            place,
            manifest.files,
            Place(own, read.settings.language if "language" in read.lines else ""),
        )

    return OfBox(
        published_folder(),
        None if published_by is None else lambda: keys_of(published_by),
        lambda: read_public_key(public_key_path(record)),
        check,
        lambda: is_a_job_going_on(record),
    )


def _count(shipped: Shipped) -> None:
    click.echo(say_now()("ship-so-far", events=shipped.events), err=True)


def about_itself(record: Path) -> dict[str, Any]:
    """What the store's keeper wants to know of a box beside its jobs."""
    now = SystemClock().now()
    told: dict[str, Any] = {
        "version": __version__,
        "clock": now.at_utc,
        "clock_trusted": now.trusted,
        "disk_free_bytes": shutil.disk_usage(record.parent).free,
    }
    if (check := last_check(record)) is not None:
        told["checked"] = check.at_utc
        told["check_wrong"] = list(check.wrong)
        if check.ears_work is not None:
            told["ears"], told["ears_work"] = check.ears, check.ears_work
    try:
        told["published"] = newest_version(published_folder())
    except CompanionError:
        told["published"] = None
    return told


def _note(record: Path, word: LastWord) -> None:
    before = last_word(record)
    if before is not None and before.says_the_same(word):
        word = replace(word, was_shown=before.was_shown)
    try:
        keep(record, word)
    except OSError as error:
        click.echo(f"companion: {state_path(record)}: {error.strerror}", err=True)


COMMANDS = (ship,)
