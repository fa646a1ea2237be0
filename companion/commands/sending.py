"""What a job does for the store of many boxes: tells its last word once, and has the job sent."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import click

from companion.commands.job_screen import marked
from companion.commands.settings import settings_read_now
from companion.facts.message import Message
from companion.record.clock import SystemClock
from companion.record.store_word import keep, last_word
from companion.report.wording import wording_in
from companion.runtime import assembly
from companion.runtime.supervision import service_manager


@contextlib.contextmanager
def sending_afterwards(record: Path, language: str = "") -> Iterator[None]:
    """A job of a box that has a store: afterwards, when nobody holds the record, it is sent.

    Nothing waits for that. What the store said last is told first, if nobody was told it yet.
    """
    read = settings_read_now()
    if read.settings.store is None:
        yield
        return
    _tell_once(record, language or read.settings.language)
    try:
        yield
    finally:
        _have_it_sent(record, read.file)


def _tell_once(record: Path, language: str) -> None:
    word = last_word(record)
    if word is None or word.was_shown or not (word.told or word.files_told):
        return
    if word.refused:
        message = Message("live-store-refused", {"told": word.told})
    elif word.files_told:
        message = Message("live-store-files", {"told": word.files_told})
    else:
        message = Message("live-store-waits", {"told": word.told})
    told = marked("note", assembly.language(language).show(message), wording_in(language))
    click.secho(told, fg="yellow", err=True)
    # Told again next time, where it cannot be noted.
    with contextlib.suppress(OSError):
        keep(record, replace(word, was_shown=True))


def _have_it_sent(record: Path, settings_file: Path | None) -> None:
    # Nothing of the store's is loaded before the job is over.
    from companion.store.after_job import leave_a_sign, send_in_background

    options = ["--record", str(record.absolute())]
    if settings_file is not None:
        options += ["--settings", str(settings_file.absolute())]
    try:
        if service_manager().address:
            leave_a_sign(record, SystemClock().now().at_utc)
        else:
            send_in_background(options)
    except OSError as error:
        click.echo(f"companion: the job waits to be sent ({error.strerror})", err=True)
