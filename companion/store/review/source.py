"""The store as the pages of one person open it, for one request."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from urllib.parse import quote

import jinja2
from markupsafe import Markup

from companion.browse.rendering import page_environment
from companion.facts.shown import Shows
from companion.report.wording import Wording
from companion.store.redactions import redactions_of
from companion.store.review.people import Visitor
from companion.store.review.pool import Pool
from companion.store.review.reading import StoreReading
from companion.store.review.sound import StoreClips
from companion.store.review.writing import comments_on, sent_for
from companion.web.templates import marking_up

TEMPLATES = Path(__file__).parent / "templates"


class StoreSource:
    """What one person sees of the store."""

    def __init__(self, pool: Pool, visitor: Visitor, wording: Wording, shows: Shows) -> None:
        self._pool = pool
        self.visitor = visitor
        self.wording = wording
        self.shows = shows

    @contextlib.contextmanager
    def reading(self) -> Iterator[StoreReading]:
        """One state of the store."""
        with self._pool.acting_as(self.visitor.role) as connection:
            yield StoreReading(connection)

    def page(self, template: str, *, here: str = "", **values: object) -> str:
        """One page, with whom it is for."""
        return rendered(template, self.wording, here=here, visitor=self.visitor, **values)

    def clips_of(self, session_id: str) -> StoreClips:
        """The sound that the store has of this job; raises where this person has no such job."""
        return StoreClips(self._pool, self.visitor, session_id)

    def clips_address(self, session_id: str) -> str:
        """Each job's sound has its own place: who may hear it is told by the job."""
        return f"/session/clip/{quote(session_id, safe='')}/"

    def above(self, session_id: str) -> Markup:
        """The bar, whose job it is, what was sent to its box and what was said of it."""
        with self._pool.acting_as(self.visitor.role) as connection:
            job = StoreReading(connection).job(session_id)
            sent, comments = sent_for(connection, job.job), comments_on(connection, job.job)
            redacted = len(redactions_of(connection, job.job).get(job.job, {}))
        return Markup(  # noqa: S704 - our own template
            self.page(
                "above.html.j2",
                here="session",
                session_id=session_id,
                job=job,
                sent=sent,
                comments=comments,
                redacted=redacted,
            )
        )

    def plainly(self, told: str) -> str:
        """As it is: it names nothing of this machine."""
        return told


def rendered(template: str, wording: Wording, **values: object) -> str:
    """One page of the store; everything put into it is escaped."""
    told = {"w": wording, "t": marking_up(wording), "visitor": None, "here": "", **values}
    return _environment().get_template(template).render(told)


@cache
def _environment() -> jinja2.Environment:
    environment = page_environment(TEMPLATES)
    environment.globals["moment"] = lambda moment: f"{moment.astimezone():%Y-%m-%d %H:%M}"
    return environment
