"""The picture of a comparison: the metal that each setting leaves, one laid over the other."""

from __future__ import annotations

from cam.compare.changes import section_at, show_size, zone_words
from cam.compare.sides import Side
from cam.geometry.differ import find_zones
from cam.ground.problem import refusal
from cam.picture.compare import Overlay, draw_overlays


def draw_comparison(a: Side, b: Side) -> str:
    """Draw one sheet for each setting that both have, as SVG.

    Raises:
        ProblemError: they have no setting in common whose metal is known.
    """
    ones, others = dict(a.outlines), dict(b.outlines)
    common = sorted({*ones} & {*others})
    if not common:
        what = "there is no setting on both sides whose metal is known, so there is nothing to lay over each other"
        fix = "compare two part files, two folders made by this version, or two programs of one setting of the lathe"
        raise refusal(b.path, what, given=f"{a.path} and {b.path}", fix=fix)
    overlays = []
    for number in common:
        zones = find_zones(ones[number], others[number])
        rows = (zone_words(z, section_at(a.record, z), lambda v: show_size(v, a.unit)) for z in zones)
        overlays.append(
            Overlay(
                title=f"after setting {number}",
                one=ones[number],
                other=others[number],
                zones=zones,
                words=tuple(f"{what} {one} -> {other}" for what, one, other in rows),
                unit=a.unit,
            )
        )
    return draw_overlays(a.path, b.path, overlays)
