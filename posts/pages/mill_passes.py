"""The passes of a square as its page has them: one row a pass, in the order of the program."""

from __future__ import annotations

from collections.abc import Iterable

from cam.ground.frozen import Row
from cam.moves.model import Feed, Index, Move, StartPass, Stop


class FlatPass(Row):
    """One pass on a flat.

    Attributes:
        number: as in the program. name: "flat 1, layer 2 of 3, path 1 of 2". turn: how the work is turned.
        y: Y of the path, mm. enter_z, out_z: height of the cutter's end over the axis at the wall and beyond the tip,
            mm.
        far: greatest Y on its way along the wall at the shoulder, mm. stops: the stops to measure before the next pass.
    """

    number: int
    name: str
    turn: Index
    y: float = 0.0
    enter_z: float = 0.0
    out_z: float = 0.0
    far: float = 0.0
    stops: tuple[Stop, ...] = ()

    @property
    def finishing(self) -> bool:
        """Tell whether the flat is cut to size."""
        return ", finish" in self.name


def flat_passes(moves: Iterable[Move]) -> list[FlatPass]:
    """Return every pass of a square's program, with what is measured after it.

    The work may be turned before a pass or, by a rotary axis, within it, as the program may be started at any pass.
    """
    found: list[FlatPass] = []
    turn: Index | None = None
    cuts: list[Feed] = []
    for move in moves:
        if isinstance(move, Index):
            turn = move
        elif isinstance(move, StartPass):
            assert turn is not None  # a square's first move of the work brings flat 1 to the top
            found.append(FlatPass(len(found) + 1, move.name, turn))
            cuts = []
        elif isinstance(move, Feed):
            cuts.append(move)
            found[-1] = found[-1]._replace(y=move.y, enter_z=cuts[0].z, out_z=move.z, far=max(c.y for c in cuts))
        elif isinstance(move, Stop) and not move.reason.startswith("prove"):
            found[-1] = found[-1]._replace(stops=(*found[-1].stops, move))
    return found
