"""A comparison as text for a person, and as data for a program."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from cam.compare.changes import ARROW, Change
from cam.compare.sides import Side
from cam.geometry.differ import Zone, find_zones


def show_comparison(a: Side, b: Side, changes: Sequence[Change]) -> str:
    """Say all that differs, by topic; one line where nothing does."""
    if not changes:
        return f"alike: {a.path} and {b.path}\n"
    lines = [f"A  {a.path}", f"B  {b.path}"]
    for topic, rows in groupby(changes, key=lambda change: change.topic):
        lines.append(topic)
        for subject, together in groupby(rows, key=_subject):
            lines.append(f"  {subject}{'; '.join(_words(change) for change in together)}")
    return "\n".join(lines) + "\n"


def _subject(change: Change) -> str:
    """Return what several rows are about together, "front pivot: "; the side for what stands on one alone."""
    if not change.a or not change.b:
        return f"only {'A' if change.a else 'B'}: {change.what}: "
    subject, colon, _ = change.what.rpartition(": ")
    return subject + colon


def _words(change: Change) -> str:
    if not change.a or not change.b:
        return change.a or change.b
    return f"{change.what.rpartition(': ')[2]} {change.a} {ARROW} {change.b}"


def comparison_data(a: Side, b: Side, changes: Sequence[Change]) -> dict[str, Any]:
    """Return the same for a program: lengths of the metal in mm, radii, z from the A end."""
    ones, others = dict(a.outlines), dict(b.outlines)
    return {
        "alike": not changes,
        "a": a.path,
        "b": b.path,
        "changes": [{"topic": c.topic, "what": c.what, "a": c.a or None, "b": c.b or None} for c in changes],
        "metal": [
            {"setting": number, "zones": [_zone(zone) for zone in find_zones(ones[number], others[number])]}
            for number in sorted({*ones} & {*others})
        ],
    }


def _zone(zone: Zone) -> dict[str, Any]:
    return {
        "from_a_mm": [round(zone.start, 6), round(zone.end, 6)],
        "radius_differs_by_mm": round(zone.most, 6),
        "at_mm": round(zone.at, 6),
        "radius_mm": [round(r, 6) for r in zone.radii],
        "face_mm": None if zone.faces is None else [round(z, 6) for z in zone.faces],
    }
