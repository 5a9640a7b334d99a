"""The bench page of a hole: what to do in which order, with the cautions that belong at each step."""

from __future__ import annotations

from cam.frozen import Row
from cam.measure.holes import FINE, HolePlan, Pivot
from cam.measure.stand_off import round_up
from cam.units import show_length

DRILLING = (
    "clamp the plate on a block, never hold it by hand: brass snatches at a drill and swings the plate round",
    "wear eye protection; the machine's manual and the rules of the shop go before this sheet",
)
EDGES = ("the tool is sharp along its whole length: give it a firm handle and turn it by hand only",)
CHIPS = ("clear chips with a brush, spindle stopped, not with fingers or breath",)
SPRING = ("with a mainspring in the frame, let it down under control before the plates are parted, and see that it is",)


class Step(Row):
    """One line of the bench page, and the cautions that belong beside it."""

    text: str
    cautions: tuple[str, ...]


def hole_steps(plan: HolePlan, pivot: Pivot) -> tuple[Step, ...]:
    """What to do, in order: the pivot first, then drill, edges, opening, smoothing, trial.

    The order (hole fitted to the finished pivot, edges broken before the last opening cleans them) is common
    practice, no source.
    """
    hole = plan.hole
    if hole.use == "as it is":
        return (_as_it_is(plan, pivot), _edges(plan), _trial(plan))
    steps = [_pivot_first(plan, pivot)]
    if plan.drill is not None:
        left = _show(plan.opened - plan.drill.diameter)
        _, name, size = plan.drill
        size_too = "" if name.endswith(" mm") else f" ({_show(size)})"
        text = f"drill {name}{size_too}, square to the plate: {left} on the diameter stays for opening"
        steps.append(Step(text, DRILLING + CHIPS))
    steps += [_edges(plan), _opening(plan)]
    if hole.smoothing > 0:
        took = f"opens the hole by about {_show(hole.smoothing)}, to {_show(plan.narrow)}"
        side = "both sides" if hole.side == "both" else f"the {hole.side}"
        text = f"smooth with an oiled round smoothing broach from {side}: it {took}; wipe hole and pivot clean"
        steps.append(Step(text, EDGES))
    return (*steps, _trial(plan))


def _as_it_is(plan: HolePlan, pivot: Pivot) -> Step:
    size = f'hole "{plan.hole.name}" stays as it is, {_show(plan.narrow)}'
    limits = _between(pivot.diameter.least, pivot.diameter.most, "to")
    return Step(f'{size}: "{pivot.name}" must come out at {limits}, round and parallel', ())


def _pivot_first(plan: HolePlan, pivot: Pivot) -> Step:
    least, _, most = pivot.diameter
    parallel = "round and parallel: measured at root and tip it must read the same"
    if most - least < FINE:
        text = f'"{pivot.name}" measures {_show(most)}, and its hole is opened to fit that; it must be {parallel}'
    elif plan.hole.fit:
        limits = _between(least, most, "to")
        text = f'finish "{pivot.name}" to {limits} before its hole is opened; it must be {parallel}'
    else:
        text = (
            f'finish "{pivot.name}" before its hole is opened: its diameter may float between {_between(least, most)}, '
            f"since the hole is opened to fit it, but its parallelism may not; it must be {parallel}"
        )
    return Step(text, ())


def _edges(plan: HolePlan) -> Step:
    edges = (("inside", plan.hole.edge_inside), ("outside", plan.hole.edge_outside))
    broken = [f"{side} {edge.kind} {_show(edge.size)}" for side, edge in edges if edge.size > 0]
    text = f"break the edges of the hole: {', '.join(broken)}" if broken else "take off the burrs, edges left sharp"
    if plan.edge_needed > FINE:
        needed = show_length(round_up(plan.edge_needed), "mm", 2)
        text += f"; the shoulder seats once the inside edge is broken by {needed}"
    return Step(text, EDGES if broken and plan.hole.use == "open" else ())


def _opening(plan: HolePlan) -> Step:
    hole = plan.hole
    if hole.opened_by == "reamer":
        text = f"ream parallel to {_show(plan.opened)}; turn forward only, also while drawing out"
        return Step(text, EDGES + CHIPS)
    wide = _show(plan.entry - hole.smoothing)
    if hole.side == "both":
        how = f"from both sides by turns, equally deep, until the waist in the middle is {_show(plan.opened)}"
        how += f" (both ends then {wide})"
    else:
        far = "outside" if hole.side == "inside" else "inside"
        how = f"from the {hole.side} only, until the {far} is {_show(plan.opened)} (the {hole.side} then {wide})"
    care = "square to the plate, with little pressure, trying the pivot often"
    way = show_length(plan.travel, "mm", 1)
    return Step(f"open with the broach {how}; {care}: {way} farther in opens the hole by 0.01 mm", EDGES + CHIPS)


def _trial(plan: HolePlan) -> Step:
    play = f"side play {_between(plan.play.least, plan.play.most, 'to')} on the diameter"
    if plan.play.most - plan.play.least > FINE:
        play += f", {_show(plan.play.likely)} aimed at"
    carries = f"the pivot bears on {_show(plan.contact)} of the {_show(plan.wall)} wall"
    return Step(f"try the pivot dry in its plate, then between both plates: {play}; {carries}", SPRING)


def _between(low: float, high: float, word: str = "and") -> str:
    return _show(low) if abs(high - low) < FINE else f"{show_length(low)[:-3]} {word} {_show(high)}"


def _show(value: float) -> str:
    return show_length(value)
