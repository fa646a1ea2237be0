"""Settings among the published files: which of them jobs begin with, and rules of the shop.

They stand below the box's own settings file: what that sets holds. What a box is, where it writes
and what code it runs cannot be published.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from companion.base.yaml_text import field_lines, parse
from companion.errors import FileProblem
from companion.job.loader import read_text
from companion.published.kept import Published, keys_of, newest, published_folder, version_kept
from companion.published.manifest import OF_A_JOB, SETTINGS
from companion.settings.model import Settings

FILES = {f"{kind}_file": kind for kind in OF_A_JOB}
MAY_BE_PUBLISHED = frozenset(
    {
        *FILES,
        *("language", "report_language", "keep_sound", "keep_sound_days", "keep_plate", "keep_vin"),
        *("keep_cars_days", "vin_check_digit", "floor_holds_days", "heads_hold_days"),
        *("overdue_instruments", "unchecked_stand", "voice_check"),
    }
)


@dataclass(frozen=True)
class Shared:
    """The newest published files of this box, and what their settings say.

    `trouble` says why they cannot be used; nothing of them is.
    """

    published: Published | None = None
    values: tuple[tuple[str, Any], ...] = ()
    trouble: str = ""


def shared(published_by: Path | None, folder: Path | None = None) -> Shared:
    """What was published to this box; nothing where it believes nobody."""
    if published_by is None:
        return Shared()
    try:
        found = newest(folder or published_folder(), keys_of(published_by))
        if found is None:
            return Shared()
        return Shared(found, tuple(published_settings(found.folder, found.manifest.files).items()))
    except FileProblem as error:
        return Shared(trouble=str(error))


def settings_of_version(published_by: Path | None, version: int) -> dict[str, Any]:
    """What an older version said; raises FileProblem where it is not whole any more."""
    if published_by is None:
        return {}
    found = version_kept(published_folder(), version, keys_of(published_by))
    return published_settings(found.folder, found.manifest.files)


def published_settings(folder: Path, names: Iterable[str]) -> dict[str, Any]:
    """The settings of a publication, by field; a file is named by its place in the publication.

    Raises FileProblem where it sets what cannot be published, or names a file that is not in it.
    """
    if SETTINGS not in names:
        return {}
    file = folder / SETTINGS
    text = read_text(file)
    settings = parse(text, str(file), Settings)
    given = {str(path[0]): line for path, line in field_lines(text, str(file)).items() if path}
    values = {}
    for name in Settings.model_fields:
        if name not in given or name == "kind":
            continue
        where = f"{file} line {given[name]}, {name}"
        if name not in MAY_BE_PUBLISHED:
            raise FileProblem(f"{where}: is for the box alone to set; wanted: nothing about it")
        value = getattr(settings, name)
        if name in FILES:
            told = str(value)
            if told not in names or not told.startswith(f"{OF_A_JOB[FILES[name]]}/"):
                raise FileProblem(
                    f"{where}: {told!r} is not published; wanted: such as "
                    f"{OF_A_JOB[FILES[name]]}/NAME.yaml"
                )
            value = folder / told
        values[name] = value
    return values
