"""One session: its report, as a page among the others."""

from __future__ import annotations

from markupsafe import Markup
from starlette.requests import Request

from companion.browse import asked, moments
from companion.browse.rendering import address, page
from companion.browse.shelf import Shelf
from companion.record import ClipStore, clips_folder
from companion.report.report import Frame, read_session, render_view


def session(shelf: Shelf, request: Request) -> str:
    """The report of the session asked for; clips are fetched when they are played."""
    session_id = asked.text(request, "id")
    clips = ClipStore(clips_folder(shelf.record_path))
    kept = read_session(shelf.record_path, session_id, clips)
    frame = Frame(
        style_href="/page.css",
        clips_href="/clip/",
        file_href=address("/session/file", id=session_id),
        bar=Markup(page("bar.html.j2", shelf.wording, here="session")),  # noqa: S704 - our own template
        day=moments.day,
        clock=moments.time,
        zone=moments.time_zone(),
    )
    code = shelf.wording.words.code
    return render_view(kept, clips, frame, shows=shelf.shows, language=code)
