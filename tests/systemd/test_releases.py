"""Releases of a box: in the order of their installation, a job goes on, there is a way back."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from companion.record import Entry, SqliteLog, open_record
from companion.record.going_on import is_a_job_going_on

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "systemd"
INSTALL = (FOLDER / "install.sh").read_text(encoding="utf-8")
KEEP = FOLDER / "keep.sh"


def part(begin: str, end: str) -> str:
    """A piece of the script as it stands in it."""
    return INSTALL[INSTALL.index(begin) : INSTALL.index(end)]


def bash(script: str, **environment: str) -> str:
    done = subprocess.run(
        ["bash", "-c", f"set -euo pipefail\n{script}"],
        capture_output=True,
        text=True,
        env={**os.environ, **environment},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def a_box(folder: Path, *names: str, current: str = "", previous: str = "") -> Path:
    releases = folder / "opt/bay-companion/releases"
    for name in names:
        (releases / name).mkdir(parents=True)
    for link, name in (("current", current), ("previous", previous)):
        if name:
            (releases.parent / link).symlink_to(f"releases/{name}")
    return releases


CLEAN_UP = 'root="{root}"; home=/opt/bay-companion; releases="$root$home/releases"; release={new}\n'


@pytest.mark.parametrize(
    ("there", "following"),
    [
        ((), "000001"),
        (("000001", "000002"), "000003"),
        (("000009", "000010"), "000011"),
        (("20310506-070809",), "000001"),
        (("20310506-070809", "000001"), "000002"),
    ],
)
def test_a_release_is_numbered_after_those_before_it(
    tmp_path: Path, there: tuple[str, ...], following: str
) -> None:
    a_box(tmp_path, *there)
    begin = part('last="$(find', 'echo "install: release $release"')
    script = CLEAN_UP.format(root=tmp_path, new="") + begin + '\necho "$release"'
    assert bash(script) == following


def test_a_release_is_never_deleted_because_of_its_name(tmp_path: Path) -> None:
    """Also those of an older box, that bear a date, of which the newer may bear the older one."""
    names = ("20400101-000000", "20010101-000000", "000001")
    releases = a_box(tmp_path, *names, current="000001", previous="20010101-000000")
    script = CLEAN_UP.format(root=tmp_path, new="000001")
    script += part("of_link()", "\nbefore=") + "\n" + part("in_use()", 'echo "install: done.')
    bash(script)
    assert {path.name for path in releases.iterdir()} == {"000001", "20010101-000000"}


def test_a_release_that_something_runs_by_stays(tmp_path: Path) -> None:
    releases = a_box(tmp_path, "000001", "000002", "000003", current="000003", previous="000002")
    running = subprocess.Popen(
        [
            *(sys.executable, "-c", "import sys; sys.stdin.read()"),
            "/opt/bay-companion/releases/000001/venv/bin/companion",
        ],
        stdin=subprocess.PIPE,
    )
    try:
        script = CLEAN_UP.format(root=tmp_path, new="000003")
        script += part("of_link()", "\nbefore=") + "\n" + part("in_use()", 'echo "install: done.')
        bash(script)
        assert len(list(releases.iterdir())) == 3
    finally:
        assert running.stdin is not None
        running.stdin.close()
        running.wait()
    bash(script)
    assert {path.name for path in releases.iterdir()} == {"000002", "000003"}


def test_the_way_back_goes_there_and_back(tmp_path: Path) -> None:
    releases = a_box(tmp_path, "000001", "000002", current="000002", previous="000001")
    for old, new in (("000002", "000001"), ("000001", "000002")):
        script = CLEAN_UP.format(root=tmp_path, new=new) + f"before={old}\n"
        bash(script + part("points_to()", '\nunits="'))
        assert os.readlink(releases.parent / "current") == f"releases/{new}"
        assert os.readlink(releases.parent / "previous") == f"releases/{old}"


@pytest.mark.skipif(os.geteuid() != 0, reason="wanted: root")
def test_where_there_is_no_way_back_nothing_is_changed(tmp_path: Path) -> None:
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin/sh").symlink_to("/bin/sh")
    done = subprocess.run(
        [str(FOLDER / "install.sh"), "--root", str(tmp_path), "--back"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1
    assert "there is no release to go back to; nothing was changed" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["bin"]


def test_an_upgrade_restarts_all_but_a_companion_at_work() -> None:
    assert 'systemctl restart "${enabled[@]:1}"' in INSTALL
    assert "enabled=(bay-companion.service " in INSTALL
    assert "restart_idle.sh" in INSTALL
    retention = (FOLDER / "bay-companion-retention.service").read_text(encoding="utf-8")
    assert "try-restart" not in retention
    assert "restart_idle.sh" in retention


def test_a_job_is_at_work_from_its_first_answer_to_its_end(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path) as database:
        log = SqliteLog(database, database.create_session("s1"))
        log.append([Entry("opened", {}), Entry("said", {"text": "Bumper or grille?"})])
        assert not is_a_job_going_on(path)
        log.append([Entry("heard", {"words": "bumper"})])
        assert is_a_job_going_on(path)
        log.append([Entry("stopped", {"why": "x"})])
        assert not is_a_job_going_on(path)
        log.append([Entry("heard", {"words": "continue"})])
        assert is_a_job_going_on(path)
        log.append([Entry("finished", {"result": "inside"})])
        assert not is_a_job_going_on(path)
        log.append([Entry("heard", {"words": "x"})])
    assert not is_a_job_going_on(path)
    for file, code in ((path, 1), (tmp_path / "none", 1)):
        run = subprocess.run([sys.executable, "-m", "companion.record.going_on", str(file)])
        assert run.returncode == code


# Sealing and copying


@pytest.fixture
def keeping(tmp_path: Path) -> tuple[Path, Path]:
    """A release with its script, and the record that it keeps."""
    release = tmp_path / "release"
    (release / "venv/bin").mkdir(parents=True)
    (release / "keep.sh").write_bytes(KEEP.read_bytes())
    program = release / "venv/bin/companion"
    program.write_text(
        f"#!/bin/sh\nexec {sys.executable} -c 'from companion.cli import main; main()' \"$@\"\n"
    )
    for file in (program, release / "keep.sh"):
        file.chmod(0o755)
    record = tmp_path / "record.sqlite"
    with open_record(record) as database:
        SqliteLog(database, database.create_session("s1")).append([Entry("said", {})])
    return release / "keep.sh", record


def keep(script: Path, record: Path, **more: str) -> str:
    copies = record.with_name("copies")
    environment = {"RECORD": str(record), "BACKUP_FOLDER": str(copies), "PYTHONPATH": str(ROOT)}
    return bash(f"{script}", **environment, **more)


def days_pass(copies: Path) -> None:
    for file in copies.iterdir():
        os.utime(file, (file.stat().st_mtime - 90_000,) * 2)


def test_each_day_is_sealed_and_copied_and_a_week_of_copies_stays(
    keeping: tuple[Path, Path],
) -> None:
    script, record = keeping
    copies = record.with_name("copies")
    for _ in range(2):
        keep(script, record, COPIES_KEPT="2")
        assert {path.name for path in copies.iterdir()} == {
            "record-000001.sqlite",
            "record-000001.seal",
        }
    for _ in range(2):
        days_pass(copies)
        keep(script, record, COPIES_KEPT="2")
    assert {path.name for path in copies.iterdir()} == {
        *("record-000001.seal", "record-000002.seal", "record-000003.seal"),
        *("record-000002.sqlite", "record-000003.sqlite"),
    }


def test_a_copy_of_a_clock_that_ran_ahead_keeps_no_later_one_from_being_made(
    keeping: tuple[Path, Path],
) -> None:
    script, record = keeping
    copies = record.with_name("copies")
    keep(script, record)
    os.utime(copies / "record-000001.sqlite", (2_208_988_800,) * 2)
    keep(script, record)
    assert (copies / "record-000002.sqlite").is_file()
    keep(script, record)
    assert not (copies / "record-000003.sqlite").exists()


def test_while_a_companion_runs_the_copy_is_made_and_the_seal_later(
    keeping: tuple[Path, Path],
) -> None:
    script, record = keeping
    copies = record.with_name("copies")
    with open_record(record), pytest.raises(AssertionError, match="already open for writing"):
        keep(script, record)
    assert {path.name for path in copies.iterdir()} == {"record-000001.sqlite"}
    keep(script, record)
    assert {path.name for path in copies.iterdir()} == {
        "record-000001.sqlite",
        "record-000001.seal",
    }


# What is installed


KINDS = ["x86_64-3.11", "x86_64-3.13", "aarch64-3.11", "aarch64-3.13"]


@pytest.mark.parametrize("name", [*KINDS, "sources"])
def test_every_package_is_locked_with_hashes(name: str) -> None:
    text = (FOLDER / "locks" / f"{name}.txt").read_text(encoding="utf-8")
    entries = re.split(r"\n(?=\S)", re.sub(r"^#.*\n", "", text, flags=re.MULTILINE).strip())
    for entry in entries:
        assert re.match(r"[a-z0-9-]+==\S+", entry), entry
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", entry), entry


@pytest.mark.parametrize("machine", KINDS)
def test_the_locks_hold_all_that_the_project_asks_for(machine: str) -> None:
    locked = "".join(
        (FOLDER / "locks" / f"{name}.txt").read_text(encoding="utf-8")
        for name in (machine, "sources")
    )
    names = set(re.findall(r"^([a-z0-9-]+)==", locked, re.MULTILINE))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    asked = [
        *project["project"]["dependencies"],
        *project["build-system"]["requires"],
    ]
    wanted = {re.split(r"[<>=!~ \[]", text)[0].lower() for text in asked}
    assert {re.sub(r"[-_.]+", "-", name) for name in wanted} <= names
    assert "--require-hashes" in INSTALL


def test_no_lock_says_where_its_packages_come_from() -> None:
    assert {path.stem for path in (FOLDER / "locks").iterdir()} == {*KINDS, "sources"}
    for path in (FOLDER / "locks").iterdir():
        assert not re.search(r"://|--index|--find-links", path.read_text(encoding="utf-8"))


@pytest.mark.parametrize(("machine", "python"), [("x86_64", "3.12"), ("riscv64", "3.13")])
def test_what_no_packages_are_locked_for_is_refused_before_anything_is_changed(
    machine: str, python: str
) -> None:
    """By its own script, but that what runs inside of the system answers as another machine."""
    begin = part("# The packages of this kind of machine", "# Each release stands in a folder")
    answers = (
        f"inside() {{ case $1 in uname) echo {machine} ;; python3) echo {python} ;; esac; }}\n"
    )
    done = subprocess.run(
        ["bash", "-c", f"set -euo pipefail\nsource_tree={ROOT}; back=no\n{answers}{begin}"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1
    assert f"no packages are locked for {machine} with Python {python}" in done.stderr
    assert "aarch64 with Python 3.13" in done.stderr
    assert "nothing was changed" in done.stderr
