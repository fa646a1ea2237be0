"""One session: its report, as a page among the others."""

from __future__ import annotations

from starlette.requests import Request

from companion.record import ClipStore, clips_folder
from companion.review.pages import asked
from companion.review.pages.rendering import address
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
        home_href="/",
        file_href=address("/session/file", id=session_id),
    )
    return render_view(kept.view, kept.opened_utc, kept.integrity, clips, frame, shelf.shows)
