"""The bench page of a hole: what to do in which order, with the cautions that belong at each step."""

from __future__ import annotations

from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING
from cam.ground.units import show_length
from cam.lengths.figures import MM, LengthFigures
from cam.lengths.holes import HolePlan, Pivot

HALF_THOU = 0.0127
"""Half a thousandth of an inch, mm; exact."""

DRILLING = (
    "clamp the plate on a block, never hold it by hand: brass snatches at a drill and swings the plate round",
    "wear eye protection; the machine's manual and the rules of the shop go before this sheet",
)
EDGES = ("the tool is sharp along its whole length: give it a firm handle and turn it by hand only",)
CHIPS = ("clear chips with a brush, spindle stopped, not with fingers or breath",)
SPRING = ("with a mainspring in the frame, let it down under control before the plates are parted, and see that it is",)


class HoleLine(Row):
    """One line of the bench page, and the cautions that belong beside it."""

    text: str
    cautions: tuple[str, ...]


def hole_steps(plan: HolePlan, pivot: Pivot, said: LengthFigures = MM) -> tuple[HoleLine, ...]:
    """Say what to do, in order: the pivot first, then drill, edges, opening, smoothing, trial.

    The order (hole fitted to the finished pivot, edges broken before the last opening cleans them) is common
    practice, no source.
    """
    hole = plan.hole
    if hole.use == "as it is":
        return (_as_it_is(plan, pivot, said), _edges(plan, said), _trial(plan, said))
    steps = [_pivot_first(plan, pivot, said)]
    if plan.drill is not None:
        left = said.show(plan.opened - plan.drill.diameter)
        _, name, size = plan.drill
        size_too = "" if name.endswith(f" {said.unit}") else f" ({said.show(size)})"
        text = f"drill {name}{size_too}, square to the plate: {left} on the diameter stays for opening"
        steps.append(HoleLine(text, DRILLING + CHIPS))
    steps += [_edges(plan, said), _opening(plan, said)]
    if hole.smoothing > 0:
        took = f"opens the hole by about {said.show(hole.smoothing)}, to {said.show(plan.narrow)}"
        side = "both sides" if hole.side == "both" else f"the {hole.side}"
        text = f"smooth with an oiled round smoothing broach from {side}: it {took}; wipe hole and pivot clean"
        steps.append(HoleLine(text, EDGES))
    return (*steps, _trial(plan, said))


def _as_it_is(plan: HolePlan, pivot: Pivot, said: LengthFigures) -> HoleLine:
    size = f"the hole stays as it is, {said.show(plan.narrow)}"
    limits = said.between(pivot.diameter.least, pivot.diameter.most)
    return HoleLine(f'{size}: "{pivot.name}" must come out at {limits}, round and parallel', ())


def _pivot_first(plan: HolePlan, pivot: Pivot, said: LengthFigures) -> HoleLine:
    least, _, most = pivot.diameter
    parallel = "round and parallel: measured at root and tip it must read the same"
    if most - least < ROUNDING:
        text = f'"{pivot.name}" measures {said.show(most)}, and its hole is opened to fit that; it must be {parallel}'
    elif plan.hole.fit:
        limits = said.between(least, most)
        text = f'finish "{pivot.name}" to {limits} before its hole is opened; it must be {parallel}'
    else:
        limits = said.between(least, most)
        text = (
            f'finish "{pivot.name}" before its hole is opened: {limits} will do, as the hole is opened to fit it, '
            f"but it must be {parallel}"
        )
    return HoleLine(text, ())


def _edges(plan: HolePlan, said: LengthFigures) -> HoleLine:
    edges = (("inside", plan.hole.edge_inside), ("outside", plan.hole.edge_outside))
    broken = [f"{side} {edge.kind} {said.show(edge.size)}" for side, edge in edges if edge.size > 0]
    text = f"break the edges of the hole: {', '.join(broken)}" if broken else "take off the burrs, edges left sharp"
    if plan.edge_needed > ROUNDING:
        needed = said.at_least(plan.edge_needed)
        text += f"; the shoulder seats once the inside edge is broken by {needed}"
    return HoleLine(text, EDGES if broken and plan.hole.use == "open" else ())


def _opening(plan: HolePlan, said: LengthFigures) -> HoleLine:
    hole = plan.hole
    if hole.opened_by == "reamer":
        text = (
            f"ream parallel to {said.show(plan.opened)} with an adjustable reamer, set out a little at a time, as a"
            " fixed one has its own size alone; turn forward only, also while drawing out"
        )
        return HoleLine(text, EDGES + CHIPS)
    wide = said.show(plan.entry - hole.smoothing)
    if hole.side == "both":
        how = f"from both sides by turns, equally deep, until the waist in the middle is {said.show(plan.opened)}"
        how += f" (both ends then {wide})"
    else:
        far = "outside" if hole.side == "inside" else "inside"
        how = f"from the {hole.side} only, until the {far} is {said.show(plan.opened)} (the {hole.side} then {wide})"
    care = "square to the plate, with little pressure, trying the pivot often"
    inch = said.unit == "in"
    way = show_length(plan.travel * HALF_THOU / 0.01, "in", 2) if inch else show_length(plan.travel, "mm", 1)
    by = "0.0005 in" if inch else "0.01 mm"
    return HoleLine(f"open with the broach {how}; {care}: {way} farther in opens the hole by {by}", EDGES + CHIPS)


def _trial(plan: HolePlan, said: LengthFigures) -> HoleLine:
    words = f"side shake {said.between(plan.side_shake.least, plan.side_shake.most)} on the diameter"
    if plan.side_shake.most - plan.side_shake.least > ROUNDING:
        words += f", {said.show(plan.side_shake.likely)} aimed at"
    carries = f"the pivot bears on {said.show(plan.contact)} of the {said.show(plan.wall)} wall"
    return HoleLine(f"try the pivot dry in its plate, then between both plates: {words}; {carries}", SPRING)
