"""One session: its report, as a page among the others."""

from __future__ import annotations

from urllib.parse import urlencode

from markupsafe import Markup
from starlette.requests import Request

from companion.browse import asked, moments
from companion.browse.port import Shelf
from companion.browse.rendering import address
from companion.report.report import Frame, render_view


def came_back(shelf: Shelf, session_id: str, before: str) -> Markup:
    """A line that leads to both side by side, where the car was here before."""
    if not before:
        return Markup()
    href = f"/compare?{urlencode([('session', before), ('session', session_id)])}"
    return Markup(shelf.page("came_back.html.j2", href=href))  # noqa: S704 - our own template


def session(shelf: Shelf, request: Request) -> str:
    """The report of the session asked for; clips are fetched when they are played."""
    session_id = asked.text(request, "id")
    with shelf.reading() as reading:
        kept = reading.kept(session_id)
        before = reading.last_time(session_id)
    frame = Frame(
        style_href="/page.css",
        clips_href=shelf.clips_address(session_id),
        file_href=address("/session/file", id=session_id),
        bar=shelf.above(session_id) + came_back(shelf, session_id, before),
        day=moments.day,
        clock=moments.time,
        zone=moments.time_zone(),
    )
    clips = shelf.clips_of(session_id)
    return render_view(kept, clips, frame, shows=shelf.shows, language=shelf.wording.words.code)
