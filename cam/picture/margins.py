"""What stands round the main window: axes, ends, the strip of sections, the legend."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.part.model import Section
from cam.picture.draft import BOLD, SIZES, Draft, clean, fit, text_width
from cam.picture.scene import Scene
from cam.picture.sheet import HATCHES, Rect, View, hatch
from cam.plan.model import Plan
from cam.setting.model import Setting
from cam.simulate.model import Simulation
from cam.units import show_number

STRIP = 121.0
"""The paper's y of the strip that shows the sections in order."""
LEGEND = Rect(8, 148, 62, 54)


def draw_axes(draft: Draft, view: View, unit: str) -> None:
    """Draw Z below, X as a radius on the left and as a diameter on the right, in the user's unit; the datum is Z0."""
    frame, size = view.frame, 25.4 if unit == "in" else 1.0
    step = round_step(14.0 / view.scale / size)
    for k in range(math.ceil(view.left_z / size / step), math.floor(view.right_z / size / step) + 1):
        x = view.across(k * step * size)
        draft.line("tick-mark", (x, frame.bottom), (x, frame.bottom + 1.3))
        if k:
            draft.write("tick", x, frame.bottom + 3.9, show_number(k * step, 3, trim=True), "middle")
    at = view.across(0)
    if frame.left <= at <= frame.right:
        draft.write("part", at, frame.bottom + 4.0, "Z0", "middle")
    draft.write("small", frame.right + 5, frame.bottom + 4.0, f"Z, {unit}")
    step = round_step(9.0 / view.scale / size)
    for k in range(math.floor(view.top_x / size / step) + 1):
        y = view.down(k * step * size)
        draft.line("tick-mark", (frame.left, y), (frame.left - 1.3, y))
        draft.line("tick-mark", (frame.right, y), (frame.right + 1.3, y))
        draft.write("tick", frame.left - 1.8, y + 0.9, show_number(k * step, 3, trim=True), "end")
        draft.write("tick", frame.right + 1.8, y + 0.9, show_number(2 * k * step, 3, trim=True))
    middle = (frame.top + view.axis_y) / 2
    draft.write("small", 10.5, middle, f"X as radius, {unit}", "middle", upright=True)
    draft.write("small", 288.5, middle, f"diameter, {unit}", "middle", upright=True)


def round_step(least: float) -> float:
    """The least of 1, 2 or 5 times a power of ten that is not less than least."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * m for m in (1, 2, 5, 10) if power * m >= least * (1 - 1e-9))


def draw_ends(draft: Draft, view: View, left: str, right: str, unit: str) -> None:
    """Draw which side is which, and a bar to measure by, in the row above the window."""
    frame, base = view.frame, view.frame.top - 1.6
    draft.write("part", frame.left, base, left)
    draft.write("part", frame.right, base, right, "end")
    bar, text = round_bar(view.scale, 30.0, unit)
    middle = (frame.left + frame.right) / 2
    ends = (middle - bar / 2, middle + bar / 2)
    draft.line("bar", (ends[0], base - 1.8), (ends[0], base), (ends[1], base), (ends[1], base - 1.8))
    draft.write("small", ends[1] + 2, base, f"{text}; drawn {show_ratio(view.scale)} on A4")


def draw_corner_bar(draft: Draft, view: View, unit: str) -> None:
    """A bar to measure by, in a window's lower right corner."""
    frame = view.frame
    bar, text = round_bar(view.scale, 25.0, unit)
    base = frame.bottom - 2.2
    plate = Rect(frame.right - bar - 4, base - 5.6, bar + 3.4, 7.2)
    draft.plate(plate)
    draft.taken.append(plate)
    ends = (frame.right - bar - 3, frame.right - 3)
    draft.line("bar", (ends[0], base - 1.6), (ends[0], base), (ends[1], base), (ends[1], base - 1.6))
    draft.write("small", frame.right - 3 - bar / 2, base - 2.2, text, "middle")


def draw_title(draft: Draft, view: View, title: str) -> None:
    """A window's title and its scale, in its upper left corner."""
    draft.write("part", view.frame.left + 1.5, view.frame.top + 3.6, f"{title}, {show_ratio(view.scale)}", plate=True)


def show_ratio(scale: float) -> str:
    """A scale in words, "2.5 : 1"."""
    return f"{show_number(scale, 2, trim=True)} : 1"


def round_bar(scale: float, about: float, unit: str) -> tuple[float, str]:
    """Length on paper of a round measure near about mm of paper, and its text."""
    size = 25.4 if unit == "in" else 1.0
    value = round_step(about / scale / size / 2)
    return value * size * scale, f"{show_number(value, 3, trim=True)} {unit}"


def draw_strip(draft: Draft, view: View, plan: Plan, setting: Setting) -> None:
    """The sections in order between the letters of the ends: filled ones are turned in this setting."""
    turned = {t.section.name: t for t in setting.turned}
    wanted: list[tuple[float, list[tuple[str, str]]]] = []
    for name, start, end in _stretches(plan.part.sections):
        a, b = sorted(view.across(setting.to_setting(z)) for z in (start, end))
        now = turned.get(name)
        draft.box("strip-now" if now else "strip", Rect(a, STRIP - 1.6, b - a, 3.2))
        room = min(60.0, 800.0 / len(plan.part.sections))
        rows = [("part" if now else "small", fit(clean(name), SIZES["part"], room, bold=True))]
        if now:
            near, far = (show_number(_in(2 * r, plan.part.unit), 4 if plan.part.unit == "in" else 3, trim=True)
                         for r in (now.radius_near, now.radius_far))  # fmt: skip
            rows.append(("small", f"\u00f8 {near}" if near == far else f"\u00f8 {near} to {far}"))
        wanted.append(((a + b) / 2, rows))
    ends = {"A": view.across(setting.to_setting(0.0)), "B": view.across(setting.to_setting(plan.part.length))}
    for letter, face in ends.items():
        x = face + (5.0 if face == max(ends.values()) else -5.0)
        draft.ring("end-now" if letter == setting.end else "end-ring", x, STRIP, 3.2)
        draft.write("end", x, STRIP + 1.55, letter, "middle")
    label_row(draft, wanted)


def _stretches(sections: Sequence[Section]) -> Iterator[tuple[str, float, float]]:
    """Name and ends of every section; those whose faces are to be measured as one stretch."""
    names: list[str] = []
    start = 0.0
    for section in sections:
        names.append(section.name)
        if not math.isnan(section.end):
            yield (names[0] if len(names) == 1 else f"{', '.join(names)}: to be measured"), start, section.end
            names, start = [], section.end


def _in(value: float, unit: str) -> float:
    return value / 25.4 if unit == "in" else value


def label_row(draft: Draft, wanted: list[tuple[float, list[tuple[str, str]]]]) -> None:
    """Names below the strip, each in the first of three rows where it has room, with a line up to its section."""
    reached = [0.0, 0.0, 0.0]
    placed: list[tuple[float, float, list[tuple[str, str]]]] = []
    for x, rows in sorted(wanted):
        room = max(text_width(t, SIZES[s], bold=s in BOLD) for s, t in rows) + 2.0
        left = min(max(x - room / 2, 8.0), 289.0 - room)
        row = next((k for k, end in enumerate(reached) if left >= end), None)
        if row is None:
            row = min(range(3), key=lambda k: reached[k])
            left = min(reached[row], 289.0 - room)
        reached[row] = left + room
        base = STRIP + 6.0 + 6.6 * row
        at = min(max(x, left + 1.0), left + room - 1.0)
        draft.line("leader", (x, STRIP + 1.6), (at, base - 2.7), under=True)
        placed.append((left + room / 2, base, rows))
    for middle, base, rows in placed:
        for k, (style, text) in enumerate(rows):
            draft.write(style, middle, base + 3.0 * k, text, "middle", plate=True)


def draw_legend(draft: Draft, scene: Scene, simulation: Simulation | None) -> None:
    """Draw every style that the sheet uses, with its words."""
    there = {item.style for item in (*scene.below, *scene.tool, *scene.overlap)}
    kept = "left by this program" if simulation else "wanted after this setting"
    rows: Sequence[tuple[str, str]] = [
        ("work", f"{kept}, in section"), ("stock", "before this setting"), ("wanted", "wanted outline"),
        ("solid", "must not be touched"), ("guess", "headstock centre, size not known"),
        ("finish", "finishing cut (nose centre)"),
        ("cut", "roughing cut (nose centre)"), ("approach", "careful approach at feed"), ("rapid", "rapid"),
        ("tool", "cutting part of the tool"),
        ("holder", "holder and tool post"), ("overlap", "tool inside something solid"),
    ]  # fmt: skip
    rows = [row for row in rows if row[0] in there]
    draw_rows(draft, [*rows, ("strip-now", "section turned in this setting"), ("strip", "section turned otherwise")])


def draw_rows(draft: Draft, rows: Sequence[tuple[str, str]]) -> None:
    """Styles, each with what it stands for."""
    step = min(4.6, (LEGEND.height - 2) / len(rows))
    for k, (style, text) in enumerate(rows):
        middle = LEGEND.top + step * (k + 0.5)
        box = Rect(LEGEND.left, middle - 1.5, 12, 3)
        if style in ("stock", "wanted", "finish", "cut", "approach", "rapid", "bearing", "thread"):
            draft.line(style, (box.left, middle), (box.right, middle))
        else:
            draft.box(style, box)
        if style in HATCHES:
            corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
            draft.marks.append((f"{style}-hatch", hatch(corners, *HATCHES[style], box)))
            draft.box(f"{style}-edge", box)
        draft.write("small", LEGEND.left + 14, middle + 0.9, text)
