"""`python -m tests.write_schemas` writes `docs/schema/` anew from the models."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from companion.record.exported import SCHEMAS, ExportedEvent
from tests.schema_of_bodies import schema_of_bodies

FOLDER = Path(__file__).parents[1] / "docs" / "schema"


def schema_of(name: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of one form."""
    told = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:bay-companion:{name}",
        **SCHEMAS[name].model_json_schema(),
    }
    if SCHEMAS[name] is ExportedEvent:
        told["allOf"] = [
            {
                "if": {"properties": {"kind": {"const": kind}}},
                "then": {"properties": {"body": body}},
            }
            for kind, body in schema_of_bodies().items()
        ]
    return told


def schema_text(name: str) -> str:
    """The file of one schema."""
    return json.dumps(schema_of(name), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    for form in SCHEMAS:
        (FOLDER / f"{form}.json").write_text(schema_text(form), encoding="utf-8")
