"""A pedal: the kernel's events become presses; a press interrupts or answers; it may go away."""

from __future__ import annotations

import os
import struct
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.errors import EarsError
from companion.recognition.keys import KEY_CODES, KeyDevice, find_key_device, key_code
from companion.recognition.pedal import BETWEEN_S, HELD_S, Pedal, Press

F13 = KEY_CODES["KEY_F13"]
EV_SYN, EV_KEY, EV_MSC = 0, 1, 4
UP, DOWN, REPEATED = 0, 1, 2
LIMIT_S = 20.0


def event(kind: int, code: int, value: int, at_s: float = 100.0) -> bytes:
    """One `struct input_event` as a 64-bit kernel writes it: 24 bytes."""
    whole = int(at_s)
    packed = struct.pack("=qqHHi", whole, round((at_s - whole) * 1e6), kind, code, value)
    assert len(packed) == 24
    return packed


class Wire:
    """A device file that the test writes the kernel's events into."""

    def __init__(self, path: Path) -> None:
        self.path = path
        os.mkfifo(path)
        self._keep_open = os.open(path, os.O_RDWR | os.O_NONBLOCK)

    def send(self, *events: bytes) -> None:
        os.write(self._keep_open, b"".join(events))

    def tap(self, at_s: float = 100.0, lasting_s: float = 0.1) -> None:
        self.send(event(EV_MSC, 4, 0x70068), event(EV_KEY, F13, DOWN, at_s), event(EV_SYN, 0, 0))
        self.send(event(EV_KEY, F13, UP, at_s + lasting_s), event(EV_SYN, 0, 0))

    def cut(self) -> None:
        os.close(self._keep_open)
        self.path.unlink()


@pytest.fixture
def wire(tmp_path: Path) -> Wire:
    return Wire(tmp_path / "event7")


class Speaking:
    """Whether the companion speaks; a press stops it."""

    def __init__(self) -> None:
        self.now = False
        self.interrupted = 0
        self.asked = threading.Event()

    def __call__(self) -> bool:
        was, self.now = self.now, False
        self.interrupted += was
        self.asked.set()
        return was


@pytest.fixture
def speaking() -> Speaking:
    return Speaking()


@pytest.fixture
def pedal(wire: Wire, speaking: Speaking) -> Iterator[Pedal]:
    pedal = Pedal(lambda: KeyDevice(wire.path, F13), speaking, try_again_s=0.05)
    yield pedal
    pedal.close()


def press_within(pedal: Pedal, seconds: float) -> Press | None:
    until_s = time.monotonic() + seconds
    while time.monotonic() < until_s:
        if pedal.waiting():
            return pedal.take()
        time.sleep(0.01)
    return None


def test_one_press(wire: Wire, pedal: Pedal) -> None:
    wire.tap()
    assert press_within(pedal, LIMIT_S) == "once"


def test_two_presses_are_one_answer(wire: Wire, pedal: Pedal) -> None:
    wire.tap(100.0)
    wire.tap(100.3)
    assert press_within(pedal, LIMIT_S) == "twice"
    assert press_within(pedal, BETWEEN_S + 0.3) is None


def test_held_down_it_means_stop_before_it_is_let_go(wire: Wire, pedal: Pedal) -> None:
    wire.send(event(EV_KEY, F13, DOWN), event(EV_KEY, F13, REPEATED), event(EV_KEY, F13, REPEATED))
    assert press_within(pedal, LIMIT_S) == "held"
    wire.send(event(EV_KEY, F13, UP, 103.0))
    assert press_within(pedal, BETWEEN_S + 0.3) is None


def test_a_long_press_that_was_read_late_is_still_a_long_one(wire: Wire, pedal: Pedal) -> None:
    wire.tap(lasting_s=HELD_S + 0.2)
    assert press_within(pedal, LIMIT_S) == "held"


def test_another_key_is_no_press(wire: Wire, pedal: Pedal) -> None:
    wire.send(event(EV_KEY, F13 + 1, DOWN), event(EV_KEY, F13 + 1, UP))
    assert press_within(pedal, BETWEEN_S + 0.5) is None


@pytest.mark.parametrize("taps", [1, 2])
def test_while_the_companion_speaks_a_press_interrupts_and_answers_nothing(
    wire: Wire, pedal: Pedal, speaking: Speaking, taps: int
) -> None:
    speaking.now = True
    for number in range(taps):
        wire.tap(100.0 + 0.3 * number)
    assert press_within(pedal, BETWEEN_S + 0.8) is None
    assert speaking.interrupted == 1
    wire.tap(110.0)
    assert press_within(pedal, LIMIT_S) == "once"


def test_a_press_made_under_an_older_prompt_counts_for_nothing(
    wire: Wire, pedal: Pedal, speaking: Speaking
) -> None:
    wire.tap()
    assert speaking.asked.wait(LIMIT_S)
    pedal.forget()
    assert press_within(pedal, BETWEEN_S + 0.5) is None
    wire.tap(110.0)
    assert press_within(pedal, LIMIT_S) == "once"


def test_an_unplugged_pedal_is_opened_again_when_it_is_back(wire: Wire, pedal: Pedal) -> None:
    wire.cut()
    again = Wire(wire.path)
    # What is written before the pedal has it open waits in the pipe.
    again.tap()
    assert press_within(pedal, LIMIT_S) == "once"
    again.cut()


def test_an_event_that_comes_in_two_pieces_is_read_whole(wire: Wire) -> None:
    device = KeyDevice(wire.path, F13)
    whole = event(EV_KEY, F13, DOWN, 7.25)
    wire.send(whole[:10])
    assert device.next(0.05) is None
    wire.send(whole[10:])
    change = device.next(1.0)
    assert change is not None
    assert (change.down, change.at_s) == (True, 7.25)
    device.close()


def made_device(devices: Path, number: int, name: str, keys: str) -> None:
    folder = devices / f"event{number}" / "device" / "capabilities"
    folder.mkdir(parents=True)
    (folder.parent / "name").write_text(f"{name}\n")
    (folder / "key").write_text(f"{keys}\n")


def test_the_device_with_the_key_is_found_among_others(tmp_path: Path) -> None:
    # A bit for each key, in words of 64 bits, the highest first: 183 is bit 55 of the third word.
    made_device(tmp_path, 0, "Power Button", "10000000000000 0")
    made_device(tmp_path, 10, "Foot switch", f"{1 << (F13 - 128):x} 0 0")
    made_device(tmp_path, 2, "Mouse", "70000 0 0 0 0")
    assert find_key_device(F13, tmp_path) == Path("/dev/input/event10")
    assert find_key_device(KEY_CODES["BTN_LEFT"], tmp_path) == Path("/dev/input/event2")
    with pytest.raises(EarsError, match=r"event0 \(Power Button\), event2 \(Mouse\), event10"):
        find_key_device(KEY_CODES["KEY_ENTER"], tmp_path)


@pytest.mark.parametrize("key", ["KEY_NONSENSE", "", "0", "99999", "-3", "²"])
def test_what_is_no_key_is_refused_with_what_is_wanted(key: str) -> None:
    with pytest.raises(EarsError, match="is not a key; wanted a number"):
        key_code(key)


def test_a_key_goes_by_its_name_or_number() -> None:
    assert key_code("KEY_F13") == key_code("key_f13") == key_code("183") == 183


def test_a_pedal_that_is_not_there_at_the_start_is_told(tmp_path: Path) -> None:
    with pytest.raises(EarsError, match="event9 cannot be opened"):
        Pedal(lambda: KeyDevice(tmp_path / "event9", F13), lambda: False)
