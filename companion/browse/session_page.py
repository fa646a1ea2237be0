"""One session: its report, as two pages among the others: what counts, and everything else."""

from __future__ import annotations

from typing import Literal
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.requests import Request

from companion.browse import asked, moments
from companion.browse.port import PageSource
from companion.browse.rendering import address, style_href
from companion.report.report import Frame, KeptSession, render_view


def came_back(source: PageSource, session_id: str, before: str) -> Markup:
    """A line that leads to both side by side, where the car was here before."""
    if not before:
        return Markup()
    href = f"/compare?{urlencode([('session', before), ('session', session_id)])}"
    return Markup(source.page("came_back.html.j2", href=href))  # noqa: S704 - our own template


def session(source: PageSource, request: Request) -> str:
    """The main part of the report of the session asked for."""
    session_id = asked.text(request, "id")
    with source.reading() as reading:
        kept = reading.kept(session_id)
        before = reading.last_time(session_id)
    return _part(source, session_id, kept, "main", came_back(source, session_id, before))


def everything(source: PageSource, request: Request) -> str:
    """Its appendix, with all that was said and heard; clips are fetched when they are played."""
    session_id = asked.text(request, "id")
    with source.reading() as reading:
        kept = reading.kept(session_id)
    return _part(source, session_id, kept, "rest", Markup())


def _part(
    source: PageSource,
    session_id: str,
    kept: KeptSession,
    part: Literal["main", "rest"],
    note: Markup,
) -> str:
    frame = Frame(
        style_href=style_href(),
        clips_href=source.clips_address(session_id),
        file_href=address("/session/file", id=session_id),
        part=part,
        main_href=address("/session", id=session_id),
        rest_href=address("/session/all", id=session_id),
        bar=source.above(session_id) + note,
        day=moments.day,
        clock=moments.time,
        zone=moments.time_zone(),
    )
    clips = source.clips_of(session_id) if part == "rest" else None
    return render_view(kept, clips, frame, shows=source.shows, language=source.wording.words.code)
