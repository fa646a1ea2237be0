"""The pages' templates."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from urllib.parse import urlencode

import jinja2

from companion.browse import moments, session_words
from companion.web.templates import page_templates

TEMPLATES = Path(__file__).parent / "templates"
PAGE_STYLE = (TEMPLATES / "page.css").read_text("utf-8")
RESULT_WORDS = {
    "inside": "inside",
    "tool_inside": "inside, says the scan tool",
    "not_aimed": "done, nothing aimed",
    "outside": "outside",
    "not_settled": "not settled",
    "stopped": "stopped",
    "broken_off": "broken off",
}
TONES = {"inside": "inside", "outside": "outside"}


def result_words(result: str) -> str:
    """How a session ended, in words."""
    return RESULT_WORDS.get(result, result.replace("_", " "))


def result_tone(result: str) -> str:
    """The class of its colour: nothing but "inside" looks like inside."""
    return TONES.get(result, "too_close")


def address(path: str, **query: str) -> str:
    """A local address with its query; empty values are left out."""
    told = urlencode({name: value for name, value in query.items() if value})
    return f"{path}?{told}" if told else path


def page(template: str, **values: object) -> str:
    """One page; everything put into it is escaped."""
    return _environment().get_template(template).render(**values)


@lru_cache(maxsize=1)
def _environment() -> jinja2.Environment:
    environment = page_templates(TEMPLATES)
    environment.globals.update(
        address=address,
        result_words=result_words,
        result_tone=result_tone,
        clock_time=moments.time,
        day_and_time=moments.day_and_time,
        utc_beside=moments.utc_beside,
        time_zone=moments.time_zone,
        where_it_ended=session_words.where_it_ended,
        stood_out=session_words.stood_out,
        signed=session_words.signed,
    )
    return environment
