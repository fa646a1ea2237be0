"""What is known of a car is kept only where it can be read again."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.errors import RecordError
from companion.facts.car import Car
from companion.record.cars import LONGEST, CarStore

WITHOUT_COMPLAINT_BYTES = len('{"complaint":"","salt":""}') + 32


def test_as_much_as_can_be_read_again_is_kept(tmp_path: Path) -> None:
    cars = CarStore(tmp_path / "cars")
    complaint = "x" * (LONGEST - WITHOUT_COMPLAINT_BYTES)
    name = cars.put(Car(complaint=complaint))
    known = cars.get(name)
    assert known is not None
    assert known.complaint == complaint


def test_more_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    cars = CarStore(tmp_path / "cars")
    complaint = "x" * (LONGEST - WITHOUT_COMPLAINT_BYTES + 1)
    with pytest.raises(RecordError, match="takes 10001 bytes and is not kept; wanted: at most"):
        cars.put(Car(complaint=complaint))
    assert not cars.folder.exists()


def test_a_visit_with_a_complaint_that_long_is_not_opened(tmp_path: Path) -> None:
    record = str(tmp_path / "bay.record")
    told = CliRunner().invoke(
        main, ["visit", "new", "--complaint", "x" * 12_000, "--record", record]
    )
    assert told.exit_code not in (0, None)
    assert isinstance(told.exception, SystemExit)
    assert "shorten the complaint" in told.output
    assert not (tmp_path / "bay.record.cars").exists()
    told = CliRunner().invoke(main, ["verify", "--record", record])
    assert told.exit_code == 0, told.output
