"""A whole job as the log would hold it: an invented shop, car and technician."""

from __future__ import annotations

import math
import shutil
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record

BEAM_WIDTH_DEG = 8.0
LIMIT_DEG = 0.4
STEPS_IN_CLEAR_WORDS = {
    "yaw": ("left edge towards", "right edge towards"),
    "elevation": ("top towards", "top away"),
}


@dataclass
class Shop:
    """Writes a job into a log the way the conversation does, one append per turn."""

    log: SqliteLog
    clips: ClipStore
    prompts: int = 0
    tone_hz: float = 200.0
    names: dict[str, str] = field(default_factory=dict)

    def put(self, kind: str, /, **body: Any) -> None:
        self.log.append([Entry(kind, body)])

    def say(self, step_id: str, text: str, purpose: str = "ask") -> str:
        self.prompts += 1
        prompt_id = f"p{self.prompts}"
        self.put("said", prompt_id=prompt_id, step_id=step_id, purpose=purpose, text=text)
        return prompt_id

    def tone(self) -> str:
        self.tone_hz += 7
        seconds = np.arange(9600) / 16_000
        samples = 5000 * np.sin(2 * np.pi * self.tone_hz * seconds)
        return self.clips.put(samples.astype("<i2").tobytes())

    def hear(self, prompt_id: str, words: str, meaning: dict[str, Any]) -> None:
        self.put(
            "heard",
            prompt_id=prompt_id,
            words=words,
            meaning=meaning,
            confidence=0.94,
            ears="encoder",
            start_s=1.2,
            end_s=1.8,
            clip_sha256=self.tone(),
            n_best=[words],
        )

    def read(self, step_id: str, title: str, value: str, unit: str, u: float, **more: Any) -> None:
        spoken = f"{value.lstrip('-')} {unit} {more.get('direction') or ''}".strip()
        asked = self.say(step_id, f"{title}: read the scale")
        self.hear(asked, f"{' '.join(value.lstrip('-'))}", {"kind": "number", "value": value})
        back = self.say(step_id, f"{spoken}. Correct?", "read_back")
        self.hear(back, "yes", {"kind": "yes"})
        body = {"direction": None, "take": 1, "attempts": 1, **more}
        self.put(
            "accepted",
            reading_id=step_id,
            title=title,
            value=value,
            unit=unit,
            spoken=spoken,
            u=u,
            **body,
        )

    def compute(self, step_id: str, formula: str, inputs: dict[str, Any], **outputs: Any) -> None:
        self.put(
            "computed",
            step_id=step_id,
            formula=formula,
            inputs={
                name: {"value": value, "u": 0.1, "unit": name.rpartition("_")[2], "source": name}
                for name, value in inputs.items()
            },
            outputs={
                name: {
                    "value": value,
                    "u": u,
                    "unit": unit,
                    "budget": [["reading", 80.0], ["x", 20.0]],
                }
                for name, (value, u, unit) in outputs.items()
            },
        )

    def decide(self, step_id: str, result: str, value: float, u: float, limit: float) -> None:
        upper = 0.5 * math.erfc((value - limit) / (u * math.sqrt(2)))
        lower = 0.5 * math.erfc((-limit - value) / (u * math.sqrt(2)))
        probability = upper - (1 - lower)
        answer = (
            "inside" if probability > 0.95 else "outside" if probability < 0.05 else "too_close"
        )
        self.put(
            "decided",
            step_id=step_id,
            title=f"Is {result.replace('_', ' ')} inside?",
            result=result,
            value=value,
            u=u,
            unit=result.rpartition("_")[2],
            low=-limit,
            high=limit,
            level=0.95,
            answer=answer,
            probability_inside=probability,
            times=1,
        )


def opened_body(technician: str = "Ana Field", **changes: Any) -> dict[str, Any]:
    screws = [
        {"id": "upper_left", "name": "upper left screw", "y_mm": 40.0, "z_mm": 30.0},
        {"id": "lower_right", "name": "lower right screw", "y_mm": -40.0, "z_mm": -30.0},
    ]
    return {
        "job": {"name": "Front radar", "steps": []},
        "vehicle": {"name": "Example car", "wheelbase_mm": 2680, "rear_track_mm": 1540},
        "mount": {"name": "Example mount", "screws": screws},
        "bay": {"name": "Bay 2", "floor_points": {"stand_ahead_mm": 2050}},
        "file_hashes": {"job.yaml": "ab" * 32},
        "program_version": "0.1.0",
        "technician": technician,
        "keep_sound_asked": True,
        "example": True,
        **changes,
    }


def stand_stage(shop: Shop) -> None:
    shop.put("stage", stage_id="stand", title="Stand", number=8, of=14)
    shop.say("cautions", "Keep the bonnet propped and the area ahead clear.", "caution")
    for left, right, offset in (("771.0", "785.5", 7.25), ("777.5", "779.5", 1.0)):
        shop.read("left_arm", "Left arm scale", left, "mm", 0.3)
        shop.read("right_arm", "Right arm scale", right, "mm", 0.3)
        shop.compute(
            "sideways",
            "stand_sideways",
            {"left_mm": float(left), "right_mm": float(right)},
            stand_offset_left_mm=(offset, 0.21, "mm"),
        )
        shop.decide("sideways_ok", "stand_offset_left_mm", offset, 0.21, 2.0)
        if offset > 2:
            shop.put(
                "corrected",
                step_id="sideways",
                text="Stand 7 millimetres to the right",
                move={"right_mm": 7},
            )
    for turn in (-0.31, 0.04):
        shop.compute(
            "turn", "stand_turn", {"spot_left_mm": 3.0}, stand_turn_deg=(turn, 0.02, "deg")
        )
    for distance in (-9.0, 1.0):
        shop.compute(
            "distance",
            "plate_distance",
            {"plate_distance_mm": 1200 + distance},
            distance_error_mm=(distance, 0.6, "mm"),
        )
    shop.compute(
        "thrust",
        "toe_from_angle",
        {"toe_left_deg": 0.1},
        thrust_direction_deg=(-0.06, 0.02, "deg"),
        total_toe_deg=(0.2, 0.02, "deg"),
    )


def slips(shop: Shop) -> None:
    prompt = shop.say("left_arm", "Left arm scale: read the scale")
    shop.put(
        "refused",
        prompt_id=prompt,
        reason="unsure",
        words="seven eleven",
        detail="margin 0.4 under 1.0",
        ears="encoder",
        clip_sha256=shop.tone(),
    )
    shop.put("silent", prompt_id=prompt, waited_s=8.0)
    shop.read("left_arm", "Left arm scale", "711.0", "mm", 0.3, attempts=3)
    shop.put("taken_back", step_ids=["left_arm"], why="taken back by the technician")
    shop.put("noted", prompt_id=prompt, clip_sha256=shop.tone())
    shop.put("resumed")


def aim_round(shop: Shop, number: int, yaw_deg: float, elevation_deg: float, u: float) -> None:
    shop.put("stage", stage_id=f"aim{number}", title=f"Aim, round {number}", number=9, of=14)
    for axis, error in (("elevation", elevation_deg), ("yaw", yaw_deg)):
        what = "swing" if axis == "yaw" else "lean"
        inputs: dict[str, float] = {}
        for place, detent in enumerate((-4.0, 0.0, 4.0), start=1):
            echo = round(52.0 - 24 * ((detent - error) / BEAM_WIDTH_DEG) ** 2, 1)
            way = STEPS_IN_CLEAR_WORDS[axis][0 if detent > 0 else 1]
            title = f"Echo, {abs(detent):g} degrees {way}" if detent else f"Echo, {what} zero"
            shop.read(f"echo_{what}_{place}", title, str(echo), "dB", 0.05)
            inputs |= {f"lean_{place}_deg": detent, f"echo_{place}_db": echo}
        shop.compute(
            f"{what}_peak",
            "echo_vertex",
            inputs,
            vertex_deg=(error, u, "deg"),
            beam_width_deg=(BEAM_WIDTH_DEG, 0.1, "deg"),
            peak_db=(52.0, 0.1, "dB"),
        )
    shop.compute(
        "aim",
        "aim_error",
        {"vertex_swing_deg": yaw_deg, "vertex_lean_deg": elevation_deg},
        aim_yaw_deg=(yaw_deg, u, "deg"),
        aim_elevation_deg=(elevation_deg, u, "deg"),
    )
    worst = max(abs(yaw_deg), abs(elevation_deg))
    answer = "outside" if worst > 0.5 else "too_close" if worst > 0.3 else "inside"
    shop.put(
        "aim_decided",
        step_id="aim_decision",
        title="Aim inside the vehicle's tolerance",
        round=number - 1,
        sets=1,
        yaw={"value": yaw_deg, "u": u, "tolerance": LIMIT_DEG},
        elevation={"value": elevation_deg, "u": u, "tolerance": LIMIT_DEG},
        level=0.95,
        probability_inside={"outside": 0.0, "too_close": 0.631, "inside": 0.9999}[answer],
        answer=answer,
        confirmed=answer == "inside",
    )
    if answer != "inside":
        echoes = [f"echo_{what}_{place}" for what in ("lean", "swing") for place in (1, 2, 3)]
        again = [*echoes, "lean_peak", "swing_peak", "aim"]
        shop.put("taken_back", step_ids=again, why="Now the readings again.")


def screws(shop: Shop, number: int, upper: Fraction, lower: Fraction) -> None:
    shop.put(
        "screw_plan",
        round=number,
        turns={"upper_left": str(upper), "lower_right": str(lower)},
        predicted={"yaw_deg": 0.05, "elevation_deg": -0.02},
        aim={"yaw_deg": 1.0, "elevation_deg": 1.0, "u_yaw": 0.1, "u_elevation": 0.1},
        steps=[],
    )
    shop.say("turn", "Upper left screw, clockwise, two and three quarter turns", "instruct")
    shop.put("done", step_id="turn", prompt_id=f"p{shop.prompts}")
    shop.put("move_judged", kind="as_planned", screw_ids=["upper_left"], probability=0.98)


def whole_job(shop: Shop) -> None:
    shop.put("opened", **opened_body())
    shop.put("consent", keep_sound=True)
    slips(shop)
    stand_stage(shop)
    aim_round(shop, 1, -1.37, 0.82, 0.06)
    screws(shop, 1, Fraction(11, 4), Fraction(-3, 2))
    aim_round(shop, 2, -0.38, 0.21, 0.06)
    screws(shop, 2, Fraction(1, 2), Fraction(0))
    aim_round(shop, 3, 0.05, -0.03, 0.06)
    shop.put(
        "finished",
        result="inside",
        yaw={"value": 0.05, "u": 0.06},
        elevation={"value": -0.03, "u": 0.06},
        probability_inside=0.9999,
        misses_m=[
            {
                "range_m": range_m,
                "sideways_m": range_m * math.tan(math.radians(0.05)),
                "u_sideways_m": range_m * math.radians(0.06),
                "height_m": -range_m * math.tan(math.radians(0.03)),
                "u_height_m": range_m * math.radians(0.06),
            }
            for range_m in (50, 100)
        ],
    )


@dataclass(frozen=True)
class Recorded:
    """A record file with one session in it."""

    path: Path
    session_id: str
    head: str

    @property
    def clips(self) -> ClipStore:
        return ClipStore(clips_folder(self.path))


Recorder = Callable[[Callable[[Shop], None]], Recorded]


def record(folder: Path, play: Callable[[Shop], None]) -> Recorded:
    path = folder / "bay.record"
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock(step_ms=2300)) as database:
        log = SqliteLog(database, database.create_session(), clips)
        play(Shop(log, clips))
        return Recorded(path, log.session_id, log.head_hash)


@pytest.fixture
def recorded(tmp_path: Path) -> Recorder:
    """Give it a function that plays a job to a shop; get the record file."""
    return lambda play: record(tmp_path, play)


@pytest.fixture(scope="session")
def job_played_once(tmp_path_factory: pytest.TempPathFactory) -> Recorded:
    return record(tmp_path_factory.mktemp("shop"), whole_job)


@pytest.fixture
def finished_job(job_played_once: Recorded, tmp_path: Path) -> Recorded:
    folder = tmp_path / "finished"
    shutil.copytree(job_played_once.path.parent, folder)
    return replace(job_played_once, path=folder / job_played_once.path.name)


@pytest.fixture
def job_opening() -> Callable[..., dict[str, Any]]:
    return opened_body
