"""The models of the vehicle, mount and bay files: every field with its unit and range.

The shop enters the vehicle maker's figures. The files that ship with the companion are examples
and say so; a file that is an example makes the report say so too.
"""

from __future__ import annotations

import math
from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

Identifier = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
Text = Annotated[str, Field(min_length=1, max_length=600)]
# A number is written as one: neither `yes` nor a text with digits stands for it.
Float = Annotated[float, Field(strict=True, allow_inf_nan=False)]
# Spoken as it stands: the voice has words for it, and it is no slip of a unit.
Sayable = Annotated[Float, Field(ge=-99_999, le=99_999)]
Millimetres = Annotated[Float, Field(gt=0, lt=20_000)]
Coordinate = Annotated[Float, Field(ge=-20_000, le=20_000)]
PositiveAngle = Annotated[Float, Field(gt=0, le=90)]
Positive = Annotated[Float, Field(gt=0, lt=1e6)]
NotNegative = Annotated[Float, Field(ge=0, lt=1e6)]


class Model(BaseModel):
    """A file's part: unknown fields are refused, values never change after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False, allow_inf_nan=False)


class Range(Model):
    """From `low` to `high`, both in the unit of the field that holds the range."""

    low: Sayable
    high: Sayable

    @model_validator(mode="after")
    def _ordered(self) -> Range:
        if self.low >= self.high:
            raise ValueError("low must be less than high")
        return self


class Header(Model):
    """What every file opens with."""

    name: Annotated[str, Field(min_length=1, max_length=80, description="shown in the report")]
    example: Annotated[
        bool, Field(description="true: the figures are an example, not a maker's value")
    ]
    note: Annotated[str, Field(max_length=600)] = ""
    unusual: Annotated[
        tuple[str, ...],
        Field(description="fields whose figures look like a slip and are right all the same"),
    ] = ()


class AimLimits(Model):
    """What the vehicle maker allows, and what its radar's beam looks like.

    Which of these a job needs follows from its steps; the others may be left out.
    """

    yaw_tolerance_deg: Annotated[
        PositiveAngle | None, Field(description="allowed to either side")
    ] = None
    elevation_tolerance_deg: Annotated[
        PositiveAngle | None, Field(description="allowed up or down")
    ] = None
    beam_width_yaw_deg: Annotated[
        PositiveAngle | None, Field(description="one-way half-power width, sideways")
    ] = None
    beam_width_elevation_deg: Annotated[
        PositiveAngle | None, Field(description="one-way half-power width, up and down")
    ] = None
    beam_width_agreement: Annotated[
        float | None,
        Field(gt=0, lt=1, description="how far a measured width may differ, as a fraction"),
    ] = None
    confidence: Annotated[
        float,
        Field(gt=0.5, lt=1, description="probability of being inside that counts as inside"),
    ] = 0.95
    elevation_reference: Annotated[
        Literal["body", "ground"],
        Field(
            description="what the maker refers the elevation to: the body at its middle ride "
            "heights, or the ground as the car stands"
        ),
    ] = "body"
    frequency_ghz: Annotated[Float, Field(ge=20, le=150)] = 76.5

    DERIVED: ClassVar[tuple[str, ...]] = ("body_counts", "wavelength_mm")

    @property
    def body_counts(self) -> float:
        """1 where the body's stance counts, 0 where the ground alone does."""
        return 1.0 if self.elevation_reference == "body" else 0.0

    @property
    def wavelength_mm(self) -> float:
        """In air, to three parts in ten thousand: c / f."""
        return 299.792458 / self.frequency_ghz


class CameraBoard(Model):
    """The forward camera, and where its target board belongs; only a camera's job asks for it."""

    ahead_of_front_axle_mm: Annotated[Coordinate, Field(description="the camera; behind it: < 0")]
    left_of_centre_mm: Coordinate = 0.0
    height_mm: Annotated[Millimetres, Field(description="over the wheels' plane")]
    board_ahead_of_front_axle_mm: Millimetres
    board_height_mm: Annotated[Millimetres, Field(description="its middle over the wheels' plane")]
    sideways_tolerance_mm: Positive
    distance_tolerance_mm: Positive
    height_tolerance_mm: Positive
    turn_tolerance_deg: PositiveAngle
    level_tolerance_mm_per_m: Positive
    yaw_limit_deg: Annotated[PositiveAngle, Field(description="the camera, to either side")]
    elevation_limit_deg: Annotated[PositiveAngle, Field(description="the camera, up or down")]


class CornerReflector(Model):
    """A rear corner radar, and where its reflector belongs; only that radar's job asks for it.

    Both sides are mirrored. Angles are outwards from straight back, along the thrust direction.
    """

    behind_rear_axle_mm: Annotated[Coordinate, Field(description="the radar")]
    out_of_centre_mm: Millimetres
    reflector_radius_mm: Annotated[Millimetres, Field(description="from the rear axle's middle")]
    reflector_angle_deg: PositiveAngle
    reflector_height_mm: Annotated[Millimetres, Field(description="over the floor under it")]
    place_tolerance_mm: Positive
    height_tolerance_mm: Positive
    facing_tolerance_deg: PositiveAngle
    angle_limit_deg: Annotated[PositiveAngle, Field(description="the radar, to either side")]


class SurroundMats(Model):
    """Where the mats of the cameras around the car belong; only those cameras' job asks for it.

    From each axle to the near edge of the mat before or behind it.
    """

    front_mm: Annotated[Millimetres, Field(description="ahead of the front axle")]
    rear_mm: Annotated[Millimetres, Field(description="behind the rear axle")]
    distance_tolerance_mm: Positive
    sideways_tolerance_mm: Positive
    turn_tolerance_deg: PositiveAngle
    skew_tolerance_deg: Annotated[PositiveAngle, Field(description="of the field between them")]


class Vehicle(Header):
    """One vehicle type, with the maker's figures."""

    kind: Literal["vehicle"]
    mount: Annotated[
        str | None,
        Field(
            min_length=1,
            max_length=80,
            description="its radar's mount file, by its name; not said: one named as this file is",
        ),
    ] = None
    wheelbase_mm: Millimetres
    front_track_mm: Millimetres
    rear_track_mm: Millimetres
    sensor_ahead_of_front_axle_mm: Coordinate
    sensor_left_of_centre_mm: Coordinate = 0.0
    sensor_height_mm: Millimetres
    ride_height_front_mm: Range
    ride_height_rear_mm: Range
    largest_body_lean_deg: Annotated[
        PositiveAngle, Field(description="one side lower than the other by an uneven load")
    ] = 0.5
    largest_body_twist_mm: Annotated[
        Positive, Field(description="one corner against the others, a quarter of the diagonals")
    ] = 6.0
    aim: Annotated[
        AimLimits, Field(description="what the steps of the job need of it, no more")
    ] = AimLimits()
    usual_answers: Annotated[
        dict[Identifier, Identifier],
        Field(
            default_factory=dict,
            description="by the id of a job's question: what the maker's procedure calls for; it "
            "is proposed, for one yes",
        ),
    ]
    camera: CameraBoard | None = None
    corner: CornerReflector | None = None
    mats: SurroundMats | None = None


def _countable(turn: float) -> float:
    if turn not in (0.25, 0.5, 1.0):
        raise ValueError("Input should be 0.25, 0.5 or 1: a hand counts it and a voice says it")
    return turn


class ScrewModel(Model):
    """One adjusting screw of the radar's mount.

    Positions are from the pivot (those of three screws from any one point), y to the car's left,
    z up. A right-hand screw turned clockwise, as one faces its head from in front of the car, moves
    its corner of the sensor rearward.
    """

    id: Identifier
    name: Annotated[str, Field(min_length=3, max_length=40, description="as spoken")]
    y_mm: Coordinate
    z_mm: Coordinate
    pitch_mm: Annotated[Float, Field(gt=0.1, le=5)]
    hand: Literal["right", "left"]
    travel_clockwise_turns: Annotated[Float, Field(gt=0, le=50)]
    travel_anticlockwise_turns: Annotated[Float, Field(gt=0, le=50)]
    smallest_turn: Annotated[
        Float, AfterValidator(_countable), Field(description="as a part of one turn")
    ] = 0.25
    backlash_turns: Annotated[Float, Field(ge=0, le=2)] = 0.0


class MountModel(Header):
    """The radar's mount: a pivot and two adjusting screws, or three screws that carry it."""

    kind: Literal["mount"]
    screws: Annotated[
        tuple[ScrewModel, ...],
        Field(min_length=2, max_length=3, description="two beside a pivot, or three without one"),
    ]
    approach: Annotated[
        Literal["clockwise", "anticlockwise"],
        Field(description="the way in which every screw's last movement goes, against backlash"),
    ]
    response_relative_sd: Annotated[
        float, Field(gt=0, le=1, description="doubt of the geometry above, as a fraction")
    ] = 0.2
    lock_doubt_turns: Annotated[
        Float,
        Field(
            ge=0,
            le=0.5,
            description="standard uncertainty of a screw's turn when it is locked; 0: no lock",
        ),
    ] = 0.05

    @model_validator(mode="after")
    def _on_their_sides(self) -> MountModel:
        if len({screw.name for screw in self.screws}) < len(self.screws):
            return self
        for screw in self.screws:
            words = screw.name.lower().split()
            others = [other.z_mm for other in self.screws if other is not screw]
            wrong = (
                ("left" in words and screw.y_mm < 0)
                or ("right" in words and screw.y_mm > 0)
                or ("upper" in words and screw.z_mm < min(others, default=screw.z_mm))
                or ("lower" in words and screw.z_mm > max(others, default=screw.z_mm))
            )
            if wrong:
                raise ValueError(
                    f"screw {screw.id} is called '{screw.name}' and stands at y_mm {screw.y_mm:g}, "
                    f"z_mm {screw.z_mm:g}; wanted: left screws with y above 0, right ones below, "
                    "upper ones not below all others"
                )
        return self

    @model_validator(mode="after")
    def _independent(self) -> MountModel:
        names = [(screw.id, screw.name) for screw in self.screws]
        if any(len(set(kind)) < len(names) for kind in zip(*names, strict=True)):
            raise ValueError("the screws need different ids and names")
        places = [(screw.y_mm, screw.z_mm) for screw in self.screws]
        origin = (0.0, 0.0) if len(places) == 2 else places.pop()
        (y1, z1), (y2, z2) = ((y - origin[0], z - origin[1]) for y, z in places)
        size = max(abs(v) for v in (y1, z1, y2, z2))
        if abs(y1 * z2 - y2 * z1) < 0.01 * size * size:
            raise ValueError(
                "the screws lie on one line"
                f"{' through the pivot' if len(names) == 2 else ''}, so they cannot set both axes; "
                "wanted: positions on two different lines"
            )
        return self


class Floor(Model):
    """What the last survey of this bay's floor found, as ranges that a check must fall into."""

    slope_up_deg: Annotated[Range, Field(description="+ rises towards the stand")]
    side_slope_deg: Annotated[Range, Field(description="+ left side high")]
    twist_mm: Range
    stand_spot_above_mm: Annotated[Range, Field(description="stand spot over the wheels' plane")]
    stand_spot_ahead_of_front_axle_mm: Annotated[
        Millimetres | None,
        Field(description="follows from vehicle and stand; entered, it must agree with them"),
    ] = None
    rule_resolution_mm: Positive = 1.0
    twist_without_shims_mm: Annotated[
        Positive, Field(description="more twist than this is taken out by shims")
    ] = 2.0
    shim_step_mm: Annotated[Positive, Field(description="shims come in steps of this")] = 1.0
    line_laser_doubt_deg: Annotated[
        NotNegative, Field(description="standard uncertainty of the line laser's level")
    ]


class Stand(Model):
    """The target stand: its scales, its place, what it must keep to."""

    plate_distance_mm: Annotated[Millimetres, Field(description="plate to sensor")]
    distance_tolerance_mm: Positive
    sideways_tolerance_mm: Positive
    height_tolerance_mm: Positive
    turn_tolerance_deg: PositiveAngle
    level_tolerance_mm_per_m: Positive
    plumb_tolerance_mm_per_m: Positive
    laser_path_mm: Annotated[
        Millimetres | None,
        Field(
            description="rear clamp's emitter to the stand's mirror bar; follows from vehicle and "
            "stand; entered, it must agree with them"
        ),
    ] = None
    board_laser_path_mm: Annotated[
        Millimetres | None, Field(description="the same, where the stand carries a camera's board")
    ] = None
    arm_height_mm: Annotated[
        Millimetres | None, Field(description="the arms' scales over the floor, where beams cross")
    ] = None
    reflector_bar_mm: Annotated[
        Millimetres | None, Field(description="between the end marks of the reflector stand's bar")
    ] = None
    mat_mm: Annotated[
        Millimetres | None, Field(description="between the end marks of a mat's near edge")
    ] = None
    plumb_mark_doubt_mm: Annotated[
        NotNegative, Field(description="of a wheel's plumb mark on the floor, in any direction")
    ] = 2.0
    mirror_bar_ahead_of_plate_mm: Annotated[
        Coordinate, Field(description="further from the car than the plate's face")
    ] = 0.0
    plate_width_mm: Millimetres = 400.0
    plate_height_mm: Millimetres = 400.0
    plate_flatness_mm: Annotated[
        NotNegative, Field(description="the plate's face lies within plus and minus this")
    ] = 0.2
    plate_to_bar_doubt_deg: Annotated[
        NotNegative, Field(description="standard uncertainty of plate parallel to mirror bar")
    ] = 0.05
    lean_hinge_below_mm: Annotated[
        Coordinate, Field(description="the axis of lean below the plate's centre")
    ] = 0.0
    swing_hinge_right_mm: Annotated[
        Coordinate, Field(description="the axis of swing to the right of the plate's centre")
    ] = 0.0
    hinge_doubt_mm: Annotated[
        NotNegative, Field(description="standard uncertainty of where those axes are")
    ] = 50.0
    head_doubt_deg: Annotated[
        NotNegative, Field(description="standard uncertainty of a laser square to its clamp")
    ] = 0.05
    wheel_back_doubt_deg: Annotated[
        NotNegative, Field(description="standard uncertainty of a wheel put back to its start")
    ] = 3.0
    settled_toe_doubt_deg: Annotated[
        NotNegative, Field(description="of a wheel's toe after lifting, lowering and settling")
    ] = 0.03
    settled_pitch_doubt_deg: Annotated[
        NotNegative, Field(description="of the body's pitch between its reading and the aim's")
    ] = 0.03
    level_doubt_mm_per_m: Annotated[
        NotNegative, Field(description="standard uncertainty of the level itself")
    ] = 0.2
    ripple_db: Annotated[
        NotNegative, Field(description="largest change of a level by echoes of the room")
    ] = 0.2
    beam_agreement_deg: Annotated[
        PositiveAngle, Field(description="how far the two beams may disagree with the toe")
    ]
    lean_towards_deg: PositiveAngle | None = None
    lean_towards_near_deg: Annotated[
        PositiveAngle | None, Field(description="a detent between upright and the outermost")
    ] = None
    lean_away_deg: PositiveAngle | None = None
    lean_away_near_deg: PositiveAngle | None = None
    swing_left_deg: PositiveAngle | None = None
    swing_left_near_deg: PositiveAngle | None = None
    swing_right_deg: PositiveAngle | None = None
    swing_right_near_deg: PositiveAngle | None = None
    detent_doubt_deg: Annotated[
        NotNegative | None, Field(description="standard uncertainty of a detent of the plate")
    ] = None
    from_repeats: Annotated[
        dict[Identifier, Annotated[int, Field(ge=2, le=1000)]],
        Field(description="which doubts of this list are the scatter of so many trial readings"),
    ] = {}
    turning_foot_ahead_mm: Annotated[
        Coordinate, Field(description="the foot it is turned about, ahead of its centre")
    ] = 0.0
    turning_foot_left_mm: Coordinate = 0.0
    turning_foot_doubt_mm: Annotated[
        NotNegative, Field(description="standard uncertainty of where that foot is")
    ] = 300.0
    check_shim_mm: Annotated[
        Millimetres | None, Field(description="the shim of the monthly check, measured")
    ] = None
    check_base_mm: Annotated[
        Millimetres | None, Field(description="between the seats of the mirror bar")
    ] = None
    check_shim_doubt_mm: Annotated[
        NotNegative, Field(description="standard uncertainty of the shim as it lies there")
    ] = 0.05
    check_base_doubt_mm: NotNegative = 1.0
    check_widest_deg: Annotated[
        PositiveAngle, Field(description="a wider expanded uncertainty of the check proves nothing")
    ] = 0.03
    head_seat_doubt_mm: Annotated[
        NotNegative, Field(description="of the returned spot, by seating a laser head anew")
    ] = 1.0
    largest_run_out_deg: PositiveAngle
    run_out_residual_mm: Positive

    @model_validator(mode="after")
    def _repeats_of_doubts(self) -> Stand:
        known = [name for name in type(self).model_fields if "_doubt_" in name]
        for name in self.from_repeats:
            if name not in known:
                raise ValueError(f"from_repeats names '{name}'; wanted: one of {', '.join(known)}")
        return self

    DERIVED: ClassVar[tuple[str, ...]] = (
        "ripple_doubt_db",
        "head_mean_doubt_deg",
        "heads_apart_doubt_deg",
        "heads_out_limit_deg",
        "heads_reseated_doubt_deg",
    )

    @property
    def ripple_doubt_db(self) -> float:
        """Standard uncertainty of a level that swings between its ends: a / sqrt 2."""
        return self.ripple_db / 2**0.5

    @property
    def head_mean_doubt_deg(self) -> float:
        """Of the mean of two heads: u / sqrt 2."""
        return self.head_doubt_deg / 2**0.5

    @property
    def heads_apart_doubt_deg(self) -> float:
        """Of how much further one head is out than the other: u sqrt 2, independent of the mean."""
        return self.head_doubt_deg * 2**0.5

    @property
    def heads_out_limit_deg(self) -> float:
        """Three standard uncertainties of the mean: beyond it the entered doubt is not true."""
        return 3.0 * self.head_mean_doubt_deg

    @property
    def heads_reseated_doubt_deg(self) -> float | None:
        """Of the mean of two heads that were seated anew; None while the path is not known.

        A spot that lands s further after path p comes of a head turned by atan(s / p) / 2.
        """
        if self.laser_path_mm is None:
            return None
        one_deg = math.degrees(math.atan(self.head_seat_doubt_mm / self.laser_path_mm)) / 2.0
        return one_deg / 2**0.5

    def repeats_of(self) -> dict[str, int]:
        """`from_repeats`, also of the figures that follow from those."""
        heads = self.from_repeats.get("head_doubt_deg")
        derived = ("head_mean_doubt_deg", "heads_apart_doubt_deg") if heads is not None else ()
        return {**self.from_repeats, **dict.fromkeys(derived, heads or 0)}


class StandFile(Header, Stand):
    """A stand in a file of its own, which bay files name: one stand goes from bay to bay."""

    kind: Literal["stand"]

    @property
    def alone(self) -> Stand:
        """The stand as a bay file would hold it."""
        return Stand(**{name: getattr(self, name) for name in Stand.model_fields})


class Instrument(Model):
    """One of the shop's instruments, and what shows that it can be trusted."""

    name: Annotated[str, Field(min_length=1, max_length=80, description="as spoken and printed")]
    serial: Annotated[str, Field(max_length=80, description="its serial number")] = ""
    certificate: Annotated[
        str, Field(max_length=120, description="number of its calibration certificate")
    ] = ""
    due: Annotated[
        date | None, Field(description="last day that its certificate holds, as 2027-03-31")
    ] = None
    measures: Annotated[str, Field(max_length=120, description="what it is used for")] = ""


class Environment(Model):
    """What the bay is like, as the shop says once; shown in the report."""

    light: Annotated[str, Field(max_length=200)] = ""
    air: Annotated[str, Field(max_length=200, description="draughts, wind, doors")] = ""


class BayAlone(Header):
    """One bay of one shop, without its stand."""

    kind: Literal["bay"]
    shop: Annotated[str, Field(min_length=1, max_length=80)]
    floor: Floor
    instruments: Annotated[
        tuple[Instrument, ...], Field(max_length=40, description="what the job measures with")
    ] = ()
    environment: Environment = Environment()

    def overdue(self, day: date) -> tuple[Instrument, ...]:
        """The instruments whose certificate no longer holds on this day."""
        return tuple(one for one in self.instruments if one.due is not None and one.due < day)


class Bay(BayAlone):
    """One bay of one shop, with the stand that is used in it."""

    stand: Stand


class BayNamingStand(BayAlone):
    """A bay file that names its stand, which has a file of its own."""

    stand: Annotated[str, Field(min_length=1, max_length=80)]

    def with_stand(self, file: StandFile) -> Bay:
        """The bay as if the stand stood in its file; an example where either is one."""
        own = {name: getattr(self, name) for name in Bay.model_fields if name != "stand"}
        own["example"] = self.example or file.example
        own["unusual"] = (*self.unusual, *(f"stand.{field}" for field in file.unusual))
        return Bay(**own, stand=file.alone)
