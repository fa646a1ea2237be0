"""Visits: one car on one order, and the jobs that are done on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.table import Table

from companion.archive.coming_back import last_time
from companion.archive.listing import jobs_of_visit
from companion.archive.opening import open_archive
from companion.archive.visits import VisitSeen, find_visits
from companion.browse.moments import day_and_time, time_zone
from companion.commands.grouping import Group
from companion.commands.options import FileOrName, ears_and_voice, language_option, room_options
from companion.commands.saying import agreed, require_agreed, say_now, tell
from companion.commands.settings import settings_now
from companion.commands.shared import own_record, record_option, retention_options
from companion.commands.which_sensors import names_of, sensors_of
from companion.commands.which_vehicle import ask_vehicle, of_the_visit, which_vehicle
from companion.errors import CompanionError
from companion.facts.car import TOLD, Car
from companion.facts.message import Message
from companion.facts.opening import VehicleChoice
from companion.job.vin import in_groups, vin_of
from companion.language.language import Language
from companion.recognition.port import SoundEnded
from companion.record.cars import CarStore, cars_folder
from companion.record.cars_kept import let_cars_go
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import Database
from companion.record.visits import (
    Visit,
    change_car,
    close_visit,
    find_visit,
    keep_codes,
    keep_sensors,
    keep_vehicle,
    open_visit,
)
from companion.report.visit_left import Left, left_of
from companion.report.wording import Wording, wording_in
from companion.runtime import assembly
from companion.runtime.aloud import Aloud
from companion.runtime.live_job import Open, devices_for_spelling
from companion.runtime.spelt_aloud import SpellingLeft, SpeltAloud
from companion.runtime.vehicle_aloud import VehicleLeft

NEW = "new"
_SPELLED = {"order": "spell-order", "plate": "spell-plate"}


def car_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Which car; any of it may be left out."""
    for option in (
        click.option("--complaint", default="", help="What was asked for, in a few words."),
        click.option("--odometer-km", type=click.IntRange(0, 9_999_999), help="As it stands."),
        click.option("--vin", default="", help="Vehicle identification number; typed or scanned."),
        click.option("--plate", default="", help="The registration plate."),
        click.option("--order", default="", help="The order's number."),
    ):
        command = option(command)
    return command


def car_of(options: dict[str, Any]) -> Car:
    """The car as it was entered, as far as the settings let it be kept.

    Raises VinError for a number that is none.
    """
    settings = settings_now()
    vin = options["vin"]
    if vin:
        vin = vin_of(vin, check_digit=settings.vin_check_digit)
        vin = {"whole": vin, "last_six": vin[-6:], "never": ""}[settings.keep_vin]
    return Car(
        order=" ".join(options["order"].split()),
        plate=" ".join(options["plate"].upper().split()) if settings.keep_plate else "",
        vin=vin,
        odometer_km=options["odometer_km"],
        complaint=" ".join(options["complaint"].split()),
    )


def visit_for(database: Database, record: Path, name: str, car: Car) -> Visit:
    """The visit that a job belongs to: a new one, or the one of this name (`last`: the latest).

    Raises RecordError for one that is not there or closed.
    """
    cars = CarStore(cars_folder(record))
    if name == NEW:
        return open_visit(database, cars, car)
    found = find_visit(database, name)
    if found.is_closed:
        raise click.UsageError(say_now()("visit-is-closed", visit=found.id))
    if car.is_told:
        found = change_car(database, cars, found, _together(cars.get(found.car_sha256), car))
    return found


def _together(before: Car | None, now: Car) -> Car:
    """What was known, with what is told now in its place."""
    told = {name: getattr(now, name) for name in TOLD if getattr(now, name) not in ("", None)}
    return replace(before or Car(), **told)


def sensors_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Which sensors the visit is to set."""
    return click.option(
        "--sensors",
        default="",
        help="Which sensors are to be set, with commas: front_radar,forward_camera. What is the "
        "car's (codes after, switching off, road test) is then asked at the last of them alone. "
        "Not listed: each job asks at its end whether another follows.",
    )(command)


@click.group(cls=Group)
def visit() -> None:
    """Manage visits: one car on one order, with all the jobs done on it.

    \b
    Example: companion visit new --order 4711 --plate "EX 123"
    """


@visit.command(name="new")
@car_options
@click.option(
    "--vehicle",
    "of_vehicle",
    type=FileOrName("vehicle"),
    help="Which vehicle it is: its file or name (companion vehicle list); its jobs take it over.",
)
@sensors_option
@click.option("--ask", is_flag=True, help="Ask for each; an empty answer leaves it out.")
@ears_and_voice
@language_option
@record_option
def new_visit(ask: bool, record: Path, **options: Any) -> None:
    """Open a visit. A barcode reader that types can scan the VIN when asked for it.

    With --ask and ears that know it, order, plate, VIN and odometer are spelled: alfa, bravo. Where
    the shop has vehicle files of its own, it is also asked which of them it is.

    \b
    Example: companion visit new --order 4711 --plate "EX 123" --odometer-km 48210
    Example: companion visit new --ask
    Example: companion visit new --ask --ears own --voice speaker
    """
    spelled = options["ears"] != "typed"
    path, choice = options["of_vehicle"], None
    sensors = sensors_of(options["sensors"], options["language"])
    if ask and spelled:
        path, choice = _ask_aloud(record, options)
    elif ask:
        _ask(options)
        path, choice = _ask_vehicle(record, options)
    elif spelled:
        raise click.UsageError(say_now()("visit-ears-for-ask"))
    car = car_of(options)
    with own_record(record) as database:
        made = open_visit(database, CarStore(cars_folder(record)), car)
        if path is not None:
            keep_vehicle(database, of_the_visit(made.id, path, choice))
        if sensors:
            keep_sensors(database, made, sensors)
    say = say_now()
    tell(say("visit-opened", visit=made.id))
    if sensors:
        tell(say("visit-to-be-set", sensors="; ".join(names_of(sensors))))
    if car.is_told:
        tell(say("visit-personal"))


Vehicle = tuple[Path | None, VehicleChoice | None]
"""The file, and how it was chosen; None for none, or where nobody was asked."""


def _ask_aloud(record: Path, options: dict[str, Any]) -> Vehicle:
    """Each but the complaint, spelled; what is left in between is left out. Then the vehicle."""
    spoken = assembly.language(options["language"])
    with spelling(record, options, spoken) as (aloud, found):
        try:
            for name, what in _SPELLED.items():
                if not options[name]:
                    options[name] = aloud.text(what)
            if not options["vin"]:
                options["vin"] = aloud.vin(check_digit=settings_now().vin_check_digit)
            kilometres = aloud.text("spell-odometer") if options["odometer_km"] is None else ""
            options["odometer_km"] = _entered("odometer_km", kilometres)
        except CompanionError as error:
            tell(say_now().words.problem(error))
            later = Message("spell-left", {"command": "companion visit change last"})
            tell(spoken.show(later))
        return _choose_vehicle(record, options, found, spoken)


def _ask_vehicle(record: Path, options: dict[str, Any]) -> Vehicle:
    """The vehicle, typed."""
    spoken = assembly.language(options["language"])
    with spelling(record, options, spoken) as (_, found):
        return _choose_vehicle(record, options, found, spoken)


def _choose_vehicle(
    record: Path, options: dict[str, Any], found: Open, spoken: Language
) -> Vehicle:
    """The one that was named; else the one that is chosen, where there are any."""
    if options["of_vehicle"] is not None:
        return options["of_vehicle"], None
    with own_record(record) as database:
        which = which_vehicle(database, None)
    if not which.offered:
        return None, None
    try:
        return ask_vehicle(found, which, spoken)
    except (VehicleLeft, SoundEnded) as error:
        tell(say_now().words.problem(error))
        return None, None


@contextmanager
def spelling(
    record: Path, options: dict[str, Any], spoken: Language
) -> Iterator[tuple[SpeltAloud, Open]]:
    """Ears and voice to spell to, as they were chosen."""

    def told(message: Message) -> None:
        tell(spoken.show(message))

    chosen = room_options({**options, "record": record})
    with devices_for_spelling(chosen["ears"], chosen["voice"], spoken, settings_now(), told) as (
        found,
        alphabet,
    ):
        yield SpeltAloud(Aloud(found.ears, found.voice, spoken, tell), alphabet), found


def _ask(options: dict[str, Any]) -> None:
    say = say_now()
    for name in TOLD:
        if options[name]:
            continue
        while True:
            told = click.prompt(say(f"car-{name}"), default="", show_default=False)
            try:
                options[name] = _entered(name, told)
            except CompanionError as error:
                tell(f"  {say.words.problem(error)}")
                continue
            vin = options["vin"] if name == "vin" else ""
            if not vin or agreed(f"  {say('visit-is-right', told=' '.join(in_groups(vin)))}", say):
                break
            tell(f"  {say('visit-once-more')}")


def _entered(name: str, told: str) -> Any:
    """The answer as it is kept; raises CompanionError for one that does not do."""
    if not told.strip():
        return None if name == "odometer_km" else ""
    if name == "odometer_km":
        digits = told.replace(" ", "").replace(".", "").replace(",", "")
        if not digits.isdecimal():
            raise CompanionError(
                f"found {told!r}; wanted: whole kilometres", said="no-kilometres", found=told
            )
        return int(digits)
    if name == "vin":
        return vin_of(told, check_digit=settings_now().vin_check_digit)
    return told


@visit.command(name="change")
@click.argument("name")
@car_options
@sensors_option
@language_option
@record_option
def change_visit(name: str, record: Path, **options: Any) -> None:
    """Correct what was entered about a visit's car, or list its sensors anew; NAME is the visit,
    or last.

    \b
    Example: companion visit change last --odometer-km 48212
    Example: companion visit change last --sensors front_radar,surround_mats
    """
    car, sensors = car_of(options), sensors_of(options["sensors"], options["language"])
    if not car.is_told and not sensors:
        raise click.UsageError(say_now()("visit-nothing-to-change"))
    with own_record(record) as database:
        cars = CarStore(cars_folder(record))
        found = find_visit(database, name)
        if car.is_told:
            change_car(database, cars, found, _together(cars.get(found.car_sha256), car))
        if sensors:
            keep_sensors(database, found, sensors)
    tell(say_now()("visit-changed", visit=found.id))


@visit.command(name="close")
@click.argument("name", default="last")
@record_option
def close(name: str, record: Path) -> None:
    """Close a visit: the car left, and nothing that was true of it is taken over any more.

    \b
    Example: companion visit close last
    """
    with own_record(record) as database:
        found = find_visit(database, name)
        left = left_of(database, found)
        close_visit(database, found)
    tell(say_now()("visit-closed", visit=found.id))
    for told in left.told(say_now()):
        tell(told)


@visit.command(name="codes")
@click.argument("name", default="last")
@click.option(
    "--before",
    multiple=True,
    help="A code that was stored before the work; can be given more than once.",
)
@click.option(
    "--after",
    multiple=True,
    help="A code that is stored after the work; can be given more than once.",
)
@click.option("--none-after", is_flag=True, help="No code is stored after the work.")
@click.option("--spell", type=click.Choice(["before", "after"]), help="Ask for these, spelled.")
@ears_and_voice
@language_option
@record_option
def codes(
    name: str,
    before: tuple[str, ...],
    after: tuple[str, ...],
    none_after: bool,
    spell: str | None,
    record: Path,
    **options: Any,
) -> None:
    """Keep the fault codes of a visit as text, before and after; the hand-over shows them.

    \b
    Example: companion visit codes last --before "U0A1B not aimed" --none-after
    Example: companion visit codes last --spell before --ears own --voice speaker
    """
    if spell:
        spelled = _codes_aloud(record, options, spell)
        before, after = (
            (*before, *(spelled if spell == "before" else ())),
            (*after, *(spelled if spell == "after" else ())),
        )
    if none_after and after:
        raise click.UsageError(say_now()("visit-codes-contradict"))
    if not (before or after or none_after):
        raise click.UsageError(say_now()("visit-no-code"))
    with own_record(record) as database:
        found = find_visit(database, name)
        if before:
            keep_codes(database, found, "before", before)
        if after or none_after:
            keep_codes(database, found, "after", after)
    tell(say_now()("visit-codes-kept", visit=found.id))


def _codes_aloud(record: Path, options: dict[str, Any], when: str) -> tuple[str, ...]:
    """One code after the other, until none is spelled any more."""
    spoken, found = assembly.language(options["language"]), list[str]()
    with spelling(record, options, spoken) as (aloud, _):
        try:
            while code := aloud.text(f"spell-code-{when}"):
                found.append(code)
        except (SpellingLeft, SoundEnded) as error:
            tell(say_now().words.problem(error))
    return tuple(found)


@visit.command(name="list")
@click.argument("words", default="")
@click.option("--limit", type=click.IntRange(1), default=20, show_default=True)
@record_option
def list_visits(words: str, limit: int, record: Path) -> None:
    """List visits, the latest first: all, or those whose order, plate or VIN holds WORDS.

    \b
    Example: companion visit list "EX 123"
    """
    say = say_now()
    with open_archive(record) as archive:
        found = find_visits(archive, words)
        for one in found[:limit]:
            tell(line_of_visit(one, say))
    if not found:
        tell(say("visit-none-found", words=words) if words else say("visit-none"))


def tell_what_is_left(left: Left, visit: str, say: Wording, indent: str = "") -> None:
    """Sensors that are still to be set, what is not done at the end, and the command for that."""
    for told in left.told(say):
        tell(f"{indent}{told}")
    if left.undone:
        tell(f"{indent}{say('visit-left-command', visit=visit)}")


def line_of_visit(one: VisitSeen, say: Wording) -> str:
    """A visit in one line: its name, when, and which car."""
    car = one.car or Car()
    told = ", ".join(filter(None, (car.order, car.plate, car.vin))) or say("visit-car-not-known")
    opened = f"{day_and_time(one.visit.opened_utc)} {time_zone()}"
    return f"{one.visit.id}  {opened}  {_state(one.visit, say)}  {told}"


def _state(visit: Visit, say: Wording) -> str:
    return say("visit-state-closed" if visit.is_closed else "visit-state-open")


@visit.command(name="show")
@click.argument("name", default="last")
@record_option
def show_visit(name: str, record: Path) -> None:
    """Show a visit: its car, its jobs, and the same car's visits before.

    \b
    Example: companion visit show last
    """
    say = say_now()
    with open_archive(record) as archive:
        found = find_visit(archive.record, name)
        car = CarStore(cars_folder(record)).get(found.car_sha256) or Car()
        opened = f"{day_and_time(found.opened_utc)} {time_zone()}"
        tell(say("visit-shown", visit=found.id, state=_state(found, say), opened=opened))
        width = max(len(say(f"car-{field}")) for field in TOLD)
        for field, value in car.rows():
            tell(f"  {say(f'car-{field}'):{width}}  {value}")
        if found.vehicle is not None:
            tell(f"  {say('car-vehicle'):{width}}  {found.vehicle.vehicle} ({found.vehicle.file})")
        if not car.is_told:
            tell(f"  {say('visit-nothing-known')}")
        for job in jobs_of_visit(archive, found.id):
            told = say("line-title-and-value", title=job.job, value=say.ending(job.result))
            tell(f"  {job.session_id}  {told}")
        if not found.is_closed:
            tell_what_is_left(left_of(archive.record, found), found.id, say, "  ")
        key = car.vin or car.plate
        before = [v for v in find_visits(archive, key) if v.visit.id != found.id] if key else []
        for one in before:
            tell(say("visit-before", told=line_of_visit(one, say)))


@visit.command(name="compare")
@click.argument("name", default="last")
@language_option
@record_option
def compare_visit(name: str, record: Path, language: str) -> None:
    """Lay a visit beside the same car's last one: what differs is marked.

    \b
    Example: companion visit compare last
    """
    # Only this one shows what the pages do.
    from companion.browse.comparing import columns_of, rows_of
    from companion.browse.record_source import RecordReading

    spoken, say = assembly.language(language), wording_in(language)
    console, together = Console(highlight=False), 0
    with open_archive(record) as archive:
        reading = RecordReading(archive, ClipStore(clips_folder(record)))
        found = find_visit(archive.record, name)
        for job in jobs_of_visit(archive, found.id):
            before = last_time(archive, job.session_id)
            if before is None:
                continue
            together += 1
            named = {"job": job.job, "before": before.opened_utc[:10], "this": job.opened_utc[:10]}
            tell(spoken.show(Message("visit-beside", named)))
            for each in (before, job):
                if not each.clock_trusted:
                    clock = Message("visit-clock", {"session": each.session_id})
                    tell(spoken.show(clock))
            columns = columns_of(reading, (before.session_id, job.session_id))
            table = Table("", say("column-what"), *(c.opened_utc[:10] for c in columns))
            for row in rows_of(columns, say):
                table.add_row("≠" if row.differs else "", row.name, *row.values)
            console.print(table)
    if not together:
        tell(spoken.show(Message("visit-first-time")))


@visit.command(name="forget")
@retention_options("keep_cars_days", "Whatever is known about cars of older visits is deleted.")
@record_option
def forget(days: int, why: str, yes: bool, record: Path) -> None:
    """Delete order, plate, VIN and complaint of old visits; their jobs stay in the record.

    \b
    Example: companion visit forget
    """
    say = say_now()
    if not yes:
        require_agreed(say("visit-really-forget", days=days), say)
    with own_record(record) as database:
        gone = let_cars_go(database, CarStore(cars_folder(record)), days, why)
    tell(say("visit-forgotten", count=len(gone)))


COMMANDS = (visit,)
