"""What one setting turns, as the tool's programmed point sees it.

The programmed point is the imaginary sharp tip, so on a cylinder or a square face it lies on the surface
itself; on a taper, chamfer or arc it is shifted by the nose.
"""

from __future__ import annotations

import math
from dataclasses import replace

from cam.geometry.offset import offset_chain, to_tip
from cam.geometry.path import Arc, Point, Segment
from cam.ground.frozen import frozen
from cam.ground.tolerances import ROUNDING
from cam.part.features import Corner, Edge, undercut_at
from cam.part.model import Part
from cam.setting.cone import cone_radius
from cam.setting.model import Setting, Turned
from cam.setting.outline import Surface, corner_arc, surface_behind

SAME_ROUND = 0.0005
"""A fillet larger than the nose by less than this, mm, is left by the nose, 0.2 um off at most; no arc is cut."""


@frozen
class Run:
    """A stretch that is turned in one go: one section, or neighbours turned to the same radius.

    Attributes:
        names: the names of its sections, from the tailstock.
        near, far: Z of its ends, mm; near > far.
        radius, far_radius: its radii as turned at near and far, mm; unequal on a taper.
        shoulder: outer radius of the face at far, mm; equal to far_radius where there is none.
        open: whether nothing more is wanted beyond far.
        edge: the edge to be made at near. corner: the corner at far. far_edge: the edge at the outside of the far
            shoulder.
        beyond: name of the section past far, "" if there is none.
        members: the Turned it was made from.
        cone_off: by how much its radius comes out larger than the program says at its middle, because the lathe turns
            a cone, mm; radius, far_radius and shoulder are as the program says them. 0 where none is corrected.
    """

    names: tuple[str, ...]
    near: float
    far: float
    radius: float
    far_radius: float
    shoulder: float
    open: bool
    edge: Edge | None
    corner: Corner | None
    far_edge: Edge | None
    beyond: str
    members: tuple[Turned, ...]
    cone_off: float = 0.0

    @property
    def slope(self) -> float:
        """Return the angle to the axis by which the run grows toward the headstock, radians; 0 for a cylinder."""
        return math.atan2(self.far_radius - self.radius, self.near - self.far)

    def tip_radius(self, z: float, nose: float) -> float:
        """Return the radius of the programmed point on the surface when the point is at z, for a nose radius, mm."""
        if self.far_radius == self.radius:
            return self.radius
        shift = nose_shift(math.sin(self.slope), math.cos(self.slope), nose)
        return self.radius + shift.x + (self.near + shift.z - z) * math.tan(self.slope)

    def tip_z(self, radius: float, nose: float) -> float:
        """Return the Z of the programmed point on a taper's surface when the point is at a radius, mm."""
        return self.near + (self.tip_radius(self.near, nose) - radius) / math.tan(self.slope)


def goes_on_as(run: Run, beyond: Run) -> bool:
    """Tell whether two neighbours, the second beyond the first's far end, meet at one radius without a face between."""
    return not run.open and run.shoulder <= run.far_radius and abs(beyond.radius - run.far_radius) <= ROUNDING


def joint_tip(run: Run, beyond: Run, nose: float) -> float:
    """Return the Z of the programmed point at which cuts along two neighbours that meet at one radius end, mm.

    There the nose touches both of them in a hollow, and the first one at the ridge over a ridge.

    Args:
        run, beyond: as in goes_on_as. nose: radius, mm.
    """
    own, other = (nose_shift(math.sin(r.slope), math.cos(r.slope), nose) for r in (run, beyond))
    rise, steeper = math.tan(run.slope), math.tan(beyond.slope)
    if steeper <= rise:
        return run.far + own.z
    return run.far + (own.x - other.x + own.z * rise - other.z * steeper) / (rise - steeper)


def takes_nose(run: Run, beyond: Run, nose: float, play: float) -> bool:
    """Tell whether a groove between two neighbours takes the nose that cuts the second, a steeper taper, to its end.

    Args:
        run, beyond: as in goes_on_as. nose: radius, mm. play: how much further the program may say Z, mm.
    """
    groove = undercut_at(run.corner)
    if groove is None:
        return False
    deep, wide = nose_dip(run, beyond, nose)
    return deep <= groove.depth + ROUNDING and wide + play <= groove.width + ROUNDING


def nose_dip(run: Run, beyond: Run, nose: float) -> tuple[float, float]:
    """Return how deep below a run's end, and how far along it, a nose goes that cuts the taper beyond to its end, mm.

    Args:
        run, beyond: as in goes_on_as, the second one steeper. nose: radius, mm.
    """
    wide = 2 * nose * math.sin(beyond.slope - run.slope) * math.cos(run.slope)
    return -nose_shift(math.sin(beyond.slope), math.cos(beyond.slope), nose).x, wide


def fillet_tip(run: Run, nose: float, grow: float = 0.0) -> Arc | None:
    """Return the arc of the programmed point in an exact fillet, from the surface out to the face (turn -1).

    None where the corner is not an exact fillet, or no larger than the nose leaves by itself.

    Args:
        run: the run whose far corner the fillet is. nose: radius, mm.
        grow: by how much the arc is larger than the fillet, mm.
    """
    if run.corner is None or run.corner.kind != "fillet" or run.corner.radius + grow <= nose + SAME_ROUND:
        return None
    surface = Surface(run.far_radius, math.tan(run.slope))
    arc = corner_arc(run.far, surface, run.corner.radius + grow)
    tip = tip_of(arc, nose)
    assert isinstance(tip, Arc)
    return tip


def tip_of(piece: Segment, nose: float) -> Segment:
    """Return the path of the programmed point along one piece of a surface that is followed toward the headstock.

    Raises:
        RangeError: the piece has no room for the nose.
    """
    return to_tip(offset_chain((piece,), nose, -1), -nose, -nose)[0]


def nose_shift(normal_z: float, normal_x: float, nose: float) -> Point:
    """Return the offset from a surface point to the programmed point, for the surface's outward unit normal, mm."""
    return Point(nose * (normal_z - 1), nose * (normal_x - 1))


def _neighbour(part: Part, turned: Turned, toward: int) -> str:
    names = [s.name for s in part.sections]
    place = names.index(turned.section.name) + toward
    return names[place] if 0 <= place < len(names) else ""


def find_runs(part: Part, setting: Setting) -> tuple[Run, ...]:
    """Find the stretches that a setting turns, from the tailstock to the headstock."""
    turned = setting.turned
    toward = 1 if setting.end == "A" else -1
    runs: list[Run] = []
    for t in turned:
        own = Run(
            names=(t.section.name,),
            near=t.near,
            far=t.far,
            radius=t.radius_near,
            far_radius=t.radius_far,
            shoulder=t.far_radius,
            open=t.far_kind == "open",
            edge=t.edge,
            corner=t.corner,
            far_edge=t.far_edge,
            beyond=_neighbour(part, t, toward),
            members=(t,),
        )
        before = runs[-1] if runs else None
        if before and before.members[-1].far_kind == "level" and before.slope == own.slope == 0:
            own = replace(
                own, names=before.names + own.names, near=before.near, edge=before.edge, members=(*before.members, t)
            )
            runs.pop()
        runs.append(own)
    return tuple(_correct_cone(run, setting) for run in runs) if setting.cone else tuple(runs)


def _correct_cone(run: Run, setting: Setting) -> Run:
    """Return a run as the program must say it on a lathe that turns a cone, so that it is right at its middle."""
    off = cone_radius(setting, (run.near + run.far) / 2)
    shoulder = run.shoulder - off
    if run.shoulder > run.far_radius:
        top = surface_behind(setting.stock, run.far).radius if run.far == setting.turned[-1].far else run.shoulder
        shoulder = top - cone_radius(setting, run.far)
    return replace(run, radius=run.radius - off, far_radius=run.far_radius - off, shoulder=shoulder, cone_off=off)
