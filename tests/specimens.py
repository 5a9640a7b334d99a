"""A cabinet of specimen tools, shops and parts, for every test module."""

from __future__ import annotations

from typing import Any

from cam.geometry.path import Point
from cam.problem import Where
from cam.quantity import Quantity
from cam.shop.model import Outline, Tool
from cam.shop.tool_shape import INCLUDED

HERE = Where(path="test.toml", line=1)


def quantity(value: float, unit: str = "mm") -> Quantity:
    """A value as if written in a file with this unit."""
    return Quantity(value, f"{value:g} {unit}", HERE)


def turning_tool(**changes: Any) -> Tool:
    """A right-hand knife; by default ISO 1832 D, 0.2 mm nose, 93 degrees, 7 mm edge, no holder."""
    given: dict[str, Any] = {
        "number": 1, "name": "knife", "kind": "turning", "material": "HSS", "hand": "right", "nose_radius": 0.2,
        "approach": 93.0, "shape": "D", "edge": 7.0, "width": 0.0, "minimum_cut": 0.02, "deepest_cut": 0.75,
        "rough_feed": 0.06, "finish_feed": 0.03, "outlines": (), "text": "", "where": HERE,
    } | changes  # fmt: skip
    given.setdefault("included", INCLUDED.get(given["shape"], 0.0))
    plain = {"number", "included"}
    return Tool(**{k: quantity(v) if isinstance(v, float | int) and k not in plain else v for k, v in given.items()})


def grooving_tool(**changes: Any) -> Tool:
    """A relief tool; by default 1 mm wide, 3 mm deep, 0.1 mm corners, no holder."""
    given = {"number": 2, "name": "relief tool", "kind": "grooving", "nose_radius": 0.1, "approach": 90.0, "shape": "",
             "edge": 3.0, "width": 1.0}  # fmt: skip
    return turning_tool(**(given | changes))


def outline(name: str, *points: tuple[float, float]) -> Outline:
    return Outline(name=name, polygon=tuple(Point(z, x) for z, x in points))
