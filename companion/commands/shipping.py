"""Sending the record to the store of many boxes."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import click

from companion import __version__
from companion.commands.saying import say_now, tell
from companion.commands.shared import record_option, store_options
from companion.record.clock import SystemClock
from companion.report.wording import Wording
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
        for answer in take_what_waits(record, store, store_password_file):
            if answer.taken:
                tell(say("ship-taken-in", job=answer.job_id))
            else:
                why = say.words.problem(answer.problem) if answer.problem else ""
                tell(say("ship-not-taken-in", job=answer.job_id, why=why))
        shipped = send_all(record, store, store_password_file, about_itself(record), _count)
        heard = ship_sound(record, store, store_password_file) if with_sound else None
        if heard is not None and heard.told:
            raise Refused("sound", "; ".join(heard.told))
    except StoreError as error:
        _note(record, str(error), refused=isinstance(error, Refused))
        raise
    _note(record, "", refused=False)
    tell(say("shipped", box=shipped.box, events=shipped.events, mark=str(shipped.last_mark)))
    if heard is not None:
        size = say.number(heard.bytes / 1e6, 1)
        tell(say("ship-sound-sent", clips=heard.clips, size=size))


def _tell_sound(
    record: Path, store: str, password_file: Path | None, say: Wording, sound: bool
) -> None:
    waiting = sound_that_would_go(record, store, password_file)
    size = say.number(waiting.bytes / 1e6, 1)
    told = "ship-sound-would-go" if sound else "ship-sound-stays"
    click.echo(say(told, clips=waiting.clips, size=size))


def _count(shipped: Shipped) -> None:
    click.echo(say_now()("ship-so-far", events=shipped.events), err=True)


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
