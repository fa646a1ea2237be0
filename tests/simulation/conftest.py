"""The shipped example files, and a bay in which everything is perfect until a test spoils it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest
import yaml

import companion
from companion.job.each_screw import for_each_screw
from companion.job.job_file import Job
from companion.job.kind import job_model
from companion.job.setup_files import Bay, MountModel, Vehicle
from companion.runtime import assembly
from companion.runtime.rehearsing import script_of
from companion.simulation.answers import wording_in
from companion.simulation.floor import FloorHeights
from companion.simulation.handling import Handling
from companion.simulation.mount import TrueMount, TrueScrew
from companion.simulation.rehearsal import Rehearsal, Setting
from companion.simulation.truth import Clamp, Face, Sheet, StandPose, Truth, Unseen
from companion.simulation.world import World
from companion.steps.registry import KINDS
from tests.simulation.prompting import shipped

WORDING = wording_in(assembly.language())
EXAMPLES = Path(companion.__file__).parent / "job" / "examples"

PERFECT_HANDS = Handling(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def _yaml(name: str) -> Any:
    return yaml.safe_load((EXAMPLES / name).read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def vehicle() -> Vehicle:
    return Vehicle.model_validate(_yaml("vehicle.yaml"))


@pytest.fixture(scope="session")
def mount() -> MountModel:
    return MountModel.model_validate(_yaml("mount.yaml"))


@pytest.fixture(scope="session")
def three_screws() -> MountModel:
    return MountModel.model_validate(_yaml("mount_three_screws.yaml"))


@pytest.fixture(scope="session")
def bay() -> Bay:
    return Bay.model_validate(_yaml("bay.yaml"))


@pytest.fixture(scope="session")
def job(mount: MountModel) -> Job:
    return for_each_screw(job_model(KINDS).model_validate(_yaml("front_radar.yaml")), mount)


@pytest.fixture(scope="session")
def perfect(vehicle: Vehicle, mount: MountModel, bay: Bay) -> Truth:
    """Flat floor, straight wheels, stand in its place, radar aimed, mount like its file."""
    drawn = Truth.draw(Random(1), vehicle, mount, bay)
    first, second = (
        TrueScrew(s.name, s.y_mm, s.z_mm, s.pitch_mm, s.hand, 0.0, 5.0, 5.0) for s in mount.screws
    )
    no_wobble = Clamp(wobble_deg=0.0, phase_deg=0.0, emitter_out_mm=0.0, bubble_deg=0.0)
    return replace(
        drawn,
        aim_yaw_deg=0.0,
        aim_elevation_deg=0.0,
        bracket_roll_deg=0.0,
        stand=StandPose(2000.0, 0.0, 0.0, vehicle.sensor_height_mm, 0.0, 0.0),
        stand_foot_ahead_mm=0.0,
        stand_foot_left_mm=0.0,
        toe_left_deg=0.0,
        toe_right_deg=0.0,
        clamp_left=no_wobble,
        clamp_right=no_wobble,
        floor=FloorHeights(0.0, 0.0, 0.0, 0.0, 0.0),
        mount=TrueMount((first, second)),
        lean_detent_errors_deg=(0.0,) * 5,
        swing_detent_errors_deg=(0.0,) * 5,
        sheet=Sheet(0.0, 0.0, 600.0),
        face=Face(700.0, 700.0),
        unseen=Unseen(),
        ride_heights_mm=(385.0, 385.0, 390.0, 390.0),
    )


@pytest.fixture
def world_of(vehicle: Vehicle, mount: MountModel, bay: Bay) -> Callable[[Truth], World]:
    """A world of this truth in which hands do exactly what they are told."""

    def make(truth: Truth) -> World:
        return World(truth, vehicle, mount, bay, Random(7), PERFECT_HANDS)

    return make


@pytest.fixture
def rehearse(vehicle: Vehicle, mount: MountModel, bay: Bay) -> Callable[..., Rehearsal]:
    """A rehearsal with the shipped files; `seed` and anything of the setting may be given."""

    def make(seed: int = 3, **changes: Any) -> Rehearsal:
        told = {"script": script_of(shipped()), "wording": WORDING} | changes
        return Rehearsal(Setting(vehicle, mount, bay, **told), seed)

    return make
