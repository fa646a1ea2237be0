"""Fetching a model from a file: the right one whole, or nothing at all."""

from __future__ import annotations

import hashlib
import stat
import zipfile
from pathlib import Path

import pytest

from companion.errors import EarsError
from companion.recognition import fetch
from companion.recognition.fetch import fetch_ears


def packed(path: Path, files: dict[str, bytes]) -> str:
    """Write a ZIP file; its SHA-256 comes back."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return hashlib.sha256(path.read_bytes()).hexdigest()


MODEL = {"small-model/am/final.mdl": b"acoustic", "small-model/conf/mfcc.conf": b"--rate=16000"}


def test_a_model_file_with_the_right_hash_is_unpacked_without_its_outer_folder(
    tmp_path: Path,
) -> None:
    sha256 = packed(tmp_path / "model.zip", MODEL)
    folder = fetch_ears(tmp_path / "ears" / "en", sha256.upper(), from_file=tmp_path / "model.zip")
    assert (folder / "am" / "final.mdl").read_bytes() == b"acoustic"
    assert (folder / "conf" / "mfcc.conf").read_bytes() == b"--rate=16000"
    assert [entry.name for entry in folder.parent.iterdir()] == ["en"]


def test_a_model_without_an_outer_folder_is_unpacked_as_it_is(tmp_path: Path) -> None:
    sha256 = packed(tmp_path / "model.zip", {"am/final.mdl": b"a", "README": b"b"})
    folder = fetch_ears(tmp_path / "en", sha256, from_file=tmp_path / "model.zip")
    assert (folder / "am" / "final.mdl").read_bytes() == b"a"


def test_a_file_with_another_hash_is_refused_and_nothing_is_left(tmp_path: Path) -> None:
    found = packed(tmp_path / "model.zip", MODEL)
    with pytest.raises(EarsError, match=f"its SHA-256 is {found}"):
        fetch_ears(tmp_path / "ears" / "en", "0" * 64, from_file=tmp_path / "model.zip")
    assert list((tmp_path / "ears").iterdir()) == []


@pytest.mark.parametrize("sha256", ["", "abc", "g" * 64, "0" * 63])
def test_without_a_real_hash_nothing_is_fetched(tmp_path: Path, sha256: str) -> None:
    with pytest.raises(EarsError, match="64 hexadecimal digits"):
        fetch_ears(tmp_path / "en", sha256)


@pytest.mark.parametrize(
    "name", ["../outside.txt", "/outside.txt", "model/../../outside.txt", "a\\..\\b", "c:/x"]
)
def test_a_path_that_leads_outside_is_refused(tmp_path: Path, name: str) -> None:
    sha256 = packed(tmp_path / "model.zip", {"model/am/final.mdl": b"a", name: b"bad"})
    with pytest.raises(EarsError, match="outside its folder"):
        fetch_ears(tmp_path / "ears" / "en", sha256, from_file=tmp_path / "model.zip")
    assert list((tmp_path / "ears").iterdir()) == []
    assert not (tmp_path / "outside.txt").exists()


def test_a_link_in_the_archive_is_refused(tmp_path: Path) -> None:
    link = zipfile.ZipInfo("model/am")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    with zipfile.ZipFile(tmp_path / "model.zip", "w") as archive:
        archive.writestr(link, "/etc")
    sha256 = hashlib.sha256((tmp_path / "model.zip").read_bytes()).hexdigest()
    with pytest.raises(EarsError, match="plain files"):
        fetch_ears(tmp_path / "en", sha256, from_file=tmp_path / "model.zip")


def test_an_archive_that_unpacks_too_large_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sha256 = packed(tmp_path / "model.zip", {"model/zeros": bytes(2_000_000)})
    monkeypatch.setattr(fetch, "MOST_UNPACKED_BYTES", 1_000_000)
    with pytest.raises(EarsError, match="unpacks to 2000000 bytes"):
        fetch_ears(tmp_path / "en", sha256, from_file=tmp_path / "model.zip")


def test_a_file_that_is_no_archive_is_refused(tmp_path: Path) -> None:
    (tmp_path / "model.zip").write_bytes(b"not a ZIP file")
    sha256 = hashlib.sha256(b"not a ZIP file").hexdigest()
    with pytest.raises(EarsError, match="cannot be read as a ZIP file"):
        fetch_ears(tmp_path / "en", sha256, from_file=tmp_path / "model.zip")


def test_a_model_that_is_already_there_is_not_replaced(tmp_path: Path) -> None:
    sha256 = packed(tmp_path / "model.zip", MODEL)
    (tmp_path / "en").mkdir()
    with pytest.raises(EarsError, match="already there"):
        fetch_ears(tmp_path / "en", sha256, from_file=tmp_path / "model.zip")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(EarsError, match=r"gone\.zip: there is no such file"):
        fetch_ears(tmp_path / "en", "0" * 64, from_file=tmp_path / "gone.zip")


@pytest.mark.parametrize("url", ["http://models.invalid/en.zip", "file:///etc/passwd"])
def test_only_https_addresses_are_asked(tmp_path: Path, url: str) -> None:
    with pytest.raises(EarsError, match="https"):
        fetch_ears(tmp_path / "en", "0" * 64, url=url)


def test_an_address_that_does_not_answer_is_a_clear_refusal(tmp_path: Path) -> None:
    with pytest.raises(EarsError, match="cannot be fetched"):
        fetch_ears(tmp_path / "en", "0" * 64, url="https://models.invalid/en.zip")
