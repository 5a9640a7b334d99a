"""Holes, chances, stand-offs and slips of the hand, each set out by hand, and what comes of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from cam.ground.drills import drills_by_size
from cam.ground.problem import ProblemError, RangeError
from cam.lengths.figures import LengthFigures
from cam.lengths.hole_page import hole_steps
from cam.lengths.holes import Pivot, plan_hole
from cam.lengths.likely import Likely, find_slip
from cam.lengths.probability import chance_of
from cam.lengths.stand_off import Range, sharp_stand_off, stand_off
from cam.lengths.sums import check_distance, word_of
from cam.part.features import Edge
from cam.part.spans import Along, Uncertainty
from tests.measured import hole, limits
from tests.specimens import HERE, quantity
from tests.told.lengths import hole_figures, problem, row


def edge(size: float, kind: str = "chamfer") -> Edge:
    """Return a broken edge."""
    return Edge(kind=kind, size=size, text=f"{kind} {size} mm", where=HERE)  # type: ignore[arg-type]


PIVOT = Pivot("pivot", 6.0, Range(5.97, 5.98, 5.99), 6.0, 0.4, 0.0, 8.0, None)
HOLES: tuple[tuple[dict[str, object], dict[str, object]], ...] = (
    ({}, {}),
    ({"side": "outside"}, {}),
    ({"side": "both"}, {}),
    ({"opened_by": "reamer", "taper": 0.0}, {}),
    ({"edge_inside": edge(0.2), "edge_outside": edge(0.3)}, {}),
    ({"edge_inside": edge(1.0), "edge_outside": edge(1.0)}, {}),
    ({"edge_inside": edge(0.9), "edge_outside": edge(1.0)}, {}),
    ({"edge_inside": edge(0.9), "edge_outside": edge(1.2)}, {}),
    ({"now": quantity(5.9)}, {}),
    ({"now": quantity(5.8)}, {}),
    ({"now": quantity(6.01)}, {}),
    ({"now": quantity(6.015)}, {}),
    ({"now": quantity(6.02)}, {}),
    ({"now": quantity(6.2)}, {}),
    ({"use": "as it is", "now": quantity(6.03)}, {}),
    ({"use": "as it is", "now": quantity(6.02)}, {}),
    ({"use": "as it is", "now": quantity(6.06)}, {}),
    ({"use": "as it is", "now": quantity(6.03), "side_shake": limits(0.02, 0.03, 0.06)}, {}),
    ({"use": "as it is", "now": quantity(6.03), "side_shake": limits(0.04, 0.05, 0.06)}, {}),
    ({"use": "as it is", "now": quantity(6.03), "side_shake": None}, {}),
    ({"use": "as it is", "now": quantity(5.99), "side_shake": None}, {}),
    ({"use": "as it is"}, {}),
    ({"side_shake": None}, {}),
    ({"fit": "H7/f7"}, {}),
    ({"fit": "H7/f7", "side_shake": None, "opened_by": "reamer", "taper": 0.0}, {}),
    ({"fit": "H7/f7", "side_shake": None}, {}),
    ({"fit": "H7/f7", "side_shake": None, "taper": 0.003}, {}),
    ({"fit": "H7/f7", "side_shake": None, "taper": 0.006, "side": "both"}, {}),
    ({"fit": "H7/g6", "side_shake": None, "taper": 0.0, "opened_by": "reamer"}, {}),
    (
        {"fit": "H7/f7", "side_shake": None, "opened_by": "reamer", "taper": 0.0},
        {"diameter": Range(5.978, 5.984, 5.99)},
    ),
    ({}, {"diameter": Range(5.98, 5.98, 5.98)}),
    ({"use": "as it is", "now": quantity(6.02), "side_shake": None}, {"diameter": Range(5.98, 5.98, 5.98)}),
    (
        {"use": "as it is", "now": quantity(6.02), "edge_inside": edge(0.0, "sharp"), "edge_outside": edge(0.1)},
        {"diameter": Range(5.98, 5.98, 5.98)},
    ),
    ({"edge_inside": edge(0.0, "sharp"), "edge_outside": edge(0.0, "sharp")}, {"diameter": Range(5.97, 5.98, 5.99)}),
    ({"fit": "H77"}, {}),
    ({"fit": "F8/h9", "side_shake": None, "opened_by": "reamer", "taper": 0.0}, {}),
    ({"fit": "F8/h9", "side_shake": None, "taper": 0.002}, {}),
    (
        {"fit": "H7/f7", "side_shake": None, "use": "as it is", "now": quantity(6.01)},
        {"diameter": Range(5.978, 5.984, 5.99)},
    ),
    ({"opened_by": "reamer"}, {}),
    ({"taper": 0.0}, {}),
    ({}, {"corner": 0.3}),
    ({"edge_inside": edge(0.25)}, {"corner": 0.3}),
    ({"edge_inside": edge(0.28)}, {"corner": 0.3}),
    ({"edge_inside": edge(0.3, "radius")}, {"corner": 0.3}),
    ({}, {"length": 2.0}),
    ({}, {"length": 2.4}),
    ({"edge_outside": edge(0.3)}, {"length": 2.1}),
    ({"edge_outside": edge(0.3)}, {"length": 2.05}),
    ({}, {"length": 0.5}),
    ({"carrying_gap": quantity(0.01)}, {}),
    ({"carrying_gap": quantity(0.0)}, {}),
    ({"carrying_gap": quantity(0.01)}, {"length": 1.5}),
    ({"side": "outside"}, {"length": 1.5, "corner": 0.3}),
    ({"side": "both", "carrying_gap": quantity(0.01)}, {"corner": 0.3}),
    ({}, {"shoulder": 6.1}),
    ({}, {"shoulder": 6.05}),
    ({}, {"shoulder": 6.04}),
    ({}, {"shoulder": 6.5, "shoulder_edge": edge(0.1)}),
    ({"side_shake": limits(0.0, 0.0, 0.08)}, {}),
    ({"drill_under": quantity(3.0)}, {}),
    ({"drill_under": quantity(6.0)}, {}),
    ({"smoothing": quantity(0.0)}, {}),
    ({"plate": quantity(12.0)}, {}),
    ({"plate": quantity(2.0), "taper": 0.02}, {}),
)


def of_holes() -> Iterator[str]:
    """Yield how each of many holes is made, or what is wrong with it, and the page of its bench work."""
    for at, (changes, other) in enumerate(HOLES):
        said_of = [f"{key} {getattr(value, 'text', value)}" for key, value in (changes | other).items()]
        yield f"# {', '.join(said_of) or 'as it is'}"
        pivot = replace_row(PIVOT, other)
        for said, drills in ((LengthFigures("mm"), None), (LengthFigures("in"), drills_by_size())):
            try:
                plan = plan_hole(hole(**changes), pivot, drills, said)
            except ProblemError as found:
                yield from (problem(p) for p in found.problems)
                break
            yield f"{plan.drill.name if plan.drill else 'no drill'} " + row(
                (plan.entry, plan.exit, *hole_figures(plan))
            )
            yield from (f"warning {problem(w)}" for w in plan.warnings)
            if at < 16 or "smoothing" in changes or "diameter" in other:
                yield from (f"  {step.text} {len(step.cautions)}" for step in hole_steps(plan, pivot, said))


def replace_row(pivot: Pivot, changes: dict[str, object]) -> Pivot:
    """Return a pivot with some things changed."""
    return pivot._replace(**changes)


def of_limits() -> Iterator[str]:
    """Yield chances at the ends of what is possible, and widths and limits that are none."""
    for least, most in ((-0.75, 0.75), (-0.75, 0.0), (0.0, 0.75), (-0.7, 0.7)):
        chances = " ".join(f"{chance:.9f}" for chance in chance_of(0.0, (0.5, 0.25), 0.0, least, most))
        yield f"0.5 and 0.25, {least:g} to {most:g}: {chances}"
    for evens, standard, least in (
        ((0.1, -0.1), 0.1, 0.0),
        ((0.1,), -0.1, 0.0),
        ((0.1,), 0.1, 0.2),
        ((0.1,), 0.1, 0.1),
    ):
        try:
            yield f"{evens} {standard:g} {least:g}: {chance_of(0.0, evens, standard, least, 0.1).inside:.9f}"
        except RangeError as found:
            yield f"{evens} {standard:g} {least:g}: {found}"
    for distance in (-0.1, 0.0, 0.1):
        yield f"{distance:g} left: {[problem(p) for p in check_distance('plates', distance, '3 mm', HERE)]}"
    for sign in (1, -1):
        along = Along(sign=sign, name="shim", readings=(), uncertainty=Uncertainty(0.01, "limit", "", HERE), where=HERE)
        yield f"sign {sign}: {word_of(along)}"


def of_sums() -> Iterator[str]:
    """Yield chances, stand-offs and slips of the hand."""
    for evens in ((), (0.1,), (0.1, 0.05), (0.05, 0.1, 0.02), (0.1, 0.0), (0.3, 0.3, 0.3, 0.3)):
        for standard in (0.0, 1e-13, 0.03, 0.5):
            for mean, least, most in (
                (0.2, 0.1, 0.3),
                (0.2, 0.0503, 0.3497),
                (0.0, 0.0, 0.05),
                (0.32, 0.1, 0.3),
                (0.1, 0.1, 0.1),
                (5.0, 0.1, 0.3),
                (-5.0, 0.1, 0.3),
            ):
                found = chance_of(mean, evens, standard, least, most)
                chances = " ".join(f"{chance:.9f}" for chance in found)
                yield f"{evens} {standard:g} about {mean:g}, {least:g} to {most:g}: {chances}"
    yield from of_limits()
    for radius in (0.0, 0.1, 0.2):
        for clearance in (0.0, 0.02, 0.1, 0.2, 0.3):
            edges = (edge(0.0, "sharp"), edge(0.05), edge(0.15), edge(0.05, "radius"), edge(0.2, "radius"))
            off = (sharp_stand_off(radius, clearance), *(stand_off(radius, clearance, e) for e in edges))
            yield f"{radius:g} {clearance:g}: {row(off)}"
    near = Likely(20.0, 0.5, "what the part file says", HERE)
    for value in (19.4, 19.499999, 19.5, 20.0, 20.5, 20.500001, 20.6):
        yield f"{value:g} comes near 20 by 0.5: {near.takes(value)}"
    for wrong in ((-0.1, 0.0), (0.0, -0.1)):
        try:
            sharp_stand_off(*wrong)
        except RangeError as found:
            yield str(found)
    for value, text in (
        (20.3, "20.3 mm"),
        (2.03, "2.03 mm"),
        (203.0, "203 mm"),
        (0.203, ".203 mm"),
        (2030.0, "2030 mm"),
        (20300.0, "20300 mm"),
        (0.0203, "0.0203 mm"),
        (515.62, "20.3 in"),
        (0.79921, "0.79921 mm"),
        (10.15, "10.15 mm"),
        (40.6, "40.6 mm"),
        (23.0, "23.0 mm"),
        (2.3, "02.3 mm"),
        (20.03, "20.03 mm"),
        (30.2, "30.2 mm"),
        (7.0, "7 mm"),
        (0.0, "0 mm"),
    ):
        yield f"{text}: {find_slip(value, text, lambda mm: abs(mm - 20.3) < 0.05)}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {"bench": of_holes, "sums": of_sums}
