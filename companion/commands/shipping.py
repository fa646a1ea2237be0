"""Sending the record to the store of many boxes."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import click

from companion import __version__
from companion.commands.shared import record_option, store_options, tell
from companion.record.asked import Waiting
from companion.record.clock import SystemClock
from companion.store.asking import Answered, fetch_askings
from companion.store.connecting import StoreError
from companion.store.incoming import take_what_waits
from companion.store.shipping import Refused, Shipped, what_would_go
from companion.store.shipping import ship as send_all
from companion.store.sound import ship_sound, sound_that_would_go
from companion.store.state import LastWord, keep, state_path


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
    box's signature, and says what it does not take.

    \b
    Example: companion ship
    Example: companion ship --check
    """
    if store is None:
        raise StoreError("no store is named; give --store, or the setting 'store'")
    if check:
        place, waiting = what_would_go(record, store, store_password_file)
        click.echo(
            f"{place.name}: {waiting.events} events of {waiting.jobs} jobs would go; the store has "
            f"taken everything up to mark {place.last_mark}."
        )
        _tell_sound(record, store, store_password_file, with_sound)
        return
    try:
        for answer in take_what_waits(record, store, store_password_file):
            told = "added to the record" if answer.taken else f"not taken: {answer.told}"
            click.echo(f"From the store, for {answer.job_id}: {told}.")
        _tell_askings(*fetch_askings(record, store, store_password_file))
        shipped = send_all(record, store, store_password_file, about_itself(record), _tell)
        heard = ship_sound(record, store, store_password_file) if with_sound else None
        if heard is not None and heard.told:
            raise Refused("sound", "; ".join(heard.told))
    except StoreError as error:
        _note(record, str(error), refused=isinstance(error, Refused))
        raise
    _note(record, "", refused=False)
    click.echo(f"{shipped.box}: {shipped.events} events sent, up to mark {shipped.last_mark}.")
    if heard is not None:
        click.echo(f"{heard.clips} clips of sound sent ({heard.bytes / 1e6:.1f} MB).")


def _tell_askings(answered: tuple[Answered, ...], waiting: tuple[Waiting, ...]) -> None:
    for one in answered:
        told = "is known here, and the store was told" if one.taken else f"was declined: {one.told}"
        tell(f"The key of {one.name} {told}.")
    for asked in waiting:
        name = asked.asked.name
        tell(
            f"{name} asks to sign at this box from the store, with the key "
            f'{asked.asked.public_key}. A supervisor says: companion people accept "{name}", or '
            f'companion people decline "{name}".'
        )


def _tell_sound(record: Path, store: str, password_file: Path | None, sound: bool) -> None:
    waiting = sound_that_would_go(record, store, password_file)
    told = f"{waiting.clips} clips of sound ({waiting.bytes / 1e6:.1f} MB)"
    if sound:
        click.echo(f"{told} would go.")
    else:
        click.echo(f"No sound would go; with --sound, or the setting ship_sound: {told}.")


def _tell(shipped: Shipped) -> None:
    click.echo(f"{shipped.events} events sent", err=True)


def about_itself(record: Path) -> dict[str, Any]:
    """What the store's keeper wants to know of a box beside its jobs."""
    now = SystemClock().now()
    return {
        "version": __version__,
        "clock": now.at_utc,
        "clock_trusted": now.trusted,
        "disk_free_bytes": shutil.disk_usage(record.parent).free,
    }


def _note(record: Path, told: str, *, refused: bool) -> None:
    try:
        keep(record, LastWord(SystemClock().now().at_utc, told, refused))
    except OSError as error:
        click.echo(f"companion: {state_path(record)}: {error.strerror}", err=True)


COMMANDS = (ship,)
