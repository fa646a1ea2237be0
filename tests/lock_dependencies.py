"""`python -m tests.lock_dependencies` locks what a box installs, with the hash of each file.

Writes `systemd/locks/MACHINE-PYTHON.txt` (wheels) for each kind of machine and each Python that
their systems ship, and `sources.txt` (what there is no wheel of): the versions that pip chooses
today out of the package index, no file of this machine. `install.sh` installs by them alone
(`pip install --require-hashes`). What builds the companion itself is in them too.

pip asks the Python that it runs by which of the packages' conditions hold, not the one that is
locked for. So the conditions are looked at again here: what they leave out goes, and what they want
besides is asked for by name.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path
from typing import Any

from packaging.markers import default_environment
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
LOCKS = ROOT / "systemd" / "locks"
MACHINES = ("x86_64", "aarch64")
PYTHONS = ("3.11", "3.13")
"""Those of Debian 12 and 13. For 3.12 there are no wheels of pocketsphinx >= 5.1.1, so no lock."""
OF_SOURCES = ("srt",)
"""What there is only the source of, in plain Python; and what asks for it:"""
ASKS_FOR_SOURCES = "vosk"
TAGS = ("manylinux2014", "manylinux_2_17", "manylinux_2_27", "manylinux_2_28", "linux")
HEAD = """# What a box of this kind installs, each file by its SHA-256; made by
# python -m tests.lock_dependencies, used by systemd/install.sh.
"""


def wanted() -> list[str]:
    """What the project asks for, and what builds it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    named = project["project"]
    return [
        *named["dependencies"],
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
    here = {name: str(value) for name, value in default_environment().items()}
    there_too = {"python_version": python, "python_full_version": f"{python}.0"}
    target = {**here, **there_too, "platform_machine": machine}
    theirs = [
        str(one) for one in asked_for(alone[0], frozenset(), target) if one.name not in OF_SOURCES
    ]
    others = [*(text for text in wanted() if text not in asking), *theirs]
    besides: list[str] = []
    while True:
        found = report(*there, *others, *besides)
        needed, missing = closure(found, others, target)
        if not missing:
            return alone + needed
        besides += missing


def closure(
    found: list[dict[str, Any]], roots: list[str], target: dict[str, str]
) -> tuple[list[dict[str, Any]], list[str]]:
    """Of the packages found those that the roots need there, and what they need besides."""
    by_name = {canonicalize_name(one["metadata"]["name"]): one for one in found}
    needed: dict[str, set[str]] = {}
    missing: list[str] = []
    waiting = [Requirement(root) for root in roots]
    while waiting:
        wanted_now = waiting.pop()
        name = canonicalize_name(wanted_now.name)
        if name not in by_name:
            missing.append(f"{wanted_now.name}{wanted_now.specifier}")
            continue
        extras = set(wanted_now.extras)
        if name in needed and extras <= needed[name]:
            continue
        needed[name] = needed.get(name, set()) | extras
        waiting += asked_for(by_name[name], frozenset(needed[name]), target)
    return [one for name, one in by_name.items() if name in needed], missing


def asked_for(
    package: dict[str, Any], extras: frozenset[str], target: dict[str, str]
) -> list[Requirement]:
    """What a package asks for there, without its conditions."""
    found = []
    for text in package["metadata"].get("requires_dist", ()):
        one = Requirement(text)
        holds = any(
            one.marker is None or one.marker.evaluate({**target, "extra": extra})
            for extra in ("", *extras)
        )
        if holds:
            one.marker = None
            found.append(one)
    return found


def report(*options: str) -> list[dict[str, Any]]:
    """The packages of an installation that is only reported."""
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "report.json"
        pip = [sys.executable, "-m", "pip", "--isolated", "install", "--quiet", "--dry-run"]
        into = ["--ignore-installed", "--target", folder, "--report", str(told)]
        # No configuration of this machine: neither its folders of wheels nor its constraints.
        environment = {**os.environ, "PIP_CONFIG_FILE": os.devnull}
        subprocess.run([*pip, *into, *options], check=True, env=environment)
        found: list[dict[str, Any]] = json.loads(told.read_text(encoding="utf-8"))["install"]
    return found


def sources() -> list[dict[str, Any]]:
    """What is built from its source, on any machine."""
    return report("--no-deps", "--no-binary=:all:", *OF_SOURCES)


def lock(packages: list[dict[str, Any]]) -> str:
    """The lock file of these packages."""
    lines = []
    for package in sorted(packages, key=lambda one: canonicalize_name(one["metadata"]["name"])):
        name = canonicalize_name(package["metadata"]["name"])
        sha256 = package["download_info"]["archive_info"]["hashes"]["sha256"]
        version = package["metadata"]["version"]
        lines.append(f"{name}=={version} \\\n    --hash=sha256:{sha256}\n")
    return HEAD + "".join(lines)


if __name__ == "__main__":
    LOCKS.mkdir(exist_ok=True)
    (LOCKS / "sources.txt").write_text(lock(sources()), encoding="utf-8")
    for machine in MACHINES:
        for python in PYTHONS:
            path = LOCKS / f"{machine}-{python}.txt"
            path.write_text(lock(chosen(machine, python)), encoding="utf-8")
