"""A part as the search draws it: plain numbers, the part file that says them, and the outline that they ask for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

INCH = 25.4


@dataclass
class Corner:
    """A corner. kind: "nose" (fillet up to radius), "fillet", or "undercut", which has width and depth; mm."""

    kind: str
    radius: float = 0.0
    width: float = 0.0
    depth: float = 0.0


@dataclass
class Edge:
    """An edge. kind: "sharp", "chamfer" or "radius"; mm."""

    kind: str
    size: float = 0.0


@dataclass
class Section:
    """One section, mm; its edges and corners are those that it has where its neighbours allow them."""

    name: str
    role: str
    da: float
    db: float
    length: float
    limits: tuple[float, float] | None = None
    length_limits: tuple[float, float] | None = None
    edges: dict[str, Edge] = field(default_factory=dict)
    corners: dict[str, Corner] = field(default_factory=dict)
    route: str = "turn"
    on_diameter: float = 0.0
    on_face: float = 0.0

    @property
    def thickest(self) -> float:
        """The diameter of the larger end, mm."""
        return max(self.da, self.db)

    @property
    def as_stock(self) -> bool:
        """Whether the section stays as bought."""
        return self.route == "as stock"


@dataclass
class Part:
    """A whole part, mm.

    Attributes:
        method: "between centres" or "chuck". extra: length beyond each end. centres: at the tailstock. holes: named
            centre holes, where they are.
        span: index of the section whose length is measured, or -1. stands: by number, how much further from the A end
            than drawn faces are aimed at. vague: by number, how far from there sections of one size may meet, mm.
    """

    unit: str
    sections: list[Section]
    material: str
    stock_diameter: float
    stock_length: float
    method: str = "between centres"
    first: str = ""
    extra: dict[str, float] = field(default_factory=lambda: {"a": 0.0, "b": 0.0})
    centres: dict[str, str] = field(default_factory=lambda: {"a": "half centre", "b": "half centre"})
    holes: dict[str, str] = field(default_factory=dict)
    free_end: str = "A"
    stick_out: float = 0.0
    facing: float = 0.5
    span: int = -1
    stands: dict[int, float] = field(default_factory=dict)
    vague: dict[int, float] = field(default_factory=dict)

    def copy(self) -> Part:
        """Return another such part, which may be changed."""
        sections = [
            replace(s, edges={k: replace(e) for k, e in s.edges.items()},
                    corners={k: replace(c) for k, c in s.corners.items()})
            for s in self.sections
        ]  # fmt: skip
        more = {k: dict(getattr(self, k)) for k in ("extra", "centres", "holes", "stands")}
        return replace(self, sections=sections, **more)

    @property
    def length(self) -> float:
        """The length over both ends, mm."""
        return math.fsum(s.length for s in self.sections) + self.stands.get(len(self.sections), 0.0)

    def faces(self) -> list[float]:
        """Places of all finished faces from the A end, mm, both ends with them: as drawn, and as they are aimed at."""
        found = [0.0]
        for s in self.sections:
            found.append(found[-1] + s.length)
        return [place + self.stands.get(i, 0.0) for i, place in enumerate(found)]

    def index(self, name: str) -> int:
        """Return the index of the section of a name, in whatever case a program has it."""
        return [s.name.lower() for s in self.sections].index(name.lower())

    def say(self, mm: float) -> str:
        """Return a length as the part file has it."""
        return f"{mm / INCH:.6f}".rstrip("0").rstrip(".") + " in" if self.unit == "in" else f"{mm:.5f} mm"

    def is_groove(self, i: int) -> bool:
        """Tell whether a section is an undercut between two larger ones."""
        if self.sections[i].role != "undercut" or not 0 < i < len(self.sections) - 1:
            return False
        size = self.sections[i].thickest
        return self.sections[i - 1].db > size < self.sections[i + 1].da

    def text(self) -> str:
        """Return the part file."""
        return "\n".join([*self._head(), *(row for i in range(len(self.sections)) for row in self._table(i)), ""])

    def _head(self) -> Iterator[str]:
        yield 'name = "searched"'
        yield 'corners = "fillet up to 0.2 mm"'
        yield 'edges = "sharp"'
        if self.span >= 0:
            yield f'length = "{self.say(self.length)}"'
        yield f'[stock]\nmaterial = "{self.material}"\ndiameter = "{self.say(self.stock_diameter)}"'
        yield f'length = "{self.say(self.stock_length)}"'
        yield f'[holding]\nmethod = "{self.method}"'
        if self.method == "chuck":
            yield f'chuck = "three jaw"\nfree_end = "{self.free_end}"\nstick_out = "{self.say(self.stick_out)}"'
            yield f'facing = "{self.say(self.facing)}"'
            return
        if self.first:
            yield f'first = "{self.first}"'
        for side in "ab":
            yield f'[holding.end_{side}]\ntail_centre = "{self.centres[side]}"'
            yield f'extra_length = "{self.say(self.extra[side])}"'
            if side in self.holes:
                yield f'centre_hole = "{self.holes[side]}"'

    def _table(self, i: int) -> Iterator[str]:
        s = self.sections[i]
        yield f'[[section]]\nname = "{s.name}"\nrole = "{s.role}"'
        if s.da == s.db:
            yield f'diameter = "{self.say(s.da)}"'
        else:
            yield f'diameter_a = "{self.say(s.da)}"\ndiameter_b = "{self.say(s.db)}"'
        if i != self.span:
            yield f'length = "{self.say(s.length)}"'
        for key, limits in (("tolerance", s.limits), ("length_tolerance", s.length_limits)):
            if limits is not None and not (key == "length_tolerance" and i == self.span):
                yield f'{key} = "{self._limits(limits)}"'
        yield from (f'edge_{side} = "{self._edge(e)}"' for side, e in s.edges.items() if self.has_edge(i, side))
        yield from (f'corner_{side} = "{self._corner(c)}"' for side, c in s.corners.items() if self.has_corner(i, side))
        yield f'finish = "{s.route}"'
        if "," in s.route:
            yield f'on_diameter = "{self.say(s.on_diameter)}"\non_face = "{self.say(s.on_face)}"'
        if i == self.span:
            yield from self._span(s)

    def _limits(self, limits: tuple[float, float]) -> str:
        low, high = (f"{v / INCH:+.6f}" if self.unit == "in" else f"{v:+.5f}" for v in limits)
        return f"{high} / {low} {self.unit}"

    def _edge(self, edge: Edge) -> str:
        return "sharp" if edge.kind == "sharp" else f"{edge.kind} {self.say(edge.size)}"

    def _corner(self, corner: Corner) -> str:
        if corner.kind == "undercut":
            return f"undercut {self.say(corner.width)} wide {self.say(corner.depth)} deep"
        return f"fillet {'up to ' if corner.kind == 'nose' else ''}{self.say(corner.radius)}"

    def _span(self, s: Section) -> Iterator[str]:
        shake = 0.2
        yield f'[[measurement]]\nname = "plates"\nvalue = "{self.say(s.length + shake)}"'
        yield 'uncertainty = "±0.02 mm"\ntaken_with = "micrometer"'
        yield f'[[span]]\nname = "frame"\nfrom = "{s.name}"\nto = "{s.name}"\nmeasurement = "plates"'
        yield 'end_shake = { least = "0.1 mm", aim = "0.2 mm", most = "0.3 mm" }\ntolerance = "±0.02 mm"'
        yield 'stand_off_a = "0 mm"\nstand_off_b = "0 mm"'

    # What meets what

    def size_at(self, i: int, side: str) -> float:
        """Return the drawn diameter of a section at its side, mm."""
        return self.sections[i].da if side == "a" else self.sections[i].db

    def beside(self, i: int, side: str) -> float:
        """Return the drawn diameter of the neighbour at a section's side, mm; 0 beyond the end of the part."""
        at = i - 1 if side == "a" else i + 1
        return self.size_at(at, "b" if side == "a" else "a") if 0 <= at < len(self.sections) else 0.0

    def has_edge(self, i: int, side: str) -> bool:
        """Tell whether the neighbour there is smaller, and the section may say an edge."""
        if self.method == "chuck" and self.beside(i, side) == 0.0 and self._held_end() == side:
            return False
        return self.beside(i, side) < self.size_at(i, side)

    def _held_end(self) -> str:
        return "b" if self.free_end == "A" else "a"

    def has_corner(self, i: int, side: str) -> bool:
        """Tell whether the neighbour there is larger."""
        return self.beside(i, side) > self.size_at(i, side)

    def edge(self, i: int, side: str) -> Edge:
        """Return the edge that a setting is to leave, sharp where there is none or it is made by hand."""
        s = self.sections[i]
        at_end = self.beside(i, side) == 0.0
        edge = s.edges.get(side, Edge("sharp")) if self.has_edge(i, side) else Edge("sharp")
        stoned_off = edge.size <= s.on_diameter / 2 + 1e-9
        by_hand = stoned_off or (at_end and (self.extra[side] > 0 or s.as_stock))
        return Edge("sharp") if by_hand else edge

    def corner(self, i: int, side: str) -> Corner | None:
        """Return the corner at a section's side; None where no larger neighbour stands."""
        return self.sections[i].corners.get(side, Corner("nose", 0.2)) if self.has_corner(i, side) else None

    def face(self, i: int) -> float:
        """Return where the face between sections i - 1 and i stands as turned, mm from the A end."""
        drawn = self.faces()[i]
        if not 0 < i < len(self.sections):
            return drawn
        before, after = self.sections[i - 1], self.sections[i]
        if before.db < after.da:
            return drawn - before.on_face
        return drawn + after.on_face if after.da < before.db else drawn
