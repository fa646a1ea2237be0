"""What a job came to: its report, and where each figure came from."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from companion.archive.listing import jobs_of_visit
from companion.archive.opening import open_archive
from companion.commands.saying import keep_language, say_now
from companion.commands.shared import (
    force_option,
    record_option,
    session_id,
    shows_of,
    step_kinds_option,
)
from companion.facts.opening import Opened
from companion.language.loader import language_codes
from companion.record.database import open_for_reading
from companion.report.explain import explain as explained
from companion.report.hand_over import hand_over, render_hand_over
from companion.report.report import ReportPage, render_page, write_page
from companion.report.wording import wording_of

report_language_option = click.option(
    "--language",
    "report_language",
    type=click.Choice(language_codes()),
    help="Default: the language that the job was done in.",
    callback=keep_language,
)


@click.command()
@click.argument("session", required=False)
@record_option
@step_kinds_option
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Where to write it. Default: report-SESSION.html.",
)
@click.option(
    "--hand-over",
    "one_page",
    is_flag=True,
    help="One page for the person who takes the car, covering all jobs of its visit, to print and "
    "sign.",
)
@click.option("--without-sound", is_flag=True, help="Leave the recorded voices out.")
@click.option("--without-car", is_flag=True, help="Leave out which car it was.")
@report_language_option
@force_option
def report(
    session: str | None,
    record: Path,
    out: Path | None,
    one_page: bool,
    without_sound: bool,
    without_car: bool,
    force: bool,
    step_kinds: Path | None,
    report_language: str | None,
) -> None:
    """Write the report of a job (by default the last one) as one HTML file.

    \b
    Example: companion report --out job.html
    Example: companion report --without-sound --out for-the-customer.html
    Example: companion report --hand-over --out hand-over.html
    """
    with open_for_reading(record) as database:
        chosen = session_id(database, session, record)
    if one_page:
        target = out or Path(f"hand-over-{chosen}.html")
        code = report_language or ""
        # Only here: shipped jobs are put together where they are done.
        from companion.runtime.shipped_texts import in_language

        told, say = hand_over(
            record, chosen, partial(_jobs_of, record), code, partial(in_language, code=code)
        )
        html = render_hand_over(told, say, chosen)
        write_page(ReportPage(html, 0), target, force=force)
        for line in told.contradictions:
            click.secho(line, fg="red", bold=True, err=True)
        click.echo(say_now()("terminal-hand-over", file=str(target)))
        return
    target = out or report_file(chosen)
    shows = shows_of(step_kinds)
    page = render_page(
        record,
        chosen,
        with_sound=not without_sound,
        with_car=not without_car,
        shows=shows,
        language=report_language or "",
    )
    write_page(page, target, force=force)
    click.echo(say_now()("rehearsal-report", file=str(target)))
    if page.clips:
        click.echo(say_now()("terminal-report-clips", count=page.clips))


def report_file(session: str) -> Path:
    """Where the report of a job is written, unless a file is named."""
    return Path(f"report-{session}.html")


def _jobs_of(record: Path, visit: str) -> tuple[str, ...]:
    """The sessions of a visit, as the index of the record knows them."""
    with open_archive(record) as archive:
        return tuple(job.session_id for job in jobs_of_visit(archive, visit))


@click.command()
@click.argument("result")
@click.argument("session", required=False)
@record_option
@report_language_option
def explain(result: str, session: str | None, record: Path, report_language: str | None) -> None:
    """Show where a RESULT of a job (by default the last one) came from.

    RESULT is the id of a result, a reading or a step. Shows its value and uncertainty,
    the formula and its source, every input and where it came from, and what contributes to the
    uncertainty.

    \b
    Example: companion explain aim_yaw_deg
    Example: companion explain aim_decision
    """
    with open_for_reading(record) as database:
        events = tuple(database.events(session_id(database, session, record)))
    opened = next((e.fact for e in events if isinstance(e.fact, Opened)), Opened())
    for line in explained(events, result, wording_of(opened, report_language or "")):
        click.echo(line)


COMMANDS = (report, explain)
