"""Two outlines of metal laid over each other, with every stretch that differs marked, measured and named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from cam.geometry.differ import Zone, radius_at
from cam.geometry.path import Chain, Point, bounds, ends_of, flatten
from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, show_number
from cam.picture.draft import SIZES, Draft, Layer, Panel, clean, fit
from cam.picture.margins import draw_axes, draw_ends, number_row
from cam.picture.plot import render_sheets
from cam.picture.sheet import HEIGHT, Rect, View, hatch, paper, scale_at_most, view_about

MAIN = Rect(20, 31.5, 255, 74)
TRACE = Rect(20, 119, 255, 30)
LIST = Rect(8, 162, 132, 42)
DETAILS = (Rect(146, 160, 68, 44), Rect(221, 160, 68, 44))
MAGNIFIED = (5, 10, 20, 50, 100, 200, 500, 1000)
"""Scales of the details, paper to work: a difference is shown 2 mm long on paper, if possible."""
FRAMED = 4.0
"""The least width and height of the frame about a stretch, mm of paper."""
MOST_LISTED = 8


class Overlay(Row):
    """One sheet of the comparison.

    Attributes:
        title: "setting 1". one, other: outlines in the part's axes, from the axis to the axis; () for none.
        zones: where they differ. words: one line for each zone. unit: "mm" or "in".
    """

    title: str
    one: Chain
    other: Chain
    zones: tuple[Zone, ...]
    words: tuple[str, ...]
    unit: str


def draw_overlays(a: str, b: str, overlays: Sequence[Overlay]) -> str:
    """Draw one sheet for each pair of outlines, below one another, as SVG.

    A is the thin whole line, B the thick dashed one. Metal that only B has is hatched rising to the right, metal that
    only A has is hatched falling. Below stands how much the radii differ, magnified, with the numbers of the stretches.

    Args:
        a, b: names of the two sides.
        overlays: one for each setting.
    """
    panels = [_lay_out(a, b, overlay, k) for k, overlay in enumerate(overlays)]
    return render_sheets(f"{a} against {b}", panels)


def _lay_out(a: str, b: str, overlay: Overlay, place: int) -> Panel:
    draft = Draft(f"compare-{place + 1}")
    title = fit(clean(f"{overlay.title}: the metal that is left"), SIZES["title"], 270.0, bold=True)
    draft.write("title", 8, 12, title)
    view = _view(overlay)
    draft.window(view, _look(overlay, view))
    _legend(draft, a, b)
    draw_axes(draft, view, overlay.unit)
    draw_ends(draft, view, "A end", "B end", overlay.unit)
    _number(draft, view, overlay)
    _trace(draft, view, overlay)
    _list(draft, overlay)
    _details(draft, overlay)
    said = " ".join(overlay.words) or "No difference over 1 um."
    return draft.panel(f"compare-{place + 1}", HEIGHT * place, f"{title}. A is {a}, B is {b}. {said}")


def _view(overlay: Overlay) -> View:
    low, _, high, radius = bounds((*overlay.one, *overlay.other))
    scale = scale_at_most(min((MAIN.width - 24) / (high - low), (MAIN.height - 18) / radius))
    left = low - (MAIN.width / scale - (high - low)) / 2
    return View(MAIN, scale, left, MAIN.bottom - 3)


def _look(overlay: Overlay, view: View) -> tuple[Layer, ...]:
    layers: list[Layer] = []
    for zone in overlay.zones:
        corners = _between(overlay, zone, view)
        side = "b" if zone.most > 0 else "a"
        layers.append((f"only-{side}", "M" + "L".join(f"{paper(x)} {paper(y)}" for x, y in corners) + "Z"))
        layers.append(("differs", hatch(corners, 1.4, 1 if zone.most > 0 else -1, view.frame)))
    layers.append(("first", view.draw(overlay.one)))
    layers.append(("second", view.draw(overlay.other)))
    layers.append(("axis", view.axis()))
    return tuple(layer for layer in layers if layer[1])


def _between(overlay: Overlay, zone: Zone, view: View) -> list[tuple[float, float]]:
    """Return corners on the paper of the area between the outlines over a stretch."""
    sides = []
    for chain in (overlay.one, overlay.other):
        inner = [p for piece in chain for p in flatten(piece, 0.03 / view.scale) if zone.start < p.z < zone.end]
        inset = min(1e-7, (zone.end - zone.start) / 4)
        ends = [Point(z, radius_at(chain, z)) for z in (zone.start + inset, zone.end - inset)]
        sides.append([ends[0], *inner, ends[1]])
    return [view.place(p) for p in (*sides[0], *reversed(sides[1]))]


def _legend(draft: Draft, a: str, b: str) -> None:
    """Say in words what each line is, beside a drawing of it."""
    for k, (style, name) in enumerate((("first", f"A  {a}"), ("second", f"B  {b}"))):
        left = 8.0 + 140.0 * k
        draft.line(style, (left, 17.2), (left + 14, 17.2))
        draft.write("text", left + 17, 18.2, fit(clean(name), SIZES["text"], 118.0))
    for k, (rise, text) in enumerate(((1, "only B has metal here"), (-1, "only A has metal here"))):
        left = 8.0 + 60.0 * k
        box = Rect(left, 21.0, 14, 4)
        corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
        draft.box("only-b" if rise > 0 else "only-a", box)
        draft.marks.append(("differs", hatch(corners, 1.4, rise, box)))
        draft.write("small", left + 17, 24.0, text)


def _number(draft: Draft, view: View, overlay: Overlay) -> None:
    """Draw a frame about every stretch, large enough to be seen, and its number in a ring with a line down to it."""
    feet = []
    for zone in overlay.zones[:MOST_LISTED]:
        corners = _between(overlay, zone, view)
        (left, right), (top, bottom) = (_apart([c[k] for c in corners]) for k in (0, 1))
        draft.box("marked", Rect(left, top, right - left, bottom - top))
        feet.append(((left + right) / 2, top))
    number_row(draft, view.frame, view.frame.top + 3.6, feet)


def _apart(values: Sequence[float]) -> tuple[float, float]:
    """Return the least and the greatest value, with room beside; at least FRAMED apart."""
    low, high = min(values), max(values)
    more = max((FRAMED - (high - low)) / 2, 0.8)
    return low - more, high + more


def _trace(draft: Draft, view: View, overlay: Overlay) -> None:
    """Draw how much greater B's radius is than A's, along the part, to a scale of its own."""
    # a face that has moved makes a spike as high as the face is: it is left to run out of the frame
    most = max((abs(z.most) for z in overlay.zones if z.faces is None), default=0.0)
    most = most or max((abs(z.most) for z in overlay.zones), default=0.0)
    draft.write("small", TRACE.left, TRACE.top - 1.4, f"radius of B less radius of A, {overlay.unit}")
    middle = TRACE.top + TRACE.height / 2
    per = 0.42 * TRACE.height / most if most else 0.0
    draft.line("leader", (TRACE.left, middle), (TRACE.right, middle))
    half = TRACE.height / 2
    line = [(view.across(z), middle - max(-half, min(half, per * differs))) for z, differs in _differences(overlay)]
    draft.line("leader-bold", *line)
    draft.box("frame", TRACE)
    size = MM_PER_INCH if overlay.unit == "in" else 1.0
    for value in (most, 0.0, -most) if most else (0.0,):
        y = middle - per * value
        draft.line("tick-mark", (TRACE.left - 1.3, y), (TRACE.left, y))
        draft.write("tick", TRACE.left - 1.8, y + 0.9, show_number(value / size, 4, trim=True), "end")


def _differences(overlay: Overlay) -> Iterator[tuple[float, float]]:
    """Yield places along the part and how much greater B's radius is there than A's, mm."""
    ends = (p.z for p in ends_of((*overlay.one, *overlay.other)))
    for low, high in pairwise(sorted({*(z for zone in overlay.zones for z in (zone.start, zone.end)), *ends})):
        inset = min(1e-7, (high - low) / 4)
        for z in (low + inset, *(low + (high - low) * n / 16 for n in range(1, 16)), high - inset):
            yield z, radius_at(overlay.other, z) - radius_at(overlay.one, z)


def _details(draft: Draft, overlay: Overlay) -> None:
    """Draw the two greatest stretches again, magnified until they can be seen."""
    greatest = sorted(range(len(overlay.zones)), key=lambda k: -_size(overlay.zones[k]))
    shown = sorted([k for k in greatest if k < MOST_LISTED][: len(DETAILS)])
    for frame, k in zip(DETAILS, shown, strict=False):
        zone = overlay.zones[k]
        scale = max([s for s in MAGNIFIED if s * _size(zone) <= 12.0 and s <= 2.0 / _size(zone) * 2.5] or MAGNIFIED[:1])
        middle = sum(zone.faces) / 2 if zone.faces is not None else zone.at
        view = view_about(frame, scale, Point(middle, sum(zone.radii) / 2))
        draft.window(view, _look(overlay, view))
        text = f"{k + 1}, drawn {show_number(scale, 2, trim=True)} : 1"
        draft.write("part", frame.left + 1.5, frame.top - 1.2, text)


def _size(zone: Zone) -> float:
    """How much a stretch differs: in the radii, or in the places of its face, mm."""
    return abs(zone.faces[1] - zone.faces[0]) if zone.faces is not None else abs(zone.most)


def _list(draft: Draft, overlay: Overlay) -> None:
    """List every stretch in words, and how many more there are."""
    if not overlay.zones:
        draft.write("verdict", LIST.left, LIST.top, "no radius differs by more than 0.001 mm")
        return
    for k, text in enumerate(overlay.words[:MOST_LISTED]):
        line = fit(clean(f"{k + 1}  {text}"), SIZES["text"], LIST.width)
        draft.write("text", LIST.left, LIST.top + 5.0 * k, line)
    if len(overlay.words) > MOST_LISTED:
        draft.write("text", LIST.left, LIST.top + 5.0 * MOST_LISTED, f"and {len(overlay.words) - MOST_LISTED} more")
