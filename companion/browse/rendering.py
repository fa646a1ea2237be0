"""The pages' templates."""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path
from urllib.parse import urlencode

import jinja2

from companion.browse import moments, session_words
from companion.record.canonical import sha256_hex
from companion.report.pictures import svg
from companion.report.report import report_style
from companion.report.wording import Wording
from companion.web.templates import marking_up, page_templates

TEMPLATES = Path(__file__).parent / "templates"
TONES = {"inside": "inside", "outside": "outside"}


def result_tone(result: str) -> str:
    """The class of its colour: nothing but "inside" looks like inside."""
    return TONES.get(result, "too_close")


def address(path: str, **query: str) -> str:
    """A local address with its query; empty values are left out."""
    told = urlencode({name: value for name, value in query.items() if value})
    return f"{path}?{told}" if told else path


@cache
def page_style() -> str:
    """The style sheet of all pages: that of reports, and what pages have beside it."""
    # Markup would escape what is added to it.
    return str(report_style()) + (TEMPLATES / "page.css").read_text("utf-8")


@cache
def style_href() -> str:
    """Its address, another one for each version of it: so a browser may keep it."""
    return f"/page.css?v={sha256_hex(page_style().encode())[:16]}"


def page(template: str, wording: Wording, *, here: str = "", **values: object) -> str:
    """One page in the language of the wording; everything put into it is escaped.

    `here`: which of the pages of the bar it is.
    """
    told = {"w": wording, "t": marking_up(wording), "here": here, **values}
    return _environment().get_template(template).render(told)


@lru_cache(maxsize=1)
def _environment() -> jinja2.Environment:
    return page_environment()


def page_environment(*before: Path) -> jinja2.Environment:
    """The templates; those in a folder `before` take the place of these of the same name."""
    environment = page_templates(*before, TEMPLATES)
    environment.globals.update(
        address=address,
        style_href=style_href(),
        result_tone=result_tone,
        clock_time=moments.time,
        day_and_time=moments.day_and_time,
        utc_beside=moments.utc_beside,
        time_zone=moments.time_zone,
        where_it_ended=session_words.where_it_ended,
        stood_out=session_words.stood_out,
        car_told=session_words.car_told,
        bdi=lambda told: svg.element("bdi", told),
        bold=lambda told: svg.element("b", told),
        link=lambda href, told: svg.element("a", told, href=href),
    )
    return environment
