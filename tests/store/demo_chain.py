"""A chain of shops before one's eyes: three sites, eight boxes, one store, its pages.

`python -m tests.store.demo_chain FOLDER` leaves pictures of the pages there. The jobs are
rehearsed; most are the same rehearsals under other names and dates. One stand leans more from some
job on, for its jobs are the rehearsals in which the plate was found leaning the most. Files are
published to the boxes of one site, and one of them does not believe the signer.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from playwright.sync_api import Page

from companion.record.box import public_key_path
from companion.record.rfc3339 import format_rfc3339
from companion.statistics.summary import summary
from tests.benchmarks.many_sessions import Rehearsed, make_record, rehearsed_jobs
from tests.browsers import running_browser
from tests.store.cluster import Cluster, is_there, running_cluster
from tests.store.shop_files import shop_files

SITES = {"North": 3, "South": 3, "West": 2}
JOBS, DRIFTS_FROM, DISTINCT = 60, 36, 6
CUT_OFF = ("North bay 1", "South bay 2")
TAMPERED, DRIFTING = "West bay 1", "South bay 3"
PUBLISHED_TO, DISTRUSTFUL, CHECKED = "South", "South bay 2", "North bay 2"
PASSWORD = "five words are a password"  # noqa: S105  # pragma: allowlist secret
PAGES = (
    ("/", "jobs"),
    ("/fleet", "boxes"),
    ("/worklist", "to-do"),
    ("/statistics", "drift"),
    ("/search?q=left+arm", "search"),
)
WIDTHS = ((1200, 900), (390, 844))
COMPANION = str(Path(sys.executable).with_name("companion"))


def main(out: Path) -> int:
    """Run it all; 1 where something that has to be named is not."""
    if not is_there():
        print("No PostgreSQL 15 or later here: demo_scripts/set_up.sh dev installs it.")
        return 2
    out.mkdir(parents=True, exist_ok=True)
    with running_cluster() as cluster, tempfile.TemporaryDirectory(prefix="chain-") as name:
        return _Chain(cluster, Path(name), out).run()


class _Chain:
    def __init__(self, cluster: Cluster, folder: Path, out: Path) -> None:
        self.folder, self.out = folder, out
        cluster.make_database("companion")
        self.cluster = cluster
        self.admin = cluster.address("companion")
        self.boxes: dict[str, tuple[Path, str, Path]] = {}
        self.publisher = ""

    def run(self) -> int:
        self._say("An empty store on this machine, and its schema")
        self._companion("store", "init", "--store", self.admin)
        self._let_in()
        self._ship()
        self._publish()
        self._check()
        self._tamper()
        return self._look()

    def _let_in(self) -> None:
        self._say(f"Three sites, eight boxes, {JOBS} jobs in each: {DISTINCT} really rehearsed")
        jobs = rehearsed_jobs(DISTINCT, 5)
        by_lean = sorted(jobs, key=lambda job: abs(_plumb(job)))
        upright, leaning = by_lean[: DISTINCT // 2], by_lean[DISTINCT // 2 :]
        began = format_rfc3339(datetime.now(UTC) - timedelta(days=30))
        for number, (site, box) in enumerate(
            (site, n) for site, boxes in SITES.items() for n in range(1, boxes + 1)
        ):
            name = f"{site} bay {box}"
            record = self.folder / f"box-{number}" / "record.sqlite"
            record.parent.mkdir()

            def drifting(job: int) -> list[Rehearsed]:
                return upright if job < DRIFTS_FROM else leaning

            make_record(
                record,
                JOBS,
                number,
                rehearsed=drifting if name == DRIFTING else jobs,
                bays=(f"Bay {box}",),
                first_day=began,
            )
            password = record.with_name("store.pass")
            told = self._companion(
                *("store", "add-box", name, "--site", site),
                *("--key", str(public_key_path(record))),
                *("--out", str(password), "--store", self.admin),
            )
            role = told.split("logs in as ")[1].split(";")[0]
            self.boxes[name] = (record, self.cluster.address("companion", role), password)
            self._settings(name)
            print(f"  {name}")
        word = self.folder / "password"
        word.write_text(PASSWORD + "\n")
        for who, kind, sites in (
            ("S. South", "supervisor", ("South",)),
            ("A. Auditor", "auditor", ()),
        ):
            named = [part for site in sites for part in ("--site", site)]
            out = ("--out", str(self.folder / f"{who}.pass"), "--store", self.admin)
            told = self._companion("store", f"add-{kind}", who, *named, *out)
            if kind == "supervisor":
                self.publisher = told.split("logs in as ")[1].split(";")[0]
            key = self._companion(
                *("store", "set-password", who, "--password-from", str(word)),
                *("--store", self.admin),
            )
            if kind == "supervisor":
                (self.folder / "publishers.pub").write_text(key.split("the key ")[1].strip()[:64])

    def _settings(self, name: str) -> None:
        """What each box is told once: its record, its store, and whom it believes."""
        record, store, password = self.boxes[name]
        lines = [
            "kind: settings",
            f"record: {record}",
            f"store: {store}",
            f"store_password_file: {password}",
        ]
        if name.startswith(PUBLISHED_TO) and name != DISTRUSTFUL:
            lines.append(f"published_by: {self.folder / 'publishers.pub'}")
        record.with_name("settings.yaml").write_text("\n".join(lines) + "\n")

    def _publish(self) -> None:
        self._say(
            f"Files are published to {PUBLISHED_TO}; {DISTRUSTFUL} does not believe the publisher"
        )
        told = self._companion(
            *("store", "publish", str(shop_files(self.folder / "files")), "--site", PUBLISHED_TO),
            *("--password-from", str(self.folder / "password")),
            *("--store", self.cluster.address("companion", self.publisher)),
            *("--password-file", str(self.folder / "S. South.pass")),
        )
        print("  " + told.strip())
        for name in self.boxes:
            if name.startswith(PUBLISHED_TO):
                told = self._send(name).splitlines()
                print(f"  {name}: " + next(line for line in told if "Published files" in line))

    def _check(self) -> None:
        """One box looks at itself; what it lacks here, a microphone say, it really lacks."""
        self._say(f"{CHECKED} checks itself, its ears' speed too")
        words = ("check", "--settings", str(self.boxes[CHECKED][0].with_name("settings.yaml")))
        done = subprocess.run(
            [COMPANION, *words, "--ears", "own", "--voice", "speaker", "--no-speaking", "--json"],
            capture_output=True,
            text=True,
            check=False,
            env=self._environment(CHECKED),
        )
        for look in json.loads(done.stdout)["looks"]:
            if look["id"] == "speed":
                print(f"  {look['found']}")
        self._send(CHECKED)

    def _ship(self) -> None:
        self._say("Everything is sent; two boxes are cut off in the middle, by kill -9")
        for name in self.boxes:
            if name not in CUT_OFF:
                print("  " + self._send(name).strip())
                continue
            cut = subprocess.Popen(
                self._sending(name),
                stderr=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                env=self._environment(name),
            )
            assert cut.stderr is not None
            print(f"  {name}: {cut.stderr.readline().decode().strip()}, then cut off")
            os.kill(cut.pid, signal.SIGKILL)
            cut.wait()
        for name in CUT_OFF:
            print("  again, " + self._send(name).strip())
        print("  " + self._companion("store", "verify", "--store", self.admin).strip())

    def _tamper(self) -> None:
        self._say(
            f"{TAMPERED}: an older file is put back, its last ten jobs are gone without a trace"
        )
        record = self.boxes[TAMPERED][0]
        _without_last_jobs(record)
        print("  " + self._send(TAMPERED).strip())
        _, store, password = self.boxes[TAMPERED]
        told = self._companion(
            *("verify", "--record", str(record), "--store", store),
            *("--password-file", str(password)),
        )
        print("  " + "\n  ".join(line for line in told.splitlines() if "store" in line))

    def _look(self) -> int:
        password = self.folder / "pages.pass"
        told = self._companion("store", "add-pages", "--out", str(password), "--store", self.admin)
        role = told.split("log in as ")[1].split(";")[0]
        store = self.cluster.address("companion", role)
        self._companion("store", "index", "--store", self.admin)
        with _serving(store, password, "en") as address:
            self._say(f"The pages: {address}/login (a supervisor of South: {self.out})")
            found = self._pictures(address)
            self._at_each_width(address, "en")
        with _serving(store, password, "es") as address:
            self._at_each_width(address, "es")
        return found

    def _at_each_width(self, address: str, language: str) -> None:
        """The auditor's pages on a screen and on a telephone."""
        with running_browser() as browser:
            for width, height in WIDTHS:
                page = browser.new_page(viewport={"width": width, "height": height})
                _log_in(page, address, "A. Auditor")
                job = page.locator("tbody a").first.get_attribute("href") or ""
                for path, name in (*PAGES, (job, "job"), (job.replace("?", "/all?"), "job-all")):
                    page.goto(address + path)
                    page.screenshot(path=self.out / f"{language}-{width}-{name}.png")
                page.close()

    def _pictures(self, address: str) -> int:
        with running_browser() as browser:
            page = browser.new_page(viewport={"width": 1200, "height": 900})
            page.goto(address)
            page.screenshot(path=self.out / "0-login.png")
            _log_in(page, address, "A. Auditor")
            for number, (path, name) in enumerate(PAGES, 1):
                page.goto(address + path)
                page.screenshot(path=self.out / f"{number}-{name}.png")
            page.goto(f"{address}/fleet")
            named = page.locator("tr", has_text="NOT TAKEN").all_inner_texts()
            refused = page.locator("tr", has_text="REFUSED").all_inner_texts()
            page.goto(f"{address}/statistics")
            drifting = page.locator("tr", has_text="changed on").all_inner_texts()
            page.get_by_role("button", name="Log out").click()
            _log_in(page, address, "S. South")
            page.screenshot(path=self.out / "6-jobs-of-south.png")
            seen = page.locator("table").inner_text()
            page.locator("tbody a").first.click()
            page.screenshot(path=self.out / "7-job.png")
            sent = _sign(page, address)
            page.screenshot(path=self.out / "8-signed.png", full_page=False)
            page.goto(f"{address}/statistics?bay=South+·+Bay+3#charts")
            page.screenshot(path=self.out / "9-drifting-stand.png")
        self._say("Signed in the browser, and taken by the box at its next contact")
        print("  " + self._send(sent).strip().replace("\n", "\n  "))
        print()
        ok = True
        for what, lines, wanted in (
            ("Tampered box", named, TAMPERED),
            ("Published files refused", refused, DISTRUSTFUL),
            ("Drifting stand", drifting, "South · Bay 3"),
        ):
            print(f"{what}: {' | '.join(' '.join(line.split())[:150] for line in lines)}")
            ok &= len(lines) == 1 and wanted in lines[0]
        ok &= "North" not in seen and "West" not in seen
        print(f"Pictures: {self.out}")
        return 0 if ok else 1

    def _send(self, name: str) -> str:
        done = subprocess.run(
            self._sending(name),
            capture_output=True,
            text=True,
            check=False,
            env=self._environment(name),
        )
        return done.stdout + "".join(
            line + "\n" for line in done.stderr.splitlines() if "events sent" not in line
        )

    def _sending(self, name: str) -> list[str]:
        settings = self.boxes[name][0].with_name("settings.yaml")
        return [COMPANION, "ship", "--settings", str(settings)]

    def _environment(self, name: str) -> dict[str, str]:
        """Each box has a data folder of its own."""
        return {**os.environ, "XDG_DATA_HOME": str(self.boxes[name][0].parent)}

    def _companion(self, *words: str) -> str:
        done = subprocess.run([COMPANION, *words], capture_output=True, text=True, check=False)
        if done.returncode and words[0] != "verify":
            raise RuntimeError(f"{words}: {done.stdout}{done.stderr}")
        return done.stdout

    def _say(self, what: str) -> None:
        print(f"\n{what}.", flush=True)


def _plumb(job: Rehearsed) -> float:
    return summary(job.events).measures.get("plate_plumb_deg", 0.0)


@contextlib.contextmanager
def _serving(store: str, password: Path, language: str) -> Iterator[str]:
    """The address of the pages in that language, while they are served."""
    serving = subprocess.Popen(
        [
            *(COMPANION, "review", "serve", "--port", "0", "--language", language),
            *("--store", store, "--password-file", str(password)),
        ],
        stdout=subprocess.PIPE,
    )
    try:
        assert serving.stdout is not None
        told = serving.stdout.readline().decode()
        yield told[told.index("http") :].split()[0].rstrip("/")
    finally:
        serving.terminate()
        serving.wait(20)


def _log_in(page: Page, address: str, login: str) -> None:
    page.goto(f"{address}/login")
    page.locator("input[name=login]").fill(login)
    page.locator("input[name=password]").fill(PASSWORD)
    page.locator("main form button").click()
    page.wait_for_url(f"{address}/")


def _sign(page: Page, address: str) -> str:
    """Sign the newest job that is over; whose box it is."""
    page.goto(f"{address}/?only=unsigned")
    page.locator("tbody a").first.click()
    box = page.locator(".of-the-store bdi").nth(1).inner_text()
    page.get_by_role("link", name="Sign, correct, comment").click()
    form = page.locator("form[action='/session/sign']")
    form.get_by_label("Remark").fill("Seen with the technician")
    form.get_by_label("Password").fill(PASSWORD)
    form.get_by_role("button").click()
    page.wait_for_url(f"{address}/session?*")
    return box


def _without_last_jobs(record: Path) -> None:
    """The file as it was when the last jobs had not been done: no trace, and no guard off."""
    with sqlite3.connect(record) as file:
        guards = file.execute(
            "SELECT sql, name FROM sqlite_schema WHERE type = 'trigger'"
        ).fetchall()
        for _, name in guards:
            file.execute(f"DROP TRIGGER {name}")
        (first,) = file.execute(
            "SELECT number FROM box_mark WHERE what = 'opened' ORDER BY number DESC "
            "LIMIT 1 OFFSET 9"
        ).fetchone()
        kept = "SELECT session_id FROM box_mark WHERE number < ?"
        file.execute(f"DELETE FROM event WHERE session_id NOT IN ({kept})", (first,))
        file.execute(f"DELETE FROM session WHERE id NOT IN ({kept})", (first,))
        file.execute("DELETE FROM box_mark WHERE number >= ?", (first,))
        for statement, _ in guards:
            file.execute(statement)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
