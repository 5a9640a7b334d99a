"""The work as it stands while the plan goes on: cylinders by Z, in setting axes."""

from __future__ import annotations

from collections.abc import Iterable

from cam.geometry.path import Chain
from cam.plan.stiffness import Piece


def highest_between(chain: Chain, low: float, high: float) -> float:
    """Return a radius, mm, that no metal between two z is above; 0 where there is none.

    A slope or an arc that crosses one of them counts with both its ends, so a tool that begins above it is clear.
    """
    best = 0.0
    for piece in chain:
        z0, z1 = sorted((piece.start.z, piece.end.z))
        if z1 < low or z0 > high:
            continue
        best = max(best, piece.start.x, piece.end.x)
    return best


def cylinders(chain: Chain) -> list[Piece]:
    """Return the outline as cylinders in rising z; a slope or arc counts at its mean diameter."""
    out: list[Piece] = []
    for piece in chain:
        z0, z1 = sorted((piece.start.z, piece.end.z))
        if z1 - z0 > 1e-9:
            out.append((z0, z1, piece.start.x + piece.end.x))
    return sorted(out)


def turn_down(pieces: Iterable[Piece], low: float, high: float, diameter: float) -> list[Piece]:
    """Return the work after everything thicker than diameter between low and high is turned off."""
    out: list[Piece] = []
    for z0, z1, d in pieces:
        for a, b, inside in (
            (z0, min(z1, low), False),
            (max(z0, low), min(z1, high), True),
            (max(z0, high), z1, False),
        ):
            if b - a > 1e-9:
                out.append((a, b, min(d, diameter) if inside else d))
    return sorted(out)
