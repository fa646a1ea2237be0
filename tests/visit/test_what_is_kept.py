"""Of a car no more is kept than the shop's settings say, however it was entered."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main

VIN = "ZZZ12345678AEX123"
CAR = ("--plate", "ex 123", "--vin", VIN, "--order", "4711")


@pytest.mark.parametrize(
    ("told", "kept", "never"),
    [
        ("", ["EX 123", VIN, "4711"], []),
        ("keep_plate: false", [VIN, "4711"], ["EX 123"]),
        ("keep_vin: last_six", ["EX 123", VIN[-6:]], [VIN, VIN[:6], VIN[:11]]),
        ("keep_vin: never", ["EX 123", "4711"], [VIN, VIN[-6:], VIN[:6]]),
    ],
)
@pytest.mark.parametrize("way", ["new", "change"])
def test_plate_and_number_are_kept_as_the_settings_say(
    tmp_path: Path, told: str, kept: list[str], never: list[str], way: str
) -> None:
    settings, record = tmp_path / "settings.yaml", tmp_path / "shop.sqlite"
    settings.write_text(f"kind: settings\n{told}\n", encoding="utf-8")
    where = ("--settings", str(settings), "--record", str(record))

    def visit(*arguments: str) -> str:
        done = CliRunner().invoke(main, ["visit", *arguments, *where])
        assert done.exit_code == 0, done.output
        return done.output

    visit("new", *(CAR if way == "new" else ()))
    if way == "change":
        visit("change", "last", *CAR)
    shown = visit("show", "last")
    assert all(it in shown for it in kept)
    files = b"".join(it.read_bytes() for it in tmp_path.rglob("*") if it.is_file())
    for it in never:
        assert it not in shown
        assert it.encode() not in files
