"""What a rehearsed job came to: what the companion said against what is true."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from companion.simulation.rehearsal import Rehearsal
from companion.simulation.slips import SlipKind
from companion.simulation.world import TruthNow

Said = Literal["inside", "outside", "stopped", "nothing"]


@dataclass(frozen=True, slots=True)
class Hearing:
    """How the answers were heard, as counted by the one that ran the job."""

    right: int = 0
    refused: int = 0
    wrong: int = 0


@dataclass(frozen=True, slots=True)
class JobScore:
    """One job. `false_inside`: the one unforgivable result."""

    finished: bool
    companion_said: Said
    truth: TruthNow
    truly_inside: bool
    false_inside: bool
    rounds: int
    prompts: int
    slips_made: int
    slips_harmful: int
    slips: Mapping[SlipKind, int]
    hearing: Hearing


def score_job(
    rehearsal: Rehearsal,
    *,
    finished: bool,
    companion_said: Said,
    rounds: int,
    hearing: Hearing | None = None,
) -> JobScore:
    """Compare what the companion said at the end with the bay as it stands now."""
    truth = rehearsal.world.truth_now()
    inside = rehearsal.world.truly_inside()
    made = rehearsal.slips.made
    return JobScore(
        finished=finished,
        companion_said=companion_said,
        truth=truth,
        truly_inside=inside,
        false_inside=companion_said == "inside" and not inside,
        rounds=rounds,
        prompts=rehearsal.prompts_heard,
        slips_made=len(made),
        slips_harmful=sum(slip.harmful for slip in made),
        slips=Counter(slip.kind for slip in made),
        hearing=hearing or Hearing(),
    )
