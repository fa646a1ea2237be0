"""How long one full evaluation of a job's arithmetic takes on one core.

One evaluation is every formula of the shipped job once, in its order (both ways to tell the toe
and all ways to measure the aim), the decision on the aim with all that its five leans a side tell
of noise, ripple and misread levels, one plan for the screws, and one move judged and learned from.
The inputs are those of rehearsed jobs. Nothing is remembered from one evaluation to the next.

Beside the whole stand its two parts, each timed within the same evaluations: the decision, and all
the rest (formulas, plan, move, learning), which is what an evaluation was until 27 November 2026.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from operator import add
from typing import Any, Literal

from companion.calibration.formulas import evaluate
from companion.calibration.hypothesis_test import explain_move
from companion.calibration.plate import edges_at, parabola_weights
from companion.calibration.response import learn, prior_response
from companion.calibration.screws import plan_turns
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from companion.steps.aim import looking
from companion.steps.aim.figures import mount_of
from companion.steps.computation.model import Computation
from companion.uncertainty import sequential
from companion.uncertainty.measured import Measured, covariance_matrix, measured
from companion.uncertainty.sets import Judged, judge_sets
from tests.benchmarks.common import Results, percentile, rounded
from tests.benchmarks.rehearse import loaded_job

NAME = "evaluate"
WHAT = "all of a job's arithmetic once, with its doubt: milliseconds on one core"

AimRoute = Literal["echo_levels", "tool_angle", "tool_correction"]
ToeRoute = Literal["degrees", "millimetres"]
ROUTES: tuple[tuple[AimRoute, ToeRoute], ...] = (
    ("echo_levels", "degrees"),
    ("tool_angle", "millimetres"),
    ("tool_correction", "degrees"),
)


@dataclass(frozen=True)
class Formula:
    """One computation of the job with the inputs that it had."""

    step_id: str
    name: str
    inputs: Mapping[str, Measured]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--times", type=int, default=300, help="evaluations to time")


def run(options: argparse.Namespace) -> Results:
    """Time many evaluations, after a few that warm up."""
    (rest, decision), formulas = one_evaluation(options.seed)
    for _ in range(5):
        rest()
        decision()
    times_ms, rest_ms, decision_ms = [], [], []
    for _ in range(options.times):
        began_ns, cpu_began_ns = time.perf_counter_ns(), time.thread_time_ns()
        rest()
        cpu_between_ns = time.thread_time_ns()
        decision()
        cpu_ended_ns, ended_ns = time.thread_time_ns(), time.perf_counter_ns()
        times_ms.append((ended_ns - began_ns) / 1e6)
        rest_ms.append((cpu_between_ns - cpu_began_ns) / 1e6)
        decision_ms.append((cpu_ended_ns - cpu_between_ns) / 1e6)
    cpu_ms = list(map(add, rest_ms, decision_ms))
    return {
        "benchmark": NAME,
        "formulas": formulas,
        "times": options.times,
        "ms_median": rounded(percentile(times_ms, 50)),
        "ms_p95": rounded(percentile(times_ms, 95)),
        "ms_max": rounded(max(times_ms)),
        # What the core itself took: nearly the same on a machine that does nothing else.
        "cpu_ms_median": rounded(percentile(cpu_ms, 50)),
        "cpu_ms_p95": rounded(percentile(cpu_ms, 95)),
        "cpu_ms_least": rounded(min(cpu_ms)),
        # Its parts.
        "cpu_ms_median_formulas": rounded(percentile(rest_ms, 50)),
        "cpu_ms_least_formulas": rounded(min(rest_ms)),
        "cpu_ms_median_decision": rounded(percentile(decision_ms, 50)),
        "cpu_ms_least_decision": rounded(min(decision_ms)),
    }


def one_evaluation(seed: int) -> tuple[tuple[Callable[[], None], Callable[[], None]], int]:
    """What is timed, all but the decision and the decision, and how many formulas it evaluates."""
    decision = Decision()
    with decision.watched():
        facts = facts_of(seed, *ROUTES[0])
    facts += [fact for routes in ROUTES[1:] for fact in facts_of(seed, *routes)]
    formulas = formulas_of(facts)
    files = loaded_job().plan.files
    mount, limits = mount_of(files.mount), files.vehicle.aim
    response = prior_response(mount, files.mount.response_relative_sd)
    plan_body = next(body for kind, body in facts if kind == "screw_plan")
    turns = [Fraction(plan_body["turns"][screw.id]) for screw in mount.screws]
    moved = next(b["moved"] for k, b in facts if k == "move_judged" and "moved" in b)
    moved_deg = (moved["yaw_deg"], moved["elevation_deg"])
    aim_now = plan_body["aim"]
    yaw = measured("yaw", aim_now["yaw_deg"], aim_now["u_yaw"])
    elevation = measured("elevation", aim_now["elevation_deg"], aim_now["u_elevation"])
    spread = covariance_matrix((yaw, elevation))

    def rest() -> None:
        parabola_weights.cache_clear()
        edges_at.cache_clear()
        for formula in formulas:
            evaluate(formula.name, formula.inputs)
        plan_turns(
            mount,
            yaw.value,
            elevation.value,
            response,
            (Fraction(0), Fraction(0)),
            limits.yaw_tolerance_deg,
            limits.elevation_tolerance_deg,
            spread,
        )
        explain_move(mount, response, turns, moved_deg, spread)
        learn(response, turns, *moved_deg, spread)

    def decide() -> None:
        # Every bound is worked out anew, as in a job.
        sequential._bounds.cache_clear()
        sequential._bounds_of_rows.cache_clear()
        decision.again()

    return (rest, decide), len(formulas)


class Decision:
    """The job's last decision on its aim: the sets and misfits that it had, to be decided again."""

    def __init__(self) -> None:
        self._asked: tuple[tuple[Any, ...], dict[str, Any]] = ((), {})

    @contextmanager
    def watched(self) -> Iterator[None]:
        """Keep what decisions are asked with meanwhile."""

        def watching(*args: Any, **more: Any) -> Judged:
            self._asked = args, more
            return judge_sets(*args, **more)

        looking.judge_sets = watching
        try:
            yield
        finally:
            looking.judge_sets = judge_sets

    def again(self) -> Judged:
        """The decision, worked out anew."""
        args, more = self._asked
        return judge_sets(*args, **more)


def facts_of(
    seed: int,
    aim_route: AimRoute,
    toe_route: ToeRoute,
) -> list[tuple[str, Mapping[str, Any]]]:
    """The facts of one typed job by these routes."""
    scenario = Scenario(answers={"aim_route": aim_route, "toe_route": toe_route})
    log = MemoryLog()
    rehearsal = make_rehearsal(loaded_job(), seed, scenario=scenario)
    run_rehearsal(loaded_job(), assembly.language(), rehearsal, SilentVoice(), log)
    return [(event.kind, event.body) for event in log.events(log.session_id)]


def formulas_of(facts: list[tuple[str, Mapping[str, Any]]]) -> list[Formula]:
    """Every computation of the shipped job, in its order, with the inputs of its first time.

    Every input gets a name of its own: more names than in a job, so no less work.
    """
    found: dict[str, Formula] = {}
    for kind, body in facts:
        if kind == "computed" and body["step_id"] not in found:
            step_id = body["step_id"]
            inputs = {
                name: measured(f"{step_id}.{name}", told["value"], told["u"])
                for name, told in body["inputs"].items()
            }
            found[step_id] = Formula(step_id, body["formula"], inputs)
    steps = [s.id for s in loaded_job().plan.steps if isinstance(s, Computation)]
    missing = [step_id for step_id in steps if step_id not in found]
    if missing:
        raise LookupError(f"the rehearsed jobs never computed {', '.join(missing)}")
    return [found[step_id] for step_id in steps if step_id in found]
