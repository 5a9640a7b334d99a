"""How to set work up in the mill, in plain sentences for the page: block, shim, and where X, Y and Z are zero."""

from __future__ import annotations

from functools import partial

from cam.ground.units import show_fine
from cam.mill.plan_hole import HoleTask
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.mill.prove import Unit
from cam.setting.milled import points
from cam.setting.square import across_at


def set_x(task: SquareTask, plan: SquarePlan) -> float:
    """Return the X of the cutter's middle when its side touches the end face, its end level with the axis there, mm."""
    return plan.work.frame.to_machine(task.square.length, 0.0)[0] + task.cutter.radius


def setting_up(task: SquareTask, plan: SquarePlan, unit: Unit = "mm") -> tuple[str, ...]:
    """Return the steps of setting up for a square, in order, one sentence each."""
    size = partial(show_fine, unit=unit, trim=True)
    lines = [f"Grip the work over {size(task.gripped)} or more, never on a finished pivot; protect what is finished."]
    if task.way == "rotary":
        lines.append("Set the work true in the rotary axis, its tip toward +X, and lock nothing that A must turn.")
    else:
        lines.append("Lay the block in the vice against its stop, the tip toward +X. Keep seat and stop free of chips.")
    if plan.tip is not None:
        lines += [
            f"Put a shim of {size(plan.tip.shim)} under {plan.tip.raised},"
            f" its near edge {size(plan.tip.spacing)} from the edge that the block stands on.",
            "The shim stays where it is when the block is turned. The tip must come out the smaller end.",
        ]
    elif plan.milled.slope:
        level = "No shim" if task.way == "rotary" else "The block lies level: no shim"
        lines.append(f"{level}. The program itself goes down toward the tip.")
    seen = [f"with flat 1 on top {points(*hole)}, seen from the tip." for hole in task.lined_up]
    lines += [f"Before the nut is tightened: {words}" for words in seen]
    what, z = plan.touch_off
    lines += [
        "Set Y to zero over the middle of the round: touch both sides and go half-way back.",
        f"Set X to {size(set_x(task, plan))} with the cutter's side on the end face, its end level with the axis.",
        f"Set Z to {size(z)} with the cutter's end on {what}. That is for a round of {size(task.square.blank)}:"
        " measure it, and add half of what it is over, or take off half of what it is under.",
        f"Depth is set for {size(across_at(plan.milled, plan.milled.station))} across flats"
        f" at {size(plan.milled.station + task.groove)} from the shoulder.",
        _turning(task.way == "rotary", plan.milled.flats),
        "Wear eye protection. Check that holder and spindle clear all that holds the work at both ends of the travel.",
    ]
    return tuple(lines)


def _turning(by_program: bool, flats: int) -> str:
    """Say who turns the work, and which way."""
    if by_program:
        return "A words turn the work: at A 90 it has turned a quarter counter-clockwise, as seen from its tip. Try it."
    quarter = ": 90 degrees brings the next flat to the top" if flats == 4 else ""
    return f"Turn the work counter-clockwise as seen from its tip{quarter}."


def setting_up_hole(task: HoleTask, gripped: str, shoulder: str, unit: Unit = "mm") -> tuple[str, ...]:
    """Return the steps for a cross hole; gripped: the section in the collet. shoulder: what X counts from, in words."""
    size = partial(show_fine, unit=unit, trim=True)
    side = "toward the tip" if task.x > 0 else "away from the tip"
    if task.by_hand:
        lie = "Lay the block level in the vice against its stop, no shim, the tip toward +X. Keep its seat clean."
    else:
        lie = "Set the work true in the rotary axis, its tip toward +X, and lock nothing that A must turn."
    return (
        f"Grip {gripped}, never a finished pivot; protect what is finished.",
        lie,
        *(["The hole may point any way: any side of the block will do."] if task.by_hand and not task.counts else []),
        f"X is zero at {shoulder}; the hole's middle lies {size(abs(task.x))} from there, {side}.",
        "X and Y are set at the first stop, which says how, and are the same for every tool.",
        "Wear eye protection. Check that every holder clears all that holds the work at its lowest.",
    )
