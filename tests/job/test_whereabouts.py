"""Where a job's files lay: what the record says of it names nobody, and finds them again."""

from __future__ import annotations

import os
import pwd
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.job.whereabouts import lies_at, told_of

Homes = Callable[..., None]


@pytest.fixture
def homes(monkeypatch: pytest.MonkeyPatch) -> Homes:
    """An own home, and the accounts of this box as (number, home)."""

    def there_are(own: str, *accounts: tuple[int, str]) -> None:
        monkeypatch.setenv("HOME", own)
        known = [
            pwd.struct_passwd((f"n{number}", "x", number, number, "", home, "/bin/sh"))
            for number, home in accounts
        ]
        monkeypatch.setattr(pwd, "getpwall", lambda: known)

    return there_are


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("/home/ada/cars/grey.yaml", "~/cars/grey.yaml"),
        ("/home/adam/cars/grey.yaml", "grey.yaml"),
        ("/home/gone/grey.yaml", "grey.yaml"),
        ("/home/shared.yaml", "/home/shared.yaml"),
        ("/Users/eve/grey.yaml", "grey.yaml"),
        ("/data/people/eve/grey.yaml", "grey.yaml"),
        ("/srv/shop/grey.yaml", "/srv/shop/grey.yaml"),
        ("/var/lib/companion/grey.yaml", "/var/lib/companion/grey.yaml"),
    ],
)
def test_no_home_folders_name_is_told(homes: Homes, path: str, told: str) -> None:
    homes("/home/ada", (0, "/root"), (1, "/"), (90, "/var/lib/companion"),
          (1001, "/home/ada"), (1002, "/data/people/eve"), (65534, "/"))  # fmt: skip
    assert told_of(Path(path)) == told


def test_what_was_told_is_found_again_from_a_home_that_was_renamed(homes: Homes) -> None:
    homes("/home/ada")
    told = told_of(Path("/home/ada/cars/grey.yaml"))
    homes("/home/ada.lovelace")
    assert lies_at(told) == Path("/home/ada.lovelace/cars/grey.yaml")
    # As records of before have it, and a name alone, which is looked for nowhere.
    assert lies_at("/home/ada/cars/grey.yaml") == Path("/home/ada/cars/grey.yaml")
    assert lies_at("grey.yaml") is None


def test_a_path_from_the_current_folder_is_told_in_full(
    homes: Homes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    homes(str(tmp_path))
    (tmp_path / "cars").mkdir()
    monkeypatch.chdir(tmp_path / "cars")
    assert told_of(Path("grey.yaml")) == "~/cars/grey.yaml"


@given(st.lists(st.from_regex(r"[A-Za-z0-9_. ~-]{1,12}", fullmatch=True).filter(
    lambda part: part not in (".", "..")), min_size=1, max_size=4))  # fmt: skip
def test_whatever_lies_in_ones_own_home_is_found_again(parts: list[str]) -> None:
    path = Path.home().joinpath(*parts)
    told = told_of(path)
    assert os.sep.join(Path.home().parts[1:]) not in told
    assert lies_at(told) == path
