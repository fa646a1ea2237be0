"""Real sound devices without a sound card: a sound server of its own with two wires.

Into the wire `bay_mouth` a technician speaks, and its other end is the companion's microphone; the
companion's loudspeaker is the wire `bay_speaker`, whose other end is recorded. The companion finds
both through ALSA, as it finds a headset.
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import numpy.typing as npt

RATE_HZ = 16_000
MOUTH, SPEAKER = "bay_mouth", "bay_speaker"
PROGRAMS = ("pulseaudio", "pactl", "pacat", "parec")
_CHUNK_S = 0.01
_WITHIN_S = 60.0

_ASOUND = f"""
pcm_type.pulse {{ lib "libasound_module_pcm_pulse.so" }}
pcm.bay {{
  type asym
  playback.pcm {{ type pulse device {SPEAKER} }}
  capture.pcm {{ type pulse device {MOUTH}.monitor }}
}}
pcm.!default {{ type plug slave.pcm bay }}
"""


def missing_programs() -> list[str]:
    """What of the sound server is not installed here."""
    missing = [program for program in PROGRAMS if shutil.which(program) is None]
    plugins = Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so")
    return missing or ([] if any(plugins) else ["ALSA's pulse plugin (libasound2-plugins)"])


class SoundDevices:
    """The sound server; made by `sound_devices`."""

    def __init__(self, folder: Path) -> None:
        address = folder / "native"
        self._commands = str(folder / "cli")
        self.environment: Mapping[str, str] = {
            "PATH": os.environ["PATH"],
            "HOME": str(folder),
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_RUNTIME_PATH": str(folder),
            "PULSE_SERVER": f"unix:{address}",
            "ALSA_CONFIG_PATH": str(folder / "asound.conf"),
        }
        (folder / "asound.conf").write_text(_ASOUND, encoding="utf-8")
        (folder / "default.pa").write_text(
            f"load-module module-native-protocol-unix socket={address} auth-anonymous=1\n"
            f"load-module module-cli-protocol-unix socket={self._commands}\n",
            encoding="utf-8",
        )
        self._log = (folder / "server.log").open("wb")
        self._server = subprocess.Popen(
            [
                *("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=60", "--disable-shm=yes"),
                *("--use-pid-file=no", "--high-priority=no", "--realtime=no"),
                *("-F", str(folder / "default.pa")),
            ],
            env=self.environment,
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )
        self._modules: dict[str, str] = {}
        self._wait_for_server()
        self.plug_in(MOUTH)
        self.plug_in(SPEAKER)

    def _wait_for_server(self) -> None:
        until_s = time.monotonic() + _WITHIN_S
        while time.monotonic() < until_s:
            if self._control("info", check=False).returncode == 0:
                return
            time.sleep(0.02)
        self.close()
        raise RuntimeError("the sound server did not start")

    def _control(self, *words: str, check: bool = True) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["pactl", *words], env=self.environment, capture_output=True, text=True, check=check
        )

    def plug_in(self, wire: str) -> None:
        """The device is there (again)."""
        told = self._control(
            *("load-module", "module-null-sink"),
            *(f"sink_name={wire}", f"rate={RATE_HZ}", "channels=1"),
        )
        self._modules[wire] = told.stdout.strip()

    def leak(self, percent: int) -> None:
        """From now on the microphone hears the loudspeaker, at so much of its amplitude."""
        told = self._control(
            *("load-module", "module-loopback", f"source={SPEAKER}.monitor", f"sink={MOUTH}"),
            *("latency_msec=40", "source_dont_move=true", "sink_dont_move=true"),
        )
        assert told.returncode == 0
        (stream,) = [
            line.split()[0]
            for line in self._control("list", "short", "sink-inputs").stdout.splitlines()
            if "loopback" in line or line.split()[2] == "-"
        ]
        # The server's scale of volumes is cubic: so much amplitude is the cube root of it there.
        self._control("set-sink-input-volume", stream, f"{(percent / 100) ** (1 / 3):.4f}")

    def unplug(self, wire: str) -> None:
        """The device is gone, with every stream on it.

        The server would move the streams to its other wire, as a desktop does; here they end, as
        they do on a box with one headset.
        """
        inputs = self._streams("sink", wire)
        outputs = self._streams("source", f"{wire}.monitor")
        self._control("unload-module", self._modules.pop(wire))
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as commands:
            commands.connect(self._commands)
            for kind, streams in (("sink-input", inputs), ("source-output", outputs)):
                for stream in streams:
                    commands.sendall(f"kill-{kind} {stream}\n".encode())
            # An answer to the last command shows that the others have been carried out.
            commands.sendall(b"stat\n")
            while b"Memory" not in commands.recv(65_536):
                pass

    def _streams(self, kind: str, device: str) -> list[str]:
        """The numbers of the streams on a sink or source."""
        listed = self._control("list", "short", f"{kind}s").stdout.splitlines()
        (index,) = [line.split()[0] for line in listed if line.split()[1] == device]
        of_kind = "sink-inputs" if kind == "sink" else "source-outputs"
        streams = self._control("list", "short", of_kind).stdout.splitlines()
        return [line.split()[0] for line in streams if line.split()[1] == index]

    def close(self) -> None:
        """The server ends."""
        self._server.terminate()
        self._server.wait(_WITHIN_S)
        self._log.close()


@contextmanager
def sound_devices(folder: Path) -> Iterator[SoundDevices]:
    """A sound server that lasts until the block ends; `folder` has to be short of path."""
    devices = SoundDevices(folder)
    try:
        yield devices
    finally:
        devices.close()


class Mouth:
    """Speaks into the microphone's wire; the stream stays open, as a live microphone's does."""

    def __init__(self, devices: SoundDevices) -> None:
        self._player = subprocess.Popen(
            [
                *("pacat", "--playback", f"--device={MOUTH}", "--raw", "--format=s16le"),
                *(f"--rate={RATE_HZ}", "--channels=1", "--latency-msec=20"),
            ],
            env=devices.environment,
            stdin=subprocess.PIPE,
            bufsize=0,
        )

    def speak(self, sound: bytes) -> None:
        """Say 16 kHz mono s16le sound; comes back when it has been handed over."""
        assert self._player.stdin is not None
        self._player.stdin.write(sound)

    def close(self) -> None:
        """Close the stream."""
        assert self._player.stdin is not None
        self._player.stdin.close()
        self._player.terminate()
        self._player.wait(_WITHIN_S)


class Recording:
    """Everything that goes over a wire, as it comes, with the time at which it came."""

    def __init__(self, devices: SoundDevices, wire: str) -> None:
        self._recorder = subprocess.Popen(
            [
                *("parec", f"--device={wire}.monitor", "--raw", "--format=s16le"),
                *(f"--rate={RATE_HZ}", "--channels=1", "--latency-msec=10"),
            ],
            env=devices.environment,
            stdout=subprocess.PIPE,
            bufsize=0,
        )
        self._pieces: list[tuple[float, bytes]] = []
        self._news = threading.Condition()
        self._thread = threading.Thread(target=self._collect, daemon=True)
        self._thread.start()

    def _collect(self) -> None:
        assert self._recorder.stdout is not None
        while piece := self._recorder.stdout.read(2 * round(_CHUNK_S * RATE_HZ)):
            with self._news:
                self._pieces.append((time.monotonic(), piece))
                self._news.notify_all()

    def pieces(self) -> list[tuple[float, bytes]]:
        """What was recorded so far: when each piece came, and its sound."""
        with self._news:
            return list(self._pieces)

    def samples(self) -> npt.NDArray[np.int16]:
        """All of it in one piece."""
        return np.frombuffer(b"".join(piece for _, piece in self.pieces()), "<i2")

    def loud_since(self, since_s: float) -> list[float]:
        """When pieces with sound in them came since then."""
        return [
            at_s
            for at_s, piece in self.pieces()
            if at_s >= since_s and np.abs(np.frombuffer(piece, "<i2").astype(int)).max() > 30
        ]

    def loud_times(self, share_of_peak: float = 0.01) -> list[float]:
        """When there was sound, to 10 ms, in seconds of `time.monotonic`.

        Counted in samples, from the earliest start that the arrival of all pieces allows: a reader
        that is late for one piece does not shift the others.
        """
        pieces = self.pieces()
        if not pieces:
            return []
        lengths_s = np.array([len(piece) / 2 / RATE_HZ for _, piece in pieces])
        arrived_s = np.array([at_s for at_s, _ in pieces])
        ends_s = np.cumsum(lengths_s)
        began_s = float(np.min(arrived_s - ends_s))
        sound = np.abs(self.samples().astype(np.int32))
        step = round(_CHUNK_S * RATE_HZ)
        peaks = sound[: len(sound) // step * step].reshape(-1, step).max(axis=1)
        loud = np.flatnonzero(peaks > max(1.0, share_of_peak * float(peaks.max(initial=0))))
        return [began_s + float(place) * _CHUNK_S for place in loud]

    def wait_until_said(self, since_s: float, quiet_s: float, within_s: float) -> bool:
        """Wait until something was said since then and nothing more for `quiet_s`."""
        until_s = time.monotonic() + within_s
        while (now_s := time.monotonic()) < until_s:
            loud = self.loud_since(since_s)
            if loud and now_s - loud[-1] >= quiet_s:
                return True
            with self._news:
                self._news.wait(0.1)
        return False

    def close(self) -> None:
        """End the recording."""
        self._recorder.send_signal(signal.SIGTERM)
        self._recorder.wait(_WITHIN_S)
        self._thread.join(_WITHIN_S)
