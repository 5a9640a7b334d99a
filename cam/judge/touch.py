"""What a program says that a newly set tool can touch: whether it is there, with the figures that it gives."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from cam.ground.letters import known_by
from cam.judge.envelope import Metal, Piece
from cam.judge.model import Finding
from cam.judge.report import find, mm
from cam.judge.threading import height_over
from cam.part.details import LEAST_LAND
from cam.part.features import size_of
from cam.rs274.begin import Begun
from cam.rs274.halts import said_before
from cam.rs274.model import Program
from cam.setting.model import NOT_CORRECTED, Correction, Setting, Turned
from cam.shop.model import Control, Shop, Tool
from cam.shop.tool_shape import half_width

FIGURE = r"(-?[0-9]+(?:\.[0-9]+)?)"
ON_X = re.compile(rf"\bX {FIGURE} ON (.+?), DIAMETER {FIGURE}", re.IGNORECASE)
ON_Z = re.compile(rf"\bZ {FIGURE} ON THE SHOULDER PAST (.+?)\W*\Z", re.IGNORECASE)
ON_FACE = re.compile(rf"\bZ {FIGURE} ON THE END FACE\W*\Z", re.IGNORECASE)
ON_END = re.compile(rf"\bZ {FIGURE} ON THE END FACE, SIDE ON AND ITS TIP AT X 0", re.IGNORECASE)
TOLD = (ON_X, ON_Z, ON_FACE, ON_END)
NEAR = 0.004
"""What is touched may be off by this, mm: it is printed to a micrometre, in inches to a tenth of a thou."""
MAY_BE_OFF = 0.03
"""So much a tool that is set late may be out, mm: what the stop allows by which it is proved."""
STEP = 0.02
"""A face that can be touched stands at least this high, mm."""
BESIDE = 0.005
SPOTS = 24
"""A section is looked at in so many places less one."""


def touched(said: Sequence[str]) -> str:
    """Return which of some comments says what a tool set now can touch; "" for none."""
    return next((text for text in said if any(told.search(text) for told in TOLD)), "")


def touches_told(program: Program) -> dict[int, tuple[int, str]]:
    """Return what a program says that a tool set late can touch: number of the motion that follows -> line, words."""
    said = ((number, line, touched(words)) for number, line, words in said_before(program))
    return {number: (line, text) for number, line, text in said if text}


def check_begun(begun: Begun, setting: Setting, shop: Shop, pieces: Sequence[Piece]) -> Iterator[Finding]:
    """Say what is wrong with what a text says that a newly ground tool can touch, or with its silence."""
    metal, text = Metal(pieces), touched(begun.said)
    if not ON_X.search(text) and (done := [t for t in setting.turned if _finished(metal, t, setting)]):
        what = f"says nothing that a tool set anew can touch, and {done[-1].section.name} is finished"
        yield find(begun.line, "touch", what)
    tool = next(filter(None, (shop.tool(m.tool) for m in begun.rest.motions)), None)
    yield from check_touch(begun.line, text, tool, setting, shop, metal)


def check_touch(
    line: int, text: str, tool: Tool | None, setting: Setting, shop: Shop, metal: Metal, off: float = 0.0
) -> Iterator[Finding]:  # fmt: skip
    """Say what is wrong with what a text says that a tool can be set on: where it is, and which figure it gives.

    Args:
        off: how far it may stand from where it is said to, mm.
    """
    control = shop.lathe.control
    if on_x := ON_X.search(text):
        further = _off(setting, tool, on_x[2]).radius
        yield from _check_diameter(line, on_x, control, _diameters(metal, setting, on_x[2]), off, further)
    if tool is not None and tool.kind == "threading":
        yield from _check_side(line, text, tool, setting, control.unit)
    else:
        yield from _check_face(line, text, metal, setting, control.unit, off, tool)


def _off(setting: Setting, tool: Tool | None, name: str) -> Correction:
    """Return how far off a section the text of a tool that is set on it must be: a tool that turns cuts it so."""
    turns = tool is not None and tool.kind == "turning"
    own = (c for c in setting.corrections if turns and known_by(c.section) == known_by(name))
    return next(own, NOT_CORRECTED)


def _check_diameter(
    line: int, on_x: re.Match[str], control: Control, diameters: Iterable[float], off: float, further: float
) -> Iterator[Finding]:  # fmt: skip
    """Check that a tool's X is that of the diameter it is set on, and that this diameter stands there.

    Args:
        further: how far in from it X reads there, mm.
    """
    shown, size = float(on_x[1]) * control.unit, float(on_x[3]) * control.unit
    if abs(shown * 2 / control.x_factor - size + 2 * further) > 2 * NEAR:
        yield find(line, "touch", f"has X set to {on_x[1]} on a diameter of {on_x[3]}, by {control.x_words}")
    if all(abs(stands - size) > NEAR + off for stands in diameters):
        yield find(line, "touch", f"has a tool set on {on_x[2].lower()} of {on_x[3]}, which does not stand there")


def _check_face(
    line: int, said: str, metal: Metal, setting: Setting, scale: float, off: float, tool: Tool | None
) -> Iterator[Finding]:  # fmt: skip
    """Check that a face stands where a tool is set on one.

    One that a reading has corrected the metal has where the text says it, as a tool that turns reads there; any other
    tool is set on the face as it is.
    """
    for on_z, what in ((ON_Z.search(said), "a shoulder"), (ON_FACE.search(said), "the end face")):
        name = on_z[2] if on_z and what == "a shoulder" else ""
        corrected = next((c for c in setting.corrections if known_by(c.section) == known_by(name)), NOT_CORRECTED)
        further = corrected.face - _off(setting, tool, name).face
        if on_z and not _face(metal, float(on_z[1]) * scale - further, off):
            yield find(line, "touch", f"has a tool set on {what} at Z {on_z[1]}, and no face stands there")


def _check_side(line: int, said: str, tool: Tool, setting: Setting, scale: float) -> Iterator[Finding]:
    """Check that a threading tool, whose point is its middle, is set on the end face by its side."""
    on_end = ON_END.search(said)
    if ON_Z.search(said):
        yield find(line, "touch", "has a threading tool set on a shoulder: its point is the middle of its nose")
    if on_end is None:
        return
    shown, wanted = float(on_end[1]) * scale, setting.end_z + half_width(tool, setting.turned[0].rim)
    if abs(shown - wanted) > NEAR:
        what = f"has a threading tool set to Z {on_end[1]} with its side on the end face; it stands at {mm(wanted)}"
        yield find(line, "touch", what)


def _diameters(metal: Metal, setting: Setting, name: str) -> list[float]:
    """Return the diameters that stand along the section of a name, mm; none where no section is called so."""
    named = (t for t in setting.turned if known_by(t.section.name) == known_by(name))
    return [2 * x for t in named for x in _heights(metal, t, setting)]


def _heights(metal: Metal, turned: Turned, setting: Setting) -> list[float]:
    """Return heights along a section, mm: of a thread those of its crests, which a tool touches.

    Beside its face the round of a nose may stand or an undercut lie, and an edge at its end; between them no more may
    be left than the least land. A last cut that a reading has corrected is said further in than it comes out.
    """
    name, width = turned.section.name, turned.near - turned.extra_length - turned.far
    pitch, deeper = setting.pitch_on(name), setting.correction_of((name,)).radius
    land = turned.far + width - size_of(turned.edge) - LEAST_LAND / 2
    found = [height_over(metal, z, pitch) for z in (*(turned.far + width * k / SPOTS for k in range(1, SPOTS)), land)]
    return [*found, *(x + deeper for x in found if deeper)]


def _finished(metal: Metal, turned: Turned, setting: Setting) -> bool:
    """Tell whether a cylinder is turned to the size at which it is left."""
    heights = _heights(metal, turned, setting)
    return not turned.is_taper and any(abs(x - turned.radius_far) < NEAR / 2 for x in heights)


def _face(metal: Metal, z: float, off: float) -> bool:
    """Tell whether the work rises there, toward the headstock, by as much as a tool can touch."""
    return metal.at(z - BESIDE - off) - metal.at(z + BESIDE + off) >= STEP
