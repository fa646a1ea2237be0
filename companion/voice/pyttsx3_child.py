"""Render one text with pyttsx3, then end: `python -P pyttsx3_child.py FILE WPM VOICE`.

The text comes on standard input. A process of its own, because the library may hang or drop
texts when it is used a second time.
"""

from __future__ import annotations

import sys

import pyttsx3


def main() -> int:
    """Write the WAV file named by the first argument; the exit code is 0 when it was asked for."""
    target, speed_wpm, voice = sys.argv[1:4]
    text = sys.stdin.buffer.read().decode()
    engine = pyttsx3.init()
    engine.setProperty("rate", int(speed_wpm))
    if voice:
        engine.setProperty("voice", voice)
    engine.save_to_file(text, target)
    engine.runAndWait()
    return 0


if __name__ == "__main__":
    sys.exit(main())
