"""An emulated bay for many decisions at once: true levels from physical optics, and every error.

Written against the arithmetic: the echo is a sum over the plate's face (the two directions part
for small angles), beams are traced with plain trigonometry, and each error has its own size.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from companion.job.setup_files import Bay, MountModel

Array = NDArray[np.float64]

WAVELENGTH_MM = 299_792_458_000.0 / 76.5e9
_WAVE_NUMBER = 2.0 * math.pi / WAVELENGTH_MM
_PLACES, _WEIGHTS = np.polynomial.legendre.leggauss(192)
DISTANCE_MM = 1200.0
PATH_MM = 4700.0
WHEELBASE_MM = 2700.0
LEANS_DEG = (5.0, 2.5, 0.0, -2.5, -5.0)
# A screw with a pitch of 0.8 mm on a lever of 60 mm.
_DEG_A_TURN = math.degrees(math.atan(0.8 / 60.0))
TOOL_NOISE_DEG = 0.03


@dataclass(frozen=True)
class Sizes:
    """How large each disturbance is: as stated, what the files and the job enter as its doubt.

    Standard deviations, but for `flatness_mm`, `ripple_db` (the most there is), `echo_step_db` (the
    display's step) and `plate_span_mm` (edge to edge).
    """

    echo_noise_db: float = 0.05
    echo_step_db: float = 0.1
    detent_deg: float = 0.01
    spot_noise_mm: float = 0.3
    run_out_noise_mm: float = 0.4
    head_out_deg: float = 0.01
    plate_to_bar_deg: float = 0.01
    settled_toe_deg: float = 0.01
    wheel_back_deg: float = 1.0
    plumb_scale_mm_per_m: float = 0.1
    line_laser_deg: float = 0.006
    settled_pitch_deg: float = 0.008
    ride_height_mm: float = 0.5
    hinge_mm: float = 5.0
    flatness_mm: float = 0.03
    ripple_db: float = 0.04
    beam_width_share: float = 0.012
    lock_deg: float = 0.015
    tool_off_deg: float = 0.018
    plate_span_mm: float = 600.0


def stated_by(bay: Bay, mount: MountModel) -> Sizes:
    """As bay and mount files state them; what is no figure of them is that of the shipped job."""
    stand = bay.stand
    return Sizes(
        detent_deg=stand.detent_doubt_deg,
        head_out_deg=stand.head_doubt_deg,
        plate_to_bar_deg=stand.plate_to_bar_doubt_deg,
        settled_toe_deg=stand.settled_toe_doubt_deg,
        wheel_back_deg=stand.wheel_back_doubt_deg,
        plumb_scale_mm_per_m=stand.level_doubt_mm_per_m,
        line_laser_deg=bay.floor.line_laser_doubt_deg,
        settled_pitch_deg=stand.settled_pitch_doubt_deg,
        hinge_mm=stand.hinge_doubt_mm,
        flatness_mm=stand.plate_flatness_mm,
        ripple_db=stand.ripple_db,
        plate_span_mm=min(stand.plate_width_mm, stand.plate_height_mm),
        lock_deg=mount.lock_doubt_turns * _DEG_A_TURN,
    )


DISTURBANCES = tuple(field.name for field in fields(Sizes))


def larger(sizes: Sizes, disturbance: str, times: float) -> Sizes:
    """One disturbance, or "all", so many times as large; a plate that is so many times smaller."""
    names = DISTURBANCES if disturbance == "all" else (disturbance,)
    changed = {
        name: getattr(sizes, name) / times
        if name == "plate_span_mm"
        else getattr(sizes, name) * times
        for name in names
    }
    return replace(sizes, **changed)


@dataclass(frozen=True)
class Drawn:
    """What the readings show for n decisions. Levels: n x sets x 9, in dB as the display has them.

    The first five of nine are the leans, the others the swings beside the middle. `before`: one
    set at the screws' earlier position, before they were turned and locked. `tool_deg`: a scan
    tool's two angles, n x sets x 2. Run-outs n x 2 x 4, spots n x 2, rest n.
    """

    aim_yaw_deg: Array
    aim_elevation_deg: Array
    levels_db: Array
    before_db: Array
    tool_deg: Array
    run_outs_mm: Array
    spots_mm: Array
    plumb_mm_per_m: Array
    floor_slope_deg: Array
    nose_up_deg: Array


def draw(
    generator: np.random.Generator,
    sizes: Sizes,
    aims_deg: tuple[Array, Array],
    sets: int,
    before: tuple[tuple[float, ...], tuple[float, ...]] = ((-1.2, 1.2), (-1.0, 1.0)),
) -> Drawn:
    """Readings of bays whose radars have these true aims, each bay with errors of its own.

    `before`: by how much the aim may have been off further, yaw and elevation, before the turn.
    """
    yaw, elevation = aims_deg
    count = len(yaw)

    def some(size: float, *shape: int) -> Array:
        return generator.normal(0.0, 1.0, (count, *shape)) * size

    bar, pitched = some(sizes.plate_to_bar_deg), some(sizes.settled_pitch_deg)
    detents = some(sizes.detent_deg, 10)
    faces = _Faces(
        span_mm=sizes.plate_span_mm,
        width_deg=np.array([12.0, 10.0]) * (1.0 + some(sizes.beam_width_share, 2)),
        hinge_mm=some(sizes.hinge_mm, 2),
        flatness_mm=sizes.flatness_mm,
        waves=generator.uniform(0.0, 2.0 * math.pi, (count, 2)),
        distance_mm=DISTANCE_MM + generator.uniform(-8.0, 8.0, count),
    )
    ripple = sizes.ripple_db * np.cos(generator.uniform(0.0, 2.0 * math.pi, (count, 9)))

    def shown(yaw_deg: Array, elevation_deg: Array, times: int) -> Array:
        # What the plate sees: the body's own pitch now, and the plate turned against its bar.
        levels = faces.levels(elevation_deg + pitched, yaw_deg - bar, detents) + ripple
        drift = generator.normal(0.0, 0.1, (count, times, 1))
        noisy = levels[:, None, :] + drift + some(sizes.echo_noise_db, times, 9)
        return np.round((noisy + 60.0) / sizes.echo_step_db) * sizes.echo_step_db

    run_outs, spots = _beams(generator, sizes, count)
    tool = np.stack((yaw, elevation), axis=-1) + some(sizes.tool_off_deg, 2)
    tool = tool[:, None, :] + some(TOOL_NOISE_DEG, sets, 2)
    return Drawn(
        aim_yaw_deg=yaw,
        aim_elevation_deg=elevation,
        levels_db=shown(yaw, elevation, sets),
        before_db=shown(
            yaw + generator.choice(before[0], count) + some(sizes.lock_deg),
            elevation + generator.choice(before[1], count) + some(sizes.lock_deg),
            1,
        ),
        tool_deg=np.round(tool * 100.0) / 100.0,
        run_outs_mm=run_outs,
        spots_mm=spots,
        plumb_mm_per_m=np.round((some(sizes.plumb_scale_mm_per_m) + some(0.05)) * 10.0) / 10.0,
        floor_slope_deg=some(sizes.line_laser_deg),
        nose_up_deg=np.degrees(
            some(sizes.ride_height_mm, 4) @ [0.5, 0.5, -0.5, -0.5] / WHEELBASE_MM
        ),
    )


def _beams(generator: np.random.Generator, sizes: Sizes, count: int) -> tuple[Array, Array]:
    """Four run-out readings a side and the two returned spots, of a stand that is not turned."""
    wobble = generator.uniform(0.0, 0.25, (count, 2))
    phase = generator.uniform(0.0, 2.0 * math.pi, (count, 2))
    quarters = phase[:, :, None] + np.arange(4) * math.pi / 2.0
    headings = wobble[:, :, None] * np.cos(quarters)
    side = np.array([1.0, -1.0])[None, :, None]
    read = 775.0 + side * PATH_MM * np.tan(np.radians(headings))
    run_outs = np.round(read + generator.normal(0.0, sizes.run_out_noise_mm, read.shape))
    back = np.radians(generator.normal(0.0, sizes.wheel_back_deg, (count, 2)))
    heads = generator.normal(0.0, sizes.head_out_deg, (count, 2))
    toes = generator.normal(0.0, sizes.settled_toe_deg, (count, 2))
    now = wobble * np.cos(phase + back) + heads + toes
    spots = PATH_MM * np.tan(2.0 * np.radians(now))
    return run_outs, np.round(spots + generator.normal(0.0, sizes.spot_noise_mm, spots.shape))


@dataclass(frozen=True)
class _Faces:
    """Plates and beams: two lines of a face, upward and across, for each of n bays."""

    span_mm: float
    width_deg: Array
    hinge_mm: Array
    flatness_mm: float
    waves: Array
    distance_mm: Array

    def levels(self, elevation_deg: Array, yaw_deg: Array, detents_deg: Array) -> Array:
        """n x 9: the leans with the plate in the middle, then the other swings with it upright."""
        turns = np.array(LEANS_DEG)[None, :] + detents_deg[:, :5]
        swings = np.array(LEANS_DEG)[None, :] + detents_deg[:, 5:]
        lean, swing = self._line(0, elevation_deg, turns), self._line(1, yaw_deg, swings)
        both: Array = np.concatenate(
            (lean + swing[:, 2:3], np.delete(swing, 2, axis=1) + lean[:, 2:3]), axis=1
        )
        return both

    def _line(self, axis: int, aim_deg: Array, turned_deg: Array) -> Array:
        """Level along one line of the face, n x 5, with the beam's field there and back."""
        turned = np.radians(turned_deg)[:, :, None]
        place = (_PLACES * self.span_mm / 2.0)[None, None, :]
        bump = self.flatness_mm * np.sin(
            math.pi * place / self.span_mm + self.waves[:, axis][:, None, None]
        )
        hinge = self.hinge_mm[:, axis][:, None, None]
        # The face's centre is carried about the hinge, `hinge` below it or to its right.
        ahead = self.distance_mm[:, None, None] - (place + hinge) * np.sin(turned)
        aside = (place + hinge) * np.cos(turned) - hinge
        ahead, aside = ahead + bump * np.cos(turned), aside + bump * np.sin(turned)
        way = np.hypot(ahead, aside)
        off = np.degrees(np.arctan2(aside, ahead)) - aim_deg[:, None, None]
        field = 0.5 ** ((2.0 * off / self.width_deg[:, axis][:, None, None]) ** 2) / way**1.5
        summed = (field * np.exp(2j * _WAVE_NUMBER * way)) @ _WEIGHTS
        level: Array = 20.0 * np.log10(np.maximum(np.abs(summed), 1e-9)) + 62.0
        return level
