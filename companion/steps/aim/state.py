"""Where the adjustment of the aim stands, as the conversation's state keeps it for this kind."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from companion.calibration.response import Response, prior_response
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.job.setup_files import MountModel
from companion.steps.aim.figures import mount_model, mount_of
from companion.uncertainty.measured import Measured

KEPT_AS = "aim"
"""All aim steps of a job turn the same screws, so they share what is known of them."""

DOUBTED_AFTER = 2
"""So many moves that look as if they had gone the wrong way doubt the mount file."""


@dataclass(frozen=True)
class ShortSet:
    """Few levels that were judged with the widths of a whole set before.

    `left_over`: sums that are zero at every aim. `takes`: the budget lines of its own levels.
    `known_before`: the round as it stood before them, when their move had taught nothing.
    """

    left_over: tuple[Measured, ...]
    takes: tuple[str, ...]
    known_before: AimRound


@dataclass(frozen=True)
class AimRound:
    """Where the adjustment of the aim stands.

    `sets`: the aim (yaw, elevation) measured at the present position of the screws, one entry for
    each full set of readings. `before` and `planned_turns`: the aim before the last turning and
    what was to be turned. `foreseen`: that move came out as planned, and its prediction was sharp
    enough, before the move taught anything, to count as a second opinion. `turned`: clockwise turns
    of each screw since the job began, by what the moves did; `asked`: by what was asked for.
    `wrong_ways`: moves so far that looked as if they had gone the wrong way. `slips_running`: the
    last moves, in a row, that did not look as planned; `amiss`: by how many turns clockwise they
    then went further than was asked for, in all, of each screw. `looks`: sets that
    were measured at this position, those that no longer count as well. `levels`: the levels of each
    set that counts, by position; the last position is the present one. `unturned`: what to go back
    to while none of the turns asked for has been begun. `first_look`: how many looks there had been
    when a first look's answer fell at this position; None where none did. `widths`: those of the
    beam by each whole set since the last break. `by_whole_set`: the last turning was planned by a
    whole set. `short`: what a short set, the only set at this position, leaves over. `aged`: its
    levels, by budget line, once a break lies behind them.
    """

    response: Response
    turned: tuple[Fraction, ...]
    asked: tuple[Fraction, ...]
    wrong_ways: int = 0
    slips_running: int = 0
    amiss: tuple[Fraction, ...] = ()
    sets: tuple[tuple[Measured, Measured], ...] = ()
    before: tuple[Measured, Measured] | None = None
    planned_turns: tuple[Fraction, ...] | None = None
    explained: bool = False
    foreseen: bool = False
    round: int = 0
    looks: int = 0
    levels: tuple[tuple[tuple[float, ...], ...], ...] = ((),)
    odd_moves: int = 0
    misfits: tuple[tuple[Measured, ...], ...] = ()
    unturned: AimRound | None = None
    first_look: int | None = None
    widths: tuple[tuple[Measured, ...], ...] = ()
    by_whole_set: bool = False
    short: ShortSet | None = None
    aged: tuple[str, ...] = ()


def without_short_set(aim: AimRound) -> AimRound:
    """What a short set said no longer counts, nor what its move taught and spoke for.

    What was looked at stays so, and what fell away since stays away.
    """
    if aim.short is None:
        return aim
    known = aim.short.known_before
    fallen = aim.before is None
    return replace(
        known,
        before=None if fallen else known.before,
        planned_turns=None if fallen else known.planned_turns,
        looks=aim.looks,
        first_look=aim.first_look,
        levels=aim.levels,
        misfits=aim.misfits,
        widths=aim.widths,
        aged=aim.aged,
        sets=(),
        short=None,
    )


def aim_round(state: State) -> AimRound | None:
    """The round at hand; None before the first look at the aim."""
    kept = state.kept.get(KEPT_AS)
    return kept if isinstance(kept, AimRound) else None


def aim_of(state: State) -> AimRound:
    """The round at hand; the first begins with what the mount file says of the screws."""
    model = mount_model(state.plan)
    mount = mount_of(model)
    none = (Fraction(0),) * len(mount.screws)
    return aim_round(state) or AimRound(response_by_file(model), turned=none, asked=none)


def response_by_file(model: MountModel) -> Response:
    """What the mount file says of the screws, before any move has taught anything."""
    return prior_response(mount_of(model), model.response_relative_sd)


def keep(tx: Transaction, aim: AimRound) -> AimRound:
    """The round as it stands from here on."""
    tx.change(kept={**tx.state.kept, KEPT_AS: aim})
    return aim
