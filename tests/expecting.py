"""What may be answered at a step of one of the companion's own kinds, without a whole job."""

from __future__ import annotations

from companion.job.job_file import Step
from companion.language.expectation import Expectation
from companion.steps.registry import KINDS


def expectation_of(step: Step, *, digits_only: bool = False) -> Expectation:
    """What the step's own prompt takes."""
    expectation = KINDS[step.step].expectation(step, digits_only=digits_only)
    assert expectation is not None
    return expectation


def confirmation_of(step: Step, *, digits_only: bool = False) -> Expectation:
    """What its read-back takes."""
    expectation = KINDS[step.step].confirmation(step, digits_only=digits_only)
    assert expectation is not None
    return expectation
