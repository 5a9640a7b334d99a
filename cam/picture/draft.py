"""A sheet being filled, and the sheet as the template loops over it."""

from __future__ import annotations

from typing import Literal, NamedTuple

from cam.picture.lettering import BOLD, SIZES, clean, text_width
from cam.picture.sheet import Rect, View, paper


class Text(NamedTuple):
    """Letters on the sheet; anchor is SVG's text-anchor; turned by -90 degrees where upright."""

    style: str
    left: float
    base: float
    text: str
    anchor: Literal["start", "middle", "end"] = "start"
    upright: bool = False


class Layer(NamedTuple):
    """Path data in one style."""

    style: str
    data: str


class Frame(NamedTuple):
    """A window with what is seen through it."""

    view: View
    layers: tuple[Layer, ...]
    outlined: bool


class Panel(NamedTuple):
    """One sheet.

    Attributes:
        number: of the setting; top: of the sheet in the whole picture, mm.
        frames: windows, clipped. marks: paths over all. plates: white rectangles behind texts.
    """

    number: int
    top: float
    label: str
    frames: tuple[Frame, ...]
    plates: tuple[Rect, ...]
    marks: tuple[Layer, ...]
    texts: tuple[Text, ...]


class Draft:
    """A sheet being filled; the order of plates, marks and texts is the order of drawing."""

    def __init__(self) -> None:
        self.frames: list[Frame] = []
        self.plates: list[Rect] = []
        self.marks: list[Layer] = []
        self.texts: list[Text] = []
        self.taken: list[Rect] = []

    def write(self, style: str, left: float, base: float, text: str, anchor: str = "start", *, plate: bool = False,
              upright: bool = False) -> None:  # fmt: skip
        """Letters, on a white plate where something may lie behind them."""
        size = SIZES[style]
        text = clean(text)
        self.texts.append(Text(style, left, base, text, anchor, upright))  # type: ignore[arg-type]
        if not plate:
            return
        room = text_width(text, size, bold=style in BOLD) + 1.2
        back = {"start": 0.6, "middle": room / 2, "end": room - 0.6}[anchor]
        if upright:
            self.plates.append(Rect(left - 0.85 * size - 0.3, base - room + back, 1.2 * size + 0.3, room))
        else:
            self.plates.append(Rect(left - back, base - 0.85 * size - 0.3, room, 1.2 * size + 0.3))

    def line(self, style: str, *corners: tuple[float, float]) -> None:
        """A line through corners on the paper."""
        self.marks.append(Layer(style, "M" + "L".join(f"{paper(x)} {paper(y)}" for x, y in corners)))

    def ring(self, style: str, x: float, y: float, r: float) -> None:
        """A circle on the paper."""
        size = paper(r)
        data = f"M{paper(x - r)} {paper(y)}A{size} {size} 0 0 1 {paper(x + r)} {paper(y)}"
        self.marks.append(Layer(style, f"{data}A{size} {size} 0 0 1 {paper(x - r)} {paper(y)}Z"))

    def box(self, style: str, rect: Rect) -> None:
        """A rectangle on the paper."""
        left, top, right, bottom = map(paper, (rect.left, rect.top, rect.right, rect.bottom))
        self.marks.append(Layer(style, f"M{left} {top}L{right} {top}L{right} {bottom}L{left} {bottom}Z"))
