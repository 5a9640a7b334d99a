"""Reads a DXF drawing as the strokes of a half-profile, each with the entity from which it came.

Nothing is left out in silence: what cannot be part of an outline is named with its handle and place; what only
explains a drawing (texts, dimensions) is counted in the notes, and so is every choice that the drawing did not make.
"""

from __future__ import annotations

import logging
import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any, Literal

from cam.dxf.library import load_library
from cam.dxf.write import AXIS, NAMES, UP_TO
from cam.geometry.path import Arc, Line, Point, Segment
from cam.ground.frozen import Row, frozen
from cam.ground.inputs import read_input
from cam.ground.problem import Problem, ProblemError, Where, problem, refusal
from cam.ground.tolerances import AS_DRAWN
from cam.ground.units import MM_PER_INCH

if TYPE_CHECKING:
    from ezdxf.document import Drawing

Unit = Literal["mm", "in"]

MOST_BYTES = 5_000_000
MOST_STROKES = 600
FARTHEST = 1e6
"""Numbers of a drawing beyond this describe nothing that is turned here."""
UNITS: dict[int, float] = {1: MM_PER_INCH, 4: 1.0, 5: 10.0}
"""$INSUNITS -> mm; 1 inch, 4 mm, 5 cm. Source: DXF reference, header variables."""
EXPLAINS = frozenset({
    "TEXT", "MTEXT", "DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MULTILEADER", "TOLERANCE",
    "HATCH", "POINT", "ATTDEF", "VIEWPORT", "IMAGE", "WIPEOUT", "ACAD_TABLE",
})  # fmt: skip
"""The kinds of entity that explain a drawing and are no part of an outline."""
CENTRE = re.compile(r"cent(er|re)|axis|dashdot|chain", re.I)
"""A pattern of the names of layers and line types that centre lines have; common practice, no source."""


class Stroke(Row):
    """One line or arc of the outline.

    Attributes:
        piece: z along the centre line, x from it, mm; z not yet counted from the A face.
        handle: that of its entity.
        place: that of its middle, in the drawing's own numbers.
        loose: whether it is a fillet that may be smaller than drawn.
    """

    piece: Segment
    handle: str
    place: str
    loose: bool

    @property
    def words(self) -> str:
        """The element as a message names it: ARC 2F at (12, 3.5)."""
        return f"{'ARC' if isinstance(self.piece, Arc) else 'LINE'} {self.handle} at {self.place}"


@frozen
class Sketch:
    """What a drawing holds of a half-profile.

    Attributes:
        path: as the user named it.
        unit: the unit in which the part is to be written.
        strokes: in no order; none lies on the centre line.
        names: (z, name) of each text on the layer of section names.
        notes: what was decided or left out, one sentence each.
    """

    path: str
    unit: Unit
    strokes: tuple[Stroke, ...]
    names: tuple[tuple[float, str], ...]
    notes: tuple[str, ...]


def read_sketch(path: str, *, units: Unit | None = None, layer: str | None = None) -> Sketch:
    """Read the lines and arcs of a half-profile.

    Args:
        path: that of a DXF file, text or binary.
        units: the unit in which it is drawn; None takes the header's $INSUNITS.
        layer: only what is drawn on this layer (the centre line may be on any); None takes all that are shown.

    Raises:
        ProblemError: everything that cannot be used, at once.
    """
    problems: list[Problem] = []
    notes: list[str] = []
    document = _open(path, notes)
    scale = _scale(document, path, units, problems, notes)
    raw = _sort_out(document, path, layer, problems, notes)
    if len(raw.strokes) > MOST_STROKES:
        what, given = "is too crowded for the half-profile of an arbor", f"{len(raw.strokes)} lines and arcs"
        problems.append(Problem(where=Where(path=path), what=what, given=given, allowed=f"at most {MOST_STROKES}"))
        raise ProblemError(problems)
    axis = _find_axis(raw, path, problems, notes)
    if problems or axis is None:
        raise ProblemError(problems)
    strokes = tuple(_placed(stroke, axis, scale) for stroke in raw.strokes)
    strokes = _one_side(strokes, path, problems, notes)
    if problems:
        raise ProblemError(problems)
    names = tuple((axis.place(Point(*at)).z * scale, name) for at, name in raw.names)
    unit: Unit = units or ("in" if document.header.get("$INSUNITS") == 1 else "mm")
    return Sketch(path=path, unit=unit, strokes=strokes, names=names, notes=tuple(notes))


class _Axis(Row):
    """The centre line: a point on it and its direction, from the A end."""

    origin: Point
    along: Point

    def place(self, p: Point) -> Point:
        """Return a place of the drawing as (along the axis, away from it); the sign tells the side."""
        dz, dx = p[0] - self.origin[0], p[1] - self.origin[1]
        return Point(dz * self.along[0] + dx * self.along[1], dx * self.along[0] - dz * self.along[1])


class _Raw(Row):
    """The strokes in the drawing's own numbers, its centre lines, and the names."""

    strokes: list[Stroke]
    axes: list[Stroke]
    names: list[tuple[tuple[float, float], str]]


# The file ---------------------------------------------------------------------------------------------


def _open(path: str, notes: list[str]) -> Drawing:
    """Open the drawing as it stands; one that would have to be guessed at is refused."""
    where = Where(path=path)
    read_input(path, MOST_BYTES)
    load_library()
    from ezdxf import filemanagement  # noqa: PLC0415

    logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # it says nothing that is not said here
    try:
        document = filemanagement.readfile(path)
        auditor = document.audit()
    except Exception as fault:  # whatever a library makes of a broken file, it is the file that is broken
        said = " ".join(str(fault).split())[:200] or type(fault).__name__
        fix = "have the drawing written anew by the program that drew it"
        what = "is not a DXF drawing that can be read"
        raise refusal(where, what, given=said, fix=fix) from fault
    if auditor.has_errors:
        raise ProblemError(
            Problem(where=where, what="this drawing is damaged", given=" ".join(str(e.message).split())[:200])
            for e in auditor.errors
        )
    if auditor.has_fixes:
        first = " ".join(str(auditor.fixes[0].message).split())[:120]
        notes.append(f"{len(auditor.fixes)} faults in the drawing's form were fixed on reading, the first: {first}")
    return document


def _scale(document: Drawing, path: str, units: Unit | None, problems: list[Problem], notes: list[str]) -> float:
    """Return how many mm one unit of the drawing is."""
    said = int(document.header.get("$INSUNITS", 0))
    if units is not None:
        scale = {"mm": 1.0, "in": MM_PER_INCH}[units]
        if said and UNITS.get(said) != scale:
            notes.append(f"read in {units} as you say, though the drawing's header says otherwise ($INSUNITS {said})")
        return scale
    if said in UNITS:
        name = {1: "inches", 4: "mm", 5: "cm"}[said]
        notes.append(f"drawn in {name}, as its header says ($INSUNITS {said})")
        return UNITS[said]
    what = "the drawing does not say in which unit it is drawn" if not said else "its unit is not used here"
    fix = "say --units mm or --units in"
    problems.append(problem(Where(path=path), what, f"$INSUNITS = {said}", "1 (inch), 4 (mm), 5 (cm)", fix))
    return 1.0


# Entities ---------------------------------------------------------------------------------------------


def _sort_out(document: Drawing, path: str, layer: str | None, problems: list[Problem], notes: list[str]) -> _Raw:
    """Sort out outline, centre lines and names; what cannot be used goes to problems, what is left out to notes."""
    raw = _Raw([], [], [])
    layers = {_said(entry, "name", "").lower(): entry for entry in document.layers}
    left: Counter[str] = Counter()
    for entity in document.modelspace():
        kind, on = entity.dxftype(), _said(entity, "layer", "0")
        entry = layers.get(on.lower())
        centre = _is_centre(entity, on, entry)
        elsewhere = layer is not None and on.lower() != layer.lower() and not centre
        if why := _left_out(entity, on, entry, elsewhere=elsewhere):
            left[why] += 1
        elif kind == "TEXT":
            raw.names.append((_insert(entity), _said(entity, "text", "")))
        else:
            _take(entity, kind, raw.axes if centre else raw.strokes, path, problems, loose=on == UP_TO)
    notes += map(_say_left_out, sorted(left.items()))
    if not raw.strokes and not problems:
        problems.append(_nothing_drawn(document, path, layer))
    return raw


def _left_out(entity: Any, on: str, entry: Any, *, elsewhere: bool) -> str:
    """Say why an entity is left out: its layer, or its kind where that only explains; "" for one that is taken."""
    if entry is not None and (entry.is_off() or entry.is_frozen()):
        return "on a layer that is off"
    if elsewhere:
        return "on other layers"
    kind = entity.dxftype()
    named = kind == "TEXT" and on == NAMES and max(map(abs, _insert(entity))) <= FARTHEST
    return str(kind) if kind in EXPLAINS and not named else ""


def _say_left_out(counted: tuple[str, int]) -> str:
    """Say how many entities were left out for one reason: "2 DIMENSION left out", "3 entities on other layers ..."."""
    why, count = counted
    return f"{count} {'entities ' if why.startswith('on') else ''}{why} left out"


def _nothing_drawn(document: Drawing, path: str, layer: str | None) -> Problem:
    there = ", ".join(sorted({_said(e, "layer", "0") for e in document.modelspace()})) or "nothing is drawn"
    what = "there is no line or arc" + (f' on layer "{layer}"' if layer is not None else "")
    return Problem(where=Where(path=path), what=what, given=f"layers: {there}")


def _said(entity: Any, key: str, otherwise: str) -> str:
    """Return a text that an entity says of itself, or otherwise where it has none or its kind can have none."""
    return str(entity.dxf.get(key, otherwise)) if entity.dxf.is_supported(key) else otherwise


def _insert(entity: Any) -> tuple[float, float]:
    """Return where a text stands: at its middle, if it is placed by that; the numbers are nan where it is not said."""
    point = entity.dxf.align_point if entity.dxf.hasattr("align_point") else entity.dxf.insert
    return float(point.x), float(point.y)


def _is_centre(entity: Any, layer: str, entry: Any) -> bool:
    """Tell whether an entity is part of the centre line: a line, by its layer or its linetype."""
    if entity.dxftype() != "LINE":
        return False
    linetype = _said(entity, "linetype", "BYLAYER")
    if linetype.upper() == "BYLAYER" and entry is not None:
        linetype = _said(entry, "linetype", "Continuous")
    return layer == AXIS or bool(CENTRE.search(layer) or CENTRE.search(linetype))


def _take(entity: Any, kind: str, into: list[Stroke], path: str, problems: list[Problem], *, loose: bool) -> None:
    """Add an entity's strokes, or the problem with it."""
    handle, where = str(entity.dxf.handle), Where(path=path)
    try:
        from ezdxf import upright  # noqa: PLC0415

        if kind in ("ARC", "LWPOLYLINE", "POLYLINE", "CIRCLE"):
            upright.upright(entity)  # one drawn from behind, as mirrored ones are
        pieces = list(_pieces(entity, kind))
    except (ValueError, TypeError, AttributeError, ArithmeticError) as fault:
        pieces, kind = [], f"{kind} ({' '.join(str(fault).split())[:100]})"
    if not pieces:
        what = f"{kind} {handle}{_somewhere(entity)} is neither line nor arc of one plane, and cannot be used"
        fix = "have it drawn as lines and arcs; or put the outline on a layer of its own and say --layer"
        problems.append(problem(where, what, fix=fix))
    for piece in pieces:
        middle = Point((piece.start.z + piece.end.z) / 2, (piece.start.x + piece.end.x) / 2)
        into.append(Stroke(piece, handle, f"({middle.z:.6g}, {middle.x:.6g})", loose))


def _somewhere(entity: Any) -> str:
    """Say where an entity is, as far as it tells."""
    for key in ("center", "insert", "start"):
        if entity.dxf.hasattr(key):
            point = entity.dxf.get(key)
            return f" at ({point.x:.6g}, {point.y:.6g})"
    points = getattr(entity, "control_points", None)
    if points is not None and len(points):
        return f" at ({points[0][0]:.6g}, {points[0][1]:.6g})"
    return ""


def _pieces(entity: Any, kind: str) -> Iterator[Segment]:
    """Yield the lines and arcs of an entity, in the drawing's numbers; none for any other kind."""
    if kind in ("LWPOLYLINE", "POLYLINE") and getattr(entity, "is_2d_polyline", True):
        for part in entity.virtual_entities():
            yield from _pieces(part, part.dxftype())
    elif kind == "LINE":
        start, end = entity.dxf.start, entity.dxf.end
        if start.z == end.z and not start.isclose(end):
            yield Line(_point(start), _point(end))
    elif kind == "ARC":
        axis = entity.dxf.extrusion
        if max(abs(axis.x), abs(axis.y)) < 1e-9 and entity.dxf.radius > 0:
            yield Arc(_point(entity.start_point), _point(entity.end_point), _point(entity.dxf.center), 1)


def _point(v: Any) -> Point:
    z, x = float(v.x), float(v.y)
    if not (abs(z) <= FARTHEST and abs(x) <= FARTHEST):
        raise ValueError(f"a place that is no number, or beyond {FARTHEST:.0f}")
    return Point(z, x)


# The centre line --------------------------------------------------------------------------------------


def _find_axis(raw: _Raw, path: str, problems: list[Problem], notes: list[str]) -> _Axis | None:
    """Find the centre line; without one, take the drawing's own X axis if the outline stands on it."""
    if raw.axes:
        return _drawn_axis(raw.axes, path, problems, notes)
    heights = [p.x for s in raw.strokes for p in (s.piece.start, s.piece.end)]
    if heights and min(map(abs, heights)) <= AS_DRAWN:
        notes.append(
            "no centre line is drawn: turned about Y = 0, on which the outline stands; the A end is the left one"
        )
        return _Axis(Point(0.0, 0.0), Point(1.0, 0.0))
    if raw.strokes:
        what = "there is no centre line, and the outline does not stand on Y = 0"
        fix = f'draw the centre line on a layer called "{AXIS}", or with a centre-line type'
        problems.append(problem(Where(path=path), what, fix=fix))
    return None


def _drawn_axis(lines: list[Stroke], path: str, problems: list[Problem], notes: list[str]) -> _Axis | None:
    """Return the centre line that is drawn; None where several do not lie on one line."""
    longest = max(lines, key=lambda s: math.dist(s.piece.start, s.piece.end))
    axis = _along(longest.piece)
    strays = [s for s in lines if any(abs(axis.place(p).x) > AS_DRAWN for p in (s.piece.start, s.piece.end))]
    if strays:
        given, fix = "; ".join(s.words for s in [longest, *strays[:5]]), "leave the one that the part turns about"
        what = "several centre lines do not lie on one line"
        problems.append(Problem(where=Where(path=path), what=what, given=given, fix=fix))
        return None
    end = "lower" if axis.along.z == 0.0 else "left"
    notes.append(f"turned about the centre line {longest.handle}; the A end is the {end} one")
    return axis


def _along(line: Segment) -> _Axis:
    """Return the line as an axis, from left to right, or upward where the outline is upright."""
    (z0, x0), (z1, x1) = sorted((line.start, line.end))
    size = math.dist((z0, x0), (z1, x1))
    along = Point((z1 - z0) / size, (x1 - x0) / size)
    if abs(along.z) < 1e-9:
        along = Point(0.0, 1.0)
    return _Axis(Point(z0, x0), along)


def _placed(stroke: Stroke, axis: _Axis, scale: float) -> Stroke:
    def place(p: Point) -> Point:
        z, x = axis.place(p)
        return Point(z * scale, x * scale)

    return stroke._replace(piece=_moved(stroke.piece, place, 1))


def _moved(piece: Segment, place: Callable[[Point], Point], sense: int) -> Segment:
    """Return a line or arc with its points placed anew; sense is -1 where that turns arcs the other way round."""
    start, end = place(piece.start), place(piece.end)
    if isinstance(piece, Arc):
        return Arc(start, end, place(piece.centre), sense * piece.turn)
    return Line(start, end)


def _one_side(strokes: tuple[Stroke, ...], path: str, problems: list[Problem], notes: list[str]) -> tuple[Stroke, ...]:
    """Return what is not on the axis, mirrored above it if it lies below; refuse it where it lies on both sides."""
    above = [s for s in strokes if max(s.piece.start.x, s.piece.end.x) > AS_DRAWN]
    below = [s for s in strokes if min(s.piece.start.x, s.piece.end.x) < -AS_DRAWN]
    if above and below:
        what = "the outline lies on both sides of the centre line; half of it is wanted"
        given = f"{len(above)} strokes on one side, {len(below)} on the other, the first {below[0].words}"
        fix = "leave one half, or put that half on a layer of its own and say --layer"
        problems.append(problem(Where(path=path), what, given, fix=fix))
        return ()
    if not below:
        return tuple(above)
    notes.append("the half below the centre line is taken")
    return tuple(s._replace(piece=_moved(s.piece, lambda p: Point(p.z, -p.x), -1)) for s in below)
