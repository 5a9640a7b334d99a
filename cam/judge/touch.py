"""What a program says that a newly set tool can touch: whether it is there, with the figures that it gives."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence

from cam.judge.envelope import Metal, Piece
from cam.judge.model import Finding
from cam.judge.report import find
from cam.judge.threading import height_over
from cam.rs274.begin import Begun
from cam.rs274.halts import plain
from cam.setting.model import Setting, Turned
from cam.shop.model import Control, Shop, Tool
from cam.shop.tool_shape import half_width

FIGURE = r"(-?[0-9]+(?:\.[0-9]+)?)"
ON_X = re.compile(rf"\bX {FIGURE} ON (.+?), DIAMETER {FIGURE}", re.IGNORECASE)
ON_Z = re.compile(rf"\bZ {FIGURE} ON THE SHOULDER PAST (.+?)\W*\Z", re.IGNORECASE)
ON_END = re.compile(rf"\bZ {FIGURE} ON THE END FACE, SIDE ON AND ITS TIP AT X 0", re.IGNORECASE)
NEAR = 0.004
"""What is touched may be off by this, mm: it is printed to a micrometre, in inches to a tenth of a thou."""
STEP = 0.02
"""A face that can be touched stands at least this high, mm."""
BESIDE = 0.005


def touched(begun: Begun) -> str:
    """Return what the text below the N line says that a newly set tool can touch; "" for nothing."""
    return next((text for text in begun.said if ON_X.search(text)), "")


def check_touch(begun: Begun, setting: Setting, shop: Shop, pieces: Sequence[Piece]) -> Iterator[Finding]:
    """Say what is wrong with what a text says that a newly set tool can touch, or with its silence."""
    metal = Metal(pieces)
    on_x = ON_X.search(touched(begun))
    if on_x is None:
        if done := [t for t in setting.turned if _finished(metal, t, setting)]:
            what = f"says nothing that a tool set anew can touch, and {done[-1].section.name} is finished"
            yield find(begun.line, "touch", what)
        return
    yield from _check_diameter(begun, on_x, shop.lathe.control, _diameters(metal, setting))
    tool = next(filter(None, (shop.tool(m.tool) for m in begun.rest.motions)), None)
    if tool is not None and tool.kind == "threading":
        yield from _check_side(begun, on_x.string, tool, setting, shop.lathe.control.unit)
    else:
        yield from _check_shoulder(begun, on_x.string, metal, shop.lathe.control.unit)


def _check_diameter(
    begun: Begun, on_x: re.Match[str], control: Control, diameters: Mapping[str, float]
) -> Iterator[Finding]:
    """Check that a tool's X is that of the diameter it is set on, and that this diameter stands there."""
    shown, size = float(on_x[1]) * control.unit, float(on_x[3]) * control.unit
    if abs(shown * 2 / control.x_factor - size) > 2 * NEAR:
        yield find(begun.line, "touch", f"has X set to {on_x[1]} on a diameter of {on_x[3]}, by {control.x_words}")
    if abs(diameters.get(plain(on_x[2]), math.inf) - size) > NEAR:
        yield find(begun.line, "touch", f"has a tool set on {on_x[2].lower()} of {on_x[3]}, which does not stand there")


def _check_shoulder(begun: Begun, said: str, metal: Metal, scale: float) -> Iterator[Finding]:
    """Check that a face stands where a tool is set on one."""
    on_z = ON_Z.search(said)
    if on_z and not _face(metal, float(on_z[1]) * scale):
        yield find(begun.line, "touch", f"has a tool set on a shoulder at Z {on_z[1]}, and no face stands there")


def _check_side(begun: Begun, said: str, tool: Tool, setting: Setting, scale: float) -> Iterator[Finding]:
    """Check that a threading tool, whose point is its middle, is set on the end face by its side."""
    on_end = ON_END.search(said)
    if ON_Z.search(said):
        yield find(begun.line, "touch", "has a threading tool set on a shoulder: its point is the middle of its nose")
    if on_end is None:
        return
    shown, wanted = float(on_end[1]) * scale, setting.end_z + half_width(tool, setting.turned[0].rim)
    if abs(shown - wanted) > NEAR:
        what = f"has a threading tool set to Z {on_end[1]} with its side on the end face; it stands at {wanted:.3f} mm"
        yield find(begun.line, "touch", what)


def _diameters(metal: Metal, setting: Setting) -> dict[str, float]:
    """Return the diameter in each section's middle, mm, by its plain name."""
    return {plain(t.section.name): 2 * _height(metal, t, setting) for t in reversed(setting.turned)}


def _height(metal: Metal, turned: Turned, setting: Setting) -> float:
    """Height in a section's middle, mm: of a thread that of its crests, which a tool touches."""
    return height_over(metal, (turned.near + turned.far) / 2, setting.pitch_on(turned.section.name))


def _finished(metal: Metal, turned: Turned, setting: Setting) -> bool:
    """Tell whether a cylinder is turned to the size at which it is left."""
    return not turned.is_taper and abs(_height(metal, turned, setting) - turned.radius_far) < NEAR / 2


def _face(metal: Metal, z: float) -> bool:
    """Tell whether the work rises there, toward the headstock, by as much as a tool can touch."""
    return metal.at(z - BESIDE) - metal.at(z + BESIDE) >= STEP
