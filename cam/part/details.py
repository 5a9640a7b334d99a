"""What can be wrong with the corners and edges of a part: how far up and along they reach, and what is left."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Protocol

from cam.ground.problem import Problem, problem
from cam.ground.quantity import Quantity
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import MM_PER_INCH, in_unit, is_inch, round_down, round_up, show_fine
from cam.part.features import Corner, Edge, undercut_at
from cam.part.model import Part, Section

DEEPEST_UNDERCUT = 0.15
"""The greatest depth of an undercut beside a shoulder as a share of the diameter; 0.15 leaves 0.7 of the diameter and a
third of its stiffness (0.7 cubed). Common practice, no source.
"""

UNDER_THREAD = 0.15
"""How far an undercut behind a thread may go below the thread's root, mm. Common practice, no source."""

LONGER = 60
"""How often the least length of a taper is worked out anew: each result is nearer, for a steep taper only by little."""

LEAST_LAND = 0.1
"""The least length of a section that is left at its own size beside edges and corners, mm: a line has no diameter that
could be measured. Common practice, no source.
"""

LEAST_FALL = 0.01
"""The least that the diameters of a taper's ends differ by, drawn or as turned, mm: a micrometer's division. Common
practice, no source.
"""


class InUnit(Protocol):
    """Whatever knows the unit that its part file mostly uses."""

    @property
    def unit(self) -> str:
        """The unit, "mm" or "in"."""
        ...


def say(value: float, part: InUnit) -> str:
    """Say a length, mm, in the unit that the part file mostly uses: "44.5 mm", "1.752 in"."""
    return show_fine(value, part.unit, trim=True)


def at_least(value: float, part: InUnit) -> str:
    """Say a least length in the same way, rounded up, so that a size written from it is large enough."""
    return say(round_up(value, part.unit), part)


def at_most(value: float, part: InUnit) -> str:
    """Say a greatest length in the same way, rounded down."""
    return say(round_down(value, part.unit), part)


def _sides(part: Part) -> Iterator[tuple[Section, str, float, float, Corner | None, Edge | None]]:
    """Return both ends of every section: (section, "A" or "B", own diameter, the neighbour's, corner, edge)."""
    last = len(part.sections) - 1
    for at, section in enumerate(part.sections):
        before = float(part.sections[at - 1].diameter_b) if at else 0.0
        after = float(part.sections[at + 1].diameter_a) if at < last else 0.0
        yield section, "A", float(section.diameter_a), before, section.corner_a, section.edge_a
        yield section, "B", float(section.diameter_b), after, section.corner_b, section.edge_b


def ask_units(part: Part, problems: Iterable[Problem]) -> Iterator[Problem]:
    """Ask, where something is wrong with a section in another unit than the rest, whether that unit is meant."""
    odd = {section.name: size.text for section in part.sections for size in _odd_sizes(part, section)}
    rest = "inches" if part.unit == "in" else "millimetres"
    for one in problems:
        texts = [text for name, text in odd.items() if f'"{name}"' in one.what]
        asked = [f'is the unit of "{text}" right? most others are in {rest}' for text in texts]
        yield replace(one, fix="; ".join(words for words in (one.fix, *asked) if words))


def _odd_sizes(part: Part, section: Section) -> Iterator[Quantity]:
    """Return the diameters of a section in the other unit whose number, in the part's unit, would fit into the bar."""
    to_part = MM_PER_INCH if part.unit == "in" else 1 / MM_PER_INCH
    for size in (section.diameter_a, section.diameter_b):
        if size.text and is_inch(size.text) != (part.unit == "in") and size * to_part <= part.stock.diameter:
            yield size


def check_edges_fit(part: Part) -> Iterator[Problem]:
    """Check that a chamfer or an edge radius is smaller than its step, the corner at the step's foot counted in."""
    fillets = {(s.name, side): c.radius for s, side, _, _, c, _ in _sides(part) if c is not None}
    for section, side, own, other, _, edge in _sides(part):
        if edge is None or edge.kind == "sharp":
            continue
        foot = fillets.get(_across(part, section, side), 0.0)
        step = (own - other) / 2
        if edge.size + foot > step + AS_GIVEN:
            what = f'the {edge.kind} on the {side} edge of section "{section.name}" is larger than its step'
            given = edge.text + (f", and the corner at its foot {say(foot, part)}" if foot else "")
            allowed = f"at most {at_most(max(step - foot, 0.0), part)}: the step is {say(step, part)} high"
            fix = f'write edge_{side.lower()} = "sharp" or a smaller one in section "{section.name}"'
            yield problem(edge.where, what, given, allowed, fix)


def _across(part: Part, section: Section, side: str) -> tuple[str, str]:
    """Return the neighbour at one side, and the side by which it touches."""
    at = part.sections.index(section) + (1 if side == "B" else -1)
    inside = 0 <= at < len(part.sections)
    return (part.sections[at].name if inside else "", "A" if side == "B" else "B")


def check_corners_fit(part: Part) -> Iterator[Problem]:
    """Check that a fillet is no larger than its shoulder, and an undercut no deeper than is sensible."""
    for section, side, own, other, corner, _ in _sides(part):
        if corner is None:
            continue
        step = (other - own) / 2
        if corner.radius > step + AS_GIVEN:
            what = f'the fillet at the {side} end of section "{section.name}" is larger than the shoulder'
            allowed = f"at most {at_most(step, part)}, the height of the shoulder"
            fix = f'write a smaller corner_{side.lower()} in section "{section.name}"'
            yield problem(corner.where, what, corner.text, allowed, fix)
        if corner.depth > _deepest_undercut(part, section, own) + AS_GIVEN:
            what = f'the undercut at the {side} end of section "{section.name}" is too deep for it'
            allowed = (
                f"at most {at_most(_deepest_undercut(part, section, own), part)} deep "
                f"({DEEPEST_UNDERCUT:g} of the diameter, or under a thread's root)"
            )
            fix = in_unit("make it shallower: 0.1 to 0.3 mm is enough for a shoulder to seat", part.unit)
            yield problem(corner.where, what, f"{corner.text}, on {say(own, part)}", allowed, fix)


def check_undercut_reaches_through_taper(part: Part) -> Iterator[Problem]:
    """Check that an undercut at the thick end of a taper is deeper than the taper falls over its width."""
    for section, side, own, _, corner, _ in _sides(part):
        undercut = undercut_at(corner)
        if undercut is None:
            continue
        other = float(section.diameter_a if side == "B" else section.diameter_b)
        fall = (own - other) / 2 / section.length * undercut.width
        if fall > AS_GIVEN and undercut.depth < fall + AS_GIVEN:
            what = f'the undercut at the {side} end of section "{section.name}" is shallower than its taper falls'
            given = f"{undercut.text}; over that width the taper falls {say(fall, part)}"
            fix = "make it deeper or narrower, or put a fillet there"
            yield problem(undercut.where, what, given, f"more than {say(fall, part)} deep", fix)


def _deepest_undercut(part: Part, section: Section, size: float) -> float:
    """Return the greatest depth of an undercut on a diameter, mm; behind a thread it goes below the root."""
    depth = max((t.depth + UNDER_THREAD for t in part.threads if t.section == section.name), default=0.0)
    return max(DEEPEST_UNDERCUT * size, depth)


def check_details_fit_length(part: Part) -> Iterator[Problem]:
    """Check that a section has room along it for its edges, fillets and undercuts, and keeps some of its size."""
    for section in part.sections:
        parts = _reaches(section, section.length)
        land = LEAST_LAND if parts and section.role != "undercut" else 0.0
        need = _reached(parts) + land
        if math.inf > need > section.length + AS_GIVEN:
            for _ in range(LONGER):  # a taper that is made longer is less steep, and its edges reach otherwise
                need = max(need, _reached(_reaches(section, need)) + land)
            kept = f", {say(land, part)} of that left at its size" if land else ""
            what = f'section "{section.name}" is too short for what is cut on it'
            given = f"{section.length.text} long; " + ", ".join(text for text, size in parts if size)
            fix = "make the section longer, or its edges and corners smaller"
            yield problem(section.where, what, given, f"at least {at_least(need, part)} of length{kept}", fix)


def _reaches(section: Section, length: float) -> list[tuple[str, float]]:
    """Return the text and the reach along the axis, mm, of each edge and corner, if the section were so long."""
    growth = _growth(section, length)
    edges = ((section.edge_a, growth), (section.edge_b, -growth))
    corners = (section.corner_a, section.corner_b)
    return [
        *((edge.text, edge_reach(edge, rise)) for edge, rise in edges if edge is not None),
        *((corner.text, corner.radius + corner.width) for corner in corners if corner is not None),
    ]


def _reached(parts: Iterable[tuple[str, float]]) -> float:
    return math.fsum(size for _, size in parts)


def _growth(section: Section, length: float | None = None) -> float:
    """Return how much the radius grows per mm toward the B end; zero on a cylinder, nan where the length is unknown."""
    rise = (section.diameter_b - section.diameter_a) / 2
    along = section.length if length is None else length
    return rise / along if rise and along else 0.0


def edge_reach(edge: Edge, growth: float) -> float:
    """Return how far an edge reaches along the axis, mm; infinite for a chamfer on a surface as steep as it or steeper.

    Args:
        growth: how much the radius grows per mm from the edge inward; negative at the thick end of a taper.
    """
    if edge.kind == "chamfer":
        return math.inf if growth > 1 - AS_GIVEN else edge.size / (1 - growth)
    return edge.size * (1 - growth / math.hypot(1, growth)) if edge.kind == "radius" else 0.0


def check_chamfers_meet_tapers(part: Part) -> Iterator[Problem]:
    """Check that each chamfer meets its taper: a chamfer goes in at 45 degrees, and a taper as steep never meets it."""
    for section in part.sections:
        growth = _growth(section)
        for side, edge, rise in (("a", section.edge_a, growth), ("b", section.edge_b, -growth)):
            if edge is not None and math.isinf(edge_reach(edge, rise)):
                what = f'the chamfer on the {side.upper()} edge of section "{section.name}" never meets its taper'
                given = f"{edge.text}, at 45 deg; the taper rises at {math.degrees(math.atan(rise)):.1f} deg"
                fix = f'write edge_{side} = "sharp" or a radius in section "{section.name}"'
                yield problem(edge.where, what, given, "a taper of less than 45 deg to the axis beside a chamfer", fix)
