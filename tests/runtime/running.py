"""The companion as a real program, watched and ended by a test."""

from __future__ import annotations

import os
import queue
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SHORT_JOB = Path(__file__).with_name("short_job.yaml")
_COLOURS = re.compile(r"\x1b\[[0-9;]*m")


class Companion:
    """`companion ARGUMENTS` as a child; its lines come as it prints them, both streams in one."""

    def __init__(
        self,
        arguments: Sequence[str],
        environment: Mapping[str, str],
        data: Path,
        program: str = "from companion.cli import main; main()",
    ) -> None:
        self.started_s = time.monotonic()
        self.process = subprocess.Popen(
            [sys.executable, "-c", program, *arguments],
            cwd=ROOT,
            env={
                **environment,
                "PATH": os.environ["PATH"],
                "PYTHONPATH": str(ROOT),
                "PYTHONUNBUFFERED": "1",
                "XDG_DATA_HOME": str(data),
                "OMP_NUM_THREADS": "1",
            },
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.lines: list[tuple[float, str]] = []
        self._new: queue.SimpleQueue[tuple[float, str] | None] = queue.SimpleQueue()
        threading.Thread(target=self._collect, daemon=True).start()

    def _collect(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            told = (time.monotonic(), _COLOURS.sub("", line.rstrip("\n")))
            self.lines.append(told)
            self._new.put(told)
        self._new.put(None)

    def next_line(self, containing: str = "", within_s: float = 120.0) -> str | None:
        """The next line with these words; None when the program ended first.

        Raises TimeoutError, with all that was printed, when it does not come in time.
        """
        until_s = time.monotonic() + within_s
        while (left_s := until_s - time.monotonic()) > 0:
            try:
                told = self._new.get(timeout=left_s)
            except queue.Empty:
                break
            if told is None:
                return None
            if containing in told[1]:
                return told[1]
        raise TimeoutError(f"no line with {containing!r} within {within_s} s; {self.printed()}")

    def printed(self) -> str:
        """Everything so far."""
        return "\n".join(line for _, line in self.lines)

    def type(self, line: str) -> None:
        """Type a line."""
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def end(self, within_s: float = 60.0) -> int:
        """Its exit code; asked to end by SIGTERM if it still runs, killed when it will not."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        return self.wait(within_s)

    def wait(self, within_s: float = 60.0) -> int:
        """Its exit code once it has ended by itself; killed when it will not."""
        try:
            return self.process.wait(within_s)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
            raise
