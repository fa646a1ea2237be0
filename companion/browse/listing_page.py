"""The list of sessions, and what a search finds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import get_args

from starlette.requests import Request

from companion.archive.query import Place
from companion.browse import asked
from companion.browse.port import PageSource
from companion.browse.rendering import address
from companion.browse.session_words import ONLY, ORDERS
from companion.report.visit_left import Left

SESSIONS_A_PAGE = 25
FINDS_A_PAGE = 10
VISITS_SHOWN = 5
LEAST_OF_A_PLATE = 2


@dataclass(frozen=True)
class Pages:
    """Which page of how many (None: not counted), and the ways to the others ("" where none)."""

    number: int
    count: int | None
    first: str = ""
    before: str = ""
    after: str = ""
    last: str = ""


def sessions(source: PageSource, request: Request) -> str:
    """The sessions that fit the filters, sorted as asked for."""
    typed, number = asked.filters(request), asked.page_number(request)
    order = asked.one_of(request, "sort", ORDERS)
    with source.reading() as reading:
        there = reading.choices()
        listed = reading.listed(
            asked.in_utc(typed),
            limit=SESSIONS_A_PAGE,
            offset=(number - 1) * SESSIONS_A_PAGE,
            order=order,
        )
        cars = {one.visit: reading.visit(one.visit) for one in listed.sessions if one.visit}
        knows_cars = reading.knows_cars
        left = reading.left_of_visit(typed.visit) if typed.visit else Left()
    kept = {name: value for name, value in asdict(typed).items() if value}
    if order != "newest":
        kept["sort"] = order
    count = None if listed.total is None else max(1, -(-listed.total // SESSIONS_A_PAGE))
    return source.page(
        "sessions.html.j2",
        here="sessions",
        title=source.wording("page-sessions"),
        filters=typed,
        is_narrowed=bool(kept),
        choices=there,
        listed=listed,
        cars=cars,
        knows_cars=knows_cars,
        left=tuple(left.told(source.wording)),
        order=order,
        orders=ORDERS,
        only=ONLY,
        pages=pages_of("/", kept, number, count, listed.has_more),
    )


def found(source: PageSource, request: Request) -> str:
    """The sessions that hold the words, with the words around them."""
    typed, number = asked.text(request, "q"), asked.page_number(request)
    place: Place = next(
        (known for known in get_args(Place) if known == asked.text(request, "place")), "anywhere"
    )
    filters = asked.filters(request)
    with source.reading() as reading:
        finds = reading.found(
            typed,
            asked.in_utc(filters),
            place=place,
            limit=FINDS_A_PAGE,
            offset=(number - 1) * FINDS_A_PAGE,
        )
        of_cars = reading.visits_of(typed) if _plausible(typed) and number == 1 else ()
    kept = {"q": typed, "place": place if place != "anywhere" else ""}
    return source.page(
        "search.html.j2",
        here="search",
        title=source.wording("page-search"),
        typed=typed,
        place=place,
        places=get_args(Place),
        finds=finds,
        visits=of_cars[:VISITS_SHOWN],
        visits_in_all=len(of_cars),
        said_number=source.wording.words.language.speaker.say_digits("806"),
        pages=pages_of("/search", kept, number, None, finds.has_more),
    )


def _plausible(typed: str) -> bool:
    """Whether that may be part of an order, a plate or a VIN."""
    return sum(sign.isalnum() for sign in typed) >= LEAST_OF_A_PLATE


def pages_of(
    path: str, kept: Mapping[str, str], number: int, count: int | None, has_more: bool
) -> Pages:
    """Page `number` of a list at that address with what is `kept` in it, and the ways on."""

    def to(other: int) -> str:
        return address(path, **kept, page=str(other) if other > 1 else "")

    return Pages(
        number,
        count,
        first=to(1) if number > 2 else "",
        before=to(number - 1) if number > 1 else "",
        after=to(number + 1) if has_more else "",
        last=to(count) if has_more and count is not None and count > number + 1 else "",
    )
