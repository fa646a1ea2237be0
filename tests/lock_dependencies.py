"""`python -m tests.lock_dependencies` locks what a box installs, with the hash of each file.

Writes `systemd/locks/MACHINE.txt` (wheels) for each kind of machine, and `sources.txt` (what there
is no wheel of), over the Pythons that their systems ship: the versions that pip chooses today out
of the package index, no file of this machine. `install.sh` installs by them alone
(`pip install --require-hashes`). What builds the companion itself is in them too.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import tomllib
from collections import defaultdict
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
LOCKS = ROOT / "systemd" / "locks"
MACHINES = ("x86_64", "aarch64")
SOURCES = "sources"
PYTHONS = ("3.11",)
OF_SOURCES = ("srt",)
"""What there is only the source of, in plain Python; and what asks for it:"""
ASKS_FOR_SOURCES = "vosk"
TAGS = ("manylinux2014", "manylinux_2_17", "manylinux_2_27", "manylinux_2_28", "linux")
HEAD = """# What a box of this kind installs, each file by its SHA-256; made by
# python -m tests.lock_dependencies, used by systemd/install.sh.
"""


def wanted() -> list[str]:
    """What the project asks for, with the companion's own ears, and what builds it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    named = project["project"]
    return [
        *named["dependencies"],
        *named["optional-dependencies"]["ears"],
        *project["build-system"]["requires"],
        "setuptools",
    ]


def chosen(machine: str, python: str) -> list[dict[str, Any]]:
    """What pip would install there, as its installation report tells it."""
    there = [
        *("--only-binary=:all:", "--python-version", python, "--implementation", "cp"),
        *(option for tag in TAGS for option in ("--platform", f"{tag}_{machine}")),
    ]
    asking = [text for text in wanted() if text.startswith(ASKS_FOR_SOURCES)]
    alone = report(*there, "--no-deps", *asking)
    theirs = [text for text in alone[0]["metadata"]["requires_dist"] if ";" not in text]
    others = [text for text in wanted() if text not in asking]
    return alone + report(*there, *others, *(one for one in theirs if not of_sources(one)))


def of_sources(requirement: str) -> bool:
    """Whether there is only the source of it."""
    return any(requirement.startswith(name) for name in OF_SOURCES)


def report(*options: str) -> list[dict[str, Any]]:
    """The packages of an installation that is only reported."""
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "report.json"
        pip = [sys.executable, "-m", "pip", "--isolated", "install", "--quiet", "--dry-run"]
        into = ["--ignore-installed", "--target", folder, "--report", str(told)]
        subprocess.run([*pip, *into, *options], check=True)
        found: list[dict[str, Any]] = json.loads(told.read_text(encoding="utf-8"))["install"]
    return found


def packages(machine: str, python: str) -> list[dict[str, Any]]:
    """Those of a machine, or the sources that are for all."""
    if machine == SOURCES:
        return report("--no-deps", "--no-binary=:all:", *OF_SOURCES)
    return chosen(machine, python)


def lock(machine: str) -> str:
    """The lock file of one kind of machine."""
    found: dict[tuple[str, str], dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for python in PYTHONS:
        for package in packages(machine, python):
            name = package["metadata"]["name"].lower().replace("_", "-").replace(".", "-")
            version = package["metadata"]["version"]
            sha256 = package["download_info"]["archive_info"]["hashes"]["sha256"]
            found[name, version][sha256].add(python)
    versions: dict[str, list[str]] = defaultdict(list)
    for name, version in found:
        versions[name].append(version)
    lines = [HEAD]
    for (name, version), hashes in sorted(found.items()):
        marker = ""
        if len(versions[name]) > 1:
            pythons = sorted(set().union(*hashes.values()))
            told = " or ".join(f'python_version == "{python}"' for python in pythons)
            marker = f" ; {told}"
        files = "".join(f" \\\n    --hash=sha256:{sha256}" for sha256 in sorted(hashes))
        lines.append(f"{name}=={version}{marker}{files}\n")
    return "".join(lines)


if __name__ == "__main__":
    LOCKS.mkdir(exist_ok=True)
    for kind in (SOURCES, *MACHINES):
        (LOCKS / f"{kind}.txt").write_text(lock(kind), encoding="utf-8")
