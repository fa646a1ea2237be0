"""A job's report as HTML, as most tests read it."""

from __future__ import annotations

from pathlib import Path

from companion.facts.shown import NO_SHOWS, Shows
from companion.record.clips import ClipStore
from companion.report.report import render_page


def render_report(
    database_path: Path,
    session_id: str,
    clips: ClipStore | None = None,
    shows: Shows = NO_SHOWS,
    language: str = "",
) -> str:
    """The report's HTML: no scripts, nothing fetched from outside, clips within it."""
    return render_page(database_path, session_id, clips, shows=shows, language=language).html
