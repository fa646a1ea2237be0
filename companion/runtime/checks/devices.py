"""The sound devices by name, as the settings want them."""

from __future__ import annotations

from companion.errors import EarsError
from companion.report.wording import Wording


def device_lines(say: Wording) -> list[str]:
    """One line for each device: what it can do and its name. Raises EarsError without PortAudio."""
    try:
        # Importing it starts PortAudio, which fails where its library is not installed.
        import sounddevice
    except OSError as error:
        raise EarsError(f"PortAudio is not installed ({error}); wanted: libportaudio2") from error
    lines = [
        f"{say(_what(device['max_input_channels'], device['max_output_channels'])):24s}"
        f"{device['name']}"
        for device in sounddevice.query_devices()
    ]
    return lines or [say("check-devices-none")]


def _what(inputs: int, outputs: int) -> str:
    if inputs and outputs:
        return "check-device-both"
    return "check-device-microphone" if inputs else "check-device-loudspeaker"
