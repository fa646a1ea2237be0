"""One session: its report, as a page among the others."""

from __future__ import annotations

from markupsafe import Markup
from starlette.requests import Request

from companion.record import ClipStore, clips_folder
from companion.review.pages import asked, moments
from companion.review.pages.rendering import address, page
from companion.review.pages.shelf import Shelf
from companion.review.report import Frame, read_session, render_view


def session(shelf: Shelf, request: Request) -> str:
    """The report of the session asked for; clips are fetched when they are played."""
    session_id = asked.text(request, "id")
    clips = ClipStore(clips_folder(shelf.record_path))
    kept = read_session(shelf.record_path, session_id, clips)
    frame = Frame(
        style_href="/page.css",
        clips_href="/clip/",
        file_href=address("/session/file", id=session_id),
        bar=Markup(page("bar.html.j2", title="Session")),  # noqa: S704 - our own template
        day=moments.day,
        clock=moments.time,
        zone=moments.time_zone(),
    )
    return render_view(kept.view, kept.opened_utc, kept.integrity, clips, frame, shows=shelf.shows)
