"""What stands round the main window: axes, ends, the strip of sections, the legend."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Iterator, Sequence

from cam.ground.figures import per
from cam.ground.frozen import Row
from cam.ground.units import decimals_of, show_number
from cam.judge.model import Simulation
from cam.part.model import Section
from cam.picture.breaks import Window, pieces_of
from cam.picture.draft import BOLD, SIZES, Draft, clean, fit, text_width, wrap
from cam.picture.labels import label_size, room_in, spread, write_label
from cam.picture.scene import Scene
from cam.picture.sheet import HATCHES, Rect, View, hatch
from cam.plan.model import Plan
from cam.setting.model import Setting

STRIP = 121.0
"""The paper's y of the strip that shows the sections in order."""
STRIP_ROW = Rect(8, STRIP + 7.0, 281, 16)
"""The paper's y of the sections' names."""
LEGEND = Rect(8, 148, 62, 54)
ROOM = 186.0
"""Room for the title and the lines below it, mm of paper."""
RING = 2.6
"""Radius of a number's ring, mm of paper."""


def draw_head(draft: Draft, title: str, rows: Sequence[str], verdict: tuple[str, str], *, refused: bool) -> None:
    """Write title, rows on how the work is held, and the verdict with what it says more."""
    draft.write("title", 8, 13, title)
    lines = [line for row in rows for line in whole_sentences(clean(row), ROOM)]
    for k, line in enumerate(lines):
        draft.write("text", 8, 17.9 + 3.4 * k if len(lines) < 4 else 17.4 + 3.0 * k, line)
    draw_verdict(draft, verdict, refused=refused)


def whole_sentences(text: str, room: float) -> list[str]:
    """Return as many whole sentences as fit into two lines; the beginning of one that does not fit by itself."""
    kept = text
    while len(lines := wrap(kept, SIZES["text"], room)) > 2 and ". " in kept:
        kept = kept[: kept.rindex(". ")]
    return lines if len(lines) <= 2 else [lines[0], fit(" ".join(lines[1:]), SIZES["text"], room)]


def draw_verdict(draft: Draft, verdict: tuple[str, str], *, refused: bool) -> None:
    """Write the verdict and two lines of what it says more in a box at the sheet's upper right."""
    draft.box("refused" if refused else "passed", Rect(200, 7.5, 89, 14))
    draft.write("verdict", 203, 13.2, verdict[0])
    first, *rest = wrap(clean(verdict[1]), SIZES["small"], 83)
    for k, line in enumerate([first, *([fit(" ".join(rest), SIZES["small"], 83)] if rest else [])]):
        draft.write("small", 203, 17.2 + 3.1 * k, line)


def draw_axes(draft: Draft, view: Window, unit: str) -> None:
    """Draw Z below, X as a radius on the left and as a diameter on the right, in the user's unit; the datum is Z0."""
    frame, size = view.frame, per(unit)
    draw_ticks_below(draft, view, "Z", unit)
    step = round_step(9.0 / view.scale / size)
    for k in range(math.floor(view.top_x / size / step) + 1):
        y = view.down(k * step * size)
        draft.line("tick-mark", (frame.left, y), (frame.left - 1.3, y))
        draft.line("tick-mark", (frame.right, y), (frame.right + 1.3, y))
        draft.write("tick", frame.left - 1.8, y + 0.9, show_number(k * step, 3, trim=True), "end")
        draft.write("tick", frame.right + 1.8, y + 0.9, show_number(2 * k * step, 3, trim=True))
    middle = (frame.top + view.axis_y) / 2
    draft.write("small", frame.left - 9.5, middle, f"X as radius, {unit}", "middle", upright=True)
    draft.write("small", frame.right + 13.5, middle, f"diameter, {unit}", "middle", upright=True)


def draw_ticks_below(draft: Draft, view: Window, letter: str, unit: str) -> None:
    """Draw the axis below a window, zero as "Z0" or "X0"; a number that would run into another is left out."""
    frame, size = view.frame, per(unit)
    step, base = round_step(14.0 / view.scale / size), view.frame.bottom + 3.9
    draft.write("small", frame.right + 5, base, f"{letter}, {unit}")
    if view.left_z <= 0.0 <= view.right_z:
        draft.write("part", view.across(0.0), base, f"{letter}0", "middle")
    row = Rect(frame.left - 5.0, frame.bottom, frame.width + 10.0, 6.0)
    for piece in pieces_of(view):
        for k in range(math.ceil(piece.left_z / size / step), math.floor(piece.right_z / size / step) + 1):
            x, text = piece.across(k * step * size), show_number(k * step, 3, trim=True)
            draft.line("tick-mark", (x, frame.bottom), (x, frame.bottom + 1.3))
            wide, high = label_size([("tick", text)])
            if k and room_in(draft, row).is_free(Rect(x - wide / 2, base - high, wide, high)):
                draft.write("tick", x, base, text, "middle")


def round_step(least: float) -> float:
    """The least of 1, 2 or 5 times a power of ten that is not less than least."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * m for m in (1, 2, 5, 10) if power * m >= least * (1 - 1e-9))


def draw_ends(draft: Draft, view: Window, left: str, right: str, unit: str) -> None:
    """Draw which side is which, and a scale bar, in the row above the window."""
    frame, base = view.frame, view.frame.top - 1.6
    draft.write("part", frame.left, base, left)
    draft.write("part", frame.right, base, right, "end")
    bar, text = round_bar(view.scale, 30.0, unit)
    middle = (frame.left + frame.right) / 2
    ends = (middle - bar / 2, middle + bar / 2)
    draft.line("bar", (ends[0], base - 1.8), (ends[0], base), (ends[1], base), (ends[1], base - 1.8))
    draft.write("small", ends[1] + 2, base, f"{text}; drawn {show_ratio(view.scale)} on A4")


def draw_corner_bar(draft: Draft, view: View, unit: str) -> None:
    """Draw a scale bar in a window's lower right corner."""
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
    """Write a window's title and its scale in its upper left corner."""
    draft.write("part", view.frame.left + 1.5, view.frame.top + 3.6, f"{title}, {show_ratio(view.scale)}", plate=True)


def show_ratio(scale: float) -> str:
    """Show a scale in words, "2.5 : 1"."""
    return f"{show_number(scale, 2, trim=True)} : 1"


def round_bar(scale: float, about: float, unit: str) -> tuple[float, str]:
    """Return the length on paper of a round measure near `about` mm of paper, and its text."""
    size = per(unit)
    value = round_step(about / scale / size / 2)
    return value * size * scale, f"{show_number(value, 3, trim=True)} {unit}"


def draw_strip(draft: Draft, view: Window, plan: Plan, setting: Setting) -> None:
    """Draw the sections in order between the letters of the ends: filled ones are turned in this setting."""
    turned = {t.section.name: t for t in setting.turned}
    wanted: list[Named] = []
    for name, start, end in _stretches(plan.part.sections):
        a, b = sorted(view.across(setting.to_setting(z)) for z in (start, end))
        now = turned.get(name)
        sizes = [bare_size(2 * r, plan.part.unit) for r in (now.radius_near, now.radius_far)] if now else []
        wanted.append(draw_stretch(draft, a, b, name, now=now is not None, sizes=sizes))
    ends = {"A": view.across(setting.to_setting(0.0)), "B": view.across(setting.to_setting(plan.part.length))}
    for letter, face in ends.items():
        x = face + (5.0 if face == max(ends.values()) else -5.0)
        draft.ring("end-now" if letter == setting.end else "end-ring", x, STRIP, 3.2)
        draft.write("end", x, STRIP + 1.55, letter, "middle")
    name_strip(draft, wanted)


def _stretches(sections: Sequence[Section]) -> Iterator[tuple[str, float, float]]:
    """Return name and ends of every section; those whose faces are to be measured as one stretch."""
    names: list[str] = []
    start = 0.0
    for section in sections:
        names.append(section.name)
        if not math.isnan(section.end):
            yield (names[0] if len(names) == 1 else f"{', '.join(names)}: to be measured"), start, section.end
            names, start = [], section.end


def bare_size(mm: float, unit: str) -> str:
    """Show a size without its unit, to a micrometre or a tenth of a thou."""
    return show_number(mm / per(unit), decimals_of(unit), trim=True)


class Named(Row):
    """A section of the strip to be named: its middle on the paper, its letters' style, its name and size."""

    x: float
    style: str
    name: str
    size: str


def draw_stretch(draft: Draft, a: float, b: float, name: str, *, now: bool, sizes: Iterable[str]) -> Named:
    """Draw a section of the strip from a to b, mm of paper, filled where it is cut now; return how it is named."""
    draft.box("strip-now" if now else "strip", Rect(a, STRIP - 1.6, b - a, 3.2))
    size = " to ".join(dict.fromkeys(sizes))
    return Named((a + b) / 2, "part" if now else "small", name, f"\u00f8 {size}" if size else "")


def name_strip(draft: Draft, wanted: list[Named]) -> None:
    """Write names below the strip, each with a line to its section; without room for that, numbers and a list."""
    wanted = sorted(wanted)
    room = (STRIP_ROW.width - 2.0 * len(wanted)) / max(len(wanted), 1)
    labels = [_in_lines(item, max(room, 30.0)) for item in wanted]
    sizes = [label_size(lines) for lines in labels]
    places = spread([n.x for n in wanted], [wide + 3.0 for wide, _ in sizes], STRIP_ROW.left, STRIP_ROW.right)
    if places is None or not all(map(_is_whole, labels)):
        _number_strip(draft, wanted)
        return
    for item, lines, (wide, high), middle in zip(wanted, labels, sizes, places, strict=True):
        box = Rect(middle - wide / 2, STRIP_ROW.top, wide, high)
        at = min(max(item.x, box.left + 1.0), box.right - 1.0)
        _fan(draft, item.x, STRIP + 1.6, at, box.top - 0.6)
        write_label(draft, box, lines)


def _in_lines(item: Named, room: float) -> list[tuple[str, str]]:
    """Return a section's name, in two lines where it is long, and its size."""
    name, size = clean(item.name), SIZES[item.style] * (1.1 if item.style in BOLD else 1.0)
    rows = [(item.style, line) for line in wrap(name, size, min(room, 60.0))]
    return [*rows, *([("small", item.size)] if item.size else [])]


def _is_whole(lines: list[tuple[str, str]]) -> bool:
    """Tell whether a label of at most four lines says all of a name and its size."""
    return len(lines) <= 4 and "...".join(text for _, text in lines).count("...") < len(lines)


def _fan(draft: Draft, x: float, y: float, to_x: float, to_y: float) -> None:
    """Draw a thin line from a section to its label, upright at first, so that no two lines cross."""
    elbow = to_y - math.copysign(min(3.6, 0.7 * abs(to_y - y)), to_y - y)
    draft.line("leader", (x, y), (x, elbow), (to_x, to_y), under=True)
    draft.leaders += [((x, elbow), (x, y)), ((to_x, to_y), (x, elbow))]


def _number_strip(draft: Draft, wanted: list[Named]) -> None:
    """Give each section a number, and list in columns below what the numbers stand for."""
    base = number_row(draft, STRIP_ROW, STRIP + 7.5, [(n.x, STRIP + 1.6) for n in wanted]) + 3.6
    most = int((LEGEND.top - 1.5 - base) / 3.4) + 1
    columns = max(math.ceil(len(wanted) / most), 2)
    rows, wide = math.ceil(len(wanted) / columns), STRIP_ROW.width / columns
    for k, item in enumerate(wanted):
        left, y = STRIP_ROW.left + wide * (k // rows), base + 3.4 * (k % rows)
        size = SIZES[item.style]
        room = wide - 10.0 - text_width(item.size, SIZES["small"])
        name = fit(clean(item.name), size, room, bold=item.style in BOLD)
        draft.write("part", left + 5.0, y, f"{k + 1}", "end")
        draft.write(item.style, left + 7.0, y, name)
        if item.size:
            after = left + 8.5 + text_width(name, size, bold=item.style in BOLD)
            draft.write("small", after, y, item.size)


def number_row(draft: Draft, row: Rect, y: float, feet: Sequence[tuple[float, float]], first: int = 1) -> float:
    """Draw numbers in rings side by side, each with a line to its foot.

    Args:
        row: where they may stand. y: of the rings' middles. feet: places on the paper, from the left.
        first: the first number.

    Returns:
        The lower edge of the rings.
    """
    places = spread([x for x, _ in feet], [2 * RING + 0.6] * len(feet), row.left, row.right)
    for k, ((x, foot), at) in enumerate(zip(feet, places or [x for x, _ in feet], strict=True), first):
        _fan(draft, x, foot, at, y + (RING if foot > y else -RING))
        draft.ring("end-ring", at, y, RING)
        draft.write("part", at, y + 1.0, f"{k}", "middle")
    return y + RING


def draw_legend(draft: Draft, scene: Scene, simulation: Simulation | None) -> None:
    """Draw every style that the sheet uses, with its words."""
    there = {item.style for item in (*scene.below, *scene.tool, *scene.overlap)}
    kept = "left by this program" if simulation else "wanted after this setting"
    rows = [
        ("work", f"{kept}, in section"), ("stock", "before this setting"), ("wanted", "wanted outline"),
        ("solid", "must not be touched"), ("guess", "headstock centre, size not known"),
        ("finish", "finishing cut (nose centre)"),
        ("cut", "roughing cut (nose centre)"), ("approach", "careful approach at feed"), ("rapid", "rapid"),
        ("tool", "cutting part of the tool"),
        ("holder", "holder and tool post"), ("overlap", "tool inside something solid"),
        ("strip-now", "section turned in this setting"), ("strip", "section turned otherwise"),
    ]  # fmt: skip
    draw_rows(draft, rows, {*there, "strip-now", "strip"})


def draw_rows(draft: Draft, rows: Sequence[tuple[str, str]], there: Container[str]) -> None:
    """Draw the styles that are there, each with what it stands for."""
    rows = [row for row in rows if row[0] in there]
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
