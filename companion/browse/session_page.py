"""One session: its report, as a page among the others."""

from __future__ import annotations

from starlette.requests import Request

from companion.browse import asked, moments
from companion.browse.port import Shelf
from companion.browse.rendering import address
from companion.report.report import Frame, render_view


def session(shelf: Shelf, request: Request) -> str:
    """The report of the session asked for; clips are fetched when they are played."""
    session_id = asked.text(request, "id")
    with shelf.reading() as reading:
        kept = reading.kept(session_id)
    frame = Frame(
        style_href="/page.css",
        clips_href=shelf.clips_address(session_id),
        file_href=address("/session/file", id=session_id),
        bar=shelf.above(session_id),
        day=moments.day,
        clock=moments.time,
        zone=moments.time_zone(),
    )
    clips = shelf.clips_of(session_id)
    return render_view(kept, clips, frame, shows=shelf.shows, language=shelf.wording.words.code)
