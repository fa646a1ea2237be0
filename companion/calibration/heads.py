"""Laser heads that are not square to their clamps, found by changing them over.

Both heads out to the same side turn the stand's reading by their mean, and the two beams still
agree with one another: no single reading shows it. A head that goes to the other wheel is turned
over about its beam, so what it was out to the left it is then out to the right.
"""

from __future__ import annotations

from typing import NamedTuple

from companion.calibration.lever import beam_to_normal_deg


class HeadSquareness(NamedTuple):
    """`heads_out_left_deg`: the mean by which both beams head too far left as first mounted.

    `heads_changed_deg`: what the difference of the two sides changed by; the heads cannot do that,
    so beyond its doubt something was moved or misread between.
    """

    heads_out_left_deg: float
    heads_changed_deg: float


def head_squareness(
    *,
    spot_left_mm: float,
    spot_right_mm: float,
    changed_left_mm: float,
    changed_right_mm: float,
    path_mm: float,
) -> HeadSquareness:
    """From the returned spots (+ = left) before and after the heads were changed over.

    Stand and car stay where they are. With heads out by a and b the left beam meets the bar at
    w - t + a and then at w - t - b: half the mean change of both sides is (a + b) / 2.
    """
    before = [beam_to_normal_deg(spot, path_mm) for spot in (spot_left_mm, spot_right_mm)]
    after = [beam_to_normal_deg(spot, path_mm) for spot in (changed_left_mm, changed_right_mm)]
    left, right = (one - other for one, other in zip(before, after, strict=True))
    return HeadSquareness((left + right) / 4.0, left - right)
