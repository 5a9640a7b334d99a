"""Writes the finished part's half-profile as a DXF drawing: exact lines and arcs, their unit in the header."""

from __future__ import annotations

from io import StringIO
from math import atan2, degrees
from typing import TYPE_CHECKING

from cam.dxf.library import load_library
from cam.geometry.path import Arc, Chain
from cam.ground.tolerances import ROUNDING
from cam.ground.units import MM_PER_INCH
from cam.lengths.solved import Solved
from cam.setting.finished import half_profile

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

OUTLINE = "outline"
UP_TO = "fillets-up-to"
"""The layer of the corners that may be smaller than drawn: their arcs are the largest fillet that does no harm."""
AXIS = "centre-line"
NAMES = "section-names"
LETTER = 0.15
"""The height of the sections' names as a share of the part's greatest radius."""
OVERHANG = 0.05
"""How far the centre line goes beyond both ends, as a share of the part's length."""


def draw_dxf(part: Solved) -> bytes:
    """Draw the upper half of the finished part's outline, A end at the left on the origin.

    The unit is the part's own, said in the header ($INSUNITS); z runs along the drawing's X, the radius along Y.
    The same part gives the same bytes: times and identities are fixed.

    Returns:
        DXF text of AC1024 (2010), encoded.

    Raises:
        ProblemError: a length is still to be measured.
    """
    chain = half_profile(part)
    ezdxf = load_library()
    options = ezdxf.options
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # otherwise the clock and random identities stand in the file
    try:
        document = _set_up(ezdxf.new("R2010", setup=["linetypes"]), part)
        _draw(document.modelspace(), part, chain)
        stream = StringIO()
        document.write(stream)
        return document.encode(stream.getvalue())
    finally:
        options.write_fixed_meta_data_for_testing = before


def _set_up(document: Drawing, part: Solved) -> Drawing:
    inches = part.unit == "in"
    document.header["$INSUNITS"] = 1 if inches else 4
    document.header["$MEASUREMENT"] = 0 if inches else 1
    for name, colour, linetype in ((OUTLINE, 7, "Continuous"), (UP_TO, 7, "Continuous"), (AXIS, 1, "CENTER"),
                                   (NAMES, 8, "Continuous")):  # fmt: skip
        document.layers.add(name, color=colour, linetype=linetype)
    return document


def _draw(space: Modelspace, part: Solved, chain: Chain) -> None:
    per_mm = 1 / MM_PER_INCH if part.unit == "in" else 1.0
    faces = _loose_faces(part)
    for piece in chain:
        (z0, x0), (z1, x1) = piece.start, piece.end
        if not isinstance(piece, Arc):
            space.add_line((z0 * per_mm, x0 * per_mm), (z1 * per_mm, x1 * per_mm), {"layer": OUTLINE})
            continue
        loose = piece.turn > 0 and any(abs(z - face) <= ROUNDING for z in (z0, z1) for face in faces)
        _draw_arc(space, piece, per_mm, UP_TO if loose else OUTLINE)
    over = OVERHANG * part.length
    space.add_line((-over * per_mm, 0), ((part.length + over) * per_mm, 0), {"layer": AXIS})
    _draw_names(space, part, per_mm)


def _loose_faces(part: Solved) -> set[float]:
    """Return z of the faces, mm, in whose corners any smaller fillet will do."""
    corners = [corner for s in part.sections for corner in ((s.start, s.corner_a), (s.end, s.corner_b))]
    return {z for z, corner in corners if corner is not None and corner.kind == "nose"}


def _draw_names(space: Modelspace, part: Solved, per_mm: float) -> None:
    """Write the name of each section over it."""
    from ezdxf.enums import TextEntityAlignment  # noqa: PLC0415

    height = LETTER * part.sections[part.thickest].thickest / 2
    for section in part.sections:
        place = ((section.start + section.end) / 2 * per_mm, (section.thickest / 2 + height) * per_mm)
        text = space.add_text(_plain(section.name), height=height * per_mm, dxfattribs={"layer": NAMES})
        text.set_placement(place, align=TextEntityAlignment.BOTTOM_CENTER)


def _draw_arc(space: Modelspace, arc: Arc, per_mm: float, layer: str) -> None:
    """Draw an arc; those of DXF run counter-clockwise from one angle to the other."""
    start, end = (arc.start, arc.end) if arc.turn > 0 else (arc.end, arc.start)
    angles = [degrees(atan2(p.x - arc.centre.x, p.z - arc.centre.z)) for p in (start, end)]
    centre = (arc.centre.z * per_mm, arc.centre.x * per_mm)
    space.add_arc(centre, arc.radius * per_mm, angles[0], angles[1], dxfattribs={"layer": layer})


def _plain(name: str) -> str:
    """Return a name as one line of a drawing's text, in which ^ and % have a meaning of their own."""
    return "".join(c if c.isprintable() and c not in "^%\\" else "_" for c in name)
