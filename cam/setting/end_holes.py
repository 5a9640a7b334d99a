"""The centre hole in each end of a part: which it takes, and whether the end as turned leaves a rim round it."""

from __future__ import annotations

from cam.ground.problem import Problem, problem, refusal
from cam.ground.tolerances import AS_GIVEN
from cam.lengths.solved import Solved
from cam.part.checks import CLEAN_UP
from cam.part.features import Edge, End, size_of
from cam.part.model import EndHolding, Section
from cam.setting.aims import Aims, is_kept_thin, thicken
from cam.setting.centre_holes import (
    LEAST_RIM,
    TABLE,
    choose_hole,
    designate,
    hole_from,
    parse_designation,
    widest_mouth,
)
from cam.setting.model import CentreHole, Turned
from cam.setting.shoulders import above_least
from cam.setting.words import at_least, at_most, say
from cam.shop.model import Lathe


def holding_of(part: Solved, end: End) -> EndHolding:
    """Return how the part is held while this end is turned.

    Raises:
        ProblemError: the part file does not say how.
    """
    found = part.holding.at(end)
    if found is None:
        what = f"how the part is held while the {end} end is turned is not said"
        raise refusal(part.holding.where, what)
    return found


def find_hole(part: Solved, lathe: Lathe, aims: Aims, end: End) -> tuple[CentreHole | None, list[Problem]]:
    """Return the hole that the part file names, or the one for the smallest finished diameter at that end."""
    holding = holding_of(part, end)
    row = parse_designation(holding.centre_hole) if holding.centre_hole else None
    if row is not None:
        return hole_from(row, "as the part file says"), []
    path = part.sections[: part.thickest + 1] if end == "A" else part.sections[part.thickest :][::-1]
    thin = min((s for s in path if s.role != "undercut"), key=lambda s: min(s.diameter_a, s.diameter_b))
    size = min(thin.diameter_a, thin.diameter_b)
    aimed = aims.diameters[part.sections.index(path[0])]
    face = _end_face(path[0], end, holding, aimed)
    hole = choose_hole(float(size), thin.name, face, size.text)
    if hole is not None:
        return hole, []
    return None, [_no_hole(part, end, thin) if size <= face else _no_hole_in_face(part, lathe, end, path[0], aimed)]


def _no_hole(part: Solved, end: End, thin: Section) -> Problem:
    what = f'"{thin.name}" is too thin for any centre hole of ISO 866 in the {end} end'
    fix = "hold that end in a collet, or " + _thicker(part, thin, LEAST_FACE - thin.thickest, "make the end thicker")
    return problem(thin.where, what, say(min(thin.diameter_a, thin.diameter_b), part), _least_face(part), fix)


def _least_face(part: Solved) -> str:
    row = TABLE[0]
    return f"the smallest, {designate(row)}, wants {say(LEAST_FACE, part)}"


def _no_hole_in_face(part: Solved, lathe: Lathe, end: End, outermost: Section, aimed: tuple[float, float]) -> Problem:
    """Report an end face smaller than its section: by its edge or its taper, by its limit or its aim, or by both."""
    (_, edge), holding = _end_of(outermost, end), holding_of(part, end)
    face, least = _end_face(outermost, end, holding, aimed), _least_of(outermost, end, aimed)
    extra = float(holding.extra_length)
    of = _say_least(part, outermost, end, least)
    cut, spare = least - face, least - LEAST_FACE
    edge = edge if cut > 0 and not extra else None
    inside, helps = f", {of}", list[str]()
    if edge is not None:  # without its edge the face is wide enough, and extra length has none
        inside = f", inside the {edge.text} of {of}"
        helps = [f"make that edge {at_most(spare / 2, part)} at most", "leave extra length there to be cut off"]
    elif cut > 0 and extra:
        inside += ", its taper carried on over the extra length"
        rise = _rise(outermost, aimed, _shortest(outermost, lathe))  # with its end elsewhere its shoulder is aimed anew
        helps = [f"leave {at_most(spare / rise, part)} of extra length there at most"]
    beside = _kept_thin_by(part, end, outermost, _at(end, aimed), lathe)
    it = f'it, and "{beside.name}" beside it,' if beside else "it"
    thicker = _thicker(part, beside or outermost, LEAST_FACE - face, f"make {it} thicker")
    helps = [*(helps if spare > 0 else ()), f"hold that end in a collet, or {thicker}"]
    what = f'the end face of "{outermost.name}" is too small for any centre hole of ISO 866 in the {end} end'
    given, allowed = f"a face of {say(max(face, 0.0), part)}{inside}", _least_face(part)
    return problem(edge.where if edge is not None else outermost.where, what, given, allowed, ", ".join(helps))


LEAST_FACE = TABLE[0].mouth + 2 * LEAST_RIM
"""The least face that takes a centre hole, mm."""


def _kept_thin_by(part: Solved, end: End, outermost: Section, aimed: float, lathe: Lathe) -> Section | None:
    """Return the section inward of an end's outermost one, past any groove, if that keeps that end as thin as aimed."""
    if _end_of(outermost, end)[0] < outermost.thickest or not is_kept_thin(outermost, aimed, lathe):
        return None
    inward = part.sections[1:] if end == "A" else part.sections[-2::-1]
    return next(s for s in inward if s.role != "undercut")


def _thicker(part: Solved, section: Section, by: float, words: str) -> str:
    """Say that a section is to be thicker by so much, mm, and the bar first where it is as bought or has none left."""
    size = section.thickest + by + (0.0 if section.as_stock else section.finish.on_diameter + CLEAN_UP)
    return f"take thicker bar and {words}" if size > part.stock.diameter + AS_GIVEN else words


def _end_of(outermost: Section, end: End) -> tuple[float, Edge | None]:
    """Return the drawn diameter and the edge of a section at an end of the part."""
    if end == "A":
        return float(outermost.diameter_a), outermost.edge_a
    return float(outermost.diameter_b), outermost.edge_b


def _end_face(outermost: Section, end: End, holding: EndHolding, aimed: tuple[float, float]) -> float:
    """Return the least diameter of an end's face inside its edge, mm, as turned or finished; see _least_of.

    Extra length has no edge, and a taper is carried on over it.
    """
    (_, edge), extra = _end_of(outermost, end), float(holding.extra_length)
    cut = size_of(edge) if not extra > 0 else 0.0
    rise = _rise(outermost, aimed, outermost.end - outermost.start)
    return _least_of(outermost, end, aimed) - 2 * cut - rise * extra


def _rise(outermost: Section, aimed: tuple[float, float], turned: float) -> float:
    """Return how much thicker a section grows along its length, as drawn or as turned so long, mm: what is steeper."""
    drawn = abs(outermost.diameter_b - outermost.diameter_a) / outermost.length
    return max(drawn, abs(aimed[1] - aimed[0]) / turned) if turned > 0 else drawn  # nan while it is to be measured


def _shortest(outermost: Section, lathe: Lathe) -> float:
    """Return the least length at which a section may be aimed, mm.

    Without limits of it a taper keeps its own, but for the step of the Z slide to which its shoulder is brought.
    """
    turned = outermost.end - outermost.start
    if outermost.length_tolerance is not None:
        return turned - above_least(outermost)
    return min(turned, outermost.length) - float(lathe.z.division) / 2


def _least_of(outermost: Section, end: End, aimed: tuple[float, float]) -> float:
    """Return the least diameter of a section at an end of the part, mm: at its lower limit or as aimed at its ends."""
    return min(_end_of(outermost, end)[0] + outermost.lower, _at(end, aimed))


def _at(end: End, sizes: tuple[float, float]) -> float:
    """Return a section's diameter at this end of the part, of its A and B diameters."""
    return sizes[0 if end == "A" else 1]


def _say_least(part: Solved, outermost: Section, end: End, least: float) -> str:
    """Say the least diameter of a section at an end of the part, and whether that is its lower limit or its aim."""
    which = " at its lower limit" if outermost.lower else " as turned"
    return say(least, part) + (which if least != _end_of(outermost, end)[0] else "")


def check_hole(part: Solved, end: End, hole: CentreHole, outermost: Turned, lathe: Lathe) -> list[Problem]:
    """Check that the end as turned leaves a rim round the hole's mouth."""
    face, tapered = 2 * outermost.rim, outermost.is_taper
    if hole.mouth <= widest_mouth(face) + 1e-9:
        return []
    return [
        Problem(
            where=holding_of(part, end).where,
            what=f'"{outermost.section.name}" is too thin for the centre hole in the {end} end',
            given=f"{hole.designation} in a face of {say(max(face, 0.0), part)} as turned"
            + (", its taper carried on over the extra length" if outermost.extra_length and tapered else ""),
            allowed=f"a mouth of at most {at_most(max(widest_mouth(face), 0.0), part)}, to leave a rim",
            fix=_fix_hole(part, end, outermost, hole.mouth, lathe),
        )
    ]


def _fix_hole(part: Solved, end: End, outermost: Turned, mouth: float, lathe: Lathe) -> str:
    """Say what leaves a rim round a centre hole whose mouth, mm, is too wide for the end as turned."""
    widest, section = widest_mouth(2 * outermost.rim), outermost.section
    lacking = mouth - widest
    fitting = [row for row in TABLE if row.mouth <= widest + 1e-9]
    helps = [f'write centre_hole = "{designate(fitting[-1])}" in [holding.end_{end.lower()}]'] if fitting else []
    if outermost.edge is not None and outermost.edge.size > lacking / 2:
        helps.append(f"make the edge there {at_most(outermost.edge.size - lacking / 2, part)} at most")
    who, aimed = f'that end of "{section.name}"', 2 * outermost.end_radius
    if _end_of(section, end)[0] == section.thickest:  # its size goes by what X can be set to
        lacking = thicken(section, aimed, lacking, lathe)
    if beside := _kept_thin_by(part, end, section, aimed, lathe):
        who += f', and "{beside.name}" beside it,'
    helps.append(_thicker(part, beside or section, lacking, f"make {who} {at_least(lacking, part)} thicker"))
    return ", or ".join(helps)
