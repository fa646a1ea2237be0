"""What the documents say can be done can be done: links lead somewhere, commands are understood."""

from __future__ import annotations

import re
import shlex
import stat
from pathlib import Path

import click
import pytest

from companion.cli import main

ROOT = Path(__file__).parents[1]
DOCUMENTS = sorted(
    [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md"), *(ROOT / "grammars").glob("*.md")]
)
LINK = re.compile(r"\]\(([^)#]+)(#[^)]*)?\)")
SHELL_BLOCK = re.compile(r"```sh\n(.*?)```", re.DOTALL)


def command_lines() -> list[str]:
    """Every line of a shell block in the documents, without its comment."""
    lines = []
    for document in DOCUMENTS:
        for block in SHELL_BLOCK.findall(document.read_text(encoding="utf-8")):
            lines += [line.split(" #")[0].strip() for line in block.splitlines()]
    return [line for line in lines if line]


def example_lines() -> list[str]:
    """Every example in the help of the command line."""
    commands = list(main.commands.values())
    commands += [
        it for group in commands if isinstance(group, click.Group) for it in group.commands.values()
    ]
    texts = [main.help or "", *(command.help or "" for command in commands)]
    found = []
    for text in texts:
        found += re.findall(r"^.*?(companion [a-z].*)$", text, re.MULTILINE)
    return [line for line in found if line.split()[1] in main.commands]


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_link_leads_to_a_file(document: Path) -> None:
    for target, _ in LINK.findall(document.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (document.parent / target).exists(), target


def understood(words: list[str]) -> bool:
    """Whether the command line takes these words, without doing anything."""
    context = click.Context(main, info_name="companion")
    if words == ["--help"]:
        return True
    command = main.get_command(context, words[0])
    assert command is not None, words[0]
    if isinstance(command, click.Group):
        context, words = click.Context(command, info_name=words[0], parent=context), words[1:]
        command = command.get_command(context, words[0])
        assert command is not None, words[0]
    command.make_context(words[0], words[1:], parent=context)
    return True


@pytest.mark.parametrize("line", command_lines())
def test_a_command_in_the_documents_is_one(line: str) -> None:
    program, *words = shlex.split(line)
    if program.endswith("companion"):
        assert understood(words)
    else:
        mode = (ROOT / program).stat().st_mode
        assert mode & stat.S_IXUSR, f"{program} is not to be run"


@pytest.mark.parametrize("line", sorted(set(example_lines())))
def test_an_example_in_the_help_is_a_command(line: str) -> None:
    assert understood(shlex.split(line)[1:])


def test_the_readme_opens_with_the_job_and_its_two_commands() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    title, paragraph = readme.split("\n\n")[:2]
    assert title == "# Bay companion"
    assert "forward radar" in paragraph
    block = SHELL_BLOCK.search(readme)
    assert block is not None
    assert [line.split()[0] for line in block.group(1).splitlines()] == [
        "./demo_scripts/first_job.sh",
        "./tests/run.sh",
    ]
