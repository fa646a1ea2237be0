"""What the microphone hears of the loudspeaker, from one known sound that is played and recorded.

The delay is the peak of the cross-correlation by phase (Knapp and Carter 1976: the generalised
cross-correlation with phase transform); the echo's power is the share of what is heard that the
played sound explains (`over_voice.coherent_share`). Both find an echo well below the background.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from companion.errors import EarsError
from companion.recognition.over_voice import (
    LONGEST_DELAY_S,
    Echo,
    band_level_dbfs,
    coherent_share,
    likeliest_delay,
)
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.recognition.samples import Samples

LEAST_PLAYED_S = 1.0
MOST_ABOVE_BACKGROUND_DB = 0.0
MOST_ECHO_DBFS = -51.0
"""25 dB below a headset's speech (`conditions.NEAR_SPEECH_DBFS`): in another, quieter hour the
background is lower, and the echo must be far below speech then too."""
_LEAST_SHARE = 0.02
"""Less than this is not told from chance: it is an upper bound then."""
_FOUND_ABOVE = 8.0


@dataclass(frozen=True)
class EchoFound:
    """Levels between 200 Hz and 4 kHz, dB relative to full scale; the delay counts from playing.

    `is_found`: the delay stands out; otherwise the echo is so faint that its level is a bound.
    """

    echo_dbfs: float
    background_dbfs: float
    played_dbfs: float
    delay_s: float
    is_found: bool

    @property
    def above_background_db(self) -> float:
        """Negative where the echo is below what else is heard."""
        return self.echo_dbfs - self.background_dbfs

    @property
    def echo(self) -> Echo:
        """For listening while something else is played."""
        return Echo(self.echo_dbfs - self.played_dbfs, self.delay_s)

    @property
    def allows_answers(self) -> bool:
        """Whether a person may be heard while it is played."""
        return (
            self.above_background_db <= MOST_ABOVE_BACKGROUND_DB
            and self.echo_dbfs <= MOST_ECHO_DBFS
        )


def echo_in(heard: Samples, background: Samples, played: Samples) -> EchoFound:
    """The echo of `played` in `heard`, which begins as that is given to the loudspeaker.

    All of shape (n,), 16 kHz, full scale 1.0; `background`: the same room without it. Raises
    EarsError where less than a second was played or heard.
    """
    least = round(LEAST_PLAYED_S * SAMPLE_RATE_HZ)
    if min(len(heard), len(background), len(played)) < least:
        raise EarsError(
            f"too little sound to measure the loudspeaker: {len(played) / SAMPLE_RATE_HZ:.1f} s "
            f"played, {len(heard) / SAMPLE_RATE_HZ:.1f} s heard; wanted: {LEAST_PLAYED_S:.0f} s "
            "of each, from a microphone that stays connected"
        )
    span = round(LONGEST_DELAY_S * SAMPLE_RATE_HZ)
    delay, stands_out = likeliest_delay(heard, played, span)
    arrives = np.zeros(len(heard), np.float32)
    count = min(len(played), len(heard) - delay)
    arrives[delay : delay + count] = played[:count]
    within = slice(delay, delay + count)
    share = coherent_share(heard[within], arrives[within])
    is_found = stands_out >= _FOUND_ABOVE
    heard_dbfs = band_level_dbfs(heard[within])
    return EchoFound(
        echo_dbfs=heard_dbfs + float(10.0 * np.log10(max(share, _LEAST_SHARE))),
        background_dbfs=band_level_dbfs(background),
        played_dbfs=band_level_dbfs(played),
        delay_s=delay / SAMPLE_RATE_HZ if is_found else 0.0,
        is_found=is_found,
    )
