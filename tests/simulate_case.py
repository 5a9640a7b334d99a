"""A shop, a setting and programs written as motions, for the simulation's tests.

The work is a bar of 16 mm, 60 mm long, between centres: a pivot of 8 mm from Z 0 to -6 and a seat of 10 mm
to -16, where the bar's own shoulder stands. Carrier from Z -58 to -50.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any, Literal

from cam.geometry.path import Arc, Chain, Line, Point, Segment
from cam.ground.problem import Where
from cam.judge import simulate
from cam.judge.model import Simulation
from cam.part.features import Corner, Finish
from cam.part.model import Section
from cam.rs274.model import Motion, Position, Program
from cam.setting.model import Obstacle, Setting, Turned
from cam.shop.machine import Slide
from cam.shop.model import Control, Lathe, Shop, Speed, Spindle
from tests.specimens import HERE, grooving_tool, outline, quantity, turning_tool

NAN = math.nan
NOSE = 0.2
FILLET = Corner(kind="nose", radius=0.25, width=0.0, depth=0.0, text="fillet up to 0.25 mm", where=HERE)


def slide(backlash: float) -> Slide:
    return Slide(reading="dial", habit="diameter", counts="up", division=quantity(0.02), turn=quantity(2),
                 backlash=quantity(backlash), where=HERE)  # fmt: skip


def make_shop(**changes: Any) -> Shop:
    positions = tuple(Speed(name=n, rpm=quantity(v, "rpm")) for n, v in (("A1", 320), ("A2", 600), ("B1", 1000)))
    spindle = Spindle(positions=positions, slowest=320, fastest=1000, power=quantity(250, "W"),
                      started="program", feeds_per_revolution=False, constant_surface_speed=False)  # fmt: skip
    control = Control(kind="stepper", dialect="rs274ngc", x_words="radius", rapid=quantity(800, "mm/min"), units="mm")
    given: dict[str, Any] = {
        "name": "bench lathe", "swing": 140, "swing_over_slide": 80, "between_centres": 250, "tool_post": "front",
        "x": slide(0.04), "z": slide(0.05), "spindle": spindle, "control": control, "least_feed": 0.01,
        "most_feed": 0.15, "barrel_diameter": 22, "barrel_extension": 25, "tailstock_radius": 45,
        "plate_diameter": 70, "centre_projection": 30, "rapid_clearance": 0.5, "contact_clearance": 0.1,
        "where": HERE,
    }  # fmt: skip
    lathe = Lathe(**{k: quantity(v) if isinstance(v, int | float) else v for k, v in given.items()})
    head = outline("tool head", (1, 6), (6.5, 4.6), (10, 8), (10, 25), (1, 25))
    post = outline("tool post", (-12, 25), (30, 25), (30, 80), (-12, 80))
    tools = changes.pop("tools", (turning_tool(number=1, outlines=(head, post)), grooving_tool(number=2)))
    return Shop(lathe=replace(lathe, **changes), centres=(), carriers=(), chucks=(), tools=tools, materials={},
                path="shop.toml", digest="")  # fmt: skip


def section(name: str, start: float, end: float, diameter: float) -> Section:
    finish = Finish(route=("turn",), on_diameter=0.0, on_face=0.0, text="turn", where=HERE)
    return Section(name=name, role="plain", start=start, end=end, length=quantity(end - start), length_tolerance=None,
                   diameter_a=quantity(diameter), diameter_b=quantity(diameter), tolerance=None, edge_a=None,
                   edge_b=None, corner_a=None, corner_b=None, finish=finish, bearing=None, where=HERE)  # fmt: skip


def turned(name: str, near: float, far: float, radius: float, far_radius: float, **changes: Any) -> Turned:
    given = {"corner": FILLET, "far_kind": "shoulder", "edge": None, "far_edge": None} | changes
    return Turned(section=section(name, -near, -far, 2 * radius), near=near, far=far, radius_near=radius,
                  radius_far=radius, far_radius=far_radius, **given)  # fmt: skip


def chain(*points: tuple[float, float]) -> Chain:
    """Return straight pieces from (z, x) to (z, x)."""
    return tuple(Line(Point(*a), Point(*b)) for a, b in pairwise(points))


def stepped(fillet: float) -> Chain:
    """Return the outline wanted, with a fillet of this radius in both corners; 0 for sharp ones."""
    pieces: list[Segment] = []
    here = Point(0, 0)
    for start, far, radius in ((0, -6, 4), (-6, -16, 5)):
        pieces += [Line(here, Point(start, radius)), Line(Point(start, radius), Point(far + fillet, radius))]
        here = Point(far, radius + fillet)
        if fillet:
            pieces.append(Arc(pieces[-1].end, here, Point(far + fillet, radius + fillet), -1))
    return (*pieces, *chain(here, (-16, 8), (-60, 8), (-60, 0)))


def box(name: str, z0: float, z1: float, x0: float, x1: float) -> Obstacle:
    return Obstacle(name=name, polygon=(Point(z0, x0), Point(z1, x0), Point(z1, x1), Point(z0, x1)))


def cone(start: float, mouth: float, end: float) -> Obstacle:
    """Return a 60 degree centre standing in a hole of this mouth diameter at Z start."""
    high = mouth / 2 + (end - start) * math.tan(math.radians(30))
    corners = (Point(start, 0), Point(end, 0), Point(end, high), Point(start, mouth / 2))
    return Obstacle(name="centre cone", polygon=corners)


OBSTACLES = (
    cone(0, 2, 8),
    box("centre body", 8, 30, 0, 5.62),
    box("barrel", 30, 55, 0, 11),
    box("tailstock", 55, 300, 0, 45),
    box("carrier", -58, -50, 8, 16),
    box("catch plate", -300, -90, 0, 35),
)


def make_setting(**changes: Any) -> Setting:
    given: dict[str, Any] = {
        "number": 1, "end": "B", "method": "between centres", "sign": 1, "datum": 0.0, "datum_words": "the end",
        "tail_centre": None, "hole": None, "head_hole": None, "carrier": None, "chuck": None, "grip": "stock",
        "grip_near": -50, "grip_far": -58, "grip_diameter": 16.0, "protection": 0.0, "end_z": 0.0, "face_end": False,
        "stock_end_z": 0.0, "head_z": -60.0, "limit_z": -49.0,
        "turned": (turned("pivot", 0, -6, 4, 5), turned("seat", -6, -16, 5, 8)),
        "stock": chain((0, 0), (0, 8), (-60, 8), (-60, 0)), "least": stepped(0), "most": stepped(0.25),
        "obstacles": OBSTACLES, "reasons": (),
    }  # fmt: skip
    merged = given | changes
    return Setting(**({"fullest": merged["stock"]} | merged))


class Writer:
    """Writes motions, one a line, and keeps the modal state as a reader would hand it over.

    Attributes:
        motions: those written so far. feed: mm/min for feed moves.
    """

    def __init__(self, tool: int = 1, rpm: float = 600, feed: float = 30, **state: Any) -> None:
        self.motions: list[Motion] = []
        self.at = Position(NAN, NAN, NAN)
        self.state: dict[str, Any] = {"plane": 18, "feed_mode": 94, "tool": tool, "system": tool, "rpm": rpm,
                                      "spindle": 0} | state  # fmt: skip
        self.feed = feed
        self.comments: list[tuple[int, str]] = []

    @property
    def line(self) -> int:
        return self.motions[-1].line

    def _add(self, kind: Any, end: Position, **more: Any) -> int:
        line = len(self.motions) + 1
        self.motions.append(Motion(kind=kind, line=line, start=self.at, end=end, **(self.state | more)))
        self.at = end
        return line

    def set(self, **state: Any) -> None:
        """Change the modal state."""
        self.state |= state

    def spin(self, spindle: int = 1) -> int:
        self.state["spindle"] = spindle
        return self._add("spindle", self.at)

    def stop(self, words: str = "") -> int:
        """Write a stop, with the words in a comment on its line."""
        line = self._add("stop", self.at)
        if words:
            self.comments.append((line, words))
        return line

    def _to(self, x: float | None, z: float | None) -> Position:
        return Position(self.at.x if x is None else x, self.at.y, self.at.z if z is None else z)

    def rapid(self, *, x: float | None = None, z: float | None = None) -> int:
        return self._add("rapid", self._to(x, z))

    def cut(self, *, x: float | None = None, z: float | None = None, feed: float | None = None) -> int:
        return self._add("line", self._to(x, z), feed=self.feed if feed is None else feed)

    def arc(self, x: float, z: float, centre: tuple[float, float], turn: Literal[1, -1]) -> int:
        """Write an arc about centre (z, x)."""
        middle = Position(centre[1], self.at.y, centre[0])
        return self._add("arc", self._to(x, z), centre=middle, turn=turn, feed=self.feed)

    def begin(self) -> None:
        """Write the proof in air, then the way to the starting place with the spindle on."""
        self.rapid(x=20)
        self.stop()
        self.rapid(z=0.5)
        self.stop("prove Z; set the belt to A2")
        self.spin()

    def level(self, x: float, z: float, out: float, start: float = 0.5) -> int:
        """Write one cut at radius x to z, faced out to radius out; return the line of the cut along Z."""
        self.rapid(z=start)
        self.rapid(x=x + 0.5)
        self.cut(x=x)
        line = self.cut(z=z)
        self.cut(x=out)
        self.rapid(x=20)
        return line

    def program(self, standard: Literal["NISTIR 6556", "EIA-274-D"] = "NISTIR 6556") -> Program:
        """Return the program that was written, ended."""
        end = Motion(kind="end", line=len(self.motions) + 1, start=self.at, end=self.at)
        return Program(motions=(*self.motions, end), problems=(), lines=end.line, comments=tuple(self.comments),
                       standard=standard)  # fmt: skip


def good(writer: Writer | None = None) -> Writer:
    """Write the whole of the specimen setting, cut as it should be."""
    w = writer or Writer()
    w.begin()
    for x in (7.3, 6.6, 5.9, 5.2):
        w.level(x, -15.9, x + 0.8 if x > 5.2 else 8.2)
    w.level(4.6, -5.9, 5.3)
    w.level(4.2, -5.9, 5.3)
    w.level(5.0, -16, 8.2, start=-5.3)
    w.level(4.0, -6, 5.2)
    return w


WHERE = Where(path="test.ngc", line=1)


SHOP = make_shop()
SETTING = make_setting()


def judge(writer: Writer, setting=SETTING, shop=SHOP, **more) -> Simulation:
    return simulate(writer.program(), setting, shop, **more)


def found(simulation: Simulation, kind: str):
    """Return the findings of a kind, of which there must be some."""
    some = [f for f in simulation.findings if f.kind == kind]
    assert some, [(f.line, f.kind, f.what) for f in simulation.findings]
    return some


def only(simulation: Simulation, kind: str):
    """Return the one finding there is."""
    assert [f.kind for f in simulation.findings] == [kind], [(f.line, f.kind, f.what) for f in simulation.findings]
    return simulation.findings[0]


def quiet(s: Simulation) -> Simulation:
    """Return the simulation without what every unfinished program leaves."""
    return replace(s, findings=tuple(f for f in s.findings if f.kind != "uncut"))
