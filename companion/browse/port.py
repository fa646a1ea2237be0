"""What the pages ask of the keeper of the sessions: one record on this machine, or a store of many.

A page knows nothing of files and tables. It asks a `PageSource`, made for one person and one
request where people log in, which opens a `Reading` and puts the page together.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Protocol

from markupsafe import Markup

from companion.archive.listing import Choices, Filters, Page
from companion.archive.query import Place
from companion.archive.search import Found
from companion.archive.visits import VisitSeen
from companion.facts.shown import Shows
from companion.record import StoredEvent
from companion.report.report import KeptSession
from companion.report.sounds import Clips
from companion.report.visit_left import Left
from companion.report.wording import Wording
from companion.statistics.questions import Steadiness, Together


@dataclass(frozen=True)
class Told:
    """All events of one session."""

    session_id: str
    opened_utc: str
    events: tuple[StoredEvent, ...]


class Reading(Protocol):
    """What there is, in one state of it. Raises `CompanionError` for what is not there."""

    def choices(self) -> Choices:
        """Every vehicle, bay, technician and result that occurs."""
        ...

    def listed(self, filters: Filters, *, limit: int, offset: int, order: str) -> Page:
        """The sessions that fit, in an order of `listing.ORDERS`."""
        ...

    def found(
        self, typed: str, filters: Filters, *, place: Place, limit: int, offset: int
    ) -> Found:
        """The sessions that hold the words, the newest first."""
        ...

    @property
    def knows_cars(self) -> bool:
        """Whether anything of the cars is kept here; a store of many boxes has no such thing."""
        ...

    def visit(self, name: str) -> VisitSeen | None:
        """The visit of that name with what is known of its car."""
        ...

    def left_of_visit(self, name: str) -> Left:
        """What is still to be set and to be done in the visit of that name."""
        ...

    def visits_of(self, words: str) -> tuple[VisitSeen, ...]:
        """The visits whose order, plate or VIN holds the words, the latest first."""
        ...

    def last_time(self, session_id: str) -> str:
        """The session of the same job at the car's last visit; "" where none is known."""
        ...

    def told(self, session_id: str) -> Told:
        """All events of one session."""
        ...

    def kept(self, session_id: str) -> KeptSession:
        """The same folded for a report, checked while it is read."""
        ...

    def steadiness(self, bay: str, *, skip: int, most: int) -> Steadiness:
        """Whether floors and stands are as they were; so many bays of the table from one on."""
        ...

    def together(self, bay: str, technician: str) -> Together:
        """What many sessions say together; as `known_bay` understands the bay."""
        ...


class PageSource(Protocol):
    """Where a page's sessions come from, and what stands around the page."""

    @property
    def wording(self) -> Wording:
        """The language of the pages."""
        ...

    @property
    def shows(self) -> Shows:
        """The kinds of step that put facts of their own into words."""
        ...

    def clips_of(self, session_id: str) -> Clips:
        """Where the sound of this session comes from."""
        ...

    def clips_address(self, session_id: str) -> str:
        """What the addresses of its clips begin with."""
        ...

    def reading(self) -> AbstractContextManager[Reading]:
        """What there is now."""
        ...

    def page(self, template: str, *, here: str = "", **values: object) -> str:
        """One page; everything put into it is escaped. `here`: which of the bar's pages it is."""
        ...

    def above(self, session_id: str) -> Markup:
        """What stands above the report of a session: the bar, and what else belongs to it."""
        ...

    def plainly(self, told: str) -> str:
        """What went wrong, without what is of no use to the reader of a page."""
        ...
