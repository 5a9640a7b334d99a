"""The finished part's outline in half-section, from its drawn sizes: no setting, no allowance, no tool."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cam.geometry.path import Chain, Line, Point, Segment, mirror_z, reverse, shift
from cam.ground.problem import Problem, ProblemError
from cam.ground.tolerances import ROUNDING
from cam.lengths.solved import Solved
from cam.part.features import size_of
from cam.part.model import Section
from cam.setting.outline import Surface, corner_arc, edge_pieces


def half_profile(part: Solved) -> Chain:
    """Return the outline from the axis at the A end to the axis at the B end.

    Sizes are those of the drawing, not the middle of limits. A corner "up to" a radius is drawn with that
    radius, an undercut with square corners, and a square's blank as the cylinder to which it is turned.

    Returns:
        Lines and arcs in the part's own axes: z from the finished A face toward the B end, x the radius, mm.

    Raises:
        ProblemError: a length is still to be measured.
    """
    if part.to_be_measured:
        raise ProblemError(_unmeasured(part))
    return trace(part.sections)


def _unmeasured(part: Solved) -> list[Problem]:
    named = " and ".join(f'"{name}"' for name in part.to_be_measured)
    return [
        Problem(
            where=section.where,
            what=f'the length of section "{section.name}" is not known yet',
            given=f"to be measured: {named}",
            fix="record what was measured, then ask again",
        )
        for section in part.sections
        if math.isnan(section.length)
    ]


def trace(sections: Sequence[Section]) -> Chain:
    """Return the outline of sections whose lengths are all known, as `half_profile` does."""
    pieces: list[Segment] = []
    at = Point(sections[0].start, 0.0)
    last = len(sections) - 1
    for k, section in enumerate(sections):
        tops = [
            0.0 if k == 0 else _room(sections[k - 1], section, "b"),
            0.0 if k == last else _room(sections[k + 1], section, "a"),
        ]
        for piece in (*_end(section, "a", tops[0]), *_far_end(section, tops[1])):
            at = _join(pieces, at, piece.start)
            if math.dist(piece.start, piece.end) > ROUNDING:
                pieces.append(piece)
                at = piece.end
    _join(pieces, at, Point(sections[-1].end, 0.0))
    return tuple(pieces)


def _join(pieces: list[Segment], at: Point, to: Point) -> Point:
    """Draw a line to where the next piece begins, if it is not there already."""
    if math.dist(at, to) > ROUNDING:
        pieces.append(Line(at, to))
        return to
    if pieces and at != to:
        pieces[-1] = pieces[-1]._replace(end=to)
    return to


def _room(neighbour: Section, section: Section, side: str) -> float:
    """Return the height of the neighbour's face above the section, less its edge, mm; zero or less where it has none.

    side: that of the neighbour where they meet.
    """
    size, edge = (neighbour.diameter_a, neighbour.edge_a) if side == "a" else (neighbour.diameter_b, neighbour.edge_b)
    own = section.diameter_b if side == "a" else section.diameter_a
    return (size - own) / 2 - size_of(edge)


def _end(section: Section, side: str, room: float) -> Chain:
    """Draw from the face at one end of a section into its surface, that face at the section's start.

    It is drawn as setting outlines are, from a face at 0 toward falling z, then turned round.
    """
    near, far = section.diameter_a / 2, section.diameter_b / 2
    edge, corner = section.edge_a, section.corner_a
    if side == "b":
        near, far, edge, corner = far, near, section.edge_b, section.corner_b
    surface = Surface(near, (far - near) / (section.end - section.start))
    drawn: Chain = (Line(Point(0.0, near), Point(0.0, near)),)  # a sharp corner: a piece of no length, to be met
    if edge is not None and edge.kind != "sharp":
        drawn = edge_pieces(0.0, surface, edge)
    elif corner is not None and corner.kind == "undercut":
        floor, width = near - corner.depth, corner.width
        rim = near + surface.growth * width
        corners = (Point(0.0, floor), Point(-width, floor), Point(-width, rim))
        drawn = tuple(Line(a, b) for a, b in pairwise(corners))
    elif corner is not None:
        radius = min(corner.radius, max(room, 0.0)) if corner.kind == "nose" else corner.radius
        arc = corner_arc(0.0, Surface(near, -surface.growth), radius)  # the face rises at the far end there
        drawn = (reverse(mirror_z((arc,))[0]),) if radius > ROUNDING else drawn
    return shift(mirror_z(drawn), section.start, 0.0)


def _far_end(section: Section, room: float) -> Chain:
    """Draw from the surface of a section to the face at its B end."""
    drawn = mirror_z(_end(section, "b", room))  # from a face at -start toward falling z
    return tuple(reverse(piece) for piece in reversed(shift(drawn, section.start + section.end, 0.0)))
