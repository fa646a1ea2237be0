"""The units that the box runs: well formed, shut in, and calling commands that exist."""

from __future__ import annotations

import configparser
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest

from companion.cli import main
from companion.settings.reading import read_settings
from companion.web.protocol import MOST_CONNECTIONS

FOLDER = Path(__file__).parents[2] / "systemd"
SERVICES = sorted(FOLDER.glob("*.service"))
CURRENT = "/opt/bay-companion/current"
PROGRAM = "/opt/bay-companion/current/venv/bin/companion"
MOST_EXPOSED = {
    "bay-companion": 10,
    "bay-companion-display": 12,
    "bay-companion-retention": 10,
    "bay-companion-keeping": 10,
    # It alone has a way out.
    "bay-companion-shipping": 20,
    "bay-companion-store-expiring": 12,
}
"""Tenths of systemd's exposure level; docs/box.md tells the figures."""
needs_analyze = pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="no systemd-analyze on this machine"
)


def lines_of(unit: Path, key: str) -> list[str]:
    return re.findall(rf"^{key}=(.*)$", unit.read_text(encoding="utf-8"), re.MULTILINE)


@needs_analyze
def test_systemd_finds_nothing_wrong(tmp_path: Path) -> None:
    """Verified as installed, but for the program's path: it has to be a file that is there."""
    for unit in [*FOLDER.glob("*.service"), *FOLDER.glob("*.timer"), *FOLDER.glob("*.path")]:
        text = unit.read_text(encoding="utf-8").replace(PROGRAM, sys.executable)
        text = re.sub(rf"{CURRENT}/\w+\.sh", sys.executable, text)
        text = re.sub(r"^Documentation=.*\n", "", text, flags=re.MULTILINE)
        (tmp_path / unit.name).write_text(text, encoding="utf-8")
    units = sorted(map(str, tmp_path.iterdir()))
    found = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", *units], capture_output=True, text=True
    )
    about_ours = [line for line in found.stderr.splitlines() if "bay-companion" in line]
    assert about_ours == []


@needs_analyze
@pytest.mark.parametrize("unit", SERVICES, ids=lambda path: path.stem)
def test_each_service_is_shut_in(unit: Path) -> None:
    found = subprocess.run(
        [
            *("systemd-analyze", "security", "--offline=true", "--no-pager"),
            *(f"--threshold={MOST_EXPOSED[unit.stem]}", str(unit)),
        ],
        capture_output=True,
        text=True,
    )
    assert found.returncode == 0, found.stdout[-300:]


def test_the_companion_has_no_network_and_no_root() -> None:
    unit = FOLDER / "bay-companion.service"
    assert lines_of(unit, "PrivateNetwork") == ["yes"]
    assert lines_of(unit, "RestrictAddressFamilies") == ["AF_UNIX"]
    assert lines_of(unit, "ProtectSystem") == ["strict"]
    assert lines_of(unit, "User") == ["bay-companion"]
    assert lines_of(unit, "CapabilityBoundingSet") == [""]


def test_the_display_is_heard_on_this_machine_only() -> None:
    unit = FOLDER / "bay-companion-display.service"
    assert lines_of(unit, "IPAddressDeny") == ["any"]
    assert lines_of(unit, "IPAddressAllow") == ["localhost"]
    assert "--host 127.0.0.1" in unit.read_text(encoding="utf-8")
    # It may look at the record; it owns nothing of it.
    assert lines_of(unit, "StateDirectory") == []
    assert lines_of(unit, "DynamicUser") == ["yes"]


@pytest.mark.parametrize("unit", SERVICES, ids=lambda path: path.stem)
def test_every_command_in_a_unit_is_one(unit: Path) -> None:
    given = {
        "$COMPANION_OPTIONS": "--ears own --voice speaker",
        "$DISPLAY_OPTIONS": "--host 127.0.0.1 --port 8170",
    }
    starts = [line for key in ("ExecStart", "ExecStartPre") for line in lines_of(unit, key)]
    ours = [line.lstrip("-+") for line in starts if PROGRAM in line]
    scripts = [Path(line.lstrip("-+")).name for line in starts if f"{CURRENT}/" in line]
    own_scripts = [FOLDER / name for name in scripts if name.endswith(".sh")]
    assert ours or own_scripts
    assert all(os.access(script, os.X_OK) for script in own_scripts)
    for line in ours:
        for name, value in given.items():
            line = line.replace(name, value)
        _, *words = shlex.split(line)
        understood(words)


def understood(words: list[str]) -> None:
    command: click.Command = main
    context = click.Context(main, info_name="companion")
    while isinstance(command, click.Group):
        name, *words = words
        found = command.get_command(context, name)
        if found is None and name == "clips":
            pytest.skip("this version has no command 'clips' yet; the units do without it")
        assert found is not None, name
        command = found
        if not isinstance(command, click.Group):
            command.make_context(name, list(words), parent=context)


def test_the_options_that_ship_are_those_that_the_units_begin_with() -> None:
    shipped = (FOLDER / "companion.env").read_text(encoding="utf-8")
    options = dict(line.split("=", 1) for line in shipped.splitlines() if line[:1].isalpha())
    text = "\n".join(unit.read_text(encoding="utf-8") for unit in SERVICES)
    for name, value in options.items():
        assert f"{name}={value}" in text


def carried_over(folder: Path, options: str, settings: str) -> tuple[str, str, str]:
    """What an upgrade leaves of these two files, and what it says."""
    files = [folder / "companion.env", folder / "settings.yaml"]
    for file, text in zip(files, (options, settings), strict=True):
        file.write_text(text, encoding="utf-8")
    done = subprocess.run(
        [str(FOLDER / "carry_over.sh"), *map(str, files)],
        capture_output=True,
        text=True,
        check=True,
    )
    left, kept = (file.read_text(encoding="utf-8") for file in files)
    return left, kept, done.stdout + done.stderr


OLD_OPTIONS = """COMPANION_OPTIONS=--ears own --voice speaker
# Recorded voices are deleted after so many days; words and hashes stay in the record.
CLIP_DAYS={days}
"""


@pytest.mark.parametrize("days", ["90", '"90"', "'90'", "90  "])
def test_an_upgrade_keeps_the_days_that_were_set(tmp_path: Path, days: str) -> None:
    settings = "kind: settings\n#keep_sound_days: 365\nearcons: false"
    left, kept, _ = carried_over(tmp_path, OLD_OPTIONS.format(days=days), settings)
    assert left == "COMPANION_OPTIONS=--ears own --voice speaker\n"
    assert kept == f"{settings}\nkeep_sound_days: 90\n"
    assert read_settings(tmp_path / "settings.yaml").settings.keep_sound_days == 90
    assert carried_over(tmp_path, left, kept) == (left, kept, "")


def test_days_that_the_settings_file_sets_already_stay(tmp_path: Path) -> None:
    settings = "kind: settings\nkeep_sound_days: 30\n"
    left, kept, said = carried_over(tmp_path, OLD_OPTIONS.format(days=365), settings)
    assert (kept, "CLIP_DAYS" in left) == (settings, False)
    assert "kept as keep_sound_days" in said


@pytest.mark.parametrize("days", ["", "0", "soon", "9999", "$(reboot)"])
def test_days_that_are_none_are_told_and_not_carried(tmp_path: Path, days: str) -> None:
    options, settings = OLD_OPTIONS.format(days=days), "kind: settings\n"
    left, kept, said = carried_over(tmp_path, options, settings)
    assert (left, kept) == (options, settings)
    assert "set keep_sound_days" in said


def test_the_pedal_rule_names_no_maker() -> None:
    rule = (FOLDER / "70-bay-companion-pedal.rules").read_text(encoding="utf-8")
    assert 'ENV{ID_INPUT_KEY}=="1"' in rule
    assert not re.search(r"idVendor|idProduct|ID_VENDOR|ID_MODEL|ATTRS", rule)


def test_the_logs_of_the_companion_end() -> None:
    settings = configparser.ConfigParser()
    settings.optionxform = str  # type: ignore[assignment,method-assign]
    settings.read_string((FOLDER / "journald@bay-companion.conf").read_text(encoding="utf-8"))
    assert {"SystemMaxUse", "MaxRetentionSec"} <= settings["Journal"].keys()
    for unit in SERVICES:
        assert lines_of(unit, "LogNamespace") == ["bay-companion"]


@pytest.mark.parametrize("script", ["install.sh", "uninstall.sh"])
def test_a_script_says_what_it_wants(script: str, tmp_path: Path) -> None:
    wrong = subprocess.run([str(FOLDER / script), "--nonsense"], capture_output=True, text=True)
    assert (wrong.returncode, "unknown option --nonsense" in wrong.stderr) == (2, True)


def test_nothing_is_installed_into_a_folder_that_is_no_system(tmp_path: Path) -> None:
    refused = subprocess.run(
        [str(FOLDER / "install.sh"), "--root", str(tmp_path)], capture_output=True, text=True
    )
    assert refused.returncode == 1
    assert "wanted" in refused.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_page_in_the_bay_has_descriptors_for_more_than_its_connections() -> None:
    (limit,) = lines_of(FOLDER / "bay-companion-display.service", "LimitNOFILE")
    assert int(limit) >= 4 * MOST_CONNECTIONS
