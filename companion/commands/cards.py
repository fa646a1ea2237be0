"""The card for the wall."""

from __future__ import annotations

from pathlib import Path

import click

from companion.commands.saying import keep_language, say_now
from companion.commands.shared import force_option
from companion.display.card import is_card, wall_card
from companion.language.loader import REFERENCE, language_codes
from companion.record.outputs import write_output


@click.command()
@click.option(
    "--language",
    type=click.Choice(language_codes()),
    default=REFERENCE,
    show_default=True,
    help="The language of the bay.",
    callback=keep_language,
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("card.html"),
    show_default=True,
    help="Where to write it.",
)
@force_option
def card(language: str, out: Path, force: bool) -> None:
    """Write the card for the wall: what may be said, on one page to print.

    \b
    Example: companion card --language es --out card.html
    """
    page = wall_card(language)

    def write(path: Path) -> None:
        path.write_text(page, encoding="utf-8")

    write_output(out, write, is_card, force=force)
    click.echo(say_now()("terminal-card", file=str(out)))


COMMANDS = (card,)
