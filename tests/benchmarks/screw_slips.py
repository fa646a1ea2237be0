"""What the companion said of the slips at the screws that a rehearsed technician made."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from companion.calibration.hypotheses import Story, possible_stories
from companion.calibration.mount import Mount
from companion.calibration.response import Response
from companion.calibration.steps import steps_for
from companion.facts.aim import Judgement, MoveJudged, ScrewPlan
from companion.facts.kinds import Fact
from companion.simulation.acts import TurnScrew
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.slips import MadeSlip
from companion.steps.aim.figures import mount_of
from tests.benchmarks.slips import LARGER_THAN_DOUBT_IN_U
from tests.benchmarks.told_apart import told_apart_in_u

_AT_SCREWS = {"screw_wrong_way": "wrong_way", "other_screw": "wrong_screw"}
_SPOILS_THE_AIM = ("tool_yaw", "tool_elevation", "echo ", "TiltPlate", "TurnStand")


@dataclass(frozen=True)
class JudgedSlip:
    """A wrong turn, what the move's last judgement called it, and whether by its right name.

    `apart_in_u`: how far it stood from what any other name would have made, in units of the doubt;
    None where several slips fell into one move, or no move was judged after it.
    `aim_misread`: an angle or a level that the move rests on may have been false as well.
    """

    made: str
    told: str
    named_right: bool = False
    apart_in_u: float | None = None
    aim_misread: bool = False

    @property
    def is_larger_than_doubt(self) -> bool:
        return self.apart_in_u is not None and self.apart_in_u >= LARGER_THAN_DOUBT_IN_U


@dataclass
class ScrewSlips:
    """A watcher of one rehearsed job.

    A move that nothing explains is measured again before the next turns are planned: the judgement
    after that is its last.
    """

    rehearsal: Rehearsal
    judged: list[JudgedSlip] = field(default_factory=list)
    _seen: int = 0
    _open: list[MadeSlip] = field(default_factory=list)
    _judgement: MoveJudged | None = None
    # Of the aim before the turns, and of the aim after them: the next move begins with that one.
    _misread_before: bool = False
    _misread_after: bool = False

    def fact(self, fact: Fact) -> None:
        made = self.rehearsal.slips.made
        for slip in made[self._seen :]:
            if slip.made.startswith("TurnScrew"):
                self._open.append(slip)
            elif slip.harmful and slip.made.startswith(_SPOILS_THE_AIM):
                self._misread_after = True
        self._seen = len(made)
        if isinstance(fact, MoveJudged) and fact.judgement is not None:
            self._judgement = fact
        elif isinstance(fact, ScrewPlan):
            self._move_is_over()
            if fact.steps:
                self._misread_before, self._misread_after = self._misread_after, False

    def close(self) -> None:
        """No move is judged any more."""
        self._move_is_over()
        self._keep("job ended")

    def _move_is_over(self) -> None:
        if self._judgement is not None and self._judgement.judgement is not None:
            self._judge(self._judgement, self._judgement.judgement)
        self._judgement = None

    def _judge(self, judged: MoveJudged, judgement: Judgement) -> None:
        if len(self._open) != 1 or self._open[0].kind not in _AT_SCREWS:
            self._keep(judged.kind)
            return
        (slip,) = self._open
        self._open = []
        misread = self._misread_before or self._misread_after
        mount = mount_of(self.rehearsal.setting.mount)
        found = _story_of(mount, slip, judgement)
        told = judged.screw_ids, judgement.instead_ids
        if found is None:
            self.judged.append(JudgedSlip(slip.kind, judged.kind, aim_misread=misread))
            return
        story, apart_in_u = found
        right = (judged.kind, *told) == (story.kind, story.screw_ids, story.instead_ids)
        self.judged.append(JudgedSlip(slip.kind, judged.kind, right, apart_in_u, misread))

    def _keep(self, told: str) -> None:
        self.judged += [JudgedSlip(s.kind, told) for s in self._open if s.kind in _AT_SCREWS]
        self._open = []


def _story_of(mount: Mount, slip: MadeSlip, judgement: Judgement) -> tuple[Story, float] | None:
    """The story that the slip made true, and how far it stands from all of another name."""
    planned = judgement.turns
    ids = [screw.id for screw in mount.screws]
    acts = {
        str(TurnScrew(screw_id, way, float(turns))): (screw_id, way, turns)
        for screw_id in ids
        for way in ("clockwise", "anticlockwise")
        for turns in {step.turns for step in steps_for(mount, planned)}
    }
    if not {slip.meant, slip.made} <= acts.keys():
        return None
    meant, made = acts[slip.meant], acts[slip.made]
    steps = [(s.screw_id, s.direction, s.turns) for s in steps_for(mount, planned)]
    if meant not in steps:
        return None
    steps[steps.index(meant)] = made  # type: ignore[call-overload]
    heads = tuple(
        tuple(turns if way == "clockwise" else -turns for name, way, turns in steps if name == one)
        for one in ids
    )
    # Which slip it was is told by the heads as they were meant to go, travel or not.
    number = next(
        (
            number
            for number, story in enumerate(possible_stories(without_ends(mount), planned))
            if tuple(story.head_moves(index) for index in range(len(ids))) == heads
        ),
        None,
    )
    if number is None:
        return None
    response = Response(judgement.response.mean, judgement.response.covariance)
    return told_apart_in_u(
        mount,
        response,
        planned,
        judgement.move_covariance,
        settled=judgement.settled,
        turned_before=judgement.turned_before,
    )[number]


def without_ends(mount: Mount) -> Mount:
    """The mount with screws that can be turned as far as anybody may turn them."""
    endless = (
        replace(screw, travel_clockwise_turns=1e3, travel_anticlockwise_turns=1e3)
        for screw in mount.screws
    )
    return Mount(tuple(endless), mount.approach)
