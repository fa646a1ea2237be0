"""What a request asks for, in bounds."""

from __future__ import annotations

from starlette.requests import Request

from companion.review.listing import Filters

LONGEST = 200
"""No name, day or search that a person types is longer."""
LAST_PAGE = 10_000


def text(request: Request, name: str) -> str:
    """The last value of that name, without control characters, cut to a sane length."""
    told = request.query_params.get(name, "")[:LONGEST]
    return "".join(sign for sign in told if sign.isprintable()).strip()


def page_number(request: Request) -> int:
    """Pages count from 1; what is no such number is the first."""
    told = text(request, "page")
    return min(max(int(told), 1), LAST_PAGE) if told.isascii() and told.isdigit() else 1


def filters(request: Request) -> Filters:
    """The filters of a list."""
    names = ("since", "until", "vehicle", "bay", "technician", "result")
    return Filters(**{name: text(request, name) for name in names})
