"""The shop's own files, made by questions, listed, shown, checked, copied."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import yaml

from companion.base.yaml_text import parse
from companion.commands.grouping import Group
from companion.commands.own_interview import (
    CHOICES,
    Interview,
    asked_in_words,
    written_unit,
)
from companion.commands.own_questions import PARTS, QUESTIONS, SCREW
from companion.commands.saying import agreed, say_now, tell, typed_line
from companion.errors import FileProblem
from companion.job.kind import job_model
from companion.job.loader import read_text, refuse_implausible
from companion.job.own_files import (
    MODELS,
    SHIPPED_JOBS,
    find,
    listed,
    own_path,
    read_file,
    shipped_job,
)
from companion.job.own_folder import Kind
from companion.job.setup_files import BayNamingStand, Header, MountModel, Range, Vehicle
from companion.record.outputs import write_output
from companion.report.wording import Wording
from companion.steps.question.model import Question
from companion.steps.registry import find_kinds


def _written(kind: Kind, data: dict[str, Any], say: Wording) -> str:
    """The file as a person would write it: each figure with its unit in its name, in order."""
    head = f"# {say('files-made-by', kind=kind)}\n"
    return head + yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=100)


def _save(kind: Kind, name: str, text: str, *, force: bool) -> Path:
    path = own_path(kind, name)
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)

    def write(out: Path) -> None:
        out.write_text(text, encoding="utf-8")

    write_output(path, write, lambda first: False, force=force)
    return path


def _checked(kind: Kind, path: Path) -> Header:
    """The file, read and looked at; raises FileProblem naming field and line."""
    file = read_file(kind, path)
    refuse_implausible(file, kind, path)
    return file


def _new(kind: Kind, name: str, force: bool) -> None:
    path, say = own_path(kind, name), say_now()
    if path.exists() and not force:
        raise click.UsageError(say("files-there", file=str(path)))
    click.echo(f"\n{say(f'picture-{kind}')}\n\n{say('files-lengths')}\n")
    data: dict[str, Any] = {"kind": kind}
    interview = Interview(kind, data, say)
    interview.data["name"] = click.prompt(say("files-called"), default=name)
    data["example"] = False
    parts = {
        part: agreed(
            say("files-has-it", part=say(f"part-name-{part}")), say, otherwise=part == "aim"
        )
        for part in PARTS
        if kind == "vehicle"
    }
    asked = [one for one in QUESTIONS[kind] if not one.part or parts[one.part]]
    if kind == "bay" and (stand := _named("stand", "files-which-stand", say)):
        data["stand"] = stand
        asked = [one for one in asked if not one.field.startswith("stand.")]
    for number, one in enumerate(asked, 1):
        interview.ask(one, f"{number}/{len(asked)}")
    if kind == "vehicle" and parts["aim"] and (mount := _named("mount", "files-which-mount", say)):
        data["mount"] = mount
    if kind == "mount":
        for place in range(1, 3 + agreed(say("files-three-screws"), say)):
            for one in SCREW:
                told = say("files-screw", place=str(place))
                interview.ask(one, told, f"screws[{place}].{one.field}")
            data["screws"][place - 1] = {
                "id": _identifier(data["screws"][place - 1]["name"]),
                **data["screws"][place - 1],
            }
    if interview.insisted:
        data["unusual"] = interview.insisted
    text = _written(kind, data, say)
    try:
        names_stand = kind == "bay" and isinstance(data["stand"], str)
        file = parse(text, str(path), BayNamingStand if names_stand else MODELS[kind])
        refuse_implausible(file, kind, path)
    except FileProblem as error:
        kept = _save(kind, f"{name}-unfinished", text, force=True)
        told = say.words.problem(error)
        raise FileProblem(say("files-kept", problem=told, file=str(kept))) from error
    _save(kind, name, text, force=force)
    click.echo(f"\n{say('terminal-written', file=str(path))}")
    click.echo(say("files-use-stand" if kind == "stand" else "files-use", kind=kind, name=name))


def _named(kind: Kind, question: str, say: Wording) -> str:
    """The name of one of the shop's own files; "" where it has none, or wants none of them."""
    own = {one.name for one in listed(kind) if one.told and not one.example}
    while own:
        told = typed_line(say(question, names=", ".join(sorted(own)))).strip()
        if not told or told in own:
            return told
        tell(f"    {say('files-one-of', choices=tuple(sorted(own)))}")
    return ""


def _identifier(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_") or "screw"


def _list(kind: Kind) -> None:
    say = say_now()
    for one in listed(kind):
        told = one.told or say("files-not-readable", kind=kind, name=one.name)
        mark = f"  {say('files-example')}" if one.example else ""
        tell(f"{one.name:28s} {told}{mark}")


def _show(kind: Kind, asked: str) -> None:
    path, say = find(kind, asked), say_now()
    click.echo(f"{path}\n\n{say(f'picture-{kind}')}\n")
    file = read_file(kind, path)
    if file.example:
        click.echo(say("files-example-figures"))
    width = max(len(asked_in_words(kind, one, say)) for one in QUESTIONS[kind])
    for one in QUESTIONS[kind]:
        value: Any = file
        for name in one.field.split("."):
            value = value.get(name) if isinstance(value, dict) else getattr(value, name, None)
        if value is None:
            continue
        told = _plainly(value, say)
        if isinstance(value, Range):
            ends = {"low": _plainly(value.low, say), "high": _plainly(value.high, say)}
            told = say("files-from-to", **ends)
        what = asked_in_words(kind, one, say)
        tell(f"  {what:{width}}  {told} {written_unit(one.field, say)}".rstrip())
    for screw in file.screws if isinstance(file, MountModel) else ():
        told = ", ".join(
            f"{asked_in_words('screw', one, say).lower()} "
            f"{_plainly(getattr(screw, one.field), say)}"
            for one in SCREW[1:]
        )
        tell(f"  {screw.name}: {told}")


def _plainly(value: object, say: Wording) -> str:
    if isinstance(value, int | float):
        return say.words.decimals(f"{value:g}")
    return say.words.named("file-choice-", value) if value in CHOICES else str(value)


def _check(kind: Kind, asked: str) -> None:
    path, say = find(kind, asked), say_now()
    file = _checked(kind, path)
    if isinstance(file, Vehicle):
        _look_at_usual_answers(file, path, say)
    tell(say("files-nothing-wrong", file=str(path), name=file.name))
    if file.example:
        click.echo(say("files-is-example"))


def _look_at_usual_answers(vehicle: Vehicle, path: Path, say: Wording) -> None:
    """Say which usual answers are to questions of no job that ships: slips, or for a job of one's
    own. Raises FileProblem for one that no such job would take."""
    if not vehicle.usual_answers:
        return
    model = job_model(find_kinds(None).kinds)
    proposed: dict[str, tuple[str, ...]] = {}
    for file in map(shipped_job, SHIPPED_JOBS):
        job = parse(read_text(file), str(file), model)
        for step in (step for stage in job.stages for step in stage.steps):
            if isinstance(step, Question):
                proposed[step.id] = step.may_be_proposed
    asked = tuple(sorted(question for question, answers in proposed.items() if answers))
    for question, answer in vehicle.usual_answers.items():
        if question not in proposed:
            tell(say("files-no-such-question", question=question, known=asked))
        elif answer not in proposed[question]:
            raise FileProblem(
                f"{path}: usual_answers: found {question}: {answer}; wanted: "
                f"{' or '.join(proposed[question]) or 'nothing, it is always asked in full'}",
                said="not-proposed",
                file=str(path),
                question=question,
                answer=answer,
                wanted=", ".join(proposed[question]) or say("files-asked-in-full"),
            )


def _copy(kind: Kind, asked: str, name: str, force: bool) -> None:
    source = find(kind, asked)
    text = read_text(source)
    file = read_file(kind, source)
    path = _save(kind, name, text, force=force)
    say = say_now()
    click.echo(say("terminal-written", file=str(path)))
    if file.example:
        click.echo(say("files-still-example", kind=kind, name=name))


def _group(kind: Kind, what: str) -> click.Group:
    """The commands for one kind of file."""

    @click.group(cls=Group, name=kind, help=f"{what}\n\n\b\nExample: companion {kind} list")
    def group() -> None:
        pass

    force = click.option(
        "--force", is_flag=True, help="Also where a file of this name already exists."
    )

    def add(name: str, text: str, run: Callable[..., None], *parameters: Any) -> None:
        command: Any = run
        for parameter in parameters:
            command = parameter(command)
        group.add_command(click.command(name=name, help=text)(command))

    def new(name: str, force: bool) -> None:
        _new(kind, name, force)

    def copy(asked: str, name: str, force: bool) -> None:
        _copy(kind, asked, name, force)

    named = click.argument("asked", metavar="NAME")
    add(
        "new",
        f"Make a {kind} file by questions; a picture shows where each figure is taken.\n\n\b\n"
        f"Example: companion {kind} new grey-one",
        new,
        force,
        click.argument("name"),
    )
    add(
        "list",
        f"List the shop's own {kind} files and the examples.\n\n\b\nExample: companion {kind} list",
        lambda: _list(kind),
    )
    add(
        "show",
        f"Show a {kind} file with its figures, units and picture.\n\n\b\n"
        f"Example: companion {kind} show grey-one",
        lambda asked: _show(kind, asked),
        named,
    )
    add(
        "check",
        f"Check a {kind} file: each figure, and the figures against each other.\n\n\b\n"
        f"Example: companion {kind} check grey-one",
        lambda asked: _check(kind, asked),
        named,
    )
    add(
        "copy",
        f"Copy a {kind} file to a new name, to be changed there.\n\n\b\n"
        f"Example: companion {kind} copy example-{kind} grey-one",
        copy,
        force,
        click.argument("name", metavar="NEW"),
        named,
    )
    return group


vehicle = _group("vehicle", "Manage the shop's vehicle files: one for each type of car.")
bay = _group("bay", "Manage the shop's bay files: its floor as surveyed, and the stand used in it.")
stand = _group("stand", "Manage the shop's stand files: a stand that goes from bay to bay.")
mount = _group("mount", "Manage the shop's mount files: the sensor's adjusting screws.")

COMMANDS = (vehicle, bay, stand, mount)
