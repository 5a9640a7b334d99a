"""How fast the work may turn in a setting: what drives it and what it turns on each have a fastest speed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.setting.model import Setting

CENTRES = {"plain": "dead centre", "half": "half centre", "revolving": "revolving centre"}


@frozen
class SpeedLimit:
    """The highest speed at which one thing lets the work turn.

    Attributes:
        kind: "carrier", "chuck", "collet", "dead centre", "half centre" or "revolving centre".
        name: in the shop file.
        rpm: rev/min; it is worked out for a centre on which the work rubs.
        surface: m/min at the mouth of its hole, for such a centre; otherwise zero.
        mouth: diameter of that mouth, mm.
        lubricant: what is in the hole; "" for none.
        where: the shop-file line of the figure.
    """

    kind: str
    name: str
    rpm: float
    where: Where
    surface: float = 0.0
    mouth: float = 0.0
    lubricant: str = ""

    @property
    def thing(self) -> str:
        """Say what it is, with its name: 'carrier "small carrier"'."""
        return f'{self.kind} "{self.name}"'

    @property
    def words(self) -> str:
        """Say the limit in words, and where it comes from."""
        most = f"{self.thing}, {math.floor(self.rpm)} rev/min at most"
        if not self.surface:
            return most
        return f"{most} ({self.surface:g} m/min at the {self.mouth:.2f} mm mouth of its hole, with {self.lubricant})"


def speed_limits(setting: Setting) -> tuple[SpeedLimit, ...]:
    """Return what limits the spindle in a setting, the slowest first; from the shop file and the setting alone.

    Work rubs on a dead centre, fastest at the mouth of its hole: n = 1000 v / (pi d) (exact). The headstock's centre
    turns with the work and limits nothing.
    """
    return tuple(sorted(_limits(setting), key=lambda limit: (limit.rpm, limit.kind)))


def _limits(setting: Setting) -> Iterator[SpeedLimit]:
    carrier, chuck, centre = setting.carrier, setting.chuck, setting.tail_centre
    if carrier is not None:
        yield SpeedLimit(kind="carrier", name=carrier.name, rpm=float(carrier.fastest), where=carrier.fastest.where)
    if chuck is not None:
        yield SpeedLimit(kind=chuck.kind, name=chuck.name, rpm=float(chuck.fastest), where=chuck.fastest.where)
    if centre is None:
        return
    kind = CENTRES[centre.kind]
    if centre.kind == "revolving":
        yield SpeedLimit(kind=kind, name=centre.name, rpm=float(centre.fastest), where=centre.fastest.where)
    elif setting.hole is not None:
        surface, mouth = float(centre.fastest_surface), setting.hole.mouth
        yield SpeedLimit(
            kind=kind,
            name=centre.name,
            rpm=1000 * surface / (math.pi * mouth),
            where=centre.fastest_surface.where,
            surface=surface,
            mouth=mouth,
            lubricant=centre.lubricant,
        )
