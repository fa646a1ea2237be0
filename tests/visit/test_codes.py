"""Fault codes before and after: the one code that only the aim can clear has a path of its own."""

from __future__ import annotations

import re

import pytest

from companion.facts.meanings import Command
from companion.job.loader import EXAMPLES, JobPaths
from companion.language.expectation import Expectation
from companion.runtime import assembly
from companion.steps.question.model import Question

JOBS = ("front_radar", "forward_camera", "rear_corner_radar", "surround_mats")
STORED_AFTER = {"aim_fault_only", "faults_remain"}


def questions(job: str, language: str) -> dict[str, Question]:
    loaded = assembly.load(JobPaths(job=EXAMPLES / f"{job}.yaml"), assembly.language(language))
    return {step.id: step for step in loaded.plan.steps if isinstance(step, Question)}


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("job", JOBS)
def test_the_one_code_is_no_obstacle_before_and_has_to_be_gone_after(
    job: str, language: str
) -> None:
    asked = questions(job, language)
    before, after = asked["faults_before"], asked["faults_after"]
    assert "aim_fault_only" in before.choices
    assert set(before.blocked_by) == {"faults_remain"}
    assert set(after.blocked_by) == STORED_AFTER
    assert {"no_faults", "faults_cleared"} <= set(after.choices) - STORED_AFTER


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("job", JOBS)
def test_a_fault_that_remains_says_what_to_do_and_how_to_end(job: str, language: str) -> None:
    asked = questions(job, language)
    grammar = assembly.language(language).for_step(Expectation(commands=("stop",)))
    for told in (
        asked["faults_before"].blocked_by["faults_remain"],
        asked["faults_after"].blocked_by["faults_remain"],
        asked["faults_after"].blocked_by["aim_fault_only"],
    ):
        words = re.findall(r"\w+", told.lower())
        assert any(grammar.parse(word) == Command("stop") for word in words), told
