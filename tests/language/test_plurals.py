"""One of a thing is not said as many are: "1 reading", "2 readings"."""

from __future__ import annotations

import pytest

from tests.language.test_sides import texts


@pytest.mark.parametrize("code", ["en", "es"])
def test_what_is_said_of_one_is_not_what_is_said_of_many(code: str) -> None:
    found = texts(code)
    alike = [
        path
        for path, one in found.items()
        if path[-1] == "one" and found[*path[:-1], "other"].split() == one.split()
    ]
    assert len([path for path in found if path[-1] == "one"]) > 50
    assert not alike
