"""One session: its report, as a page among the others."""

from __future__ import annotations

from pathlib import Path

from starlette.requests import Request

from companion.record import ClipStore, clips_folder, open_for_reading
from companion.record.verify import verify_session
from companion.review.fold import fold
from companion.review.pages import asked
from companion.review.pages.rendering import address
from companion.review.report import Frame, Integrity, render_view


def session(record_path: Path, request: Request) -> str:
    """The report of the session asked for; clips are fetched when they are played."""
    session_id = asked.text(request, "id")
    with open_for_reading(record_path) as database:
        found = database.session(session_id)
        view = fold(session_id, database.events(session_id))
        clips = ClipStore(clips_folder(record_path))
        findings = tuple(verify_session(record_path, session_id, clips))
    integrity = Integrity(found.head_hash, found.event_count, findings)
    frame = Frame(
        style_href="/page.css",
        clips_href="/clip/",
        home_href="/",
        file_href=address("/session/file", id=session_id),
    )
    return render_view(view, found.opened_utc, integrity, clips, frame)
