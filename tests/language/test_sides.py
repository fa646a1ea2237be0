"""No sentence says another side in one language than in English: left is left, up is up.

The judge reads the texts alone: the language files by their ids, and the shipped jobs and mounts as
they are in either language. It knows no grammar; it looks for words that contradict each other.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fluent.syntax import FluentParser, ast

from companion.job.loader import EXAMPLES, JobPaths
from companion.job.own_files import SHIPPED_JOBS, find_job
from companion.runtime import assembly

GRAMMARS = Path(__file__).parents[2] / "grammars"
# English and Spanish words of one side, and of the other.
OPPOSITES = {
    "side": ((r"left", r"izquierd\w+|izq\."), (r"right", r"derech\w+|der\.")),
    "sense": ((r"clockwise", r"horario"), (r"anticlockwise", r"antihorario")),
    "height": ((r"up|upwards|upper|top", r"arriba|superior"), (r"down|downwards|lower", r"abajo")),
    "over": ((r"above", r"encima"), (r"below|under", r"debajo")),
    "toe": ((r"in|inwards?", r"hacia dentro"), (r"out|outwards?|away", r"hacia fuera")),
    "end of the car": (
        (r"front|ahead", r"delante\w*|frente"),
        (r"rear|behind|back", r"detr[aá]s|traser\w+|atrás"),
    ),
    "car": ((r"towards|close|near", r"hacia el coche|cerca"), (r"away|far", r"lejos")),
}
# "What is left", "as left", "the car has left", "left out"; "is that right".
IDIOM = re.compile(
    r"what is left|\bas left|has left|car left|left (?:out|in the|blank|alone|over)|"
    r"(?:\bis|are|be|all|heard|all|it|not) right\b(?! (?:end|wheel|edge|side))|right (?:one|away)",
    re.IGNORECASE,
)


def said(words: str, text: str) -> bool:
    return re.search(rf"(?<!\w)(?:{words})(?!\w)", text, re.IGNORECASE) is not None


def contradictions(english: str, spanish: str) -> list[str]:
    """The kinds of which Spanish says one side alone and English the other alone."""
    english = IDIOM.sub(" ", english)
    found = []
    for kind, ((one_en, one_es), (other_en, other_es)) in OPPOSITES.items():
        in_english = said(one_en, english), said(other_en, english)
        in_spanish = said(one_es, spanish), said(other_es, spanish)
        if in_english in ((True, False), (False, True)) and in_spanish == in_english[::-1]:
            found.append(kind)
    order_en = re.findall(r"\b(left|right)\b", english, re.IGNORECASE)
    order_es = re.findall(r"\b(izquierd|izq\.|derech|der\.)", spanish, re.IGNORECASE)
    same = ["left" if it.lower().startswith("izq") else "right" for it in order_es]
    if len(same) > 1 and len(order_en) == len(same) and [it.lower() for it in order_en] != same:
        found.append("order of the sides")
    return found


def patterns(node: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every text of a message, by the variants that lead to it."""
    own = []
    for element in node.elements:
        if isinstance(element, ast.TextElement):
            own.append(element.value)
            continue
        inside = element.expression
        if isinstance(inside, ast.SelectExpression):
            for variant in inside.variants:
                key = variant.key
                name = key.name if isinstance(key, ast.Identifier) else key.value
                yield from patterns(variant.value, (*path, str(name)))
    yield path, " ".join(own)


def texts(code: str) -> dict[tuple[str, ...], str]:
    found = {}
    for file in sorted((GRAMMARS / code).glob("*.ftl")):
        for entry in FluentParser().parse(file.read_text("utf-8")).body:
            if isinstance(entry, ast.Message) and entry.value is not None:
                for path, text in patterns(entry.value):
                    found[entry.id.name, *path] = text
    return found


def leaves(told: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    if isinstance(told, str):
        yield path, told
    elif isinstance(told, dict):
        for key, value in told.items():
            yield from leaves(value, (*path, str(key)))
    elif isinstance(told, list | tuple):
        for place, value in enumerate(told):
            yield from leaves(value, (*path, str(place)))


def test_the_judge_sees_a_swap_and_lets_the_true_one_pass() -> None:
    assert contradictions("left", "a la derecha") == ["side"]
    assert contradictions("Left and right beam.", "Haz derecho e izquierdo.")
    assert contradictions("clockwise", "en sentido antihorario") == ["sense"]
    assert not contradictions("What is left, at range", "Lo que queda, a la derecha")
    assert not contradictions("Left and right beam.", "Haz izquierdo y derecho.")


def test_every_sentence_in_spanish_says_the_side_that_english_says() -> None:
    english, spanish = texts("en"), texts("es")
    beside = [(it, english[it], spanish[it]) for it in spanish if it in english]
    assert len(beside) > 1000
    wrong = [(*it, why) for *it, in_en, in_es in beside if (why := contradictions(in_en, in_es))]
    assert not wrong


@pytest.mark.parametrize("job", [*SHIPPED_JOBS, str(EXAMPLES / "stand_check.yaml")])
def test_every_text_of_a_job_in_spanish_says_the_side_that_english_says(job: str) -> None:
    def told(code: str) -> dict[tuple[str, ...], str]:
        files = assembly.load(JobPaths(job=find_job(job)), assembly.language(code)).plan.files
        mount = [files.mount.model_dump()] if files.mount is not None else []
        return dict(leaves([files.job.model_dump(), *mount]))

    english, spanish = told("en"), told("es")
    differ = [it for it in spanish if english.get(it, spanish[it]) != spanish[it]]
    assert len(differ) > 20
    wrong = [
        (it, english[it], spanish[it]) for it in differ if contradictions(english[it], spanish[it])
    ]
    assert not wrong
