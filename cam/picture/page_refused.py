"""A square that is refused before it is planned, as the page shows it: end-on at its shoulder."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cam.picture.draft import clean
from cam.picture.page_turning import Data, point_data, shape_data, short
from cam.picture.refused_square import RefusedSquare, place_on_ray, reach, section_shapes
from cam.setting.square import across_at, largest_that_passes


def refused_data(refused: RefusedSquare) -> Data:
    """Return all that the script needs of the square, in the keys of a setting: nothing moves and nothing is cut."""
    shapes = list(section_shapes(refused.task))
    far = 1.25 * max(s.high.z for s in shapes)
    room = [short(v) for v in (-far, -far, far, far)]
    return {
        "kind": "end-on", "key": "square-refused", "title": f"{clean(refused.task.square.name)}, refused",
        "note": "Nothing is planned: the square as it was asked for, end-on at its shoulder, where it is largest.",
        "fixes": "", "number": 0, "end": "", "right": "", "datum": "", "file": "", "lines": [], "unread": 0,
        "tools": {}, "obstacles": [], "still": shape_data(shapes), "wanted": "", "sections": [], "clearance": 0,
        "motions": [], "near": [], "moments": [], "metal": None, "changes": [], "findings": [], "closest": None,
        "fixed": None, "unchecked": "", "named": list(_named(refused)), "whole": room, "beside": room,
    }  # fmt: skip


def _named(refused: RefusedSquare) -> Iterator[list[Any]]:
    """Return what is to be named: words, a size in mm, and the place (across, up) that the name leads to."""
    task, square = refused.task, refused.task.square
    corner = 180.0 / square.flats
    out = min(reach(square, corner), square.blank / 2)
    yield ["across flats", short(across_at(square, 0.0)), *_at(180.0, across_at(square, 0.0) / 2)]
    yield ["over corners", short(2 * out), *_at(corner, out)]
    yield ["cut from \u00f8", short(square.blank), *_at(270.0 + corner / 3, square.blank / 2)]
    if task.bearing is not None:
        yield ["the bearing \u00f8", short(task.bearing), *_at(90.0 + corner / 3, task.bearing / 2)]
        most = largest_that_passes(square, task.bearing)
        if 0 < most < across_at(square, 0.0):
            yield ["would pass: across flats", short(most), *_at(0.0, most / 2)]


def _at(ray: float, radius: float) -> list[float | None]:
    return point_data(place_on_ray(ray, radius))
