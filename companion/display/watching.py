"""A thread that follows the record and says what the screen shows, whenever that changes."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

from companion.display.fold import Told, take_event
from companion.display.look import look
from companion.display.moment import Instruction, Moment
from companion.errors import RecordError
from companion.facts.shown import NO_SHOWS, Shows
from companion.language.words import Words
from companion.record.following import Follower
from companion.record.store_word import last_word

LOOK_EVERY_S = 0.1
ASK_FOR_WRITER_EVERY = 10
"""Looks between two checks whether the companion still holds the record."""


class Watching:
    """Follows one record file from its own thread; `changed` is called there with each moment.

    The first moment comes at once. `stop` ends the thread and waits for it.
    """

    def __init__(
        self,
        record: Path,
        changed: Callable[[Moment], None],
        look_every_s: float = LOOK_EVERY_S,
        shows: Shows = NO_SHOWS,
    ) -> None:
        self._record = record
        self._changed = changed
        self._look_every_s = look_every_s
        self._shows = shows
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="record follower", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()

    def _run(self) -> None:
        follower = Follower(self._record)
        told, shown, writer, count, store = Told(), None, True, 0, None
        try:
            while True:
                try:
                    before, told = told, _go_on(follower, told)
                    if told is not before or count % ASK_FOR_WRITER_EVERY == 0:
                        writer = follower.writer_at_work() is not False
                        store = last_word(self._record)
                    moment = look(told, companion_is_off=not writer, shows=self._shows, store=store)
                except RecordError as error:
                    follower.close()
                    moment = Moment(
                        "no_job", Instruction(Words()("screen-record-unreadable"), str(error))
                    )
                if moment != shown:
                    self._changed(moment)
                    shown = moment
                count += 1
                if self._stop.wait(self._look_every_s):
                    return
        finally:
            follower.close()


def _go_on(follower: Follower, told: Told) -> Told:
    news = follower.look()
    if news is None:
        return told
    if news.begins:
        told = Told()
    for event in news.events:
        told = take_event(told, event)
    return told
