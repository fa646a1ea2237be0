"""A list's items are known by their names: another job's words for them are no other items."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError

from companion.facts.answers import Accepted, Done
from companion.facts.car import Car
from companion.facts.kinds import Fact
from companion.record import SqliteLog, open_record
from companion.record.cars import CarStore, cars_folder
from companion.record.visits import open_visit
from companion.runtime import assembly
from companion.runtime.rehearsing import TECHNICIAN, make_rehearsal, run_rehearsal
from companion.runtime.taking_over import Validity
from companion.runtime.visiting import of_visit
from companion.speech.silent import SilentVoice
from companion.steps.checklist.model import Checklist
from tests.benchmarks.rehearse import loaded_job


class Looking:
    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def fact(self, fact: Fact) -> None:
        self.facts.append(fact)


def facts_of_visit(folder: Path, jobs: tuple[str, ...]) -> dict[str, list[Fact]]:
    path, told = folder / "record.sqlite", {}
    with open_record(path) as database:
        visit = open_visit(database, CarStore(cars_folder(path)), Car())
        for name in jobs:
            loaded, looking = loaded_job(name=name), Looking()
            belongs = of_visit(
                database,
                visit,
                loaded,
                assembly.language(),
                Validity(),
                rehearsal=True,
                technician=TECHNICIAN,
            )
            run_rehearsal(
                loaded,
                assembly.language(),
                make_rehearsal(loaded, 18_000_001),
                SilentVoice(),
                SqliteLog(database, database.create_session()),
                watcher=looking,
                visit=belongs,
            )
            told[name] = looking.facts
    return told


def test_the_camera_takes_over_clamps_and_floor_though_it_words_them_otherwise(
    tmp_path: Path,
) -> None:
    told = facts_of_visit(tmp_path, ("front_radar", "forward_camera"))
    did = {fact.step_id for fact in told["forward_camera"] if isinstance(fact, Done)}
    assert not {name for name in did if name.startswith("clamps_list")}
    read = {fact.reading_id for fact in told["forward_camera"] if isinstance(fact, Accepted)}
    assert not {name for name in read if "run_out" in name or name.startswith("rule_")}
    assert "board_left_tape_mm" in read


def test_a_list_keeps_its_shape_and_its_places_are_names_where_it_has_none() -> None:
    plain = {"step": "checklist", "id": "all", "items": ["First thing.", "Second thing."]}
    unnamed = Checklist.model_validate(plain)
    assert list(unnamed.by_name) == ["1", "2"]
    assert unnamed.model_dump()["items"] == ("First thing.", "Second thing.")
    named = Checklist.model_validate({**plain, "items": {"one": "First thing."}})
    assert dict(named.by_name) == {"one": "First thing."}
    for wrong in ([], {}, {"Not a name": "First thing."}):
        with pytest.raises(ValidationError):
            Checklist.model_validate({**plain, "items": wrong})
