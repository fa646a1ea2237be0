"""A bay that is published and names its stand brings the stand's file with it."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from companion.errors import FileProblem
from companion.job.loader import EXAMPLES, JobPaths
from companion.job.own_folder import own_folder
from companion.published import kept
from companion.published.manifest import Signed, read_folder
from companion.runtime import assembly
from companion.runtime.checks.published import Place, check_published
from tests.store.shop_files import change, shop_files, with_named_stand


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to publish, whose bay names its stand; no files of the box's own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "configuration"))
    folder = shop_files(tmp_path / "files")
    with_named_stand(folder)
    return folder


def on_a_box(files: Path, box: Path, version: int = 1) -> JobPaths:
    """The files as a box keeps them; and the bay that a job there is done in."""
    place = kept.write(box, Signed(b"{}", "", ""), read_folder(files), version)
    check_published(place, read_folder(files), Place())
    return JobPaths(vehicle=place / "vehicles" / "grey.yaml", bay=place / "bays" / "one.yaml")


def test_the_stand_goes_with_its_bay(files: Path, tmp_path: Path) -> None:
    found = read_folder(files)
    assert "stands/big-one.yaml" in found
    check_published(files, found, Place())
    loaded = assembly.load(on_a_box(files, tmp_path / "box"))
    assert loaded.plan.files.bay.stand.plate_distance_mm == 1250
    written = (files / "stands" / "big-one.yaml").read_bytes()
    assert loaded.file_hashes["stand"] == hashlib.sha256(written).hexdigest()


def test_it_is_not_the_one_that_the_box_calls_the_same(files: Path, tmp_path: Path) -> None:
    own = own_folder("stand")
    own.mkdir(parents=True)
    other = (EXAMPLES / "stand.yaml").read_text("utf-8")
    (own / "big-one.yaml").write_text(other, "utf-8")
    loaded = assembly.load(on_a_box(files, tmp_path / "box"))
    assert loaded.plan.files.bay.stand.plate_distance_mm == 1250


def test_each_version_has_its_own(files: Path, tmp_path: Path) -> None:
    before = on_a_box(files, tmp_path / "box")
    change(files / "stands" / "big-one.yaml", "plate_distance_mm", "plate_distance_mm: 1300")
    after = on_a_box(files, tmp_path / "box", version=2)
    distances = [assembly.load(p).plan.files.bay.stand.plate_distance_mm for p in (before, after)]
    assert distances == [1250, 1300]
    kept_as = kept.as_of(after, 1, {}, tmp_path / "box")
    assert assembly.load(kept_as).plan.files.bay.stand.plate_distance_mm == 1250


@pytest.mark.parametrize("named", ["big-one", "../stands/big-one", "example-../big-one"])
def test_a_bay_without_its_stand_is_refused_also_where_there_is_one(
    files: Path, named: str
) -> None:
    own = own_folder("stand")
    own.mkdir(parents=True)
    (files / "stands" / "big-one.yaml").rename(own / "big-one.yaml")
    change(files / "bays" / "one.yaml", "stand", f"stand: {named}")
    with pytest.raises(FileProblem, match=r"stand: found .* which is not published"):
        check_published(files, read_folder(files), Place())


def test_the_stand_that_ships_need_not_be_published(files: Path) -> None:
    (files / "stands" / "big-one.yaml").unlink()
    change(files / "bays" / "one.yaml", "stand", "stand: example-stand")
    check_published(files, read_folder(files), Place())


def test_a_stand_is_looked_at_before_it_is_published(files: Path) -> None:
    change(files / "stands" / "big-one.yaml", "plate_distance_mm", "plate_distance_mm: 12")
    with pytest.raises(FileProblem, match=r"big-one\.yaml.*plate_distance_mm"):
        check_published(files, read_folder(files), Place())
