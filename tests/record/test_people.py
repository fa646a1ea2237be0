"""The file of people: who is in it, found in any case, and a file that cannot be used is named."""

from __future__ import annotations

from pathlib import Path

import pytest
from argon2 import PasswordHasher

from companion.errors import RecordError
from companion.record.people import People


@pytest.fixture
def people(record_path: Path) -> People:
    return People(record_path, PasswordHasher(time_cost=1, memory_cost=64))


def test_without_a_file_there_is_nobody(people: People) -> None:
    assert people.all() == ()
    assert people.find("B. Sample") is None


def test_people_are_found_in_any_case_and_a_second_entry_replaces_the_first(people: People) -> None:
    people.add("B. Sample", "technician", "4711")
    people.add("A. Example", "technician", "471147114711")
    people.add(" b. sample ", "supervisor", "0815")
    assert [(one.name, one.role) for one in people.all()] == [
        ("A. Example", "technician"),
        ("b. sample", "supervisor"),
    ]
    assert people.checked("B. SAMPLE", "0815").name == "b. sample"
    with pytest.raises(RecordError, match="not the PIN"):
        people.checked("B. Sample", "4711")


def test_a_person_who_was_removed_is_unknown_and_the_others_stay(people: People) -> None:
    people.add("B. Sample", "supervisor", "4711")
    people.add("A. Example", "technician", "4711")
    people.remove("b. sample")
    assert [one.name for one in people.all()] == ["A. Example"]
    with pytest.raises(RecordError, match=r"'B\. Sample' is not among the people"):
        people.remove("B. Sample")


def test_a_person_without_a_name_is_refused(people: People) -> None:
    with pytest.raises(RecordError, match="needs a name"):
        people.add("  ", "technician", "4711")
    assert not people.path.exists()


@pytest.mark.parametrize(
    ("content", "where"),
    [
        ('{"people": [{"name": "B", "role": "owner", "pin_hash": "x"}]}', r"people\.0\.role"),
        ('{"people": [], "more": 1}', r"\(more\)"),
        ("[]", r"the whole"),
        ("not JSON", r"the whole"),
    ],
)
def test_a_file_that_was_changed_is_named_with_the_place(
    people: People, content: str, where: str
) -> None:
    """Nobody is let in by it, and nobody is locked out in silence."""
    people.path.write_text(content)
    with pytest.raises(RecordError, match=rf"people\.json.*{where}.*add the people again"):
        people.all()
    with pytest.raises(RecordError, match="add the people again"):
        people.add("B. Sample", "supervisor", "4711")
    assert people.path.read_text() == content


def test_a_file_that_cannot_be_read_is_named(people: People) -> None:
    people.path.mkdir()
    with pytest.raises(RecordError, match=r"people\.json: cannot be read"):
        people.all()
