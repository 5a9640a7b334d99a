"""The edges that no setting cuts: extra length, bar or stock is in the way, or their section is finished past them."""

from __future__ import annotations

from collections.abc import Iterator

from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING
from cam.part.features import Edge, End
from cam.part.model import Part, Section


class ByHand(Row):
    """An edge that is made by hand once turning is done, and where."""

    end: End
    section: Section
    edge: Edge


def edges_by_hand(part: Part) -> Iterator[ByHand]:
    """Yield the edges that are made by hand, for reasons of a setting and for what a page says is done afterwards."""
    for at, section in enumerate(part.sections):
        ends: tuple[tuple[End, Edge | None, int], ...] = (
            ("A", section.edge_a, 0), ("B", section.edge_b, len(part.sections) - 1)
        )  # fmt: skip
        for end, edge, outermost in ends:
            if edge is None or edge.kind == "sharp":
                continue
            if finished_off(section, edge) or (at == outermost and (section.as_stock or _goes_on(part, end))):
                yield ByHand(end, section, edge)


def finished_off(section: Section, edge: Edge) -> bool:
    """Tell whether file, stone or burnisher take all of an edge off with what is left on its section."""
    return edge.size <= section.finish.on_diameter / 2 + ROUNDING


def _goes_on(part: Part, end: End) -> bool:
    """Tell whether extra length or the bar goes on beyond an end while it is turned."""
    holding = part.holding
    if holding.method != "between centres":
        return end != (holding.first or "A")
    return holding.extra_at(end) > 0


def tell_by_hand(part: Part) -> list[str]:
    """Say which of them belong to a section that stays as stock, or that is finished past them, a sentence each."""
    found = []
    for end, s, edge in edges_by_hand(part):
        if s.as_stock:
            found.append(f'The {end} end edge of "{s.name}", which stays as stock, is broken by hand ({edge.text}).')
        elif finished_off(s, edge):
            what = f'The {end} end edge of "{s.name}", which its finish takes off, is made by hand'
            found.append(f"{what} ({edge.text}).")
    return found
