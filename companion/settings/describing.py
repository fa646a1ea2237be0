"""The settings in words: for the terminal, for the documents, and as a file to start from."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from companion.job.loader import EXAMPLES
from companion.language.words import Words
from companion.settings.model import Settings
from companion.settings.reading import SettingsRead


@dataclass(frozen=True)
class Described:
    """One setting as it may be read: `wanted` is its range or its choices, with the unit."""

    name: str
    meaning: str
    wanted: str
    default: Any
    such_as: str


def described(words: Words | None = None) -> tuple[Described, ...]:
    """Every setting, in the order of the model and in the words of a language."""
    words = words or Words()
    schema = Settings.model_json_schema()["properties"]
    defaults = Settings()
    return tuple(
        Described(
            name,
            words(f"setting-{name}"),
            _wanted(name, schema[name], words),
            getattr(defaults, name),
            schema[name]["such_as"],
        )
        for name in Settings.model_fields
        if name != "kind"
    )


def shown(value: Any, words: Words | None = None) -> str:
    """A value as it would stand in the file."""
    words = words or Words()
    if value is None:
        return words("setting-is-not-set")
    if isinstance(value, Path):
        if value.is_relative_to(EXAMPLES):
            return words("setting-is-example", file=value.name)
        return str(value)
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else f"{value:g}"


def explain(read: SettingsRead, words: Words | None = None) -> str:
    """Every setting: meaning, what is wanted, default, the value now and where it came from."""
    words = words or Words()
    blocks = []
    for item in described(words):
        value = shown(getattr(read.settings, item.name), words)
        default = shown(item.default, words)
        blocks.append(
            f"{item.name} = {value}   ({origin(read, item.name, words)})\n"
            f"    {item.meaning}\n"
            f"    {words('setting-wanted', wanted=item.wanted, default=default)}"
        )
    return "\n\n".join(blocks)


def origin(read: SettingsRead, name: str, words: Words) -> str:
    """Where the value of a setting came from."""
    if name not in read.lines:
        published = read.shared.published
        if published is not None and name in dict(read.shared.values):
            return words("setting-published", version=str(published.version))
        return words("setting-by-default")
    return words("setting-from-line", file=str(read.file), line=str(read.lines[name]))


def as_json(read: SettingsRead, words: Words | None = None) -> list[dict[str, Any]]:
    """The same for programs."""
    words = words or Words()
    return [
        {
            "name": item.name,
            "meaning": item.meaning,
            "wanted": item.wanted,
            "default": _plain(item.default),
            "value": _plain(getattr(read.settings, item.name)),
            "from": origin(read, item.name, words),
        }
        for item in described(words)
    ]


def commented_file(words: Words | None = None) -> str:
    """A settings file that sets nothing: every setting stands in it as a comment."""
    words = words or Words()
    lines = [f"# {words('settings-file-head')}", "", "kind: settings", ""]
    for item in described(words):
        told = words("settings-file-line", meaning=item.meaning, wanted=item.wanted)
        lines += [f"# {told}", f"#{item.name}: {_sample(item)}", ""]
    return "\n".join(lines)


def markdown_table() -> str:
    """The table of the documents."""
    rows = ["| setting | meaning | wanted | default |", "| --- | --- | --- | --- |"]
    for item in described():
        default = "in your data folder" if item.name == "record" else shown(item.default)
        cells = (f"`{item.name}`", item.meaning, item.wanted, default)
        rows.append(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |")
    return "\n".join(rows)


def _sample(item: Described) -> str:
    """What may stand behind the setting's name: an example, else the default."""
    if item.such_as:
        return item.such_as
    text: str = yaml.safe_dump(_plain(item.default), allow_unicode=True, width=1000)
    return text.removesuffix("...\n").strip()


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, Path) else value


def _wanted(name: str, schema: dict[str, Any], words: Words) -> str:
    kinds = schema.get("anyOf", [schema])
    unit = f" {words('setting-unit-' + schema['unit'])}" if schema.get("unit") else ""
    for kind in kinds:
        if "enum" in kind:
            return ", ".join(kind["enum"])
        if kind.get("type") == "boolean":
            return words("setting-true-or-false")
        if kind.get("type") in ("number", "integer"):
            low, high = (words.decimals(f"{kind[end]:g}") for end in ("minimum", "maximum"))
            return words("setting-range", low=low, high=f"{high}{unit}")
        if kind.get("format") == "path":
            return words("setting-a-path")
        if "pattern" in schema or "pattern" in kind:
            return words("setting-a-language" if "language" in name else "setting-a-key")
    return words("setting-a-text")


__all__ = ["Described", "as_json", "commented_file", "described", "explain", "markdown_table"]
