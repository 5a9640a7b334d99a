"""A sheet being filled: paths in styles, letters and the room they take, and the characters that may stand in them."""

from __future__ import annotations

from functools import lru_cache

from cam.picture.sheet import Rect, View, paper

Stroke = tuple[tuple[float, float], tuple[float, float]]
"""A straight line on the paper, mm."""

Layer = tuple[str, str]
"""A class of the template's style sheet, with path data."""

Text = tuple[str, str, str]
"""Classes, a transformation that places the letters, and their text."""

Frame = tuple[str, str, tuple[Layer, ...]]
"""A window: its name, its edge as path data, and what is seen through it."""

Panel = tuple[str, str, str, list[Frame], list[Layer], list[Text]]
"""One sheet: its name ("setting-1"), its place down the picture, the sheet in words, windows, paths, letters."""

SIZES = {"title": 5.0, "verdict": 4.2, "end": 4.2, "distance": 3.6, "part": 2.9, "text": 2.8, "small": 2.6, "tick": 2.5}
"""Letter heights by style, mm: 2.5 mm is 7 point."""
BOLD = {"title", "verdict", "end", "distance", "part"}

ABOVE, BELOW = 0.78, 0.22
"""How far letters stand over the line that they are written on, and hang below it, in letter heights."""

_NARROW = dict.fromkeys("iIjlft.,:;'|!()[]{}-/\\ r\"", 0.38)
_WIDE = dict.fromkeys("mwMW@%", 0.95) | dict.fromkeys("ABCDEGHKNOPQRUVXYZ&+=<>~", 0.75)
_ADVANCE = _NARROW | _WIDE
"""Width of a character in ems, from above, for the wide sans-serif faces that the template asks for."""


@lru_cache(maxsize=1024)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Room that a text takes, mm, estimated from above."""
    return size * (1.1 if bold else 1.0) * sum([_ADVANCE.get(c, 0.65 if c < "\u0250" else 1.0) for c in text])


def clean(text: str) -> str:
    """Return text that may stand in XML 1.0 and cannot reorder what stands beside it, on one line.

    What cannot be printed (what XML forbids, and marks that turn the direction of writing) becomes the replacement
    sign; white space of any kind becomes one space. Markup is escaped by the template.
    """
    if not text.isprintable():
        text = "".join(c if c.isprintable() or c.isspace() else "\ufffd" for c in text if c != "\r")
    return " ".join(text.split())


def fit(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """Return the text, or as much of its beginning as fits into room mm, followed by three points."""
    if text_width(text, size, bold=bold) <= room:
        return text
    room -= text_width("...", size, bold=bold)
    used, kept = 0.0, ""
    for c in text:
        used += text_width(c, size, bold=bold)
        if used > room:
            break
        kept += c
    return kept.rstrip() + "..."


def wrap(text: str, size: float, room: float) -> list[str]:
    """Break the text into lines of at most room mm, between words; cut short a word that is too long."""
    lines: list[str] = []
    space, used = text_width(" ", size), 0.0
    for word in text.split(" "):
        width = text_width(word, size)
        if lines and used + space + width <= room:
            lines[-1] += f" {word}"
            used += space + width
        else:
            lines.append(fit(word, size, room))
            used = width
    return lines


class Draft:
    """A sheet being filled: windows first, then white plates, paths and letters, each in the order they came.

    Attributes:
        taken: what no label may cover: the boxes of all letters, and marks.
        leaders: lines from a label to what it names; no label lies on one, and none crosses another.
        rules: other lines that no label may lie on: the axis, the datum, the edge of a detail.
    """

    def __init__(self, name: str) -> None:
        """Begin an empty sheet; its windows are named after it."""
        self.name = name
        self.frames: list[Frame] = []
        self.plates: list[Layer] = []
        self.marks: list[Layer] = []
        self.texts: list[Text] = []
        self.taken: list[Rect] = []
        self.leaders: list[Stroke] = []
        self.rules: list[Stroke] = []

    def window(self, view: View, layers: tuple[Layer, ...], around: str = "") -> None:
        """Add a window with what is seen through it. around: path data of its edge, where that is not the frame."""
        self.frames.append((f"window-{self.name}-{len(self.frames) + 1}", around or edge(view.frame), layers))

    def panel(self, name: str, above: float, label: str) -> Panel:
        """Return the sheet as it stands. above: height in the picture at which it begins, mm. label: it in words."""
        return name, paper(above), clean(label), self.frames, [*self.plates, *self.marks], self.texts

    def plate(self, rect: Rect) -> None:
        """Add a white rectangle behind letters."""
        self.plates.append(("plate", edge(rect)))

    def write(
        self, style: str, left: float, base: float, text: str, anchor: str = "start", *, plate: bool = False,
        upright: bool = False,
    ) -> None:  # fmt: skip
        """Write letters, on a white plate where something may lie behind them.

        Args:
            style: a key of SIZES.
            left: x of the anchor on the paper, mm.
            base: y of the line that the letters stand on, mm.
            text: cleaned here.
            anchor: which of its ends or its middle stands at left: "start", "middle", "end".
            plate: whether the letters get a plate.
            upright: turned to be read from the right.
        """
        size, text = SIZES[style], clean(text)
        turned = "rotate(-90)" if upright else ""
        self.texts.append((f"t-{style} {anchor}", f"translate({paper(left)} {paper(base)}){turned}", text))
        room = text_width(text, size, bold=style in BOLD)
        back = {"start": 0.0, "middle": room / 2, "end": room}[anchor]
        if upright:
            box = Rect(left - ABOVE * size, base - room + back, (ABOVE + BELOW) * size, room)
        else:
            box = Rect(left - back, base - ABOVE * size, room, (ABOVE + BELOW) * size)
        self.taken.append(box)
        if plate:
            self.plate(Rect(box.left - 0.6, box.top - 0.4, box.width + 1.2, box.height + 0.8))

    def line(self, style: str, *corners: tuple[float, float], under: bool = False) -> None:
        """Draw a line through corners on the paper; under the plates if asked."""
        data = "M" + "L".join(f"{paper(x)} {paper(y)}" for x, y in corners)
        (self.plates if under else self.marks).append((style, data))

    def ring(self, style: str, x: float, y: float, r: float) -> None:
        """Draw a circle on the paper."""
        size = paper(r)
        data = f"M{paper(x - r)} {paper(y)}A{size} {size} 0 0 1 {paper(x + r)} {paper(y)}"
        self.marks.append((style, f"{data}A{size} {size} 0 0 1 {paper(x - r)} {paper(y)}Z"))

    def box(self, style: str, rect: Rect) -> None:
        """Draw a rectangle on the paper."""
        self.marks.append((style, edge(rect)))


def edge(rect: Rect) -> str:
    """Return the path data of a rectangle."""
    left, top, right, bottom = map(paper, (rect.left, rect.top, rect.right, rect.bottom))
    return f"M{left} {top}H{right}V{bottom}H{left}Z"
