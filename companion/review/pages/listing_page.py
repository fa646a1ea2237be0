"""The list of sessions, and what a search finds."""

from __future__ import annotations

from dataclasses import asdict
from typing import get_args

from starlette.requests import Request

from companion.review.listing import choices, list_sessions
from companion.review.pages import asked
from companion.review.pages.rendering import address, page
from companion.review.pages.shelf import Shelf
from companion.review.query import Place
from companion.review.search import search

SESSIONS_A_PAGE = 40
FINDS_A_PAGE = 20
PLACES: dict[str, str] = {
    "anywhere": "anywhere",
    "said": "said by the companion",
    "heard": "heard from the technician",
    "noted": "kept: notes, readings, answers",
}


def sessions(shelf: Shelf, request: Request) -> str:
    """The sessions that fit the filters, newest first."""
    filters, number = asked.filters(request), asked.page_number(request)
    with shelf.archive() as archive:
        there = choices(archive)
        listed = list_sessions(
            archive, filters, limit=SESSIONS_A_PAGE, offset=(number - 1) * SESSIONS_A_PAGE
        )
    kept = {name: value for name, value in asdict(filters).items() if value}
    return page(
        "sessions.html.j2",
        title="Sessions",
        filters=filters,
        choices=there,
        listed=listed,
        number=number,
        earlier=address("/", **kept, page=str(number + 1)) if listed.has_more else "",
        later=address("/", **kept, page=str(number - 1)) if number > 1 else "",
    )


def found(shelf: Shelf, request: Request) -> str:
    """The sessions that hold the words, with the words around them."""
    typed, number = asked.text(request, "q"), asked.page_number(request)
    place: Place = next(
        (known for known in get_args(Place) if known == asked.text(request, "place")), "anywhere"
    )
    filters = asked.filters(request)
    with shelf.archive() as archive:
        finds = search(
            archive,
            typed,
            filters,
            place=place,
            limit=FINDS_A_PAGE,
            offset=(number - 1) * FINDS_A_PAGE,
        )
    kept = {"q": typed, "place": place}
    return page(
        "search.html.j2",
        title="Search",
        typed=typed,
        place=place,
        places=PLACES,
        finds=finds,
        number=number,
        earlier=address("/search", **kept, page=str(number + 1)) if finds.has_more else "",
        later=address("/search", **kept, page=str(number - 1)) if number > 1 else "",
    )
