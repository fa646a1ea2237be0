"""The schema of an exported event says what each kind's body holds."""

from __future__ import annotations

import json

import jsonschema
import pytest

from companion.record import StoredEvent
from companion.record.exported import exported_event
from tests.schema_of_bodies import schema_of_bodies
from tests.write_schemas import schema_of


def test_every_event_of_a_job_is_of_its_schema_and_says_nothing_beyond_it(
    rehearsed_events: tuple[StoredEvent, ...],
) -> None:
    schema, bodies = schema_of("event-1"), schema_of_bodies()
    validator = jsonschema.Draft202012Validator(schema)
    seen = set()
    for event in rehearsed_events:
        if event.kind in seen and event.seq % 7:
            continue
        seen.add(event.kind)
        validator.validate(json.loads(json.dumps(exported_event(event))))
        assert set(event.body) <= set(bodies[event.kind]["properties"])


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("said", {"text": 7}),
        ("screw_plan", {"turns": {"left": "a lot"}}),
        ("computed", {"outputs": {"a_mm": {"budget": [["reading"]]}}}),
        ("heard", {"n_best": ["yes", 3]}),
    ],
)
def test_a_body_of_another_shape_is_not(
    rehearsed_events: tuple[StoredEvent, ...], kind: str, body: dict[str, object]
) -> None:
    odd = {**exported_event(rehearsed_events[1]), "kind": kind, "body": body}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(odd, schema_of("event-1"))


def test_figures_say_what_they_are() -> None:
    accepted = schema_of_bodies()["accepted"]["properties"]
    assert "signed by `direction`" in accepted["value"]["description"]
    assert accepted["u"]["anyOf"] == [{"type": "number"}, {"type": "null"}]
    assert schema_of_bodies()["corrected"]["properties"]["move"]["properties"].keys() == {
        "from",
        "u",
        "by",
    }
