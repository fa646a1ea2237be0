"""Install, run, kill, upgrade and uninstall on a whole Debian that is booted in a container.

BOX_ROOT names the folder of a Debian 12 with systemd (debootstrap makes one); it is not changed.
BOX_WHEELS names a folder of wheels; without it the Python packages come over the network. Takes
some minutes; wants root.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

BOX_ROOT = os.environ.get("BOX_ROOT", "")
BOX_WHEELS = os.environ.get("BOX_WHEELS", "")
SYSTEMD = Path(__file__).parents[2] / "systemd"
STATE = "var/lib/bay-companion"
TYPED = """
[Unit]
Before=bay-companion.service
[Service]
Type=forking
ExecStartPre=/usr/bin/mkfifo -m 666 /run/typed
ExecStart=/bin/sh -c 'sleep infinity <>/run/typed &'
[Install]
WantedBy=multi-user.target
"""
PAGE = """
import re, urllib.request
page = urllib.request.urlopen("http://127.0.0.1:8170/").read().decode()
print(re.findall('class="text[^>]*>([^<]*)', page)[0])
print("off" if "The companion is off" in page else "on")
"""

pytestmark = [
    pytest.mark.skipif(not BOX_ROOT, reason="wanted: BOX_ROOT, the folder of a Debian 12"),
    pytest.mark.skipif(os.geteuid() != 0, reason="wanted: root"),
    pytest.mark.skipif(not shutil.which("systemd-nspawn"), reason="wanted: systemd-nspawn"),
]


class Box:
    """A system in a folder, at rest or booted."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.leader = 0

    def script(self, name: str, *options: str) -> str:
        done = subprocess.run(
            [str(SYSTEMD / name), "--root", str(self.root), *options],
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stderr[-2000:]
        return done.stdout

    def run(self, *command: str) -> str:
        """The output of a command inside the booted box."""
        inside = ["nsenter", "-t", str(self.leader), *["-m", "-u", "-i", "-n", "-p", "-C", "--"]]
        return subprocess.run([*inside, *command], capture_output=True, text=True).stdout.strip()

    def show(self, unit: str, name: str) -> str:
        return self.run("systemctl", "show", unit, "-p", name, "--value")

    def typed(self, words: str) -> None:
        self.run("sh", "-c", f"echo '{words}' > /run/typed")

    def page(self) -> list[str]:
        """What the display asks for, and whether it says that the companion is off."""
        python = "/opt/bay-companion/current/venv/bin/python"
        return self.run(python, "-c", PAGE).splitlines() or ["nothing yet", ""]

    def until(self, wanted: Callable[[], bool], seconds: float = 60) -> None:
        end = time.monotonic() + seconds
        while not wanted():
            assert time.monotonic() < end, self.run(
                "journalctl", "--no-pager", "--namespace=bay-companion", "-n", "30"
            )
            time.sleep(0.2)


@pytest.fixture(scope="module")
def box(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Box]:
    """A Debian of our own to install into; what is changed lies over the one given."""
    folder = tmp_path_factory.mktemp("box")
    root, upper, work = (folder / name for name in ("root", "upper", "work"))
    for made in (root, upper, work):
        made.mkdir()
    layers = f"lowerdir={BOX_ROOT},upperdir={upper},workdir={work}"
    subprocess.run(["mount", "-t", "overlay", "overlay", "-o", layers, str(root)], check=True)
    try:
        yield Box(root)
    finally:
        subprocess.run(["umount", str(root)], check=True)


def install(box: Box) -> str:
    wheels = ["--wheels", BOX_WHEELS, "--no-packages"] if BOX_WHEELS else []
    return box.script("install.sh", *wheels)


@contextmanager
def booted(box: Box) -> Iterator[None]:
    """The box, running; switched off at the end."""
    nspawn = subprocess.Popen(
        [
            *("systemd-nspawn", "-D", str(box.root), "--boot", "--register=no", "--keep-unit"),
            *("--private-network", "-M", f"bay-box-{os.getpid()}"),
        ],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        children = Path(f"/proc/{nspawn.pid}/task/{nspawn.pid}/children")
        box.until(lambda: bool(children.read_text().split()), 10)
        box.leader = int(children.read_text().split()[0])
        box.until(lambda: box.show("bay-companion-display", "ActiveState") == "active")
        yield
    finally:
        box.run("systemctl", "poweroff")
        try:
            nspawn.wait(30)
        except subprocess.TimeoutExpired:
            nspawn.kill()
            nspawn.wait()


def test_install_run_upgrade_and_uninstall(box: Box) -> None:
    assert "install: done" in install(box)
    units = box.root / "etc/systemd/system"
    wants = units / "multi-user.target.wants"
    assert (wants / "bay-companion.service").is_symlink()
    assert (wants / "bay-companion-display.service").is_symlink()
    assert (units / "timers.target.wants/bay-companion-retention.timer").is_symlink()
    assert (box.root / STATE).stat().st_mode & 0o777 == 0o750

    # Answers are typed: the container has no sound card.
    options = box.root / "etc/bay-companion/companion.env"
    options.write_text("COMPANION_OPTIONS=--ears typed --voice silent\n", encoding="utf-8")
    (units / "typed.service").write_text(TYPED, encoding="utf-8")
    (wants / "typed.service").symlink_to("/etc/systemd/system/typed.service")
    (units / "bay-companion.service.d").mkdir()
    (units / "bay-companion.service.d/typed.conf").write_text(
        "[Service]\nStandardInput=file:/run/typed\n", encoding="utf-8"
    )

    with booted(box):
        box.until(lambda: "personal data" in box.page()[0])
        for words in ("words only", "yes", "bumper", "yes"):
            box.typed(words)
        box.until(lambda: box.page()[0].startswith("Brake on") and box.page()[1] == "on")

        box.run("systemctl", "kill", "-s", "KILL", "bay-companion")
        box.until(lambda: box.page()[1] == "off", 10)
        box.until(lambda: box.page()[0].startswith("Brake on") and box.page()[1] == "on")
        assert box.show("bay-companion", "NRestarts") == "1"

        main = box.show("bay-companion", "MainPID")
        inside = ("nsenter", "-t", main, "-m", "-n", "sh", "-c")
        assert box.run(*inside, "touch /etc/no 2>/dev/null || echo refused") == "refused"
        assert box.run(*inside, "grep -c : /proc/net/dev") == "1"
        display = box.show("bay-companion-display", "MainPID")
        inside = ("nsenter", "-t", display, "-m", "sh", "-c")
        assert box.run(*inside, f"touch /{STATE}/no 2>/dev/null || echo refused") == "refused"

    kept = {path.name: path.read_bytes() for path in (box.root / STATE).glob("record.sqlite*")}
    install(box)
    releases = box.root / "opt/bay-companion/releases"
    assert len(list(releases.iterdir())) == 2
    box.script("uninstall.sh")
    assert not (box.root / "opt/bay-companion").exists()
    assert not list(units.glob("**/bay-companion*.service"))
    assert {p.name: p.read_bytes() for p in (box.root / STATE).glob("record.sqlite*")} == kept
    assert options.read_text(encoding="utf-8").startswith("COMPANION_OPTIONS=--ears typed")
    box.script("uninstall.sh", "--purge")
    assert not (box.root / STATE).exists()
