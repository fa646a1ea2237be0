"""A refusal reads the same where it is raised and in the language's file, and in no language is it
without its sentence.

The judge reads the code as text: it knows nothing of how a problem is shown.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fluent.syntax import FluentParser
from fluent.syntax import ast as ftl

import companion
from companion.errors import RecordError
from companion.language.words import Words

PACKAGE = Path(companion.__file__).parent
GRAMMARS = PACKAGE.parent / "grammars"
BY_CALLER = {"resume-other-files", "resume-unlike"}
"""Named by those that call `runtime.loop._cannot_go_on`, which adds the rest of the sentence."""


def raised() -> Iterator[tuple[str, str, frozenset[str]]]:
    """Each problem's id, its English with `{}` for a value, and the names of its values."""
    for module in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(module.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            said = [each.value for each in node.keywords if each.arg == "said"]
            if said and isinstance(said[0], ast.Constant) and said[0].value:
                values = {each.arg for each in node.keywords if each.arg not in ("said", None)}
                yield (
                    str(said[0].value),
                    _english(node.args[0], module),
                    frozenset(map(str, values)),
                )


def _english(told: ast.expr, module: Path) -> str:
    if isinstance(told, ast.Name):
        text = module.read_text("utf-8")
        told = next(
            node.value
            for node in ast.walk(ast.parse(text))
            if isinstance(node, ast.Assign)
            and isinstance(node.value, ast.JoinedStr)
            and isinstance(node.targets[0], ast.Name)
            and node.targets[0].id == told.id
            and node.lineno < told.lineno
            and told.lineno - node.lineno < 4
        )
    parts = told.values if isinstance(told, ast.JoinedStr) else [told]
    return "".join(map(_part, parts))


def _part(part: ast.expr) -> str:
    if isinstance(part, ast.FormattedValue):
        return "'{}'" if part.conversion == ord("r") else "{}"
    assert isinstance(part, ast.Constant), ast.dump(part)
    return str(part.value)


def written() -> dict[str, tuple[str, frozenset[str]]]:
    """The same of the English file."""
    found = {}
    for entry in FluentParser().parse((GRAMMARS / "en" / "problems.ftl").read_text("utf-8")).body:
        if isinstance(entry, ftl.Message) and entry.value is not None:
            text, names = "", set()
            for element in entry.value.elements:
                if isinstance(element, ftl.TextElement):
                    text += element.value
                    continue
                assert isinstance(element.expression, ftl.VariableReference), entry.id.name
                text += "{}"
                names.add(element.expression.id.name)
            found[entry.id.name.removeprefix("problem-")] = (text, frozenset(names))
    return found


def test_the_english_of_a_problem_is_that_of_the_code() -> None:
    known = written()
    for said, told, values in raised():
        if said in BY_CALLER:
            continue
        assert said in known, said
        text, names = known[said]
        assert text == told.replace("\n", " "), said
        assert names == values, said


def test_every_problem_of_the_file_is_raised_somewhere() -> None:
    there = {said for said, _, _ in raised()} - BY_CALLER
    ours = set(written())
    versions = {said for said in ours if re.sub("-version$", "", said) in BY_CALLER}
    assert ours - versions == there - {f"{said}-version" for said in BY_CALLER}
    assert versions == BY_CALLER | {f"{said}-version" for said in BY_CALLER}


def test_a_problem_is_told_in_the_language() -> None:
    error = RecordError("a b", said="no-record", record="taller.sqlite")
    assert Words("en").problem(error) == "taller.sqlite: there is no such record file"
    assert Words("es").problem(error) == "taller.sqlite: no existe ese fichero de registro"


@pytest.mark.parametrize("code", ["en", "es"])
def test_what_only_the_keeper_of_the_box_sees_stays_as_it_is(code: str) -> None:
    assert Words(code).problem(RecordError("x.sqlite: a {brace}")) == "x.sqlite: a {brace}"
