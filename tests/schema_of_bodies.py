"""The JSON Schema (draft 2020-12) of every kind's body, from the models."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import is_dataclass
from fractions import Fraction
from inspect import getdoc
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from companion.facts.codec import shapes_of, without_none
from companion.facts.instructions import Direction, Instruction, StandQuantity
from companion.facts.kinds import TOLD
from companion.facts.meanings import Meaning
from companion.facts.message import Message

FRACTION = {"type": "string", "pattern": r"^-?\d+(/\d+)?$"}
_DECIMAL = {"type": "string", "pattern": r"^\d+(\.\d+)?$"}


def _deed(do: str, description: str, **properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "description": description,
        "properties": {"do": {"const": do}, **properties},
    }


INSTRUCTION = {
    "anyOf": [
        _deed(
            "move_stand",
            "Move the stand, or a part of it; left and right are the car's.",
            quantity={"enum": [*(quantity.value for quantity in StandQuantity), None]},
            direction={"enum": [way.value for way in Direction]},
            amount=_DECIMAL,
            unit={"type": "string"},
        ),
        _deed(
            "turn_screw",
            "Turn one screw of the mount, as one faces its head.",
            screw_id={"type": "string"},
            sense={"enum": ["clockwise", "anticlockwise"]},
            turns=FRACTION,
        ),
        _deed(
            "place_shim",
            "Lay a shim under the wheel at whose spot this reading is taken.",
            reading_id={"type": "string"},
            thickness_mm=_DECIMAL,
        ),
        _deed(
            "place_by",
            "Put something where these readings come to these figures.",
            reads={
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {"reading_id": {"type": "string"}, "value": _DECIMAL},
                    "required": ["reading_id", "value"],
                },
            },
        ),
    ]
}
_PLAIN: dict[Any, dict[str, Any]] = {
    Any: {},
    str: {"type": "string"},
    float: {"type": "number"},
    int: {"type": "integer"},
    bool: {"type": "boolean"},
    Fraction: FRACTION,
    Instruction: INSTRUCTION,
    Meaning: {"type": "object", "additionalProperties": {}},
    Message: {
        "type": "object",
        "description": "A sentence by its id in the language's files, with its arguments.",
        "properties": {"id": {"type": "string"}, "args": {"type": "object"}},
    },
}


def schema_of_bodies() -> dict[str, dict[str, Any]]:
    """Of each kind that a job tells what its body holds.

    What an older version did not yet write may be absent, so nothing is required; another
    version may write more. What is added to a job afterwards has schemas of its own.
    """
    return {kind: _of_model(model) for kind, model in TOLD.items()}


def _of_model(model: Any) -> dict[str, Any]:
    return {"type": "object", "description": getdoc(model), "properties": _properties(model)}


def _properties(model: Any) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    for shape in shapes_of(model):
        if shape.is_spread:
            properties |= _properties(without_none(shape.hint)[0])
            continue
        properties[shape.key] = _of_hint(shape.hint)
        if shape.told:
            properties[shape.key]["description"] = shape.told
    return properties


def _of_hint(annotated: Any) -> dict[str, Any]:
    hint = get_args(annotated)[0] if get_origin(annotated) is Annotated else annotated
    inner, may_be_none = without_none(hint)
    found = _of_one(inner)
    return {"anyOf": [found, {"type": "null"}]} if may_be_none else found


def _of_one(hint: Any) -> dict[str, Any]:
    if hint in _PLAIN:
        return dict(_PLAIN[hint])
    if is_dataclass(hint):
        return _of_model(hint)
    if isinstance(hint, type) and issubclass(hint, tuple):
        columns = [_of_hint(column) for column in get_type_hints(hint).values()]
        length = {"minItems": len(columns), "maxItems": len(columns)}
        return {"type": "array", "prefixItems": columns, **length, "description": getdoc(hint)}
    parts = get_args(hint)
    if get_origin(hint) is Mapping:
        return {"type": "object", "additionalProperties": _of_hint(parts[1])}
    return {"type": "array", "items": _of_hint(parts[0])}
