"""What is left of a visit: sensors that are still to be set, and the end that is not done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from companion.facts.kinds import Fact
from companion.facts.opening import Opened
from companion.facts.visit_end import AtTheEnd, Sensor, still_to_do, to_come
from companion.record.database import Database
from companion.record.visits import Visit, jobs_of
from companion.report.wording import Wording


@dataclass(frozen=True)
class Left:
    """Names of the sensors that are still to be set, and what of the visit's end is not done."""

    sensors: tuple[str, ...] = ()
    undone: tuple[AtTheEnd, ...] = ()

    def told(self, say: Wording) -> Iterator[str]:
        """A sentence for each of the two; nothing where nothing is left."""
        if self.sensors:
            yield say("visit-left-sensors", sensors="; ".join(self.sensors))
        if self.undone:
            told = (title_in(one, say) for one in self.undone)
            yield say("visit-left-undone", undone="; ".join(dict.fromkeys(told)))


def title_in(one: AtTheEnd, say: Wording) -> str:
    """In the language of the page where it is a step that ships; else as the job calls it."""
    id_ = f"at-the-end-{one.step_id}"
    return say(id_) if say.words.has(id_) else one.title


def left_of(database: Database, visit: Visit) -> Left:
    """What is left of this visit, by the record: by its real jobs where it has any."""
    return left(visit.sensors, jobs_of(database, visit.id))


def left(sensors: Iterable[Sensor], jobs: Sequence[Sequence[Fact]]) -> Left:
    """The same of these jobs, the one last worked on last; rehearsals count among themselves."""
    real = [facts for facts in jobs if not _is_rehearsal(facts)]
    counted = real or jobs
    names = tuple(sensor.name for sensor in to_come(sensors, counted))
    return Left(names, still_to_do(counted))


def _is_rehearsal(facts: Iterable[Fact]) -> bool:
    return any(isinstance(fact, Opened) and fact.rehearsal for fact in facts)
