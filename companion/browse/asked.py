"""What a request asks for, in bounds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from starlette.requests import Request

from companion.archive.listing import Filters
from companion.browse.moments import begin_of_day

LONGEST = 200
"""No name, day or search that a person types is longer."""
LAST_PAGE = 10_000


def text(request: Request, name: str) -> str:
    """The last value of that name, without control characters, cut to a sane length."""
    told = request.query_params.get(name, "")[:LONGEST]
    return "".join(sign for sign in told if sign.isprintable()).strip()


def one_of(request: Request, name: str, known: Iterable[str]) -> str:
    """The value of that name if it is a known one, else the first that is."""
    every, told = list(known), text(request, name)
    return told if told in every else every[0]


def page_number(request: Request) -> int:
    """Pages count from 1; what is no such number is the first."""
    told = text(request, "page")
    return min(max(int(told), 1), LAST_PAGE) if told.isascii() and told.isdigit() else 1


def filters(request: Request) -> Filters:
    """The filters of a list, as they were typed: days are those of this place."""
    names = ("since", "until", "vehicle", "bay", "technician", "result", "only", "car", "visit")
    return Filters(**{name: text(request, name) for name in names})


def in_utc(typed: Filters) -> Filters:
    """The filters with the days' beginnings and ends as the record tells time."""
    return replace(
        typed,
        since=begin_of_day(typed.since) or typed.since,
        until=begin_of_day(typed.until, days_later=1) or typed.until,
    )
