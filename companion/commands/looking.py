"""Looking through the record in the terminal: which jobs there are, what was said, one job."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from companion.archive.digest import Digest
from companion.archive.listing import Choices, Filters, choices, digest_of, list_sessions
from companion.archive.opening import Archive, open_archive, session_events
from companion.archive.query import Place, fts_query
from companion.archive.search import Hit
from companion.archive.search import search as find
from companion.archive.visits import find_visits, plain
from companion.base.plain_text import printable
from companion.browse.moments import day, day_and_time, time, time_zone
from companion.commands.options import language_option
from companion.commands.shared import record_option, session_id
from companion.commands.visits import line_of_visit
from companion.facts.opening import Opened
from companion.record.database import open_for_reading
from companion.report.timeline import Line, line_of
from companion.report.wording import Wording, wording_in, wording_of

if TYPE_CHECKING:
    from companion.browse.steadiness_view import Cell

WIDE = 200
STYLES = {
    "companion": "",
    "technician": "cyan",
    "kept": "green",
    "worked_out": "",
    "session": "dim",
}
_FILTERS = ("since", "until", "vehicle", "bay", "technician", "result", "text", "car", "visit")


def filter_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Which sessions."""
    for name, what in (
        ("result", "How they ended: inside, outside, stopped, broken_off, ..."),
        ("car", "Part of the order, the plate or the VIN of the car."),
        ("visit", "The car's visit, its whole name."),
        ("technician", "Part of the technician's name."),
        ("bay", "Part of the bay's name."),
        ("vehicle", "Part of the vehicle's name."),
        ("until", "The last day, YYYY-MM-DD."),
        ("since", "The first day, YYYY-MM-DD."),
    ):
        command = click.option(f"--{name}", default="", help=what)(command)
    return command


LEAST_OF_A_CAR = 3
"""So many letters and digits at least, or half of all plates would be meant."""


@click.command(name="list")
@record_option
@language_option
@filter_options
@click.option("--text", default="", help="Words that were said, heard or noted.")
@click.option(
    "--limit", type=click.IntRange(1), default=30, show_default=True, help="Lines a page."
)
@click.option("--page", type=click.IntRange(1), default=1, show_default=True)
def list_jobs(record: Path, language: str, limit: int, page: int, **options: Any) -> None:
    """List jobs, the newest first: all of them, or those that match.

    \b
    Example: companion review list --since 2031-05-01 --technician "A. Example"
    """
    say = wording_in(language)
    with open_archive(record) as archive:
        listed = list_sessions(archive, _filters(options), limit=limit, offset=(page - 1) * limit)
        if not listed.sessions:
            click.echo(_why_empty(choices(archive), options["result"], say))
            return
    console = _console()
    table = Table(box=None, pad_edge=False)
    for title in ("opened", "technician", "vehicle", "bay", "result", "added"):
        if title == "opened":
            table.add_column(say("page-session"), overflow="fold")
        table.add_column(say(f"column-{title}"), overflow="fold")
    for session in listed.sessions:
        table.add_row(*(Text(printable(cell)) for cell in _cells(session, say)))
    console.print(table)
    first = (page - 1) * limit + 1
    last = first + len(listed.sessions) - 1
    told = say("list-from-to", first=str(first), last=str(last))
    if listed.total is not None:
        told = say("list-from-to-of", first=str(first), last=str(last), total=str(listed.total))
    console.print(_times(say))
    console.print(say("list-continue", told=told, page=str(page + 1)) if listed.has_more else told)


def _why_empty(there: Choices, result: str, say: Wording) -> str:
    """Why no job is listed, and what would be."""
    if not there.results:
        return say("list-no-job-yet")
    if result and result not in there.results:
        return say("list-no-such-result", result=result, results=", ".join(there.results))
    return say("list-nothing-fits")


@click.command(name="search")
@click.argument("words")
@record_option
@language_option
@filter_options
@click.option(
    "--in",
    "place",
    type=click.Choice(["anywhere", "said", "heard", "noted"]),
    default="anywhere",
    show_default=True,
    help="said by the companion, heard from the technician, or noted: readings, notes, decisions.",
)
@click.option("--limit", type=click.IntRange(1), default=10, show_default=True, help="Jobs shown.")
def search_jobs(
    words: str, record: Path, language: str, place: Place, limit: int, **options: Any
) -> None:
    """Find what was said, heard or noted, the newest job first.

    Every word has to occur in the same utterance or note. "In quotes" words follow each other; a
    word ending in * may go on. An order, a plate or a VIN finds the visits of that car.

    \b
    Example: companion review search "left arm" --in heard
    Example: companion review search "thrus*" --bay "Bay one"
    """
    console, say = _console(), wording_in(language)
    with open_archive(record) as archive:
        found = find(archive, words, _filters({**options, "text": ""}), place=place, limit=limit)
        there = choices(archive)
        of_car = find_visits(archive, words) if len(plain(words)) >= LEAST_OF_A_CAR else ()
    for seen in of_car[:limit]:
        console.print(Text(printable(line_of_visit(seen, say))))
        console.print(Text(f"      companion review list --visit {seen.visit.id}", style="dim"))
    for one in found.sessions:
        console.print(_named(one.session, say))
        for hit in one.hits:
            console.print(_shown(hit, say))
        if one.has_more:
            console.print(Text("        ...", style="dim"))
    if found.sessions:
        console.print(_times(say))
    elif not fts_query(words):
        console.print(say("search-no-word"))
    elif options["result"] and options["result"] not in there.results:
        console.print(_why_empty(there, options["result"], say))
    elif not of_car:
        console.print(say("nothing-found"))
    if found.has_more:
        console.print(say("search-more", limit=str(limit)))


@click.command(name="show")
@click.argument("session", required=False)
@record_option
@click.option("--from", "first", type=click.IntRange(1), default=1, help="The first event shown.")
@click.option("--count", type=click.IntRange(1), help="How many events. Default: all.")
def show_job(session: str | None, record: Path, first: int, count: int | None) -> None:
    """Show one job (by default the last) line by line: said, heard, kept, worked out.

    \b
    Example: companion review show
    Example: companion review show 20310506-070809-0a1b2c3d --from 120 --count 40
    """
    with open_for_reading(record) as database:
        chosen = session_id(database, session, record)
    with open_archive(record) as archive:
        _show(archive, chosen, first, sys.maxsize if count is None else count)


@click.command(name="drift")
@record_option
@language_option
def show_drift(record: Path, language: str) -> None:
    """Show for each bay whether its floor and its stand are steady.

    The table covers the latest 60 jobs of each bay. Below it is what the watch, which checks each
    job as it comes, noticed with the latest one.

    \b
    Example: companion review drift
    """
    from companion.browse.steadiness_view import bay_rows, summed_up
    from companion.statistics.figures_check import open_summaries
    from companion.statistics.questions import steadiness
    from companion.statistics.steadiness import signals

    wording = wording_in(language)
    with open_archive(record) as archive, open_summaries(archive) as store:
        found_in_all = steadiness(store)
        noticed = signals(store)
    rows = bay_rows(found_in_all.parts, wording)
    console = _console()
    table = Table(box=None, pad_edge=False)
    for title in ("bay", "floor", "stand", "sessions", "latest"):
        table.add_column(wording(f"column-{title}"), overflow="fold")
    for row in rows:
        named = row.bay or wording("not-named")
        cells = (named, _state(row.floor, wording), _state(row.stand, wording))
        table.add_row(*(Text(printable(cell)) for cell in cells), str(row.sessions), row.latest)
    console.print(table)
    console.print(summed_up(found_in_all, wording) if rows else wording("drift-nothing-measured"))
    for found in noticed:
        what, since = wording.title_of(found.measure), day(found.since.opened_utc)
        bay = found.bay or wording("bay-not-named")
        told = wording("drift-latest-job", bay=bay, what=what, since=since)
        console.print(Text(printable(told)))


def _state(cell: Cell, wording: Wording) -> str:
    if not cell.changes:
        return wording.words.named("state-", cell.state.replace(" ", "-"))
    changes = [
        wording("drift-cell-change", what=title, day=since) for title, since, _ in cell.changes
    ]
    return wording("drift-cell-changed", changes=", ".join(changes))


def _show(archive: Archive, session: str, first: int, count: int) -> None:
    console, digest = _console(), digest_of(archive, session)
    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column(justify="right")
    for _ in range(3):
        table.add_column(overflow="fold")
    events = session_events(archive, session)
    opened = next((e.fact for e in events if isinstance(e.fact, Opened)), Opened())
    wording = wording_of(opened)
    console.print(_named(digest, wording))
    head = wording("shown-head", hash=digest.head_hash, events=str(digest.event_count))
    console.print(Text(f"{head}. ", style="dim") + _times(wording))
    for event in events[first - 1 :][:count]:
        table.add_row(*_row(line_of(event, wording)))
    console.print(table)


def _row(line: Line) -> tuple[Text, ...]:
    style = "bold" if line.is_stage else "yellow" if line.is_refusal else STYLES[line.who]
    told = printable(line.told)
    more = " · ".join(filter(None, (line.detail, line.technical)))
    detail = f"  {printable(more)}" if more else ""
    return (
        Text(str(line.seq), style="dim"),
        Text(time(line.at_utc), style="dim"),
        Text(printable(line.label), style="dim"),
        Text.assemble((told, style), (detail, "dim")),
    )


def _shown(hit: Hit, say: Wording) -> Text:
    text = Text(f"  {hit.seq:5d} {say.words.named('kind-', hit.kind):9s} ", style="dim")
    for piece, matches in hit.snippet:
        text.append(printable(piece), style="bold yellow not dim" if matches else "not dim")
    return text


def _filters(options: dict[str, Any]) -> Filters:
    return Filters(**{name: options[name] for name in _FILTERS})


def _named(session: Digest, say: Wording) -> Text:
    """A session in one line."""
    return Text(printable("  ".join(filter(None, _cells(session, say)))), style="bold")


def _cells(session: Digest, say: Wording) -> tuple[str, ...]:
    counted = (
        ("list-signatures", session.signatures),
        ("list-corrections", session.corrections),
        ("list-damaged", session.unreadable),
    )
    return (
        session.session_id,
        day_and_time(session.opened_utc),
        session.technician or say("line-nobody-named"),
        session.vehicle,
        session.bay,
        say.ending(session.result),
        ", ".join(say(id_, count=count) for id_, count in counted if count),
    )


def _times(say: Wording) -> Text:
    """In which zone the times above, or below, are told."""
    return Text(say("times-are", zone=time_zone()), style="dim")


def _console() -> Console:
    """The terminal; what goes into a file or a pipe is not broken into narrow lines."""
    width = None if sys.stdout.isatty() else WIDE
    return Console(width=width, highlight=False, markup=False, emoji=False)


# The name that it had before; it still works and is listed nowhere.
sessions = click.Command(
    "sessions",
    callback=list_jobs.callback,
    params=list_jobs.params,
    help="The older name of review list.\n\n\b\nExample: companion sessions",
    hidden=True,
)

COMMANDS = (list_jobs, search_jobs, show_job, show_drift, sessions)
