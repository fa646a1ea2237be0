"""Groups of commands: loaded when asked for, plain about errors, and telling of the exit codes."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, MutableMapping, Sequence
from importlib import import_module
from typing import Any

import click

from companion.base.plain_text import printable
from companion.errors import CompanionError

EXIT_CODES = """\b
Exit codes:
  0  success (for a job: inside; for verify: unbroken)
  1  a problem that the message explains
  2  the command line itself was wrong
  3  a job, vehicle, mount, bay or grammar file is invalid
  4  the readings do not allow a result
  5  ears: recogniser, microphone or sound file
  6  voice: speech maker or speaker
  7  the record cannot be opened, written or trusted
  8  the job ended without "inside"
  9  the store of many boxes: cannot be reached, refuses, or contradicts the record
"""
_WHOLE_SENTENCE = 400
WHERE_THE_EXIT_CODES_STAND = "What the exit codes mean: companion --help"


class OnDemand(MutableMapping[str, click.Command]):
    """The commands of a group by their names; a command's module is loaded with its first use.

    `modules`: for each module of `companion.commands` the commands to be taken from its `COMMANDS`,
    by name, with the first sentence of each one's help. So the program starts with what one command
    needs, not with what all of them need. `prepare` is called with each that was loaded.
    `sections`: the commands as the help lists them, by title; without them they are listed as one.
    """

    def __init__(
        self,
        modules: Mapping[str, Mapping[str, str]],
        prepare: Callable[[click.Command], None] = lambda command: None,
        sections: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        self._prepare = prepare
        self._module_of = {name: module for module, told in modules.items() for name in told}
        self._loaded: dict[str, click.Command] = {}
        self.first_sentences = {name: it for told in modules.values() for name, it in told.items()}
        self.sections = sections or {"Commands": sorted(self.first_sentences)}

    def __getitem__(self, name: str) -> click.Command:
        if name not in self._loaded:
            module = import_module(f"companion.commands.{self._module_of[name]}")
            self[name] = next(command for command in module.COMMANDS if command.name == name)
            self._prepare(self._loaded[name])
        return self._loaded[name]

    def __setitem__(self, name: str, command: click.Command) -> None:
        command.epilog = command.epilog or WHERE_THE_EXIT_CODES_STAND
        self._loaded[name] = command

    def __delitem__(self, name: str) -> None:
        self._module_of.pop(name, None)
        del self._loaded[name]

    def __iter__(self) -> Iterator[str]:
        return iter({**self._module_of, **self._loaded})

    def __len__(self) -> int:
        return len({**self._module_of, **self._loaded})


class Group(click.Group):
    """Shows the project's own errors as they are, without a traceback, and exits by their code.

    Every command's help ends with a word on where the exit codes stand.
    """

    def add_command(self, cmd: click.Command, name: str | None = None) -> None:
        cmd.epilog = cmd.epilog or WHERE_THE_EXIT_CODES_STAND
        super().add_command(cmd, name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, for which none of them has to be loaded."""
        if not isinstance(self.commands, OnDemand):
            shown = {name: command for name, command in self.commands.items() if not command.hidden}
            with formatter.section("Commands"):
                formatter.write_dl(
                    [
                        (name, shown[name].get_short_help_str(_WHOLE_SENTENCE))
                        for name in sorted(shown)
                    ]
                )
            return
        sentences = self.commands.first_sentences
        widest = max(map(len, sentences))
        for title, names in self.commands.sections.items():
            with formatter.section(title):
                formatter.write_dl([(name.ljust(widest), sentences[name]) for name in names])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Where there is no such command, those of that name within the groups are told."""
        if self.get_command(ctx, args[0]) is None and (within := self._within(args[0])):
            there_are = ", ".join(f"'companion {it} {args[0]}'" for it in within)
            ctx.fail(f"No such command '{args[0]}' by itself. There is: {there_are}.")
        return super().resolve_command(ctx, args)

    def _within(self, name: str) -> list[str]:
        """The groups that have a command of this name."""
        groups = (self.commands[it] for it in self.commands)
        return [
            group.name or ""
            for group in groups
            if isinstance(group, click.Group) and not group.hidden and name in group.commands
        ]

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except CompanionError as error:
            from companion.commands.saying import say_now

            told = "\n".join(map(printable, say_now().words.problem(error).split("\n")))
            click.echo(f"companion: {told}", err=True)
            sys.exit(error.exit_code)
        except click.Abort:
            from companion.commands.saying import say_now

            click.echo(say_now()("prompt-ended"), err=True)
            sys.exit(1)
