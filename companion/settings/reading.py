"""Finds and reads the settings file, and remembers where each value came from."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from companion.base.yaml_text import explain_values, field_lines, parse
from companion.errors import FileProblem
from companion.job.loader import read_text
from companion.settings.model import Settings
from companion.settings.published import Shared, shared


def settings_path() -> Path:
    """Where the settings file stands when nobody says otherwise (the XDG configuration folder)."""
    configuration = os.environ.get("XDG_CONFIG_HOME") or str(Path.home() / ".config")
    return Path(configuration) / "bay-companion" / "settings.yaml"


@dataclass(frozen=True)
class SettingsRead:
    """The settings with the file that they were read from (None: the defaults) and its lines.

    `shared`: the files that were published to this box; what their settings say holds where the
    box's own file says nothing.
    """

    settings: Settings = field(default_factory=Settings)
    file: Path | None = None
    lines: Mapping[str, int] = field(default_factory=dict)
    shared: Shared = field(default_factory=Shared)

    def given(self) -> dict[str, Any]:
        """What the file sets, and below it what was published, by field."""
        own = {name: getattr(self.settings, name) for name in self.lines}
        return {**dict(self.shared.values), **own}


def find_settings(asked: Path | None = None) -> SettingsRead:
    """The settings of the file asked for, else of the usual place if there is one, else defaults.

    Those that were published to this box stand below the file's. Raises FileProblem naming file,
    line, field, what was found and what is wanted.
    """
    if asked is not None:
        return _with_shared(read_settings(asked))
    usual = settings_path()
    return _with_shared(read_settings(usual)) if usual.exists() else SettingsRead()


def _with_shared(read: SettingsRead) -> SettingsRead:
    found = shared(read.settings.published_by)
    with_it = replace(read, shared=found)
    return replace(with_it, settings=read.settings.model_copy(update=with_it.given()))


def read_settings(file: Path) -> SettingsRead:
    """The settings of one file; raises FileProblem as `find_settings` does."""
    text = read_text(file)
    settings = parse(text, str(file), Settings)
    lines = {
        str(path[0]): line for path, line in field_lines(text, str(file)).items() if len(path) == 1
    }
    lines.pop("kind", None)
    placed = {
        name: (file.parent / value.expanduser()).absolute()
        for name in lines
        if isinstance(value := getattr(settings, name), Path)
    }
    return SettingsRead(settings.model_copy(update=placed), file, lines)


def with_options(settings: Settings, options: Mapping[str, Any]) -> Settings:
    """The settings where options of the command line, by field, take their place.

    Raises FileProblem where an option's value is none that the settings may have.
    """
    try:
        return Settings.model_validate({**settings.model_dump(), **options})
    except ValidationError as error:
        raise FileProblem(explain_values(error)) from error
