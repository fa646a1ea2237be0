"""`python -m tests.write_schemas` writes `docs/schema/` anew from the models."""

from __future__ import annotations

import json
from pathlib import Path

from companion.record.exported import SCHEMAS, schema_of

FOLDER = Path(__file__).parents[1] / "docs" / "schema"


def schema_text(name: str) -> str:
    """The file of one schema."""
    return json.dumps(schema_of(name), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    for form in SCHEMAS:
        (FOLDER / f"{form}.json").write_text(schema_text(form), encoding="utf-8")
