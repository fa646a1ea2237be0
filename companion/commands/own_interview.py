"""The questions of a vehicle, bay, stand or mount file, each asked until its answer does."""

from __future__ import annotations

import re
from typing import Any

import click
import yaml

from companion.commands.own_questions import QUESTIONS, SCREW, Asked
from companion.commands.saying import tell
from companion.errors import CompanionError
from companion.facts.message import Message
from companion.job.own_files import MODELS
from companion.job.own_folder import Kind
from companion.job.plausible import implausible
from companion.job.setup_files import Header, Range
from companion.report.wording import Wording

UNITS = ("mm_per_m", "mm", "deg", "turns", "ghz")
"""The ids of units as a field's name ends with them; the longest first."""
DEGREES = ("°", "deg", "degrees")
IN_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4}
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([a-zA-Z°/]*)")
INSIST = "!"
CHOICES = {
    choice for asked in (*QUESTIONS.values(), SCREW) for one in asked for choice in one.choices
}


class Unclear(CompanionError):
    """An answer that does not do; the message says what is wanted."""


def unit_of(field: str) -> str:
    """The id of the unit in a field's name; "" where it has none."""
    return next((unit for unit in UNITS if field.endswith(f"_{unit}")), "")


def number_of(told: str, unit: str, written: str = "") -> float:
    """The figure in the field's unit; a length may be told in mm, cm, m or inches.

    `written`: the unit as the language writes it. Raises Unclear for anything else.
    """
    told, written = told.strip(), written or unit
    found = _NUMBER.fullmatch(told)
    if found is None:
        if not unit:
            raise Unclear(f"found {told!r}; wanted: a number", said="no-number", found=told)
        raise Unclear(
            f"found {told!r}; wanted: a number in {written}",
            said="no-number-in",
            found=told,
            unit=written,
        )
    value, suffix = float(found[1].replace(",", ".")), found[2].lower()
    if suffix in ("", written.lower()) or (unit == "deg" and suffix in DEGREES):
        return value
    if unit == "mm" and suffix in IN_MM:
        return round(value * IN_MM[suffix], 4)
    raise Unclear(
        f"found the unit {suffix!r}; wanted: a number in {written}",
        said="another-unit",
        found=suffix,
        unit=written,
    )


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


class Interview:
    """The questions of one file, each asked until its answer does."""

    def __init__(self, kind: Kind, data: dict[str, Any], say: Wording) -> None:
        self.kind, self.model, self.data, self.say = kind, MODELS[kind], data, say
        self.insisted: list[str] = []

    def ask(self, asked: Asked, number: str, name: str = "") -> None:
        """One figure; `name`: the field as the file writes it, where it stands in a list."""
        field = name or asked.field
        choices = tuple(self._choice(each) for each in asked.choices)
        hints = [
            self._one_of(choices) if choices else "",
            written_unit(asked.field, self.say),
            asked.where and self.say(f"where-{asked.where}"),
        ]
        hint = "; ".join(filter(None, hints))
        otherwise = "" if asked.otherwise is None else f" [{self._choice(asked.otherwise)}]"
        what = asked_in_words(self.kind if not name else "screw", asked, self.say)
        while True:
            told = click.prompt(
                f"{number}  {what}{f' ({hint})' if hint else ''}{otherwise}",
                default="",
                show_default=False,
            ).strip()
            try:
                value = self._value(asked, told)
                if value != asked.left_out:
                    self._look(field, value, insists=told.endswith(INSIST))
                return
            except Unclear as error:
                tell(f"    {self.say.words.problem(error)}")

    def _choice(self, told: object) -> str:
        """A choice as the language writes it; a figure as it is."""
        id_ = f"file-choice-{told}"
        return self.say(id_) if self.say.words.has(id_) else str(told)

    def _one_of(self, choices: tuple[str, ...]) -> str:
        return self.say("files-one-of", choices=choices)

    def _value(self, asked: Asked, told: str) -> object:
        told = told.removesuffix(INSIST).strip()
        if not told:
            if asked.otherwise is None:
                raise Unclear("found nothing; wanted: an answer", said="no-answer")
            return asked.otherwise
        if asked.choices:
            known = {form: each for each in asked.choices for form in (each, self._choice(each))}
            if told.casefold() not in known:
                wanted = self._one_of(tuple(self._choice(each) for each in asked.choices))
                raise Unclear(
                    f"found {told!r}; wanted: {wanted}", said="no-choice", found=told, wanted=wanted
                )
            return known[told.casefold()]
        if asked.field in ("name", "shop"):
            return " ".join(told.split())
        unit, written = unit_of(asked.field), written_unit(asked.field, self.say)
        if _is_range(self.model, asked.field):
            word = re.escape(self.say("files-two-figures-word"))
            ends = [part for part in re.split(rf"\s+{word}\s+|\s*;\s*|\s+", told) if part]
            if len(ends) != 2:
                raise Unclear(
                    f"found {told!r}; wanted: two figures, such as 370 to 400",
                    said="no-two-figures",
                    found=told,
                )
            low, high = (number_of(end, unit, written) for end in ends)
            if low >= high:
                raise Unclear(
                    f"found {low:g} to {high:g}; wanted: the lower one first",
                    said="higher-first",
                    low=f"{low:g}",
                    high=f"{high:g}",
                )
            return {"low": low, "high": high}
        return number_of(told, unit, written)

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
        told = self.say(problem[0].id, **problem[0].args)
        if problem[1]:
            told = self.say("files-insist", problem=told, sign=INSIST)
        raise Unclear(told)

    def _problem(self, field: str) -> tuple[Message, list[str]] | None:
        """What is wrong with the field by itself: what to say, and what could be insisted on."""
        side = _wrong_side(self.data, field, self.say)
        if side is not None:
            return side, []
        partly = self.model.model_construct(**_as_parts(self.model, self.data))
        slips = [s for s in implausible(partly, self.kind) if _about(s.field, field)]
        slips = [s for s in slips if s.field not in self.insisted]
        if slips:
            return slips[0].message, [s.field for s in slips]
        return None


def asked_in_words(kind: str, asked: Asked, say: Wording) -> str:
    """How the language asks for a figure; `kind`: vehicle, bay, stand, mount or screw.

    A stand is asked for alike, whether it has a file of its own or stands in that of its bay.
    """
    if kind == "stand":
        return say(f"ask-bay-stand-{asked.field}")
    return say(f"ask-{kind}-{asked.field.replace('.', '-')}")


def written_unit(field: str, say: Wording) -> str:
    """The unit of a field as the language writes it; "" where it has none."""
    unit = unit_of(field)
    return say(f"file-unit-{unit}") if unit else ""


def _wrong_side(data: dict[str, Any], field: str, say: Wording) -> Message | None:
    """A left screw stands to the left of the pivot, which is y above 0."""
    found = re.fullmatch(r"screws\[(\d+)\]\.y_mm", field)
    if found is None:
        return None
    screw = data["screws"][int(found[1]) - 1]
    words, y_mm = set(str(screw.get("name", "")).casefold().split()), screw["y_mm"]
    for side, is_wrong in (("left", y_mm < 0), ("right", y_mm > 0)):
        if is_wrong and words & set(say(f"files-{side}-words").split()):
            told = {"found": f"{y_mm:g}", "screw": screw["name"]}
            return Message(f"slip-side-{side}", told)
    return None


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
