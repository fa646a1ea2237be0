"""The moves of the stand: its quantities, put right together."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.calibration.coupling import ORDER, Quantity
from companion.facts.instructions import StandQuantity
from companion.job.job_file import NumberOrSource, Step, Title
from companion.job.setup_files import Float, Identifier, Model, Text
from companion.steps.shared.move import Move, fit_quantity


class Part(Model):
    """One of the quantities that are put right together."""

    id: Identifier
    quantity: Quantity
    title: Title
    result: Identifier
    within: NumberOrSource
    move: Move
    readings: Annotated[
        tuple[Identifier, ...],
        Field(min_length=1, description="what is read again when a move disturbs the quantity"),
    ]


class Moves(Step):
    """Where the stand stands: all of its moves in the order that ends inside in the fewest.

    One move disturbs other quantities; what a move has made stale is measured again.
    """

    step: Literal["moves"]
    title: Title
    parts: Annotated[tuple[Part, ...], Field(min_length=1, max_length=len(ORDER))]
    foot_ahead_mm: Annotated[
        NumberOrSource, Field(description="the foot that the stand turns about, from its centre")
    ] = 0.0
    foot_left_mm: NumberOrSource = 0.0
    foot_doubt_mm: NumberOrSource = 300.0
    confidence: Annotated[Float, Field(gt=0.5, lt=1)] = 0.95
    mean_of: Annotated[
        Identifier | None,
        Field(
            description="a verdict: what it could not call inside is moved by its sets' mean, and "
            "what it would not call inside at its second look is not left where it is"
        ),
    ] = None
    at_most: Annotated[int, Field(ge=1, le=20)]
    then_stop: Text

    @model_validator(mode="after")
    def _each_once(self) -> Moves:
        quantities = [part.quantity for part in self.parts]
        if len(set(quantities)) != len(quantities):
            raise ValueError(f"each of {', '.join(ORDER)} once at most")
        for part in self.parts:
            fit_quantity(part.move, StandQuantity(part.quantity))
        return self
