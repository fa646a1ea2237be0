"""The shop's own vehicles, bays and mounts: made by questions, listed, shown, checked, copied."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import yaml

from companion.commands.grouping import Group
from companion.commands.own_questions import PARTS, PICTURES, QUESTIONS, SCREW, Asked
from companion.errors import CompanionError, FileProblem
from companion.job.loader import read_text, refuse_implausible
from companion.job.own_files import MODELS, Kind, find, listed, own_path
from companion.job.plausible import implausible
from companion.job.setup_files import Header, MountModel, Range
from companion.outputs import write_output
from companion.yaml_text import parse

UNITS = {"_mm_per_m": "mm/m", "_mm": "mm", "_deg": "degrees", "_turns": "turns", "_ghz": "GHz"}
IN_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4}
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([a-zA-Z°/]*)")
INSIST = "!"


class Unclear(CompanionError):
    """An answer that does not do; the message says what is wanted."""


def unit_of(field: str) -> str:
    """The unit in a field's name, as it is said; "" where it has none."""
    return next((told for ending, told in UNITS.items() if field.endswith(ending)), "")


def number_of(told: str, unit: str) -> float:
    """The figure in the field's unit; a length may be told in mm, cm, m or inches.

    Raises Unclear for anything else.
    """
    found = _NUMBER.fullmatch(told.strip())
    if found is None:
        raise Unclear(f"found {told.strip()!r}; wanted: a number{f' in {unit}' if unit else ''}")
    value, suffix = float(found[1].replace(",", ".")), found[2].lower()
    if not suffix or suffix == unit.lower() or (unit == "degrees" and suffix in ("°", "deg")):
        return value
    if unit == "mm" and suffix in IN_MM:
        return round(value * IN_MM[suffix], 4)
    raise Unclear(f"found the unit {suffix!r}; wanted: a number in {unit or 'no unit'}")


def _put(data: dict[str, Any], field: str, value: object) -> None:
    *parents, last = field.split(".")
    for name in parents:
        data = data.setdefault(name, {})
    data[last] = value


def _is_range(model: type[Header], field: str) -> bool:
    """Whether the field takes two figures, the lowest and the highest."""
    kind: Any = model
    for name in field.split("."):
        fields = getattr(kind, "model_fields", None)
        if fields is None or name not in fields:
            return False
        annotation = fields[name].annotation
        kind = next((a for a in getattr(annotation, "__args__", ()) if isinstance(a, type)), None)
        kind = kind if hasattr(kind, "model_fields") else annotation
    return kind is Range


class _Interview:
    """The questions of one file, each asked until its answer does."""

    def __init__(self, kind: Kind, data: dict[str, Any]) -> None:
        self.kind, self.model, self.data = kind, MODELS[kind], data
        self.insisted: list[str] = []

    def ask(self, asked: Asked, number: str, name: str = "") -> None:
        """One figure; `name`: the field as the file writes it, where it stands in a list."""
        field = name or asked.field
        unit = unit_of(asked.field)
        hints = [", ".join(asked.choices) and " or ".join(asked.choices), unit, asked.where]
        hint = "; ".join(filter(None, hints))
        otherwise = "" if asked.otherwise is None else f" [{asked.otherwise}]"
        while True:
            told = click.prompt(
                f"{number}  {asked.what}{f' ({hint})' if hint else ''}{otherwise}",
                default="",
                show_default=False,
            ).strip()
            try:
                value = self._value(asked, told, unit)
                insists = told.endswith(INSIST)
                self._look(field, value, insists=insists)
                return
            except Unclear as error:
                click.echo(f"    {error}")

    def _value(self, asked: Asked, told: str, unit: str) -> object:
        told = told.removesuffix(INSIST).strip()
        if not told:
            if asked.otherwise is None:
                raise Unclear("found nothing; wanted: an answer")
            return asked.otherwise
        if asked.choices:
            if told not in asked.choices:
                raise Unclear(f"found {told!r}; wanted: {' or '.join(asked.choices)}")
            return told
        if asked.field in ("name", "shop"):
            return " ".join(told.split())
        if _is_range(self.model, asked.field):
            ends = [part for part in re.split(r"\s+to\s+|\s*;\s*|\s+", told) if part]
            if len(ends) != 2:
                raise Unclear(f"found {told!r}; wanted: two figures, such as 370 to 400")
            low, high = (number_of(end, unit) for end in ends)
            if low >= high:
                raise Unclear(f"found {low:g} to {high:g}; wanted: the lower one first")
            return {"low": low, "high": high}
        return number_of(told, unit)

    def _look(self, field: str, value: object, *, insists: bool) -> None:
        """Take it, or say why it can only be a slip; "!" behind it insists."""
        before = yaml.safe_load(yaml.safe_dump(self.data))
        _put_in(self.data, field, value)
        problem = self._problem(field)
        if problem is None:
            return
        if insists and problem[1]:
            self.insisted += problem[1]
            return
        self.data.clear()
        self.data.update(before)
        way_out = f" (where it is right all the same: put {INSIST} behind it)" if problem[1] else ""
        raise Unclear(problem[0] + way_out)

    def _problem(self, field: str) -> tuple[str, list[str]] | None:
        """What is wrong with the field by itself: what to say, and what could be insisted on."""
        side = _wrong_side(self.data, field)
        if side:
            return side, []
        partly = self.model.model_construct(**_as_parts(self.model, self.data))
        slips = [s for s in implausible(partly, self.kind) if _about(s.field, field)]
        slips = [s for s in slips if s.field not in self.insisted]
        if slips:
            return slips[0].told, [s.field for s in slips]
        return None


def _wrong_side(data: dict[str, Any], field: str) -> str:
    """A left screw stands to the left of the pivot, which is y above 0."""
    found = re.fullmatch(r"screws\[(\d+)\]\.y_mm", field)
    if found is None:
        return ""
    screw = data["screws"][int(found[1]) - 1]
    words, y_mm = str(screw.get("name", "")).casefold().split(), screw["y_mm"]
    if ("left" in words and y_mm < 0) or ("right" in words and y_mm > 0):
        way = "above" if "left" in words else "below"
        return (
            f"found {y_mm:g} for the {screw['name']}; wanted: {way} 0, as y grows to the car's left"
        )
    return ""


def _put_in(data: dict[str, Any], field: str, value: object) -> None:
    found = re.fullmatch(r"screws\[(\d+)\]\.(\w+)", field)
    if found is None:
        _put(data, field, value)
        return
    screws = data.setdefault("screws", [])
    while len(screws) < int(found[1]):
        screws.append({})
    screws[int(found[1]) - 1][found[2]] = value


def _about(told: str, field: str) -> bool:
    return told == field or told.startswith(f"{field}.")


class _Partly:
    """Figures of a file that is not whole yet: what is not there is None."""

    def __init__(self, fields: dict[str, Any]) -> None:
        self.__dict__.update(fields)

    def __getattr__(self, name: str) -> None:
        return None


def _as_parts(model: type[Header], data: dict[str, Any]) -> dict[str, Any]:
    """The data as `implausible` looks at it; figures that were not asked yet stand as usual."""
    told: dict[str, Any] = {"unusual": ()}
    for name, value in data.items():
        told[name] = _part(value)
    for name in ("front_track_mm", "rear_track_mm"):
        other = "rear_track_mm" if name == "front_track_mm" else "front_track_mm"
        told.setdefault(name, told.get(other, 1500.0))
    told.setdefault("sensor_left_of_centre_mm", 0.0)
    told.setdefault("sensor_ahead_of_front_axle_mm", 0.0)
    told.setdefault("wheelbase_mm", 2700.0)
    return told


def _part(value: Any) -> Any:
    if isinstance(value, dict) and set(value) == {"low", "high"}:
        return Range(**value)
    if isinstance(value, dict):
        return _Partly({name: _part(item) for name, item in value.items()})
    if isinstance(value, list):
        return tuple(_part(item) for item in value)
    return value


def _written(kind: Kind, data: dict[str, Any]) -> str:
    """The file as a person would write it: each figure with its unit in its name, in order."""
    head = f"# Made by 'companion {kind} new'. Figures as entered by the shop.\n"
    return head + yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=100)


def _save(kind: Kind, name: str, text: str, *, force: bool) -> Path:
    path = own_path(kind, name)
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)

    def write(out: Path) -> None:
        out.write_text(text, encoding="utf-8")

    write_output(path, write, lambda first: False, force=force)
    return path


def _checked(kind: Kind, path: Path) -> Header:
    """The file, read and looked at; raises FileProblem naming field and line."""
    file = parse(read_text(path), str(path), MODELS[kind])
    refuse_implausible(file, kind, path)
    return file


def _new(kind: Kind, name: str, force: bool) -> None:
    path = own_path(kind, name)
    if path.exists() and not force:
        raise click.UsageError(f"{path} is there already; choose another name, or say --force.")
    click.echo(f"\n{PICTURES[kind]}\nLengths in mm; cm, m and in are taken where written behind.\n")
    data: dict[str, Any] = {"kind": kind}
    interview = _Interview(kind, data)
    interview.data["name"] = click.prompt("What is it called in reports", default=name)
    data["example"] = False
    parts = {
        part: click.confirm(f"Has it {told}?", default=part == "aim")
        for part, told in PARTS.items()
        if kind == "vehicle"
    }
    asked = [one for one in QUESTIONS[kind] if not one.part or parts[one.part]]
    for number, one in enumerate(asked, 1):
        interview.ask(one, f"{number}/{len(asked)}")
    if kind == "mount":
        for place in range(1, 3 + click.confirm("Three screws and no pivot?", default=False)):
            for one in SCREW:
                interview.ask(one, f"screw {place}", f"screws[{place}].{one.field}")
            data["screws"][place - 1] = {
                "id": _identifier(data["screws"][place - 1]["name"]),
                **data["screws"][place - 1],
            }
    if interview.insisted:
        data["unusual"] = interview.insisted
    text = _written(kind, data)
    try:
        file = parse(text, str(path), MODELS[kind])
        refuse_implausible(file, kind, path)
    except FileProblem as error:
        kept = _save(kind, f"{name}-unfinished", text, force=True)
        raise FileProblem(
            f"{error}\nWhat was entered is kept in {kept}: put it right there."
        ) from error
    _save(kind, name, text, force=force)
    click.echo(f"\nWritten: {path}\nUse it: companion start --{kind} {name}")


def _identifier(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_") or "screw"


def _list(kind: Kind) -> None:
    for one in listed(kind):
        told = one.told or f"not readable: companion {kind} check {one.name}"
        mark = "  EXAMPLE" if one.example else ""
        click.echo(f"{one.name:28s} {told}{mark}")


def _show(kind: Kind, asked: str) -> None:
    path = find(kind, asked)
    click.echo(f"{path}\n\n{PICTURES[kind]}")
    file = parse(read_text(path), str(path), MODELS[kind])
    if file.example:
        click.echo("EXAMPLE: these figures are no maker's values.")
    for one in QUESTIONS[kind]:
        value: Any = file
        for name in one.field.split("."):
            value = getattr(value, name, None)
        if value is None:
            continue
        told = f"{value.low:g} to {value.high:g}" if isinstance(value, Range) else _plainly(value)
        click.echo(f"  {one.what:44s} {told} {unit_of(one.field)}".rstrip())
    for screw in file.screws if isinstance(file, MountModel) else ():
        told = ", ".join(
            f"{one.what.lower()} {_plainly(getattr(screw, one.field))}" for one in SCREW
        )
        click.echo(f"  {screw.name}: {told}")


def _plainly(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _check(kind: Kind, asked: str) -> None:
    path = find(kind, asked)
    file = _checked(kind, path)
    click.echo(f"{path}: {file.name}, nothing found that could not be right.")
    if file.example:
        click.echo("It is an EXAMPLE: a report made with it says so at the top.")


def _copy(kind: Kind, asked: str, name: str, force: bool) -> None:
    source = find(kind, asked)
    text = read_text(source)
    file = parse(text, str(source), MODELS[kind])
    path = _save(kind, name, text, force=force)
    click.echo(f"Written: {path}")
    if file.example:
        click.echo(
            f"It is still marked as an example: enter your figures, then 'example: false' and a "
            f"name of its own, and check it with: companion {kind} check {name}"
        )


def _group(kind: Kind, what: str) -> click.Group:
    """The commands for one kind of file."""

    @click.group(cls=Group, name=kind, help=f"{what}\n\n\b\nExample: companion {kind} list")
    def group() -> None:
        pass

    force = click.option("--force", is_flag=True, help="Also where one of this name is there.")

    def add(name: str, text: str, run: Callable[..., None], *parameters: Any) -> None:
        command: Any = run
        for parameter in parameters:
            command = parameter(command)
        group.add_command(click.command(name=name, help=text)(command))

    def new(name: str, force: bool) -> None:
        _new(kind, name, force)

    def copy(asked: str, name: str, force: bool) -> None:
        _copy(kind, asked, name, force)

    named = click.argument("asked", metavar="NAME")
    add(
        "new",
        f"Make a {kind} file by questions; a picture shows where each figure is taken.\n\n\b\n"
        f"Example: companion {kind} new grey-one",
        new,
        force,
        click.argument("name"),
    )
    add(
        "list",
        f"List the shop's own {kind} files and the examples.\n\n\b\nExample: companion {kind} list",
        lambda: _list(kind),
    )
    add(
        "show",
        f"Show a {kind} file with its figures, units and picture.\n\n\b\n"
        f"Example: companion {kind} show grey-one",
        lambda asked: _show(kind, asked),
        named,
    )
    add(
        "check",
        f"Check a {kind} file: each figure, and the figures against each other.\n\n\b\n"
        f"Example: companion {kind} check grey-one",
        lambda asked: _check(kind, asked),
        named,
    )
    add(
        "copy",
        f"Copy a {kind} file to a new name, to be changed there.\n\n\b\n"
        f"Example: companion {kind} copy example-{kind} grey-one",
        copy,
        force,
        click.argument("name", metavar="NEW"),
        named,
    )
    return group


vehicle = _group("vehicle", "Manage the shop's vehicle files: one for each type of car.")
bay = _group("bay", "Manage the shop's bay files: its floor as surveyed, and the stand used in it.")
mount = _group("mount", "Manage the shop's mount files: the sensor's adjusting screws.")

COMMANDS = (vehicle, bay, mount)
