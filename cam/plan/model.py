"""The plan: settings, operations, passes. What is cut in which order, how deep, how fast."""

from __future__ import annotations

from typing import Literal

from cam.geometry.path import Arc, Chain, Point, Segment
from cam.ground.frozen import frozen
from cam.ground.problem import Problem
from cam.ground.tolerances import ROUNDING
from cam.lengths.solved import Solved
from cam.setting.model import Setting
from cam.shop.model import Shop, Tool

PassKind = Literal["face", "rough", "semi-finish", "finish", "taper", "groove", "fillet", "edge", "thread", "part off"]

Shape = Literal["straight", "plunge", "points"]


@frozen
class Measure:
    """A stop to measure.

    Attributes:
        what: "diameter of front pivot".
        over: what lies between its flanks and the anvils: "three wires of 0.289 mm"; "" for a plain diameter.
        kind: "diameter" or "length" (from the setting's datum).
        target, least, most: mm; least and most are the limits as turned.
        expected: what the last cut should have left here now, mm (equal to target after a finishing cut).
        cut_left: depth per side still to come on this surface, mm; 0 after the last cut.
        sections: names of the sections that are measured; for a shoulder, the one that ends at it.
        when: before the last cut there, where a correction can still be made, or after it.
        scrap: the side on which nothing can be put right, as metal that was wanted is gone. For a diameter "under";
            for a shoulder "over" where its distance from the datum grows as it is faced, otherwise "under".
        given: whether the limits are the part file's (or a span's); otherwise they only say what to expect.
        further: how far from its thin end, toward its large one, a taper is measured, mm; see cam.plan.stations.
        blades: whether only blade anvils reach it.
    """

    what: str
    kind: Literal["diameter", "length"]
    target: float
    least: float
    most: float
    expected: float
    cut_left: float
    sections: tuple[str, ...] = ()
    when: Literal["before last cut", "after last cut"] = "after last cut"
    scrap: Literal["under", "over"] = "under"
    given: bool = True
    over: str = ""
    further: float = 0.0
    blades: bool = False

    @property
    def bare(self) -> float:
        """Return the reading that shows that the cut before the last took less than a quarter of its depth, mm.

        What stands is then what an earlier cut left, and how far the tool is out is still unknown; the last two cuts
        are equal.
        """
        return self._uncut(0.75)

    @property
    def halfway(self) -> float:
        """Return the reading halfway between what the cut before the last leaves and what stood before it, mm."""
        return self._uncut(0.5)

    def _uncut(self, share: float) -> float:
        """Return the reading where so much of the depth of the cut before the last is not cut, mm."""
        left = share * self.cut_left
        if self.kind == "diameter":
            return self.expected + 2 * left
        return self.expected - left if self.scrap == "over" else self.expected + left

    def set_to(self, park: Point, over: float, x_factor: int) -> tuple[float, float]:
        """Return what X or Z reads where the tool is parked, and what it is set to there for a reading so much over.

        A diameter that reads over stands further out than the control takes it to, so X is set outward by half of that;
        a shoulder that is too far from Z zero likewise.

        Args:
            park: where the tool stands, mm, X a radius. x_factor: 2 where X words are diameters.

        Returns:
            Both as X or Z words are said, mm.
        """
        if self.kind == "diameter":
            return park.x * x_factor, (park.x + over / 2) * x_factor
        return park.z, park.z + (over if self.scrap == "under" else -over)


@frozen
class Pass:
    """One cut, from the approach to the retreat. Points are the tool's programmed point.

    Attributes:
        number: counted through the setting from 1.
        kind: what sort of cut.
        sections: names of the sections it touches.
        tool: the tool used.
        diameter: the diameter that it is set to leave, mm; for an edge or groove the smallest that it reaches.
        depth: greatest depth per side, mm.
        rpm: a spindle speed that the lathe has. speed_name: belt position, or "" for a range.
        surface_speed: m/min at the diameter cut; held constant where css is True.
        css: constant surface speed (only where the shop's spindle can).
        feed: mm/rev.
        approach: points to where the path starts. The first is at safe radius, or off the end and outside the metal
            that stands there, where the tool comes to it from the park or from the pass before; the
            move to each next one is rapid except those in metal or nearer than the rapid clearance, which
            feed_from counts (index of the first point reached at feed).
        feed_from: see approach.
        path: cutting moves, starting where the approach ends.
        leave: points after the path, X out first, ending at safe radius or off the end; rapid.
        deflection: estimated spring of the work at the worst place, mm per side.
        force: estimated cutting force, N.
        measure: the measures at the stop after this pass, in order; empty for none.
        cautions: sentences to print at this step.
        out_feed: the feed of the moves straight outward on the path, which take off no more than a leaning edge left,
            mm/rev; 0 where they go at the same feed.
        power: estimated power at the cut, W.
        error: how much the diameter is expected to differ along the finished length, mm, because the work springs
            more at one place than another; for finishing cuts alone, otherwise 0.
        z_told: how much further toward the tailstock its slanting pieces say Z than the slide is wanted, mm, as the
            slide lags by so much on its way there; 0 where Z is held. A hand that comes from the other side needs none.
        cone_off: as in its Run: what it leaves comes out larger than diameter by twice that; 0 for roughing.
        before: what is done by hand before it, a line each; the program stops for it.
        deeper: how much further in it says X than the work comes out, mm on the radius, because the stop before read so
            much over; negative where that read under. diameter is as said, depth as planned.
        ruled_by: what holds the work and limits its speed, 'carrier "small carrier"', where tool and material would
            allow more; "" where that is not the limit. The limits follow from the setting (cam.setting.fastest).
    """

    number: int
    kind: PassKind
    sections: tuple[str, ...]
    tool: Tool
    diameter: float
    depth: float
    rpm: float
    speed_name: str
    surface_speed: float
    css: bool
    feed: float
    approach: tuple[Point, ...]
    feed_from: int
    path: Chain
    leave: tuple[Point, ...]
    deflection: float
    force: float
    measure: tuple[Measure, ...]
    cautions: tuple[str, ...]
    out_feed: float = 0.0
    power: float = 0.0
    error: float = 0.0
    z_told: float = 0.0
    cone_off: float = 0.0
    before: tuple[str, ...] = ()
    deeper: float = 0.0
    ruled_by: str = ""

    @property
    def leaves(self) -> float:
        """Return the diameter that the work comes out at, mm: as said, but where a stop read off."""
        return self.diameter + 2 * self.deeper

    @property
    def held_speed(self) -> float | None:
        """Return the surface speed that is held constant, m/min; None where the spindle's speed is."""
        return self.surface_speed if self.css else None

    @property
    def shape(self) -> Shape:
        """Return what two handles do for the pass; see shape_of."""
        return "points" if self.kind == "thread" else shape_of(self.path)

    @property
    def x(self) -> float:
        """Return the one setting of the cross slide, a radius, mm: while Z goes in a straight pass, else the least."""
        return min(min(s.start.x, s.end.x) for s in self.path)

    @property
    def x_out(self) -> float:
        """Return the radius up to which a pass cuts straight outward at its end, mm; x where it does not."""
        return self.path[-1].end.x

    @property
    def z_from(self) -> float:
        """Return where the cut along Z begins, a ramp left out, mm; for a plunge its one Z.

        This is the slide's place, as a hand wants it: z_told is taken out.
        """
        first = self.path[1 if self.shape == "straight" and _way(self.path[0]) == RAMP else 0]
        return first.start.z - self.z_told

    @property
    def z_to(self) -> float:
        """Return where the cut along Z stops, mm; for a plunge its one Z. See z_from."""
        if self.shape == "plunge":
            return self.path[0].start.z
        return self.path[-1].end.z - self.z_told


def shape_of(path: Chain) -> Shape:
    """Tell what two handles do for a path.

    straight: X is set once, from outside inward; Z goes toward the headstock to one stop; then X goes straight
        outward there, if at all. A ramp over extra length may lead in.
    plunge: Z is set once; X goes inward to one stop, in bites or at once, then straight away, outward or along Z
        toward the tailstock.
    points: anything else, which a hand does point by point: tapers, edges, fillets, undercuts. (Threads too, though
        theirs is one line, as the slide runs by the spindle.)
    """
    if any(isinstance(s, Arc) for s in path):
        return "points"
    ways = tuple(map(_way, path))
    if ways in STRAIGHT:
        return "straight"
    if ways[0] == INWARD and {*ways[:-1]} <= {INWARD, OUTWARD} and ways[-1] in (INWARD, OUTWARD, BACK):
        return "plunge"
    return "points"


RAMP, ALONG, BACK, INWARD, OUTWARD = (-1, -1), (-1, 0), (1, 0), (0, -1), (0, 1)
"""Ways that a piece may go: z and x, each -1, 0 or 1."""
STRAIGHT = {(ALONG,), (ALONG, OUTWARD), (RAMP, ALONG), (RAMP, ALONG, OUTWARD)}


def _way(piece: Segment) -> tuple[int, int]:
    """Return which way a piece goes along each axis."""
    return _sign(piece.end.z - piece.start.z), _sign(piece.end.x - piece.start.x)


def _sign(change: float) -> int:
    return 0 if abs(change) <= ROUNDING else 1 if change > 0 else -1


@frozen
class Operation:
    """Passes that belong together under one name, "rough the profile"."""

    name: str
    passes: tuple[Pass, ...]


@frozen
class SettingPlan:
    """All that is done in one setting.

    Attributes:
        setting: what is held, and how.
        operations: in order.
        safe_x: radius at which the tool may travel along Z past everything, mm.
        park: where the tool waits for measuring and tool changes.
        proof_diameter: the diameter to which the first motion goes, in air, mm; callipers check it.
        proof_z: Z at which it does, mm.
        ramp: whether the tool comes in over extra length, leaving it a cone.
        reasons: how allowance, depth and finish were worked out, one sentence each.
        warnings: what the work's own stiffness or a known cone will do to sizes.
        rough_bound: seconds that no roughing of this profile could come below.
        rough_freely: seconds of roughing if every layer were cut at the belt position that suits it best.
        belts_freely: how often the belt would then be changed within roughing.
    """

    setting: Setting
    operations: tuple[Operation, ...]
    safe_x: float
    park: Point
    proof_diameter: float
    proof_z: float
    ramp: bool = False
    reasons: tuple[str, ...] = ()
    warnings: tuple[Problem, ...] = ()
    rough_bound: float = 0.0
    rough_freely: float = 0.0
    belts_freely: int = 0

    @property
    def passes(self) -> tuple[Pass, ...]:
        """Return all passes in order."""
        return tuple(p for o in self.operations for p in o.passes)


@frozen
class Plan:
    """The whole job.

    Attributes:
        warnings: what is worth knowing and does not stop the work.
    """

    part: Solved
    shop: Shop
    settings: tuple[SettingPlan, ...]
    warnings: tuple[Problem, ...]

    @property
    def count(self) -> int:
        """Return how many settings there are, one that is not planned yet included."""
        return len(self.settings) + (1 if self.part.to_be_measured else 0)
