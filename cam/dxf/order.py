"""Joins loose strokes to one outline, from the axis at the A end to the axis at the B end."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

from cam.dxf.read import Sketch, Stroke
from cam.geometry.path import Arc, Line, Point, reverse, shift
from cam.ground.problem import Problem, ProblemError, Where
from cam.ground.tolerances import AS_DRAWN

GAP = 0.1
"""The widest gap, mm, that counts as a slip of the drawing and is measured in the message."""

Strokes = tuple[Stroke, ...]


def put_in_order(sketch: Sketch) -> tuple[Strokes, tuple[str, ...]]:
    """Chain the strokes of a half-profile.

    Returns:
        The strokes head to tail, z from the A face, both ends on the axis (a face that is not drawn is put in), and
        what was put in or left out, one sentence each.

    Raises:
        ProblemError: gaps, branches, loose ends and strokes that are joined to nothing, all at once.
    """
    strokes, notes = _without_doubles(sketch.strokes)
    places = _Places(strokes)
    problems = [*_branches(places, sketch.path), *_separate(places, sketch.path)]
    ends = sorted(node for node, found in places.at.items() if len(found) == 1)
    if not problems and len(ends) != 2:
        problems += _loose_ends(places, ends, sketch.path)
    if problems:
        raise ProblemError(problems)
    first = min(ends, key=lambda node: places.points[node])
    chain = _walk(places, first)
    chain = [s._replace(piece=shift((s.piece,), -chain[0].piece.start.z, 0.0)[0]) for s in chain]
    return tuple(_closed(chain, notes)), tuple(notes)


class _Places:
    """The strokes by the places where their ends meet.

    Attributes:
        points: one for each place.
        at: place -> strokes that end there.
        ends: the places of each stroke's ends.
    """

    def __init__(self, strokes: Strokes) -> None:
        self.strokes = strokes
        self.points: list[Point] = []
        self.at: dict[int, list[int]] = {}
        self._cells: dict[tuple[int, int], list[int]] = {}
        self.ends = [(self._node(s.piece.start), self._node(s.piece.end)) for s in strokes]
        for k, pair in enumerate(self.ends):
            for node in pair:
                self.at.setdefault(node, []).append(k)

    def _node(self, p: Point) -> int:
        cell = (math.floor(p.z / AS_DRAWN), math.floor(p.x / AS_DRAWN))
        for dz in (-1, 0, 1):
            for dx in (-1, 0, 1):
                for node in self._cells.get((cell[0] + dz, cell[1] + dx), ()):
                    if math.dist(self.points[node], p) <= AS_DRAWN:
                        return node
        self.points.append(p)
        self._cells.setdefault(cell, []).append(len(self.points) - 1)
        return len(self.points) - 1

    def names(self, strokes: Iterable[int]) -> str:
        """Name some strokes as a message does."""
        found = sorted({self.strokes[k].words for k in strokes})
        more = f" and {len(found) - 6} more" if len(found) > 6 else ""
        return "; ".join(found[:6]) + more


def _without_doubles(strokes: Strokes) -> tuple[Strokes, list[str]]:
    """Return each stroke once, however often it is drawn over itself."""
    kept: dict[tuple[object, ...], Stroke] = {}
    for stroke in strokes:
        piece = stroke.piece
        ends = sorted((round(p.z / AS_DRAWN), round(p.x / AS_DRAWN)) for p in (piece.start, piece.end))
        middle = round(piece.radius / AS_DRAWN) if isinstance(piece, Arc) else 0
        kept.setdefault((*ends, middle), stroke)
    doubles = len(strokes) - len(kept)
    return tuple(kept.values()), [f"{doubles} strokes drawn twice were taken once"] if doubles else []


def _branches(places: _Places, path: str) -> list[Problem]:
    return [
        Problem(
            where=Where(path=path),
            what=f"{len(found)} strokes meet where an outline has two",
            given=places.names(found),
            fix="take the inner lines off, or put the outline on a layer of its own and say --layer",
        )
        for _, found in sorted(places.at.items())
        if len(found) > 2
    ]


def _separate(places: _Places, path: str) -> list[Problem]:
    """Report what is not joined to the largest of the pieces; a small gap is named as such."""
    groups = _groups(places)
    if len(groups) < 2:
        return []
    gaps = _gaps(places)
    if gaps:
        return [
            Problem(
                where=Where(path=path),
                what=f"the outline has a gap of {gap:.4g} mm",
                given=f"between {places.names(places.at[one])} and {places.names(places.at[other])}",
                allowed=f"at most {AS_DRAWN:g} mm",
                fix="join their ends in the drawing",
            )
            for gap, one, other in gaps
        ]
    largest = max(groups, key=len)
    loose = [k for group in groups if group is not largest for k in group]
    what = f"{len(loose)} stroke{'s do' if len(loose) > 1 else ' does'} not hang together with the rest of the outline"
    fix = "join them, take them off, or put the outline on a layer of its own and say --layer"
    return [Problem(where=Where(path=path), what=what, given=places.names(loose), fix=fix)]


def _gaps(places: _Places) -> list[tuple[float, int, int]]:
    """Return the small gaps between loose ends, mm, the smallest first, each with its two places."""
    ends = [node for node, found in places.at.items() if len(found) == 1]
    pairs = [(math.dist(places.points[a], places.points[b]), a, b) for a, b in combinations(ends, 2)]
    return sorted(pair for pair in pairs if pair[0] <= GAP)


def _groups(places: _Places) -> list[set[int]]:
    groups: list[set[int]] = []
    left = set(range(len(places.strokes)))
    while left:
        group, todo = set[int](), [min(left)]
        while todo:
            k = todo.pop()
            if k in group:
                continue
            group.add(k)
            todo += [other for node in places.ends[k] for other in places.at[node] if other not in group]
        groups.append(group)
        left -= group
    return groups


def _loose_ends(places: _Places, ends: list[int], path: str) -> list[Problem]:
    where = Where(path=path)
    if not ends:
        what = "the outline is closed and does not touch the centre line: a bore cannot be turned here"
        return [Problem(where=where, what=what, fix="draw the half-profile of a solid part, down to the centre line")]
    named = places.names(k for node in ends for k in places.at[node])
    return [Problem(where=where, what=f"the outline has {len(ends)} ends, and not two", given=named)]


def _walk(places: _Places, first: int) -> list[Stroke]:
    """Follow the outline from one end to the other; ends that nearly meet are joined."""
    chain: list[Stroke] = []
    node, used = first, set[int]()
    while True:
        k = next((k for k in places.at[node] if k not in used), None)
        if k is None:
            return chain
        used.add(k)
        start, end = places.ends[k]
        stroke = places.strokes[k]
        if start != node:
            stroke, start, end = stroke._replace(piece=reverse(stroke.piece)), end, start
        a, b, piece = places.points[start], places.points[end], stroke.piece
        moved = Line(a, b) if isinstance(piece, Line) else Arc(a, b, piece.centre, piece.turn)
        chain.append(stroke._replace(piece=moved))
        node = end


def _closed(chain: list[Stroke], notes: list[str]) -> list[Stroke]:
    """Return the chain with both its ends brought to the axis."""
    for last in (False, True):
        stroke = chain[-1 if last else 0]
        at = stroke.piece.end if last else stroke.piece.start
        if abs(at.x) <= AS_DRAWN:
            continue
        foot = Point(at.z, 0.0)
        face = stroke._replace(piece=Line(at, foot) if last else Line(foot, at), loose=False)
        chain = [*chain, face] if last else [face, *chain]
        notes.append(f"the {'B' if last else 'A'} end is not drawn down to the centre line: it is taken as a flat face")
    return chain
