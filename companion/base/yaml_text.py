"""YAML text to checked models, with errors that name file, line, field, found and wanted."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, TypeVar

import yaml
from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from companion.errors import FileProblem

LONGEST_TEXT = 1_000_000
MOST_NODES = 50_000
DEEPEST = 40
LONGEST_NUMBER = 100
_LIBYAML: tuple[int, ...] = yaml._yaml.get_version() if yaml.__with_libyaml__ else ()
_LIMITS_NESTING = (0, 2, 6)
"""One before has no limit of its own: a text that is deep enough ends the program."""
_READ_OTHERWISE = ("\t", "\ufeff")
_NUMBERS = frozenset({"tag:yaml.org,2002:int", "tag:yaml.org,2002:float"})

# What PyYAML lets through when a tag's value is not of the tag, such as `!!bool perhaps`.
TAG_MISFITS = (KeyError, IndexError, AttributeError, TypeError, RecursionError)

ModelType = TypeVar("ModelType", bound=BaseModel)
Path = tuple[str | int, ...]


def parse(text: str, file_name: str, model: type[ModelType]) -> ModelType:
    """The text of one file as its model.

    Raises FileProblem naming the file, the line and the field, what was found and what is wanted.
    Aliases are allowed but may not blow the file up; keys may not stand twice.
    """
    if len(text) > LONGEST_TEXT:
        raise FileProblem(f"{file_name}: {len(text)} characters; wanted: {LONGEST_TEXT} at most")
    node = _compose(text, file_name)
    lines = dict(_lines(node, file_name))
    data = _construct(node, file_name)
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise FileProblem(_explain(error, file_name, lines)) from error


def field_lines(text: str, file_name: str) -> dict[Path, int]:
    """The line of every field of a text that `parse` takes, by the field's path."""
    return dict(_lines(_compose(text, file_name), file_name))


def word_at(text: str, file_name: str, field: str) -> str | None:
    """The word or text that stands behind a field of the file; None for anything else."""
    node = _compose(text, file_name)
    assert isinstance(node, yaml.MappingNode)  # noqa: S101  -- anything else is refused there
    for key, value in node.value:
        if key.value == field and isinstance(value, yaml.ScalarNode) and value.tag.endswith(":str"):
            return str(value.value)
    return None


def _compose(text: str, file_name: str) -> yaml.Node:
    try:
        node = _read(text)
    except (yaml.YAMLError, RecursionError) as error:
        where, problem = _where_and_what(error, "not readable as YAML")
        raise FileProblem(
            f"{file_name}{where}: {_cut(problem)}; wanted: a YAML file{_as_yaml(problem)}"
        ) from error
    if not isinstance(node, yaml.MappingNode):
        raise FileProblem(f"{file_name}: empty, or a list; wanted: fields such as 'kind: job'")
    return node


def _read(text: str) -> yaml.Node | None:
    """By libyaml where there is a fit one, nine times as fast.

    What it refuses is read once more without it, so that a fault is told in the same words
    everywhere. So is a text with what the two do not take alike: tabs, and marks of the byte order.
    """
    if _LIBYAML >= _LIMITS_NESTING and not any(sign in text for sign in _READ_OTHERWISE):
        with contextlib.suppress(yaml.YAMLError, RecursionError, UnicodeEncodeError):
            return yaml.compose(text, Loader=yaml.CSafeLoader)
    return yaml.compose(text, Loader=yaml.SafeLoader)


def _lines(root: yaml.Node, file_name: str) -> Iterator[tuple[Path, int]]:
    """Every field's path with its line; refuses doubled keys and texts that unfold too far."""
    waiting: list[tuple[Path, yaml.Node]] = [((), root)]
    seen = 0
    while waiting:
        path, node = waiting.pop()
        seen += 1
        line = node.start_mark.line + 1
        if seen > MOST_NODES or len(path) > DEEPEST:
            raise FileProblem(
                f"{file_name} line {line}: unfolds too far; "
                f"wanted: at most {MOST_NODES} values, {DEEPEST} deep"
            )
        if isinstance(node, yaml.ScalarNode):
            _refuse_long_number(node, file_name)
        yield path, line
        if isinstance(node, yaml.SequenceNode):
            waiting.extend(((*path, i), child) for i, child in enumerate(node.value))
        elif isinstance(node, yaml.MappingNode):
            keys: set[str] = set()
            for key, child in node.value:
                if not isinstance(key, yaml.ScalarNode):
                    raise FileProblem(
                        f"{file_name} line {key.start_mark.line + 1}: "
                        "a list or fields as a field's name; wanted: a word"
                    )
                _refuse_long_number(key, file_name)
                if key.value in keys:
                    raise FileProblem(
                        f"{file_name} line {key.start_mark.line + 1}: "
                        f"'{_cut(key.value)}' stands twice; wanted: once"
                    )
                keys.add(key.value)
                waiting.append(((*path, str(key.value)), child))


def _as_yaml(problem: str) -> str:
    """How it is written, where the reader's own words would not tell a person who wrote it."""
    if "'\\t'" in problem:
        return "; a line begins with spaces, never with a tab"
    if "':'" in problem or "mapping values" in problem:
        return "; a line is a name, a colon, a space and the value (this line, or the one before)"
    return ""


def _refuse_long_number(node: yaml.ScalarNode, file_name: str) -> None:
    """YAML 1.1 reads 59:59:59 as a number to the base of 60: each part multiplies its size."""
    if node.tag in _NUMBERS and len(node.value) > LONGEST_NUMBER:
        raise FileProblem(
            f"{file_name} line {node.start_mark.line + 1}: a number of {len(node.value)} signs; "
            f"wanted: {LONGEST_NUMBER} at most"
        )


def _construct(node: yaml.Node, file_name: str) -> Any:
    constructor = yaml.SafeLoader("")
    try:
        return constructor.construct_document(node)
    except (yaml.YAMLError, ValueError, OverflowError, *TAG_MISFITS) as error:
        where, problem = _where_and_what(error, str(error))
        raise FileProblem(f"{file_name}{where}: {_cut(problem)}; wanted: plain values") from error


def _where_and_what(error: Exception, otherwise: str) -> tuple[str, str]:
    """Where in the text YAML's reader found what; `otherwise` where it does not say what."""
    mark = getattr(error, "problem_mark", None)
    where = f" line {mark.line + 1}" if mark is not None else ""
    return where, getattr(error, "problem", None) or otherwise


def _explain(error: ValidationError, file_name: str, lines: dict[Path, int]) -> str:
    parts = []
    problems = error.errors()
    deeper = {problem["loc"][:end] for problem in problems for end in range(len(problem["loc"]))}
    for problem in problems[:10]:
        if problem["type"] == "too_short" and problem["loc"] in deeper:
            # What is wrong with one of the list is told by itself; then it is not too short.
            continue
        path = _known_path(problem["loc"], lines)
        told = _found_and_wanted(problem, of_the_whole=not path)
        parts.append(f"{file_name} line {lines[path]}, {told}")
    return "\n".join(parts)


def explain_values(error: ValidationError) -> str:
    """What is wrong with values that stand in no file, by field: what was found, what is wanted."""
    problems = error.errors()[:10]
    return "\n".join(_found_and_wanted(problem, of_the_whole=False) for problem in problems)


def _found_and_wanted(problem: ErrorDetails, *, of_the_whole: bool) -> str:
    field = _cut(_as_written(problem["loc"])) or "the file"
    whole = problem["type"] == "missing" or (of_the_whole and isinstance(problem["input"], dict))
    whole = whole or (
        problem["type"] == "extra_forbidden" and isinstance(problem["input"], dict | list)
    )
    about = problem.get("ctx", {})
    found = "" if whole else f"found {_short(problem['input'])}; "
    if problem["type"] == "union_tag_invalid":
        found = f"found {_tagged(about)} {_short(about['tag'])}; "
    return f"{field}: {found}wanted: {_wanted(problem['type'], problem['msg'], about)}"


def _wanted(kind: str, message: str, about: Mapping[str, Any]) -> str:
    """What the checker says, in the words of somebody who writes the file."""
    if kind == "missing":
        return "this field, which is not there"
    if kind == "extra_forbidden":
        return "no field of this name here"
    if kind in _IN_PLAIN_WORDS:
        return _IN_PLAIN_WORDS[kind]
    if kind in _LIMITS:
        words, name = _LIMITS[kind]
        return f"{words} {about.get(name)}"
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        return f"{_tagged(about)} {about.get('expected_tags', 'one of the kinds')}"
    if kind in ("too_short", "string_too_short"):
        return f"at least {about.get('min_length')} {_ITEMS[kind]}"
    if kind in ("too_long", "string_too_long"):
        return f"at most {about.get('max_length')} {_ITEMS[kind]}"
    if kind == "string_pattern_mismatch" and about.get("pattern") == "^[a-z][a-z0-9_]*$":
        return "a name of small letters, digits and _, beginning with a letter"
    told = message.removeprefix("Value error, ").removeprefix("Input should be ")
    return told.removeprefix("wanted: ").replace("String should match pattern", "the pattern")


_ITEMS = {
    "too_short": "items",
    "too_long": "items",
    "string_too_short": "characters",
    "string_too_long": "characters",
}


_LIMITS = {
    "less_than_equal": ("at most", "le"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("less than", "lt"),
    "greater_than": ("more than", "gt"),
}
_IN_PLAIN_WORDS = {
    "float_type": "a number",
    "float_parsing": "a number",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "string_type": "a text",
    "tuple_type": "a list",
    "list_type": "a list",
    "dict_type": "fields with their values",
    "model_type": "fields with their values",
    "model_attributes_type": "fields with their values",
    "finite_number": "a finite number",
    "date_type": "a date such as 2030-12-31",
    "date_parsing": "a date such as 2030-12-31",
    "date_from_datetime_parsing": "a date such as 2030-12-31",
    "date_from_datetime_inexact": "a date such as 2030-12-31",
}
"""What is wanted, where the checker would name a type of the programming language."""


def _tagged(about: Mapping[str, Any]) -> str:
    """The field by whose value the file says which of several kinds of thing this is."""
    name = str(about.get("discriminator", "step")).strip("'")
    return f"{name}:" if name.isidentifier() else "step:"


def _as_written(location: tuple[str | int, ...]) -> str:
    """The field as the file writes it: the second of a list of screws is `screws[2]`."""
    told = ""
    for part in location:
        if isinstance(part, int):
            told += f"[{part + 1}]"
        else:
            told += f".{part}" if told else part
    return told


def _known_path(location: tuple[str | int, ...], lines: dict[Path, int]) -> Path:
    """The deepest path of the file along pydantic's location, which also names union members."""
    path: Path = ()
    for part in location:
        if (*path, part) in lines:
            path = (*path, part)
    return path


def _short(value: object) -> str:
    match value:
        case None:
            return "nothing"
        case bool():
            return str(value).lower()
        case date():
            return value.isoformat()
        case dict():
            return f"fields such as {_cut(', '.join(map(str, value)), 60)}"
        case _:
            return _cut(repr(value), 60)


def _cut(text: str, most: int = 200) -> str:
    """So much of the text as a person would read."""
    return text if len(text) <= most else f"{text[: most - 3]}..."
