"""The settings in words: for the terminal, for the documents, and as a file to start from."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from companion.job.loader import EXAMPLES
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


def described() -> tuple[Described, ...]:
    """Every setting, in the order of the model."""
    schema = Settings.model_json_schema()["properties"]
    defaults = Settings()
    return tuple(
        Described(
            name,
            field.description or "",
            _wanted(schema[name]),
            getattr(defaults, name),
            schema[name]["such_as"],
        )
        for name, field in Settings.model_fields.items()
        if name != "kind"
    )


def shown(value: Any) -> str:
    """A value as it would stand in the file."""
    if value is None:
        return "not set"
    if isinstance(value, Path):
        if value.is_relative_to(EXAMPLES):
            return f"the shipped example {value.name}"
        return str(value)
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else f"{value:g}"


def explain(read: SettingsRead) -> str:
    """Every setting: meaning, what is wanted, default, the value now and where it came from."""
    blocks = []
    for item in described():
        value = getattr(read.settings, item.name)
        blocks.append(
            f"{item.name} = {shown(value)}   ({read.origin(item.name)})\n"
            f"    {item.meaning}\n"
            f"    wanted: {item.wanted}; default: {shown(item.default)}"
        )
    return "\n\n".join(blocks)


def as_json(read: SettingsRead) -> list[dict[str, Any]]:
    """The same for programs."""
    return [
        {
            "name": item.name,
            "meaning": item.meaning,
            "wanted": item.wanted,
            "default": _plain(item.default),
            "value": _plain(getattr(read.settings, item.name)),
            "from": read.origin(item.name),
        }
        for item in described()
    ]


def commented_file() -> str:
    """A settings file that sets nothing: every setting stands in it as a comment."""
    lines = ["# Settings of the bay companion. Take the '#' away from what you set.", ""]
    lines += ["kind: settings", ""]
    for item in described():
        lines += [f"# {item.meaning} (wanted: {item.wanted})", f"#{item.name}: {_sample(item)}", ""]
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


def _wanted(schema: dict[str, Any]) -> str:
    kinds = schema.get("anyOf", [schema])
    unit = f" {schema['unit']}" if schema.get("unit") else ""
    for kind in kinds:
        if "enum" in kind:
            return ", ".join(kind["enum"])
        if kind.get("type") == "boolean":
            return "true or false"
        if kind.get("type") in ("number", "integer"):
            return f"{kind['minimum']:g} to {kind['maximum']:g}{unit}"
        if kind.get("format") == "path":
            return "a path"
        if "pattern" in schema or "pattern" in kind:
            return "a key's name"
    return "a text"


__all__ = ["Described", "as_json", "commented_file", "described", "explain", "markdown_table"]
