"""One record as the pages open it: its index brought up to date only when it has changed."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from companion.archive.coming_back import last_time
from companion.archive.listing import Choices, Filters, Page, choices, list_sessions
from companion.archive.opening import Archive, open_archive
from companion.archive.query import Place
from companion.archive.search import Found, search
from companion.archive.visits import VisitSeen, find_visits, visit_of
from companion.browse.port import Told
from companion.browse.rendering import page
from companion.facts.shown import NO_SHOWS, Shows
from companion.language.loader import REFERENCE
from companion.record import ClipStore, clips_folder
from companion.report.report import KeptSession, read_session
from companion.report.visit_left import Left, left_of
from companion.report.wording import wording_in
from companion.statistics.figures_check import open_summaries
from companion.statistics.questions import Steadiness, Together, steadiness, together


class RecordSource:
    """Opens the archive for one request after another, in whichever thread asks."""

    def __init__(
        self, record_path: Path, shows: Shows = NO_SHOWS, language: str = REFERENCE
    ) -> None:
        self._record_path = record_path
        self.wording = wording_in(language)
        self.shows = shows
        self.clips = ClipStore(clips_folder(record_path))

    def clips_of(self, session_id: str) -> ClipStore:
        """The folder beside the record, for every session."""
        return self.clips

    def clips_address(self, session_id: str) -> str:
        """One place for every session."""
        return "/clip/"

    @property
    def record_path(self) -> Path:
        """The record file."""
        return self._record_path

    @contextlib.contextmanager
    def reading(self) -> Iterator[RecordReading]:
        """What the record holds now; raises as `open_archive` does."""
        with open_archive(self._record_path) as archive:
            yield RecordReading(archive, self.clips)

    def page(self, template: str, *, here: str = "", **values: object) -> str:
        """One page."""
        return page(template, self.wording, here=here, **values)

    def above(self, session_id: str) -> Markup:
        """The bar alone."""
        return Markup(self.page("bar.html.j2", here="session"))  # noqa: S704 - our own template

    def plainly(self, told: str) -> str:
        """Without the record's path."""
        return told.replace(f"{self._record_path}: ", "")


@dataclass(frozen=True)
class RecordReading:
    """One record with its index."""

    archive: Archive
    clips: ClipStore

    def choices(self) -> Choices:
        """Every vehicle, bay, technician and result that occurs."""
        return choices(self.archive)

    def listed(self, filters: Filters, *, limit: int, offset: int, order: str) -> Page:
        """The sessions that fit."""
        return list_sessions(self.archive, filters, limit=limit, offset=offset, order=order)

    def found(
        self, typed: str, filters: Filters, *, place: Place, limit: int, offset: int
    ) -> Found:
        """The sessions that hold the words."""
        return search(self.archive, typed, filters, place=place, limit=limit, offset=offset)

    @property
    def knows_cars(self) -> bool:
        """A record has what is known of its cars beside it."""
        return True

    def visit(self, name: str) -> VisitSeen | None:
        """The visit of that name."""
        return visit_of(self.archive, name)

    def left_of_visit(self, name: str) -> Left:
        """What is left of it; nothing of a visit that is not there or is closed."""
        seen = visit_of(self.archive, name)
        if seen is None or seen.visit.is_closed:
            return Left()
        return left_of(self.archive.record, seen.visit)

    def visits_of(self, words: str) -> tuple[VisitSeen, ...]:
        """The visits whose car that is."""
        return find_visits(self.archive, words)

    def last_time(self, session_id: str) -> str:
        """The session of the same job at the car's last visit."""
        found = last_time(self.archive, session_id)
        return found.session_id if found is not None else ""

    def told(self, session_id: str) -> Told:
        """All events of one session."""
        record = self.archive.record
        session = record.session(session_id)
        events = tuple(record.events(session.session_id))
        return Told(session.session_id, session.opened_utc, events)

    def kept(self, session_id: str) -> KeptSession:
        """The same folded for a report."""
        return read_session(self.archive.path, session_id, self.clips)

    def steadiness(self, bay: str, *, skip: int, most: int) -> Steadiness:
        """Whether floors and stands are as they were."""
        with open_summaries(self.archive) as store:
            return steadiness(store, bay, skip, most)

    def together(self, bay: str, technician: str) -> Together:
        """What many sessions say together."""
        with open_summaries(self.archive) as store:
            return together(store, bay, technician)
