"""Render one text with pyttsx3, then end: `python -P pyttsx3_child.py FILE WPM VOICE LIMIT_S`.

The text comes on standard input. A process of its own, because the library may hang or drop
texts when it is used a second time.
"""

from __future__ import annotations

import sys
import threading
import wave

import pyttsx3

NO_SOUND = 3


def main() -> int:
    """Write the WAV file named by the first argument; the exit code is 0 when it is whole.

    `runAndWait` comes back some 10 ms after the speech was asked for, whether it was made or not:
    the end command that it puts in the queue stops the driver's loop before the loop has begun,
    and the library speaks on a thread of its own. A process that ends then takes that thread with
    it. So the end of the utterance is waited for, which the driver tells after the file is closed.
    """
    target, speed_wpm, voice, limit_s = sys.argv[1:5]
    text = sys.stdin.buffer.read().decode()
    finished = threading.Event()
    engine = pyttsx3.init()
    engine.connect("finished-utterance", lambda **_told: finished.set())
    engine.setProperty("rate", int(speed_wpm))
    if voice:
        engine.setProperty("voice", voice)
    engine.save_to_file(text, target)
    engine.runAndWait()
    if not finished.wait(float(limit_s)):
        return _without_sound(f"the library made no end of it within {limit_s} s")
    try:
        with wave.open(target) as made:
            return 0 if made.getnframes() else _without_sound(f"{target} holds no sound")
    except (OSError, EOFError, wave.Error) as error:
        return _without_sound(f"{target} is not whole: {error}")


def _without_sound(what: str) -> int:
    print(what, file=sys.stderr)
    return NO_SOUND


if __name__ == "__main__":
    sys.exit(main())
