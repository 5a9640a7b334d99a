"""Random parts and shops: equal and near-equal sizes, steep tapers, undercuts, tight and wide limits, both units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from random import Random

from tests.search.laws import Shop
from tests.search.spec import INCH, Corner, Edge, Part, Section
from tests.search.sweep import Tool
from tests.specimens import by_hand

SAMPLE = Path(__file__).parent.parent.parent / "samples" / "shop.toml"
MATERIALS = ("brass", "silver steel", "mild steel", "free-cutting steel", "2011 aluminium")
LIMITS = (
    None, (-0.05, 0.0), (-0.05, 0.0), (-0.03, -0.01), (-0.05, 0.05), (0.1, 0.3), (-0.4, 0.0), (-0.02, 0.0),
    (-0.1, 0.1), (0.0, 0.012), (-0.2, -0.1), (-0.04, 0.04),
)  # fmt: skip


# Shops -------------------------------------------------------------------------------------------------


@dataclass
class Drawn:
    """A shop file and what the search knows of it."""

    text: str
    shop: Shop


def _put(text: str, table: str, key: str, value: str) -> str:
    """Return the text with another value for a key of the first table of a name."""
    pattern = rf"(^\[{{1,2}}{re.escape(table)}\]{{1,2}}(?:(?!^\[).)*?^{key} = )[^\n#]*"
    found, count = re.subn(pattern, rf"\g<1>{value} ", text, count=1, flags=re.M | re.S)
    if not count:
        raise LookupError(f"{key} of {table} is not in the sample shop")
    return found


def _copy(text: str, table: str, like: str, **changes: str) -> str:
    """Return the text with another table like one that is there."""
    found = next(b for b in re.findall(rf"^\[\[{table}\]\]\n(?:(?!^\[).)*", text, re.M | re.S) if f'"{like}"' in b)
    for key, value in changes.items():
        found = re.sub(rf"^{key} = [^\n#]*", f"{key} = {value} ", found, count=1, flags=re.M)
    return f"{text}\n{found}"


@lru_cache
def _sample() -> str:
    """Return the lathe's share of the samples' shop, without lines that are comment alone: it is read for every job."""
    text = SAMPLE.read_text(encoding="utf-8").partition("\n[mill]")[0] + "\n"
    return re.sub(r"^ *#[^\n]*\n", "", text, flags=re.M)


def draw_shop(rng: Random) -> Drawn:
    """Draw the samples' shop with everything about the lathe anew that a program depends on."""
    text = _sample()
    text = _copy(text, "carrier", "middle carrier", name='"large carrier"', swing='"64 mm"', width='"11 mm"',
                 grip='["16 mm", "36 mm"]')  # fmt: skip
    text = _copy(text, "carrier", "small carrier", name='"tiny carrier"', swing='"20 mm"', width='"4 mm"',
                 grip='["1 mm", "4 mm"]')  # fmt: skip
    text = _copy(text, "chuck", "6 mm collet", name='"three jaw"', kind='"chuck"', nose_diameter='"65 mm"',
                 nose_length='"60 mm"', grip='["3 mm", "32 mm"]', grip_length='"18 mm"')  # fmt: skip
    text = _put(text, "lathe", "tool_post", rng.choice(['"front"', '"rear"']))
    text = _put(text, "lathe", "rapid_clearance", rng.choice(['"0.5 mm"', '"0.3 mm"', '"1 mm"']))
    x, step, text = _draw_x(rng, text)
    z = rng.choice([0.0, 0.02, 0.05, 0.05, 0.25])
    text = _put(text, "lathe.z", "backlash", f'"{z} mm"')
    text = _draw_control(rng, text)
    speeds, ranged, text = _draw_speeds(rng, text)
    knife, text = _draw_knife(rng, text)
    blade, text = _draw_blade(rng, text)
    tools = {1: knife, 2: blade}
    return Drawn(text, Shop(tools, x, z, step, speeds, ranged, (0.01, 0.15)))


def _draw_x(rng: Random, text: str) -> tuple[float, float, str]:
    backlash = rng.choice([0.0, 0.02, 0.04, 0.04, 0.1, 0.3])
    reading = rng.choice(["dial", "dial", "readout", "none"])
    habit = rng.choice(["diameter", "depth on diameter", "radius"])
    division = rng.choice([0.005, 0.01, 0.02, 0.02, 0.0254, 0.05])
    said = f"{division / INCH:.4f} in" if division == 0.0254 else f"{division} mm"
    turn = "0.1 in" if division == 0.0254 else "2 mm"
    for key, value in (("backlash", f"{backlash} mm"), ("reading", reading), ("habit", habit), ("division", said)):
        text = _put(text, "lathe.x", key, f'"{value}"')
    text = _put(text, "lathe.x", "turn", f'"{turn}"')
    if reading != "dial":
        text = re.sub(r"(^\[lathe\.x\](?:(?!^\[).)*?)^turn = [^\n]*\n", r"\1", text, count=1, flags=re.M | re.S)
    if reading == "none":
        text = re.sub(r"(^\[lathe\.x\](?:(?!^\[).)*?)^counts = [^\n]*\n", r"\1", text, count=1, flags=re.M | re.S)
    return backlash, division * (2 if habit == "radius" else 1), text


def _draw_control(rng: Random, text: str) -> str:
    dialect = rng.choice(["rs274ngc", "eia274d"])
    words = rng.choice(["radius", "diameter"]) if dialect == "eia274d" else "radius"
    pairs = (("dialect", dialect), ("x_words", words), ("units", rng.choice(["mm", "mm", "in"])))
    for key, value in pairs:
        text = _put(text, "lathe.control", key, f'"{value}"')
    return by_hand(text) if rng.random() < 0.25 else text


def _draw_speeds(rng: Random, text: str) -> tuple[tuple[float, ...], bool, str]:
    if rng.random() < 0.6:
        return (320.0, 600.0, 1000.0, 1800.0), False, text
    text = re.sub(r"^positions = \[.*?^\]\n", 'slowest = "100 rpm"\nfastest = "2500 rpm"\n', text, flags=re.M | re.S)
    return (100.0, 2500.0), True, text


def _draw_knife(rng: Random, text: str) -> tuple[Tool, str]:
    nose = rng.choice([0.03, 0.05, 0.1, 0.1, 0.1, 0.2, 0.4])
    shape, included = rng.choice([("D", 55.0), ("D", 55.0), ("V", 35.0), ("C", 80.0)])
    text = _put(text, "tool", "nose_radius", f'"{nose} mm"')
    text = _put(text, "tool", "shape", f'"{shape}"')
    text = _put(text, "tool", "deepest_cut", rng.choice(['"0.3 mm"', '"0.75 mm"', '"0.75 mm"', '"1.5 mm"']))
    text = _put(text, "tool", "minimum_cut", rng.choice(['"0.01 mm"', '"0.02 mm"', '"0.05 mm"']))
    angle = 180.0 - 93.0 - included
    edge = 7.0 - nose / math.tan(math.radians(included / 2)) - nose
    return Tool(nose, angle, nose + nose * math.sin(math.radians(angle)) + edge * math.cos(math.radians(angle))), text


def _draw_blade(rng: Random, text: str) -> tuple[Tool, str]:
    width, nose = rng.choice([(1.0, 0.1), (0.5, 0.05), (0.8, 0.1), (1.5, 0.2)])
    head, mark, tail = text.partition('name = "undercut tool"')
    tail = re.sub(r"^width = [^\n#]*", f'width = "{width} mm" ', tail, count=1, flags=re.M)
    tail = re.sub(r"^nose_radius = [^\n#]*", f'nose_radius = "{nose} mm" ', tail, count=1, flags=re.M)
    return Tool(nose, 90.0, width, width - 2 * nose), head + mark + tail


# Parts -------------------------------------------------------------------------------------------------


class Drawing:
    """One part being drawn. mood: how odd it may be. shop: the one whose nose and slides it mostly suits."""

    def __init__(self, rng: Random, shop: Shop) -> None:
        self.rng, self.shop = rng, shop
        self.unit = rng.choice(["mm", "mm", "mm", "in"])
        self.mood = rng.choices(["plain", "near", "odd"], [0.45, 0.3, 0.25])[0]
        self.count = 0

    def size(self, mm: float) -> float:
        """Return a size as it could stand in the file: whole hundredths, or half thousandths of an inch."""
        return round(mm / INCH / 0.0005) * 0.0005 * INCH if self.unit == "in" else round(mm, 2)

    def part(self) -> Part:
        """Draw a part with its stock and holding."""
        rng = self.rng
        left = self.ladder(rng.randint(0 if rng.random() < 0.15 else 1, 3))
        right = self.ladder(rng.randint(0 if rng.random() < 0.2 else 1, 3))
        top = max([s.thickest for s in left + right] or [4.0])
        body = self.section("body", self.size(top + self.step()), rng.choice([6, 8, 12, 14, 18, 20, 25]))
        middle = [body]
        if rng.random() < 0.12:
            middle.append(self.section("body", body.da, rng.choice([5, 8, 12])))
        sections = [*left, *middle, *(_turned(s) for s in reversed(right))]
        self.groove(sections)
        for s in sections:
            self.details(s)
        part = Part(self.unit, sections, rng.choice(MATERIALS), 0.0, 0.0)
        self.fit(part)
        self.hold(part)
        return part

    def step(self) -> float:
        """Draw a step on diameter from one section to the next, mm."""
        rng = self.rng
        normal = rng.choice([0.5, 0.8, 1, 1.5, 2, 2, 3, 4, 5])
        if self.mood == "plain":
            return rng.choice([normal, normal, normal, 0.0]) if rng.random() < 0.3 else normal
        near = rng.choice([0.0, 0.01, 0.02, 0.04, 0.06, 0.1, 0.15, 0.2, 0.3, 0.4])
        return near if rng.random() < (0.6 if self.mood == "near" else 0.3) else normal

    def ladder(self, count: int) -> list[Section]:
        """Draw sections that rise from the A end inward."""
        rng, found = self.rng, []
        size = self.size(rng.choice([1.5, 2, 3, 4, 5, 6, 6, 7]) + rng.random())
        for at in range(count):
            role = "pivot" if at == 0 and rng.random() < 0.6 else rng.choice(["seat", "plain", "journal", "seat"])
            s = self.section(role, size, self.long(size))
            if rng.random() < (0.12 if self.mood == "plain" else 0.25):
                self.taper(s)
            found.append(s)
            size = self.size(size + self.step())
        return found

    def long(self, size: float) -> float:
        """Draw a length that suits a size, or one that hardly does."""
        rng = self.rng
        return rng.choice([0.5, 0.8, 1.2, 2, 3]) if rng.random() < 0.15 else rng.choice([3, 4, 5, 6, 8, 10, 12, 14])

    def section(self, role: str, size: float, length: float) -> Section:
        """Draw a cylinder with limits."""
        rng = self.rng
        limits = rng.choice(LIMITS[:4] if self.mood == "plain" else LIMITS)
        finest = max(self.shop.step / 2, 0.2 * self.shop.x)
        if limits is not None and limits[1] - limits[0] < finest and rng.random() < 0.9:
            limits = (-round(finest + 0.01, 2), 0.0)
        if limits is not None and self.unit == "in":
            limits = (round(limits[0] / INCH, 4) * INCH, round(limits[1] / INCH, 4) * INCH)
        self.count += 1
        s = Section(f"s{self.count}", role, size, size, self.size(length), limits)
        if rng.random() < 0.1:
            s.length_limits = rng.choice([(-0.05, 0.05), (-0.1, 0.0), (0.0, 0.1), (-0.02, 0.02)])
        if rng.random() < 0.2:
            s.route = "turn, stone"
            s.on_diameter = self.size(rng.choice([0.0, 0.01, 0.02, 0.03, 0.1, 0.15]))
            s.on_face = self.size(rng.choice([0.0, 0.0, 0.02, 0.05]))
        return s

    def taper(self, s: Section) -> None:
        """Make a section thinner at its A end: slight, steep, or as steep as its length allows."""
        rng = self.rng
        fall = rng.choice([0.02, 0.1, 0.3, 1.0, 2.0, 3.0, 5.0, 2 * s.length, 3 * s.length])
        thin = self.size(s.db - fall)
        if thin > 1.0:
            s.da, s.role = thin, "plain"

    def groove(self, sections: list[Section]) -> None:
        """Sometimes put an undercut between two sections, as a section of its own."""
        rng = self.rng
        if rng.random() > 0.1 or len(sections) < 3:
            return
        at = rng.randrange(1, len(sections))
        size = self.size(min(sections[at - 1].db, sections[at].da) - rng.choice([0.1, 0.2, 0.4]))
        neck = self.section("undercut", size, rng.choice([1.0, 1.2, 2.0, 3.0]))
        neck.route, neck.on_diameter, neck.on_face = "turn", 0.0, 0.0
        sections.insert(at, neck)

    def details(self, s: Section) -> None:
        """Draw edges and corners for both of its ends; those without a place are not written."""
        for side in "ab":
            s.edges[side], s.corners[side] = self.edge(), self.corner()
        if s.role == "undercut":
            s.corners = {side: Corner("nose", 0.2) for side in "ab"}

    def edge(self) -> Edge:
        """Draw an edge of an end of a section."""
        rng = self.rng
        kind = rng.choice(["sharp", "sharp", "chamfer", "chamfer", "radius"])
        sizes = [0.05, 0.1, 0.1, 0.2] if self.mood == "plain" else [0.05, 0.1, 0.2, 0.5, 1.0, 2.0]
        return Edge(kind, self.size(rng.choice(sizes)) if kind != "sharp" else 0.0)

    def corner(self) -> Corner:
        """Draw a corner of an end of a section."""
        rng = self.rng
        kind = rng.choice(["nose", "nose", "nose", "fillet", "undercut"])
        if kind == "undercut":
            width = rng.choice([0.5, 1.0, 1.0, 1.5, 2.0, 3.0])
            return Corner(kind, 0.0, self.size(width), self.size(rng.choice([0.05, 0.1, 0.2, 0.3])))
        sizes = [0.1, 0.2, 0.2, 0.4] if kind == "nose" else [0.1, 0.2, 0.3, 0.5]
        if self.mood == "odd":
            sizes = [*sizes, 0.02, 0.8]
        return Corner(kind, self.size(rng.choice(sizes)))

    def fit(self, part: Part) -> None:
        """Fit edges and corners to their steps in a plain mood; in another leave them sometimes as drawn."""
        if self.rng.random() < (0.5 if self.mood == "odd" else 0.08):
            return
        for i, s in enumerate(part.sections):
            for side in "ab":
                step = abs(part.size_at(i, side) - part.beside(i, side)) / 2
                edge, corner = s.edges[side], s.corners[side]
                edge.size = self.size(min(edge.size, max(step / 3, 0.01)))
                if corner.kind == "undercut":
                    self.fit_undercut(s, corner)
                else:
                    corner.radius = max(corner.radius, self.shop.tools[1].nose)
                    corner.radius = self.size(max(min(corner.radius, step), 0.01))

    def fit_undercut(self, s: Section, corner: Corner) -> None:
        """Make it an undercut that the blade can cut and the section can hold."""
        blade = self.shop.tools[2]
        corner.width = self.size(min(max(corner.width, blade.reach), max(s.length / 2, 0.3)))
        corner.depth = self.size(min(max(corner.depth, blade.nose), 0.14 * min(s.da, s.db)))

    def hold(self, part: Part) -> None:
        """Draw the stock, and how it is held."""
        rng = self.rng
        top = max(s.thickest for s in part.sections)
        part.stock_diameter = self.size(top + rng.choice([0.2, 0.5, 1.0, 1.0, 2.0, 3.0]))
        if rng.random() < 0.15:
            self.chuck(part)
            return
        for side in "ab":
            part.extra[side] = self.size(rng.choice([0.0, 0.0, 4.0, 8.0, 12.0, 12.0]))
            part.centres[side] = rng.choice(["half centre", "half centre", "half centre", "dead centre"])
        part.first = rng.choice(["", "", "", "A", "B"])
        more = rng.choice([0.0, 0.1, 1.0, 3.0])
        part.stock_length = self.size(part.length + part.extra["a"] + part.extra["b"] + more + 0.01)
        self.stock_section(part)
        shouldered = [i for i in range(len(part.sections)) if self.between_shoulders(part, i)]
        if rng.random() < 0.2 and (shouldered or rng.random() < 0.1):
            part.span = rng.choice(shouldered or range(len(part.sections)))
            part.sections[part.span].length_limits = None

    def between_shoulders(self, part: Part, i: int) -> bool:
        """Tell whether a section has a smaller neighbour at both sides, so that a span can rest on it."""
        return all(0 < part.beside(i, side) < part.size_at(i, side) for side in "ab")

    def stock_section(self, part: Part) -> None:
        """Leave the thickest section now and then as it was bought."""
        body = next(s for s in part.sections if s.role == "body")
        if self.rng.random() < 0.06 and all(s.role != "body" for s in part.sections if s is not body):
            body.route, body.limits, body.on_diameter, body.on_face = "as stock", None, 0.0, 0.0
            body.da = body.db = part.stock_diameter

    def chuck(self, part: Part) -> None:
        """Draw one end only: the body and what lies outward of it, with the body as a head that is held."""
        rng = self.rng
        at = next(i for i, s in enumerate(part.sections) if s.role == "body")
        part.method, part.free_end = "chuck", rng.choice(["A", "B"])
        part.sections = part.sections[: at + 1] if part.free_end == "A" else part.sections[at:]
        head = next(s for s in part.sections if s.role == "body")
        part.sections = [s for s in part.sections if s is head or s.role != "body"]
        head.route, head.limits, head.length_limits, head.on_diameter, head.on_face = "as stock", None, None, 0.0, 0.0
        head.da = head.db = part.stock_diameter
        head.length = self.size(max(head.length, 20.0))
        part.facing = self.size(rng.choice([0.2, 0.5, 1.0]))
        part.stick_out = self.size(part.length - head.length + rng.choice([3.0, 8.0, 15.0, 18.0]))
        part.stock_length = self.size(part.length + part.facing + 20.0)


def _turned(s: Section) -> Section:
    """Return the same section for the other end of the part."""
    s.da, s.db = s.db, s.da
    return s


def draw_part(rng: Random, shop: Shop) -> Part:
    """Draw one random part, in most moods one that this shop could make."""
    return Drawing(rng, shop).part()
