"""Which vehicle a job or a visit is for: named in the command, taken over, or asked."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import click
from click.core import ParameterSource

from companion.base.yaml_text import parse
from companion.commands.saying import tell
from companion.facts.office import VisitVehicle
from companion.facts.opening import Opened, VehicleChoice
from companion.job.loader import read_text
from companion.job.own_files import OwnFile, listed
from companion.job.setup_files import Vehicle
from companion.language.language import Language
from companion.record.database import Database
from companion.record.visits import Visit
from companion.runtime.aloud import Aloud
from companion.runtime.live_job import Open
from companion.runtime.vehicle_aloud import VehicleAloud
from companion.settings.reading import SettingsRead

MOST_JOBS = 40
"""So many jobs back is looked for the vehicle that was worked on last."""


@dataclass(frozen=True)
class Which:
    """What is known of the vehicle before anybody is asked.

    `path`: the file of the visit; None where nobody said. `offered`: the files to choose from.
    """

    path: Path | None
    offered: tuple[OwnFile, ...]
    last: int = 0


def shop_vehicles() -> tuple[OwnFile, ...]:
    """The shop's own vehicle files and those published to this box, by name, without examples."""
    read = click.get_current_context().obj
    published = read.shared.published if isinstance(read, SettingsRead) else None
    own = listed("vehicle", published.files_of("vehicle") if published is not None else ())
    return tuple(one for one in own if one.told and not one.example)


def is_told() -> bool:
    """Whether the vehicle was named: in the command, in the environment or in the settings."""
    source = click.get_current_context().get_parameter_source("vehicle_file")
    return source is not ParameterSource.DEFAULT


def which_vehicle(database: Database, visit: Visit | None) -> Which:
    """The visit's vehicle, or those that there are to choose from."""
    offered = shop_vehicles()
    by_hash = {sha256_of(one.path): one for one in offered}
    wanted = _of_visit(database, visit) if visit is not None else ""
    if (found := by_hash.get(wanted)) is not None:
        return Which(found.path, ())
    last = by_hash.get(_last(database))
    return Which(None, offered, offered.index(last) + 1 if last is not None else 0)


def ask_vehicle(found: Open, which: Which, language: Language) -> tuple[Path, VehicleChoice]:
    """Ask aloud and on the screen until a yes is said to one; raises VehicleLeft for none."""
    talk = Aloud(found.ears, found.voice, language, tell)
    chosen, choice = VehicleAloud(talk, which.offered, found.lacking, which.last).choose()
    return chosen.path, choice


def of_the_visit(visit: str, path: Path, choice: VehicleChoice | None = None) -> VisitVehicle:
    """What the record keeps of it: the file, and by which words it was chosen."""
    vehicle = parse(read_text(path), str(path), Vehicle)
    return VisitVehicle(
        visit=visit,
        vehicle=vehicle.name,
        file=path.stem,
        file_sha256=sha256_of(path),
        offered=choice.offered if choice is not None else (),
        heard=choice.heard if choice is not None else "",
        ears=choice.ears if choice is not None else "",
    )


def sha256_of(path: Path) -> str:
    """Of the file as it is."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _of_visit(database: Database, visit: Visit) -> str:
    if visit.vehicle is not None:
        return visit.vehicle.file_sha256
    return next((one.file_hashes.get("vehicle", "") for one in _jobs(database, visit.id)), "")


def _last(database: Database) -> str:
    return next((one.file_hashes.get("vehicle", "") for one in _jobs(database)), "")


def _jobs(database: Database, visit: str = "") -> Iterable[Opened]:
    """How the latest jobs were opened, the newest first: of the visit, or all."""
    for place, session in enumerate(database.newest_first()):
        if place >= MOST_JOBS:
            return
        first = next(database.events(session.session_id), None)
        if first is None or not isinstance(first.fact, Opened) or first.fact.rehearsal:
            continue
        if visit in ("", first.fact.visit):
            yield first.fact
