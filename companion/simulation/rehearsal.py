"""One rehearsal: a bay, a car and a technician, ready to be spoken to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from typing import Protocol

from companion.facts.talking import Said
from companion.job.setup_files import Bay, MountModel, Vehicle
from companion.language.loader import load_language
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.simulation.acts import perform
from companion.simulation.answers import Wording, wording_in
from companion.simulation.errors import RehearsalError
from companion.simulation.handling import Handling
from companion.simulation.scenario import Scenario
from companion.simulation.scenes import SCENES
from companion.simulation.script import Script
from companion.simulation.slips import PlannedSlip, SlipKind, Slips
from companion.simulation.technician import Answer, Technician
from companion.simulation.truth import Spread, Truth
from companion.simulation.world import World

SIDE, RIGHT = "side", "side_right"
"""The question of a job for either side, and its answer for the right one."""


class Speaker(Protocol):
    """Turns answers into 16 kHz mono s16le sound; `quiet`: so many bytes of none."""

    def say(self, text: str) -> bytes: ...

    def quiet(self, size: int) -> bytes: ...


@dataclass(frozen=True, slots=True)
class Setting:
    """What a rehearsal is drawn from, beside its seed.

    `wording`: what the technician says, in his language.
    """

    vehicle: Vehicle
    mount: MountModel
    bay: Bay
    script: Script = field(default_factory=Script)
    wording: Wording = field(default_factory=lambda: wording_in(load_language()))
    scenario: Scenario = field(default_factory=Scenario)
    spread: Spread = field(default_factory=Spread)
    handling: Handling = field(default_factory=Handling)
    planned_slips: Sequence[PlannedSlip] = ()
    slip_chances: Mapping[SlipKind, float] | None = None


def scene_of(setting: Setting) -> type[World]:
    """What stands in the bay: with a question for the side, on the side that is answered."""
    scene, side = setting.script.scene, setting.scenario.answers.get(SIDE)
    right = f"right {scene}"
    return SCENES[right if side == RIGHT and right in SCENES else scene]


class Rehearsal:
    """Seeded: the same setting, seed and prompts give the same answers.

    `heard` is called with each spoken prompt that wants an answer; the answer to the newest one
    is then there as words and, with a speaker, as sound.
    """

    def __init__(self, setting: Setting, seed: int, speaker: Speaker | None = None) -> None:
        # Independent streams: a slip more or less must not change the bay that is drawn.
        bay_random, world_random, slip_random, talk_random = (
            Random(f"{seed} {part}")  # noqa: S311  -- rehearsals must repeat, not be secret
            for part in ("bay", "world", "slips", "talk")
        )
        self.setting = setting
        self.truth = Truth.draw(
            bay_random, setting.vehicle, setting.mount, setting.bay, setting.spread
        )
        self.world = scene_of(setting)(
            self.truth,
            setting.vehicle,
            setting.mount,
            setting.bay,
            world_random,
            setting.handling,
        )
        self.slips = Slips(slip_random, setting.planned_slips, setting.slip_chances or {})
        self._technician = Technician(
            self.world,
            setting.vehicle,
            [screw.id for screw in setting.mount.screws],
            setting.script,
            setting.wording,
            setting.scenario,
            self.slips,
            talk_random,
        )
        self._speaker = speaker
        self._answer: Answer | None = None
        self.prompts_heard = 0

    def already_done(self, step_ids: Iterable[str]) -> None:
        """An earlier job did these in the same bay: it stands as they left it."""
        for step_id in step_ids:
            for act in self.setting.script.acts.get(step_id, ()):
                perform(act, self.world)

    def heard(self, said: Said) -> None:
        """A prompt was spoken; what it asks for is done now."""
        self.prompts_heard += 1
        self._answer = self._technician.hear(said)

    def answer(self) -> Answer:
        """The answer to the newest prompt. Raises RehearsalError before the first one."""
        if self._answer is None:
            raise RehearsalError("an answer was wanted before any prompt was heard")
        return self._answer

    def answer_text(self) -> str | None:
        """The words of that answer; None for silence."""
        return self.answer().text

    @property
    def is_at_a_reading(self) -> bool:
        """Whether a reading is being asked for or said back, for counting only."""
        return self._technician.is_at_a_reading

    def meant(self, reading_id: str) -> Decimal | None:
        """What the technician last read for this reading; None: nothing yet."""
        return self._technician.meant(reading_id)

    def chosen(self, step_id: str) -> str | None:
        """What he last answered to this question, for counting only; None: nothing yet."""
        return self._technician.chosen(step_id)

    def sound(self) -> bytes:
        """The same as sound, after its delay: 16 kHz mono s16le. Nothing but the delay if silent.

        Raises RehearsalError when there is no speaker.
        """
        answer, speaker = self.answer(), self.speaker
        # Speech first: in noise its level sets that of the noise before it.
        speech = speaker.say(answer.text) if answer.text is not None else b""
        return speaker.quiet(2 * round(answer.delay_s * SAMPLE_RATE_HZ)) + speech

    @property
    def speaker(self) -> Speaker:
        if self._speaker is None:
            raise RehearsalError("sound was wanted of a rehearsal that has no speaker")
        return self._speaker
