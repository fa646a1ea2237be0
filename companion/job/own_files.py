"""The shop's own vehicle, bay, stand and mount files, found by name.

A file is called by its own name without the ending, or by the `name` that stands in it; capitals,
spaces and hyphens do not matter. What looks like a path is taken as one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from companion.base.yaml_text import parse
from companion.errors import CompanionError, FileProblem
from companion.job.loader import EXAMPLES, read_setup, read_text
from companion.job.own_folder import Kind, own_folder
from companion.job.setup_files import Bay, Header, MountModel, StandFile, Vehicle

MODELS: dict[Kind, type[Header]] = {
    "vehicle": Vehicle,
    "bay": Bay,
    "stand": StandFile,
    "mount": MountModel,
}
_EXAMPLES: dict[Kind, tuple[str, ...]] = {
    "vehicle": ("vehicle",),
    "bay": ("bay",),
    "stand": ("stand",),
    "mount": ("mount", "mount_three_screws"),
}
SHIPPED_JOBS = (
    "front-radar",
    "forward-camera",
    "rear-corner-radar",
    "surround-mats",
    "visit-end",
)
"""The jobs that ship, as they are named; the check of the stand has a command of its own."""
NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,59}")


class NoSuchFile(CompanionError):
    """No file of this name; the message says which there are."""

    exit_code = 3


@dataclass(frozen=True)
class OwnFile:
    """One file of the shop, or one that ships. `told`: the `name` in it, "" where it is broken."""

    name: str
    path: Path
    told: str
    example: bool


def own_path(kind: Kind, name: str) -> Path:
    """Where a file of this name stands or will; raises NoSuchFile for what is no name."""
    if not NAME.fullmatch(name):
        raise NoSuchFile(
            f"{kind} {name!r}: wanted: a short name of small letters, digits, - and _, such as "
            "'grey-hatchback'",
            said="no-file-name",
            kind=kind,
            name=name,
        )
    return own_folder(kind) / f"{name}.yaml"


def shipped_job(name: str) -> Path:
    """The file of a job that ships, by its name in `SHIPPED_JOBS`."""
    return EXAMPLES / f"{name.replace('-', '_')}.yaml"


def find_job(called: str) -> Path:
    """A job file by its path, or one that ships by its name. Raises NoSuchFile for neither.

    Capitals, blanks, hyphens and underscores do not matter; a file that is there goes before.
    """
    path = Path(called)
    name = called.strip().lower().replace("_", "-").replace(" ", "-")
    if name in SHIPPED_JOBS and not path.is_file():
        return shipped_job(name)
    if path.suffix or "/" in called or path.exists():
        return path
    raise NoSuchFile(
        f"no job {called!r}; wanted: one of {', '.join(SHIPPED_JOBS)}, or a file such as "
        "my_job.yaml",
        said="no-job",
        name=called,
        known=", ".join(SHIPPED_JOBS),
    )


def listed(kind: Kind, beside: Iterable[Path] = ()) -> tuple[OwnFile, ...]:
    """The shop's own files and those `beside` them, by name; then the shipped examples."""
    own = sorted(own_folder(kind).glob("*.yaml")) if own_folder(kind).is_dir() else []
    own = sorted((*own, *beside), key=lambda path: path.stem)
    shipped = [EXAMPLES / f"{name}.yaml" for name in _EXAMPLES[kind]]
    return tuple(_seen(kind, path, shipped=path in shipped) for path in (*own, *shipped))


def _seen(kind: Kind, path: Path, *, shipped: bool) -> OwnFile:
    name = f"example-{path.stem.replace('_', '-')}" if shipped else path.stem
    try:
        file = read_file(kind, path)
    except FileProblem:
        return OwnFile(name, path, "", example=False)
    return OwnFile(name, path, file.name, file.example)


def read_file(kind: Kind, path: Path) -> Header:
    """The file as its model, a bay with its stand; raises FileProblem naming file and field."""
    return read_setup(kind, path, MODELS[kind])


def find(kind: Kind, asked: str) -> Path:
    """The file of this name, or at this path. Raises NoSuchFile naming those that there are."""
    path = Path(asked)
    if path.exists() or "/" in asked or path.suffix in (".yaml", ".yml"):
        return path
    files, wanted = listed(kind), _plain(asked)
    by_name = [one.path for one in files if _plain(one.name) == wanted]
    by_told = [one.path for one in files if one.told and _plain(one.told) == wanted]
    for found in (by_name, by_told):
        if len(found) == 1:
            return found[0]
    there = ", ".join(one.name for one in files)
    if by_told:
        raise NoSuchFile(
            f"{kind} {asked!r}: several files have that name; wanted: one of {there}",
            said="files-called-that",
            kind=kind,
            name=asked,
            there=there,
        )
    raise NoSuchFile(
        f"no {kind} {asked!r}; wanted: one of {there}, or a file such as my_{kind}.yaml "
        f"(make one: companion {kind} new)",
        said="no-such-file",
        kind=kind,
        name=asked,
        there=there,
    )


def mount_of(vehicle: Path) -> Path | None:
    """The mount of this vehicle's radar: the one that its file names, or one called as it is.

    None where neither is there. Raises NoSuchFile for a name that no mount has.
    """
    file = parse(read_text(vehicle), str(vehicle), Vehicle)
    if file.mount is not None:
        beside = vehicle.parent / file.mount
        return beside if beside.is_file() else find("mount", file.mount)
    own = (one for one in listed("mount") if not one.example)
    return next((one.path for one in own if one.name == vehicle.stem), None)


def _plain(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())
