"""Templates of the pages: whatever is put in is escaped."""

from __future__ import annotations

from pathlib import Path

import jinja2


def page_templates(folder: Path) -> jinja2.Environment:
    """The templates of a folder: everything put in is escaped, and a missing value is an error."""
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
