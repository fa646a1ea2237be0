"""Numbers in, numbers out: stand, floor, wheels, mount, aim and their doubt. Pure.

Axes as in ISO 8855: x forward, y left, z up. Yaw and heading + = to the car's left, elevation
+ = up. Units are in the names: _mm, _deg, _db.
"""

from companion.measure.conformity import (
    Verdict,
    acceptance_limits,
    best_possible_probability,
    can_ever_pass,
    decide,
    probability_inside,
    repeats_to_settle,
)
from companion.measure.doubt import (
    Measured,
    Repeats,
    Share,
    budget,
    correlated,
    correlation,
    covariance,
    covariance_matrix,
    effective_degrees_of_freedom,
    exact,
    expanded,
    mean_of,
    measured,
    propagate,
    rectangular_u,
    resolution_u,
    triangular_u,
    u_shaped_u,
)
from companion.measure.echo import EchoFit, EchoPeak, echo_level_db, fit_echo, fit_echo_measured
from companion.measure.formulas import FORMULAS, Formula, evaluate
from companion.measure.mount import Mount, Screw, forward, geometry_response, inverse
from companion.measure.reach import miss_at_range_m
from companion.measure.response import (
    MoveVerdict,
    Response,
    explain_move,
    learn,
    prior_response,
)
from companion.measure.screws import ScrewPlan, ScrewStep, plan_turns

__all__ = [
    "FORMULAS",
    "EchoFit",
    "EchoPeak",
    "Formula",
    "Measured",
    "Mount",
    "MoveVerdict",
    "Repeats",
    "Response",
    "Screw",
    "ScrewPlan",
    "ScrewStep",
    "Share",
    "Verdict",
    "acceptance_limits",
    "best_possible_probability",
    "budget",
    "can_ever_pass",
    "correlated",
    "correlation",
    "covariance",
    "covariance_matrix",
    "decide",
    "echo_level_db",
    "effective_degrees_of_freedom",
    "evaluate",
    "exact",
    "expanded",
    "explain_move",
    "fit_echo",
    "fit_echo_measured",
    "forward",
    "geometry_response",
    "inverse",
    "learn",
    "mean_of",
    "measured",
    "miss_at_range_m",
    "plan_turns",
    "prior_response",
    "probability_inside",
    "propagate",
    "rectangular_u",
    "repeats_to_settle",
    "resolution_u",
    "triangular_u",
    "u_shaped_u",
]
