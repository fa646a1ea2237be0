"""The car in the bay: where its wheels, sensor and boresight are, in the bay's own axes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from companion.job.setup_files import Vehicle
from companion.simulation.floor import FloorHeights, car_axes, wheel_spots
from companion.simulation.mount import ScrewState
from companion.simulation.optics import Side
from companion.simulation.truth import Clamp, Truth
from companion.simulation.vectors import (
    LEFT,
    UP,
    Matrix,
    Vector,
    cross,
    elevation_deg,
    heading_deg,
    turn_about_x,
    turn_about_y,
    turn_about_z,
    unit,
    vector,
)

WHEEL_CENTRE_MM = 310.0


class Car:
    """A car at rest on the floor: all of its geometry follows from the truth.

    The bracket carries the hidden aim error: with its screws as they were found, the boresight
    is off by the drawn yaw and elevation from the thrust direction and from what the vehicle file
    refers the elevation to.
    """

    def __init__(self, truth: Truth, vehicle: Vehicle) -> None:
        self._truth = truth
        self._vehicle = vehicle
        floor: FloorHeights = truth.floor
        self.axes: Matrix = car_axes(floor, vehicle)
        spots = wheel_spots(floor, vehicle)
        middle = sum(spots[1:], start=spots[0]) / 4.0
        # From the floor under the front axle's middle, on the wheels' plane.
        self._origin: Vector = middle + self.axes @ vector(vehicle.wheelbase_mm / 2.0, 0.0, 0.0)
        self.thrust_axes: Matrix = self.axes @ turn_about_z(truth.thrust_deg)
        self._nose_up_deg = _nose_up_deg(truth, vehicle)
        self._bracket: Matrix = (
            turn_about_z(truth.aim_yaw_deg + truth.thrust_deg)
            @ turn_about_y(-truth.aim_elevation_deg - self._nose_up_deg)
            @ turn_about_x(truth.bracket_roll_deg)
        )
        self.sensor: Vector = self._origin + self.axes @ vector(
            vehicle.sensor_ahead_of_front_axle_mm,
            vehicle.sensor_left_of_centre_mm,
            vehicle.sensor_height_mm,
        )

    def axle(self, side: Side, turned_left_deg: float = 0.0) -> Vector:
        """The rear wheel's axle, pointing to the car's left; toe in turns the front inwards.

        `turned_left_deg`: what lifting and letting down has turned the wheel by.
        """
        heading = -self._truth.toe_left_deg if side == "left" else self._truth.toe_right_deg
        heading += turned_left_deg
        return self.axes @ (turn_about_z(heading) @ LEFT)

    def emitter(self, side: Side, clamp: Clamp) -> Vector:
        """Where the laser of this rear wheel's clamp leaves, at the wheel's centre height."""
        out_mm = self._vehicle.rear_track_mm / 2.0 + clamp.emitter_out_mm
        return self._origin + self.axes @ vector(
            -self._vehicle.wheelbase_mm, out_mm if side == "left" else -out_mm, WHEEL_CENTRE_MM
        )

    def place(self, ahead_mm: float, left_mm: float, up_mm: float) -> Vector:
        """A point given from the front axle's middle, on the wheels' plane."""
        return self._origin + self.axes @ vector(ahead_mm, left_mm, up_mm)

    def from_rear_axle(self, point: Vector) -> Vector:
        """A point from the rear axle's middle: along the thrust direction, left of it, up."""
        rear = self.place(-self._vehicle.wheelbase_mm, 0.0, 0.0)
        found: Vector = self.thrust_axes.T @ (point - rear)
        return found

    def sensor_axes(self, screws: Sequence[ScrewState], rear_up_mm: float = 0.0) -> Matrix:
        """The sensor's forward (boresight), left and up as columns.

        `rear_up_mm`: how far the body's rear stands above where it settles; it tips the sensor.
        """
        tipped = turn_about_y(math.degrees(math.atan(rear_up_mm / self._vehicle.wheelbase_mm)))
        bracket = self.axes @ (tipped @ self._bracket)
        boresight = self._truth.mount.boresight([screw.rearward_mm for screw in screws])
        forward = bracket @ boresight
        left = unit(cross(bracket @ UP, forward))
        return np.column_stack((forward, left, cross(forward, left)))

    def aim_deg(self, screws: Sequence[ScrewState]) -> tuple[float, float]:
        """Yaw from the thrust direction (+ left), elevation from its reference (+ up)."""
        boresight = self._truth.mount.boresight([screw.rearward_mm for screw in screws])
        in_car = self._bracket @ boresight
        up_deg = elevation_deg(in_car) - self._nose_up_deg
        return heading_deg(in_car) - self._truth.thrust_deg, up_deg

    def square_distance_mm(self, point: Vector, normal: Vector) -> float:
        """From the sensor to a plane, square to it."""
        return math.fabs(float((point - self.sensor) @ normal))


def _nose_up_deg(truth: Truth, vehicle: Vehicle) -> float:
    """How far the body stands nose up against the middle of its ride heights, where that counts."""
    if vehicle.aim.elevation_reference == "ground":
        return 0.0
    front_left, front_right, rear_left, rear_right = truth.ride_heights_mm
    front, rear = vehicle.ride_height_front_mm, vehicle.ride_height_rear_mm
    up_in_front = (front_left + front_right - front.low - front.high) / 2.0
    up_behind = (rear_left + rear_right - rear.low - rear.high) / 2.0
    return math.degrees(math.atan2(up_in_front - up_behind, vehicle.wheelbase_mm))
