"""In which language the terminal speaks, and how it asks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from companion.base.plain_text import printable
from companion.language.loader import REFERENCE, language_codes
from companion.report.wording import Wording, wording_in

_KEY = "companion.language"


def keep_language(context: click.Context, _option: object, code: Any) -> Any:
    """A callback of `--language`: what the command says is in it as well."""
    if code:
        context.meta[_KEY] = code
    return code


def terminal_language() -> click.Option:
    """`--language` of a command that speaks at the terminal alone."""
    return click.Option(
        ["--language"],
        type=click.Choice(language_codes()),
        help=f"The language to answer in. Default: the setting 'language', otherwise {REFERENCE}.",
        expose_value=False,
        callback=keep_language,
    )


def code_now(otherwise: str = REFERENCE) -> str:
    """The code of the language that the running command answers in."""
    context = click.get_current_context(silent=True)
    return str(context.meta.get(_KEY, otherwise)) if context is not None else otherwise


def say_now() -> Wording:
    """The words of the running command."""
    return wording_in(code_now())


def tell(text: str) -> None:
    """Print one line, in which something that somebody else wrote may stand."""
    click.echo(printable(text))


def typed_line(question: str) -> str:
    """What is typed behind a question; "" for an empty line."""
    return str(click.prompt(question, default="", show_default=False))


def agreed(
    question: str,
    say: Wording,
    *,
    otherwise: bool = False,
    read: Callable[[str], str] = typed_line,
) -> bool:
    """Whether the answer was yes, asked until it is yes or no; an empty one is `otherwise`.

    `read` shows the question and gives the line that is typed.
    """
    hint = say("prompt-yes-if-empty" if otherwise else "prompt-no-if-empty")
    while True:
        told = read(f"{question} [{hint}]")
        answer = told.strip().casefold()
        if not answer:
            return otherwise
        for id_, meant in (("prompt-yes", True), ("prompt-no", False)):
            if answer in say(id_).split():
                return meant
        click.echo(say("prompt-yes-or-no"))


def require_agreed(question: str, say: Wording) -> None:
    """End the command unless the answer is yes."""
    if not agreed(question, say):
        raise click.Abort


def secret(label: str) -> str:
    """Asked for and not shown."""
    return str(click.prompt(label, hide_input=True))


def new_secret(label: str, say: Wording) -> str:
    """Asked for twice, and not shown, until both are the same."""
    while True:
        first = secret(label)
        if secret(say("prompt-again")) == first:
            return first
        click.echo(say("prompt-not-the-same"))
