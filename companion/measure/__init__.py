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
from companion.measure.coupling import (
    StandError,
    StandGeometry,
    StandMove,
    stale_after,
    stand_moves,
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
from companion.measure.echo import (
    EchoFit,
    EchoPeak,
    echo_level_db,
    fit_echo,
    fit_echo_measured,
)
from companion.measure.fitting import (
    Fit,
    Outlier,
    least_squares,
    worst_outlier,
)
from companion.measure.formulas import FORMULAS, Formula, evaluate
from companion.measure.mount import Mount, Screw, forward, geometry_response, inverse
from companion.measure.reach import miss_at_range_m
from companion.measure.response import Response, learn, prior_response
from companion.measure.ride import BodyStance, body_stance
from companion.measure.risk import (
    Risk,
    global_risk,
    rate_at_most,
    rate_between,
    rate_between_wilson,
)
from companion.measure.run_out_fit import RunOutFit, Suspect, fit_run_out, suspects
from companion.measure.screws import ScrewPlan, plan_turns
from companion.measure.second_order import Bend, bend
from companion.measure.shimming import Shims, shims
from companion.measure.steps import ScrewStep
from companion.measure.stories import Story, possible_stories
from companion.measure.student import Expanded, degrees_of_freedom_of, expand, t_factor
from companion.measure.telling import (
    MoveVerdict,
    StoryName,
    explain_move,
    learn_from_move,
    told_apart_in_u,
)

__all__ = [
    "FORMULAS",
    "Bend",
    "BodyStance",
    "EchoFit",
    "EchoPeak",
    "Expanded",
    "Fit",
    "Formula",
    "Measured",
    "Mount",
    "MoveVerdict",
    "Outlier",
    "Repeats",
    "Response",
    "Risk",
    "RunOutFit",
    "Screw",
    "ScrewPlan",
    "ScrewStep",
    "Share",
    "Shims",
    "StandError",
    "StandGeometry",
    "StandMove",
    "Story",
    "StoryName",
    "Suspect",
    "Verdict",
    "acceptance_limits",
    "bend",
    "best_possible_probability",
    "body_stance",
    "budget",
    "can_ever_pass",
    "correlated",
    "correlation",
    "covariance",
    "covariance_matrix",
    "decide",
    "degrees_of_freedom_of",
    "echo_level_db",
    "effective_degrees_of_freedom",
    "evaluate",
    "exact",
    "expand",
    "expanded",
    "explain_move",
    "fit_echo",
    "fit_echo_measured",
    "fit_run_out",
    "forward",
    "geometry_response",
    "global_risk",
    "inverse",
    "learn",
    "learn_from_move",
    "least_squares",
    "mean_of",
    "measured",
    "miss_at_range_m",
    "plan_turns",
    "possible_stories",
    "prior_response",
    "probability_inside",
    "propagate",
    "rate_at_most",
    "rate_between",
    "rate_between_wilson",
    "rectangular_u",
    "repeats_to_settle",
    "resolution_u",
    "shims",
    "stale_after",
    "stand_moves",
    "suspects",
    "t_factor",
    "told_apart_in_u",
    "triangular_u",
    "u_shaped_u",
    "worst_outlier",
]
