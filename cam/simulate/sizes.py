"""The sizes that a program would really cut on slides with lost motion, against those wanted."""

from __future__ import annotations

from typing import NamedTuple

from cam.geometry.path import Chain
from cam.rs274.model import Program
from cam.setting.model import Setting, Turned
from cam.shop.model import Shop
from cam.simulate.envelope import Metal, from_chain
from cam.simulate.play import Play, with_play
from cam.simulate.result import cover
from cam.simulate.run import simulate

SPOTS = 5
"""Places along a section at which its size is taken."""
BESIDE = 0.02
"""How far from corners and edges sizes are taken, mm."""
ASIDE = 1.0
"""How far on either side of where it should be a face is looked for, mm."""


class Size(NamedTuple):
    """One size, and how far off it comes out.

    Attributes:
        section: its name; of a shoulder the section that ends at it.
        what: "diameter", "taper" (both on diameter) or "shoulder" (distance along Z).
        wanted: mm; a shoulder's Z in the setting.
        least, most: least and greatest error over both states of the slides at the start, mm: what is cut less what
            is wanted.
    """

    section: str
    what: str
    wanted: float
    least: float
    most: float


def cut_sizes(
    program: Program, setting: Setting, shop: Shop, play_x: float, play_z: float, *, stock: Chain | None = None
) -> tuple[Size, ...]:
    """Every diameter, taper and shoulder that a program leaves on slides with lost motion, from the tailstock end.

    Args:
        program, setting, shop, stock: as for simulate. play_x, play_z: lost motion, mm.

    Both the slides' extreme states before the program are tried. Corners and edges are left out: they are cut
    inward and away from the headstock, ways that cannot both be held, so they come out up to the lost motion of Z off.
    """
    states = []
    for loose in (False, True):
        really = with_play(program, Play(play_x, play_z, loose=loose))
        result = simulate(really, setting, shop, stock=stock).result
        states.append(Metal(cover(from_chain(result), setting.head_z, setting.stock_end_z)))
    beyond = [*(t.edge for t in setting.turned[1:]), None]
    edges = [t.far_edge or e for t, e in zip(setting.turned, beyond, strict=True)]
    pairs = zip(setting.turned, edges, strict=True)
    return tuple(s for t, e in pairs for s in _sizes(t, e.size if e is not None else 0.0, states, play_z))


def _sizes(turned: Turned, edge: float, states: list[Metal], play: float) -> list[Size]:
    """The diameter of a section and, where it ends at one, its shoulder, whose outer edge is so large."""
    found = []
    spots = _spots(turned, play)
    errors = [2 * (m.at(z) - _wanted(turned, z)) for m in states for z in spots]
    if errors:
        what = "diameter" if turned.radius_near == turned.radius_far else "taper"
        found.append(Size(turned.section.name, what, 2 * turned.radius_near, min(errors), max(errors)))
    height = _face_height(turned, edge + play)
    if height is not None:
        places = [_place_of_face(m, turned.far, height) for m in states]
        off = [z - turned.far for z in places]
        found.append(Size(turned.section.name, "shoulder", turned.far, min(off), max(off)))
    return found


def _spots(turned: Turned, play: float) -> list[float]:
    """Places along a section, clear of its corner and edge and how far those may be off, and of spare length."""
    corner = max(turned.corner.radius, turned.corner.width) if turned.corner is not None else 0.0
    edge = turned.edge.size if turned.edge is not None else 0.0
    low, high = turned.far + corner + play + BESIDE, turned.near - edge - play - turned.spare - BESIDE
    return [low + (high - low) * k / (SPOTS - 1) for k in range(SPOTS)] if high > low else []


def _wanted(turned: Turned, z: float) -> float:
    """Radius wanted at z, mm."""
    share = (turned.near - z) / (turned.near - turned.far)
    return turned.radius_near + share * (turned.radius_far - turned.radius_near)


def _face_height(turned: Turned, edge: float) -> float | None:
    """Radius half way up a shoulder's face, clear of corner and edge; None where there is no such face."""
    if turned.far_kind != "shoulder":
        return None
    corner = turned.corner.radius if turned.corner is not None else 0.0
    low, high = turned.radius_far + corner + BESIDE, turned.far_radius - edge - BESIDE
    return (low + high) / 2 if high > low else None


def _place_of_face(metal: Metal, z: float, height: float) -> float:
    """Where along Z, near z, the metal rises through a height toward the headstock, mm."""
    low, high = z - ASIDE, z + ASIDE
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if metal.at(middle) >= height else (low, middle)
    return low
