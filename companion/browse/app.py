"""The pages' addresses. Each opens the record for itself, reads, and closes it again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from companion.browse import asked, comparing, listing_page, session_page, statistics_page
from companion.browse.port import PageSource
from companion.browse.record_source import RecordSource
from companion.browse.rendering import page_style
from companion.errors import CompanionError, RecordError
from companion.facts.shown import NO_SHOWS, Shows
from companion.language.loader import REFERENCE
from companion.record.canonical import sha256_hex
from companion.report.pictures import svg
from companion.report.report import render_view
from companion.report.sounds import Clips
from companion.web.guard import LOOPBACK, Guard
from companion.web.headers import security_headers

Show = Callable[[PageSource, Request], str]
SECURITY_HEADERS = security_headers(
    style_src="'self'", img_src="'self'", media_src="'self'", form_action="'self'"
)


def make_app(
    record_path: Path,
    token: str | None = None,
    listening_on: str = LOOPBACK,
    shows: Shows = NO_SHOWS,
    language: str = REFERENCE,
) -> Starlette:
    """The pages of one record, read only; with a token nobody without it gets an answer."""
    source = RecordSource(record_path, shows, language)

    def clip(request: Request) -> Response:
        return played(source.clips, request.path_params["sha256"])

    def not_here(_request: Request, _error: Exception) -> Response:
        return nothing_there(source)

    return Starlette(
        routes=[*page_routes(lambda _request: source), Route("/clip/{sha256}.flac", clip)],
        middleware=[
            Middleware(Guard, headers=SECURITY_HEADERS, listening_on=listening_on, token=token)
        ],
        exception_handlers={404: not_here},
    )


def page_routes(source_of: Callable[[Request], PageSource]) -> list[Route]:
    """The pages' addresses, served from whichever source belongs to the request."""

    def shown(show: Show) -> Callable[[Request], Response]:
        return lambda request: answered(source_of(request), show, request)

    return [
        Route("/", shown(listing_page.sessions)),
        Route("/search", shown(listing_page.found)),
        Route("/session", shown(session_page.session)),
        Route("/session/all", shown(session_page.everything)),
        Route(
            "/session/file",
            lambda request: _file(source_of(request), asked.text(request, "id")),
        ),
        Route("/compare", shown(comparing.compared)),
        Route("/statistics", shown(statistics_page.statistics)),
        Route("/statistics/repeats", shown(statistics_page.repeats)),
        Route("/statistics/values", shown(statistics_page.values)),
        *style_routes(),
    ]


def style_routes() -> list[Route]:
    """What every page loads."""
    return [
        Route("/page.css", _page_style),
        Route("/mark.svg", _mark),
        Route("/favicon.ico", _mark),
    ]


def nothing_there(source: PageSource) -> Response:
    """The page for an address that there is not."""
    wording = source.wording
    told = source.page(
        "message.html.j2",
        title=wording("page-not-here"),
        told=wording("no-such-page"),
        technical=False,
    )
    return HTMLResponse(told, 404)


def answered(source: PageSource, show: Show, request: Request) -> Response:
    """The page, or one that says why it cannot be shown."""
    try:
        return HTMLResponse(show(source, request))
    except CompanionError as error:
        words = source.wording.words
        told = source.plainly(words.problem(error))
        if error.said == "no-session":
            told = words("no-such-session", session=error.values["session"])
        return HTMLResponse(
            source.page(
                "message.html.j2",
                title=source.wording("page-not-shown"),
                told=told,
                technical=not error.said,
            ),
            404 if isinstance(error, RecordError) else 400,
        )


def played(clips: Clips, sha256: str) -> Response:
    """A clip that still is what its name says; anything else is not played."""
    try:
        content = clips.read(sha256)
    except (CompanionError, OSError):
        return Response("the sound is missing", 404, media_type="text/plain")
    if sha256_hex(content) != sha256:
        return Response("the sound was changed since it was kept", 404, media_type="text/plain")
    return Response(content, media_type="audio/flac")


def _file(source: PageSource, session_id: str) -> Response:
    """The report as one file to keep."""
    try:
        with source.reading() as reading:
            kept = reading.kept(session_id)
        clips = source.clips_of(session_id)
    except CompanionError:
        return Response("there is no such session", 404, media_type="text/plain")
    told = render_view(kept, clips, shows=source.shows, language=source.wording.words.code)
    name = "".join(
        sign for sign in session_id if sign.isascii() and (sign.isalnum() or sign in "-_")
    )
    return HTMLResponse(
        told, headers={"content-disposition": f'attachment; filename="report-{name}.html"'}
    )


def _page_style(_request: Request) -> Response:
    return Response(page_style(), media_type="text/css")


def _mark(_request: Request) -> Response:
    """The sign in the browser's tab: a beam and the plate that it meets squarely."""
    drawn = svg.element(
        "svg",
        svg.element("rect", width=32, height=32, rx=6, fill="#1f2b30"),
        svg.element("path", d="M5 16h16", stroke="#fcfbf7", stroke_width=3),
        svg.element("path", d="M24 6v20", stroke="#9fd0c9", stroke_width=4),
        xmlns="http://www.w3.org/2000/svg",
        viewBox="0 0 32 32",
    )
    return Response(str(drawn), media_type="image/svg+xml")
