"""The words over a chart have room there: its title, and below that the unit and the way."""

from __future__ import annotations

import pytest

from companion.browse.units import unit_and_way
from companion.report.pictures.time_chart import WIDTH
from companion.report.wording import wording_in
from companion.statistics.summary import MEASURES

MARGIN_PX, BOLD_PX, SMALL_PX = 8.0, 8.2, 6.9
"""What a sign of mixed text takes in the fonts of the pages, 13 px bold and 11.5 px; estimated."""


@pytest.mark.parametrize("code", ["en", "es"])
@pytest.mark.parametrize("measure", MEASURES)
def test_neither_runs_out_of_its_chart(measure: str, code: str) -> None:
    wording = wording_in(code)
    title, scale = wording.title_of(measure), unit_and_way(measure, wording)
    assert MARGIN_PX + BOLD_PX * len(title) <= WIDTH, title
    assert MARGIN_PX + SMALL_PX * len(scale) <= WIDTH, scale
    assert scale
