"""The edges at the ends of a part that no setting cuts: extra length, the bar, or stock as bought is in the way."""

from __future__ import annotations

from collections.abc import Iterator

from cam.ground.frozen import Row
from cam.part.features import Edge, End
from cam.part.model import Part, Section


class ByHand(Row):
    """An edge that is made by hand once turning is done, and where."""

    end: End
    section: Section
    edge: Edge


def edges_by_hand(part: Part) -> Iterator[ByHand]:
    """Yield the edges that are made by hand, for reasons of a setting and for what a page says is done afterwards."""
    first, last = part.sections[0], part.sections[-1]
    ends: tuple[tuple[End, Section, Edge | None], ...] = (("A", first, first.edge_a), ("B", last, last.edge_b))
    for end, section, edge in ends:
        if edge is not None and edge.kind != "sharp" and (section.as_stock or _goes_on(part, end)):
            yield ByHand(end, section, edge)


def _goes_on(part: Part, end: End) -> bool:
    """Tell whether extra length or the bar goes on beyond an end while it is turned."""
    holding = part.holding
    if holding.method != "between centres":
        return end != (holding.first or "A")
    return holding.extra_at(end) > 0


def tell_as_stock(part: Part) -> list[str]:
    """Say which of them belong to an end that stays as stock, a sentence each."""
    return [
        f'The {end} end edge of "{s.name}", which stays as stock, is broken by hand ({edge.text}).'
        for end, s, edge in edges_by_hand(part)
        if s.as_stock
    ]
