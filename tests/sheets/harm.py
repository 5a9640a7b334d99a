"""Whether a damaged page does harm, asked apart from the judge: what a hand would do by the page before and after.

Harm is metal that comes out other by more than 0.01 mm, at an edge or in a corner, which have no limits and are set by
marks of both dials, by that and half a division of each; something touched; a row with another tool; a speed or a feed
beyond what the shop file allows; a MEASURE lost, or its figure or limits off by more than 0.01 mm, of a size that has
limits in the part file or that something runs in or on. A page that cannot be read does harm: nobody can work by it.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from cam.geometry.path import Chain, flatten
from cam.ground.frozen import Row
from cam.mill.settle import as_cutter
from cam.part.model import Part
from cam.rs274.model import Motion
from cam.setting.model import Setting
from cam.sheet.limits import edge_spare
from cam.sheet.mill import MillSheetVerdict
from cam.sheet.model import BandRead, CutRead, MeasureLine, PointsRow, Sheet, SheetVerdict
from cam.shop.model import Shop
from posts.pages.blocks import Block, Dial, FigureTable, MeasureBlock, Words

MATTERS = 0.01
"""Metal that comes out different by more than this, mm, matters."""
SAGITTA = 1e-4


class Held(Row):
    """A row and what holds for it: tool, rev/min, mm a turn, the diameter it leaves (mm; inf for points)."""

    what: str
    tool: int
    rpm: float
    feed: float
    least: float
    most: float


def does_harm(before: SheetVerdict, after: SheetVerdict, setting: Setting, part: Part, shop: Shop) -> bool:
    """Tell whether what a hand does by a page differs in a way that matters from what it does by the page as it was."""
    if after.simulation is None:
        return True
    if any(f.kind == "contact" and f.amount > 0.0 for f in after.simulation.findings):
        return True
    edges, spare = list(edges_of(setting)), edge_spare(shop.lathe)
    if apart(before.left, after.left, edges, spare) > MATTERS + 1e-6:
        return True
    old, new = held_rows(before.sheet), held_rows(after.sheet)
    if Counter((r.what, r.tool) for r in old) != Counter((r.what, r.tool) for r in new):
        return True
    return any(too_fast(r, part, shop) for r in new) or measures_lost(before.sheet, after.sheet, setting)


def apart(a: Chain, b: Chain, edges: Sequence[tuple[float, float]], spare: float) -> float:
    """Return the greatest distance between two outlines, mm, either way.

    Args:
        edges: where edges and corners are, Z from and to, mm; there spare, mm, is left out of it.
    """
    places = [np.array([(p.z, p.x) for s in chain for p in flatten(s, SAGITTA)]) for chain in (a, b)]
    found = 0.0
    for one, other in (places, places[::-1]):
        far = shapely.distance(shapely.points(one), shapely.linestrings(other))
        at_edge = [any(low - spare <= z <= high + spare for low, high in edges) for z in one[:, 0]]
        found = max(found, float((far - spare * np.array(at_edge)).max()))
    return found


def edges_of(setting: Setting) -> Iterator[tuple[float, float]]:
    """Return where the edges and the fillets of a setting are, Z from and to, mm."""
    for t in setting.turned:
        if t.edge is not None:
            yield t.near - t.edge.size, t.near
        if t.far_edge is not None:
            yield t.far - t.far_edge.size, t.far
        if t.corner is not None and t.corner.kind == "fillet":
            yield t.far, t.far + t.corner.radius


def held_rows(sheet: Sheet) -> list[Held]:
    """Return every row with its tool, speed and feed."""
    tool, rpm, feed = sheet.tool, 0.0, 0.0
    found = []
    for step in sheet.steps:
        if isinstance(step, BandRead):
            tool = step.tool or tool
            rpm = rpm if step.rpm is None else step.rpm
            feed = feed if step.feed is None else step.feed
        elif isinstance(step, CutRead):
            found.append(Held(step.what, tool, rpm, feed, step.x, step.was.value))
        elif isinstance(step, PointsRow):
            across = [d for _, d in step.places]
            found.append(Held(step.what, tool, rpm, feed, min(across), max(across)))
    return found


def too_fast(row: Held, part: Part, shop: Shop) -> bool:
    """Tell whether a row stands still, or turns or feeds faster than shop and material allow; 1/20 is rounding."""
    tool = next((t for t in shop.tools if t.number == row.tool), None)
    material = shop.materials.get(part.stock.material)
    if tool is None or row.rpm <= 0.0 or row.feed <= 0.0:
        return True
    spindle = shop.lathe.spindle
    slowest = min([float(p.rpm) for p in spindle.positions], default=spindle.slowest)
    most = material.speed.get(tool.material, (0.0, math.inf))[1] if material is not None else math.inf
    fast = row.rpm > slowest * 1.001 and math.pi * row.least * row.rpm / 1000.0 > 1.06 * most
    return fast or row.feed > 1.06 * max(float(tool.rough_feed), float(tool.finish_feed))


def measures_lost(before: Sheet, after: Sheet, setting: Setting) -> bool:
    """Tell whether a MEASURE that is needed is gone, or says another figure or other limits."""
    left = [s for s in after.steps if isinstance(s, MeasureLine)]
    for line in (s for s in before.steps if isinstance(s, MeasureLine)):
        same = [m for m in left if (m.of, m.name, m.then) == (line.of, line.name, line.then)]
        if not any(_agree(line, m) for m in same) and (same or is_needed(line, setting)):
            return True
    return False


def _agree(a: MeasureLine, b: MeasureLine) -> bool:
    pairs = ((a.expected, b.expected), (a.least, b.least), (a.most, b.most))
    return all(p is None or q is None or abs(p.value - q.value) <= MATTERS + 1e-9 for p, q in pairs) and (
        (a.least is None) == (b.least is None)
    )


def is_needed(line: MeasureLine, setting: Setting) -> bool:
    """Tell whether what a MEASURE names has limits in the part file, or is run in or sat on."""
    spelt = {_bare(t.section.name): t.section for t in setting.turned}
    named = [spelt[_bare(n)] for n in (line.name, *line.name.split(" and ")) if _bare(n) in spelt]
    if line.of == "shoulder":
        return any(s.length_tolerance is not None for s in named)
    return any(s.tolerance is not None or s.role in ("pivot", "journal", "seat") for s in named)


def _bare(name: str) -> str:
    return "".join(c for c in name.lower() if c.isalnum())


# Threads --------------------------------------------------------------------------------------------------------


def thread_does_harm(before: Sequence[Block], after: Sequence[Block], unit: str) -> bool:
    """Tell whether what is done by a screw's pages differs: a length by more than MATTERS, anything else at all.

    Words count where a figure in them is acted on; what a pass cuts, by its table, and what other wires say do not.
    """
    old, new = list(_acted(before)), list(_acted(after))
    each = 25.4 if unit == "in" else 1.0
    return len(old) != len(new) or any(_differ(a, b, m, each) for (a, m), (b, _) in zip(old, new, strict=True))


def _acted(blocks: Sequence[Block]) -> Iterator[tuple[str, float]]:
    """Return what is acted on, and how far it may be off, mm, before that matters."""
    for block in blocks:
        if isinstance(block, FigureTable):
            cells = (0, 1, 3) if block.heads[0] == "pass" else (1,)
            yield from ((part, MATTERS) for row in block.rows for n in cells for part in row[n].split(" to "))
        elif isinstance(block, MeasureBlock):
            yield from ((text, MATTERS) for text in (block.expected, block.least, block.most, block.name.split()[-1]))
        elif isinstance(block, Dial):
            yield block.words, MATTERS
        elif isinstance(block, Words) and (found := ACTED.search(block.words)) is not None:
            yield from ((text, MATTERS) for text in found.groups(default=""))
        elif isinstance(block, Words) and (sawn := SAWN.search(block.words)) is not None:
            yield sawn[1], SAW_MATTERS


ACTED = re.compile(
    r"^(?:Wheels: (\d+) .*? drives (\d+)(?:; on its stud (\d+) drives (\d+))?|Tool (\d+,).*about ([\d.]+)\)|"
    r"Die (.+?) in a|About \d+ turns make ([\d.]+)|Light cuts.*until it is ([\d.]+))"
)
"""Figures in words that a hand acts on."""
SAWN = re.compile(r"^Scribe a line ([\d.]+)")
SAW_MATTERS = 0.5
"""How far off a line to saw at may be, mm: all that it leaves is faced off."""


def _differ(a: str, b: str, matters: float, unit: float) -> bool:
    lengths = all(re.fullmatch(r"-?\d*\.\d+", text) for text in (a, b))
    return abs(float(a) - float(b)) * unit > matters + 1e-9 if lengths else a != b


# The mill ---------------------------------------------------------------------------------------------------------


def mill_does_harm(before: MillSheetVerdict, after: MillSheetVerdict, part: Part, shop: Shop) -> bool:
    """Tell the same of a page of the mill: flats and holes, speeds and feeds, how far a drill goes, measures."""
    if any(f.kind == "contact" for f in after.simulation.findings):
        return True
    if before.measured != after.measured or _deepest_pecks(after) > 1.5 * _deepest_pecks(before) + MATTERS:
        return True
    if any(_mill_too_fast(m, part, shop) for m in after.program.motions if m.kind == "line"):
        return True
    old, new = _made(before), _made(after)
    return old.keys() != new.keys() or any(
        abs(a - b) > MATTERS + 1e-9 for k in old for a, b in zip(old[k], new[k], strict=True)
    )


def _made(verdict: MillSheetVerdict) -> dict[tuple[object, ...], tuple[float, ...]]:
    """Return what a page's rows make: each flat at each place, each hole of each tool."""
    found: dict[tuple[object, ...], tuple[float, ...]] = {}
    for flat in verdict.simulation.flats:
        found["flat", flat.flat, round(flat.x, 6)] = (flat.low, flat.high)
    for bore in verdict.simulation.bores:
        kept = (bore.tip,) if bore.tool not in {b.tool for b in verdict.simulation.bores[:-1]} else ()
        found["bore", bore.tool, round(bore.angle, 1)] = (bore.x, bore.y, *kept)
    return found


def _deepest_pecks(verdict: MillSheetVerdict) -> float:
    """Return the most that a drill goes down between two times out, mm."""
    most, last = 0.0, (0, 0.0)
    for m in verdict.program.motions:
        if m.kind == "line" and (m.start.x, m.start.y) == (m.end.x, m.end.y) and m.end.z < m.start.z:
            tool, deep = last
            most = max(most, deep - m.end.z) if tool == m.tool else most
            last = (m.tool, m.end.z)
    return most


def _mill_too_fast(motion: Motion, part: Part, shop: Shop) -> bool:
    """Tell whether a cut turns or feeds faster than shop and material allow, or hardly at all."""
    own = shop.milling
    cutter = next((c for c in own.cutters if c.number == motion.tool), None)
    assert own.mill is not None
    if cutter is None or motion.rpm <= 0.0:
        return True
    per_turn = (motion.feed or 0.0) / motion.rpm
    wanted = as_cutter(cutter).feed or per_turn
    most = 1.26 * shop.materials[part.stock.material].speed[cutter.material][1]
    fast = math.pi * float(cutter.diameter) * motion.rpm / 1000.0 > most and motion.rpm > 1.02 * own.mill.slowest
    beyond = not 0.98 * own.mill.slowest <= motion.rpm <= 1.02 * own.mill.fastest
    return fast or beyond or not 0.18 * wanted <= per_turn <= 1.06 * wanted + 0.5 / motion.rpm
