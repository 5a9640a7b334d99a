"""What every pass of one setting needs to know, and how a pass is made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from cam.geometry.path import Line, Point, Segment
from cam.ground.figures import Unit
from cam.ground.frozen import Row
from cam.plan.allowance import Allowance
from cam.plan.contour import Run
from cam.plan.cuts import Cuts
from cam.plan.cutting import RADIAL_SHARE, choose_speed, clip_feed, cutting_power, ease_feed, surface_speed, tool_force
from cam.plan.model import Pass, PassKind
from cam.plan.room import Room
from cam.plan.stiffness import Piece, spring_between_centres, spring_of_overhang
from cam.plan.way_in import SlantIn, WayIn
from cam.plan.work import turn_down
from cam.setting.assemble import OVERRUN, TAKE_UP
from cam.setting.model import Setting
from cam.shop.model import Material, Shop, Tool

INSIDE = 0.005
"""The distance kept from the limit of Z, mm, so that rounding to a program's digits cannot pass it."""
CLEAR = 0.1
"""How far a cut is fed on beyond the metal's edge before the tool leaves it rapidly, mm."""


class Way(Row):
    """Where the programmed point of a pass goes.

    Attributes:
        approach, path: see Pass. feed_from: index of the approach's first point that is reached at feed; 99 for none.
        leave: the points after the path; empty means straight outward to the safe radius.
    """

    approach: Sequence[Point]
    path: Sequence[Segment]
    feed_from: int = 99
    leave: Sequence[Point] = ()


class Bite(Row):
    """What a pass takes off: diameter, depth and feed as Pass has them; and the largest diameter that it cuts, mm."""

    diameter: float
    depth: float
    feed: float
    speed_diameter: float


@dataclass(slots=True, kw_only=True)
class Bench:
    """The setting in hand: its facts, and the work as the passes so far have left it.

    Attributes:
        runs: what is to be turned. rough_tool, finish_tool: the tools for turning. rooms, ways: the room and the way
            in of each tool, by its number.
        safe_x: radius for travelling along Z, mm. start_z: where passes off the end start.
        work: the cylinders that the passes so far have left.
        allowance: known once roughing is settled.
        count: how many passes have been made so far.
        cuts: how the run in hand is finished. chosen: how every run was.
        unit: that of the part.
        extra: by how much more than the allowance roughing left on each run, mm per side; negative for less.
        starts: where a tool comes in off the end at a radius, once that is worked out. rough_depth: the depth of a
            roughing layer, likewise.
    """

    shop: Shop
    setting: Setting
    material: Material
    runs: tuple[Run, ...]
    rough_tool: Tool
    finish_tool: Tool
    rooms: dict[int, Room]
    ways: dict[int, WayIn]
    safe_x: float
    work: list[Piece]
    allowance: Allowance = field(default_factory=lambda: Allowance(cut=0.0, face_cut=0.0, reason=""))
    count: int = 0
    cuts: Cuts = field(default_factory=Cuts)
    chosen: list[Cuts] = field(default_factory=list)
    starts: dict[tuple[int, float], float] = field(default_factory=dict)
    rough_depth: float = 0.0
    extra: list[float] = field(default_factory=list)
    unit: Unit = "mm"

    @property
    def gap(self) -> float:
        """Return the distance kept between rapids and metal, mm."""
        return float(self.shop.lathe.rapid_clearance)

    def start_off_end(self, tool: Tool, x: float) -> float:
        """Return the Z at which a pass at radius x starts: off the end by rapid clearance and Z's play, if room allows.

        With a ramp over extra length, it is where the ramp comes down to x.
        """
        ramp = self.ramp(tool)
        if ramp is not None:
            return ramp.z_at(x)
        key = (tool.number, x)
        if key not in self.starts:
            self.starts[key] = min(
                self.setting.stock_end_z + self.gap + self.z_play, self.rooms[tool.number].furthest(x).z
            )
        return self.starts[key]

    def ramp(self, tool: Tool) -> SlantIn | None:
        """Return the ramp by which a tool comes in at the end; None where it comes straight in."""
        way = self.ways.get(tool.number)
        return way.ramp if way is not None else None

    def off_end(self, tool: Tool, x: float, above: float) -> tuple[tuple[Point, ...], int, tuple[Point, ...]]:
        """Work out how a pass at radius x comes in at the end, under metal that stands to radius above.

        Returns the approach, the index of its first point reached at feed, and the points of a ramp to be
        cut before the path begins (empty where it comes straight in).
        """
        start = Point(self.start_off_end(tool, x), x)
        ramp = self.ramp(tool)
        if ramp is None:
            tight = start.z < self.setting.stock_end_z + self.gap + self.z_play - 1e-9
            return (Point(start.z, self.safe_x), start), 1 if tight else 2, ()
        top = min(above + CLEAR, self.safe_x)
        head = Point(ramp.z_at(top), top)
        return (Point(head.z, self.safe_x), head), 1, (head,)

    @property
    def z_play(self) -> float:
        """Return how far Z lags on its way toward the tailstock, mm: a cut that way is programmed so much further."""
        return float(self.shop.lathe.z.backlash)

    @property
    def x_play(self) -> float:
        """Return how far X lags on its way out, mm: a rapid that passes standing metal keeps so much further out."""
        return float(self.shop.lathe.x.backlash)

    def take_up_z(self, start: Point) -> tuple[Point, Point]:
        """Return two places at the safe radius; from the first to start's Z the slide is sure to follow its screw."""
        return Point(start.z - TAKE_UP * self.z_play, self.safe_x), Point(start.z, self.safe_x)

    def open_end(self, run: Run, tool: Tool) -> float:
        """Return the least Z of a cut that runs past the open end of a run, mm."""
        return max(self.setting.limit_z + INSIDE, run.far - float(tool.nose_radius) - OVERRUN)

    def spring(self, z: float, force: float, work: list[Piece] | None = None) -> float:
        """Return the deflection of the work (as it is now, unless given) under a cutting force at Z, mm per side."""
        work = work or self.work
        radial = RADIAL_SHARE * force
        modulus = self.material.modulus
        inside = min(max(z, work[0][0]), work[-1][1])
        if self.setting.method == "between centres":
            return spring_between_centres(work, inside, radial, modulus)
        start = self.setting.grip_near
        pieces = [(max(a, start), b, d) for a, b, d in work if b > start]
        return spring_of_overhang(pieces, max(inside, pieces[0][0]), radial, modulus)

    def make_pass(self, kind: PassKind, tool: Tool, names: Sequence[str], way: Way, bite: Bite) -> Pass:
        """Make a pass, with its speed, force and spring worked out."""
        diameter, depth, feed, speed_diameter = bite
        self.count += 1
        feed = ease_feed(self.shop, self.material, tool, depth, clip_feed(self.shop, feed), speed_diameter)
        force = tool_force(self.material, tool, depth, feed)
        turning = choose_speed(self.shop, self.material, tool, speed_diameter, force)
        chain = tuple(way.path)
        low = min(min(s.start.z, s.end.z) for s in chain)
        high = max(max(s.start.z, s.end.z) for s in chain)
        spots = (low, (low + high) / 2, high)
        made = Pass(
            number=self.count,
            kind=kind,
            sections=tuple(names),
            tool=tool,
            diameter=diameter,
            depth=depth,
            rpm=turning.rpm,
            speed_name=turning.name,
            surface_speed=surface_speed(speed_diameter, turning.rpm),
            css=turning.constant,
            feed=feed,
            approach=tuple(way.approach),
            feed_from=min(way.feed_from, len(way.approach)),
            path=chain,
            leave=tuple(way.leave) or (Point(chain[-1].end.z, self.safe_x),),
            deflection=max(self.spring(z, force) for z in spots),
            force=force,
            measure=(),
            cautions=(),
            power=cutting_power(force, surface_speed(speed_diameter, turning.rpm)),
            cone_off=next(
                (r.cone_off for r in self.runs if kind not in ("rough", "face") and names[0] in r.names), 0.0
            ),
        )
        if kind not in ("edge", "groove", "fillet", "face", "part off"):
            self.work = turn_down(self.work, low, high, diameter)
        return made


def through(*points: Point) -> tuple[Line, ...]:
    """Make straight moves through the points in order, leaving out those that do not move."""
    return tuple(Line(a, b) for a, b in pairwise(points) if a != b)
