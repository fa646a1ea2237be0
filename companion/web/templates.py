"""Templates of the pages: whatever is put in is escaped, and every sentence is a language's."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import jinja2
from markupsafe import Markup, escape

from companion.facts.message import Arg

Say = Callable[..., str]
"""A text of the language by its id and arguments."""
_OPEN, _CLOSE = "\ue000", "\ue001"


def page_templates(*folders: Path) -> jinja2.Environment:
    """The templates of folders, the first that has one: everything put in is escaped, and a
    missing value is an error."""
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(folders),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def marking_up(say: Say) -> Callable[..., Markup]:
    """The same texts for a page: an argument that is markup stays so, all else is escaped.

    A language puts a link or a name where its sentence has it; it never writes markup itself.
    """

    def marked_up(id_: str, **args: Arg | Markup) -> Markup:
        held = {name: arg for name, arg in args.items() if isinstance(arg, Markup)}
        # Signs for private use stand for the markup while the sentence is made and escaped.
        stand_ins: dict[str, Arg] = {name: f"{_OPEN}{name}{_CLOSE}" for name in held}
        told = escape(say(id_, **{**args, **stand_ins}))
        for name, markup in held.items():
            told = Markup(told.replace(f"{_OPEN}{name}{_CLOSE}", markup))  # noqa: S704 - escaped
        return told

    return marked_up
