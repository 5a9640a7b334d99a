"""One sheet of the milling: from the side in its block with the cutter, end-on as it was left, closest approach."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.geometry.path import Arc, Line, Point
from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, show_number
from cam.judge.mill import radius_at
from cam.judge.model import Finding
from cam.mill.done import MillDone, MillWorkDone
from cam.mill.plan_hole import CrossHolePlan, HoleTask
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.picture.breaks import HALF, BrokenView, Window, break_view, place_pieces, widest_frame
from cam.picture.draft import SIZES, Draft, Layer, Panel, clean, fit, text_width, wrap
from cam.picture.labels import label_beside
from cam.picture.margins import (
    STRIP,
    Named,
    draw_corner_bar,
    draw_ends,
    draw_rows,
    draw_ticks_below,
    draw_title,
    name_strip,
    round_step,
)
from cam.picture.marks import box_lines, dimension, length_words, name_solids, ring_marks, seen_boxes
from cam.picture.mill_scene import (
    MillScene,
    bore_shapes,
    bores_of,
    outline_across,
    set_mill_scene,
)
from cam.picture.panel import DETAILS, MAIN, drawn, open_window, whole_sentences
from cam.picture.scene import Shape, shape
from cam.picture.sheet import Rect, View, paper, scale_at_most, straight
from cam.setting.milled import Solid
from cam.shop.mill import Mill
from posts.pages.mill_sheet import name_of

MOST_LISTED, MOST_MARKED = 5, 9
CLOSE = "the closest approach"
ROOM = 186.0
"""Room for the title and the lines below it, mm of paper."""


class MillPanel(Row):
    """What one sheet shows, and in what unit."""

    part: str
    mill: Mill
    work: MillWorkDone
    scene: MillScene
    unit: str

    def size(self, mm: float) -> str:
        """Show a length without its unit, to a micrometre or a tenth of a thou."""
        return show_number(mm / (MM_PER_INCH if self.unit == "in" else 1.0), 4 if self.unit == "in" else 3, trim=True)


def lay_out_mill(part: str, unit: str, job: MillDone, work: MillWorkDone, above: float) -> Panel:
    """Place one of the mill's programs on its sheet.

    Args:
        part: its name. unit: "mm" or "in". above: height in the picture at which the sheet begins, mm.
    """
    sheet = MillPanel(part, job.mill, work, set_mill_scene(work), unit)
    draft = Draft(work.name)
    view = side_view(sheet.scene)
    rows = _head(draft, sheet)
    open_window(draft, view, lambda piece: _look(sheet.scene, piece))
    _axes(draft, view, sheet)
    _strip(draft, view, sheet)
    _place_of_hole(draft, view, sheet)
    if work.simulation.findings:
        spots = _spots(sheet.scene, view)
        _list(draft, view, sheet, spots)
        _mark(draft, view, spots, 2.6)
    elif sheet.scene.near is not None:
        _say_near(draft, view, sheet)
    name_solids(draft, view, (*sheet.scene.below, *sheet.scene.tool))
    _end_on(draft, sheet)
    _magnified(draft, view, sheet)
    _legend(draft, sheet)
    return work.name, paper(above), clean(" ".join(rows)), draft.frames, [*draft.plates, *draft.marks], draft.texts


def side_view(scene: MillScene) -> BrokenView:
    """Return the view from the side: work, what holds it, and some of the cutter, broken so that the work is large."""
    ends, work = (scene.low.z - 4.0, scene.high.z + 10.0), [s for s in scene.below if s.style == "work"]
    part = (min(s.low.z for s in work), max(s.high.z for s in work))
    per = (part[1] - part[0]) / (HALF * MAIN.width)  # mm of work per mm of paper where the work fills half
    high, low = max(s.high.x for s in work), min(s.low.x for s in work) - 11.0 * per
    near = max((p.x + 4.0 for p in scene.near or ()), default=0.0)
    tall = max(near if near - low < MAIN.height * per else 0.0, high + 0.5 * (high - low))
    most = MAIN.height / (tall - low)
    shapes = [s for s in scene.below if s.style not in ("jaws", "rapid")]
    places = [f.at for f in scene.findings if f.at is not None]
    scale, shown = break_view(MAIN, part, most, ends, shapes, scene.tool, [*(scene.near or ()), *places])
    return place_pieces(MAIN, scale, shown, MAIN.bottom + low * scale)


# ---- head ------------------------------------------------------------------------------------------


def _head(draft: Draft, sheet: MillPanel) -> list[str]:
    """Write title, hold, zeros, verdict; return the sentences for readers who cannot see it."""
    title = f" - {clean(name_of(sheet.work))}, {sheet.work.file}"
    room = ROOM - text_width(title, SIZES["title"], bold=True)
    name = fit(clean(sheet.part), SIZES["title"], max(room, 20.0), bold=True)
    name = fit(name + title, SIZES["title"], ROOM, bold=True)
    draft.write("title", 8, 13, name)
    rows = [_hold_words(sheet), _tool_words(sheet)]
    lines = [line for row in rows for line in whole_sentences(clean(row), ROOM)]
    for k, line in enumerate(lines):
        draft.write("text", 8, 17.9 + 3.4 * k if len(lines) < 4 else 17.4 + 3.0 * k, line)
    said, detail = _verdict(sheet)
    draft.box("refused" if sheet.work.simulation.findings else "passed", Rect(200, 7.5, 89, 14))
    draft.write("verdict", 203, 13.2, said)
    for k, line in enumerate(wrap(clean(detail), SIZES["small"], 83)[:2]):
        draft.write("small", 203, 17.2 + 3.1 * k, line)
    return [f"{name}.", *rows, f"{said}. {detail}."]


def _hold_words(sheet: MillPanel) -> str:
    hold, plan = sheet.work.asked.asked.hold, sheet.work.plan
    way = "level"
    if isinstance(plan, SquarePlan) and plan.tip is not None and plan.tip.shim:
        way = f"tipped: shim of {sheet.size(plan.tip.shim)} {sheet.unit} under the end toward the tip"
    elif sheet.mill.square_by == "rotary axis":
        way = "a rotary axis, level"
    return f"{sheet.mill.block.name}, {way}; collet on {hold.section}, {sheet.size(hold.length)} {sheet.unit} of it"


def _tool_words(sheet: MillPanel) -> str:
    task = sheet.work.task
    if isinstance(task, SquareTask):
        c = task.cutter
        edge = "the undercut's edge toward the tip" if task.groove else "the shoulder"
        return f"T{c.number} {c.name}, {task.rpm:.0f} rpm; flat 1 on top. Zero: X {edge}, Y and Z the axis."
    tools = [c for c in (task.flat[0] if task.flat else None, task.spot, task.drill, task.tap) if c is not None]
    shoulder = getattr(sheet.work.asked, "shoulder", "the shoulder")
    return f"{'; '.join(f'T{c.number} {c.name}' for c in tools)}. Zero: X {shoulder}, Y and Z the axis."


def _verdict(sheet: MillPanel) -> tuple[str, str]:
    simulation = sheet.work.simulation
    if simulation.findings:
        count = len(simulation.findings)
        return "REFUSED", f"{count} finding{'s' if count > 1 else ''}; {sheet.work.file} must not be cut"
    near = simulation.closest
    if near is None:
        return "nothing moves", "the program makes no motion"
    said = f"clears by {length_words(near.distance, sheet.unit)}"
    return said, f"{near.body} to {near.obstacle}, {sheet.work.file}, line {simulation.closest_line}"


# ---- the side view ---------------------------------------------------------------------------------


def _look(scene: MillScene, view: View) -> Iterator[Layer]:
    for item in (*scene.below, *scene.tool):
        yield from drawn(item, view)
    yield "axis", view.draw((Line(Point(view.left_z, 0), Point(view.right_z, 0)),))
    yield "datum", view.draw((Line(Point(0, view.bottom_x), Point(0, view.top_x)),))


def _axes(draft: Draft, view: BrokenView, sheet: MillPanel) -> None:
    """Draw X below and Z at the left, in the user's unit, the place of the work's tip, and a scale bar."""
    frame, unit = view.frame, sheet.unit
    size = MM_PER_INCH if unit == "in" else 1.0
    draw_ticks_below(draft, view, "X", unit)
    step = round_step(9.0 / view.scale / size)
    for k in range(math.ceil(view.bottom_x / size / step), math.floor(view.top_x / size / step) + 1):
        y = view.down(k * step * size)
        draft.line("tick-mark", (frame.left, y), (frame.left - 1.3, y))
        draft.write("tick", frame.left - 1.8, y + 0.9, show_number(k * step, 3, trim=True), "end")
    draft.write("small", 10.5, (frame.top + frame.bottom) / 2, f"Z, {unit}", "middle", upright=True)
    draw_ends(draft, view, "from the side", "tip", unit)


def _strip(draft: Draft, view: BrokenView, sheet: MillPanel) -> None:
    """Draw the work's sections that stand out of the collet, in order; filled where this program cuts."""
    work = sheet.work.plan.work
    wanted: list[Named] = []
    for s in work.sections:
        cut = (work.square is not None and s is work.sections[-1]) or any(s.start <= h.x <= s.end for h in work.holes)
        a, b = (view.across(work.frame.to_machine(x, 0.0)[0]) for x in (s.start, s.end))
        draft.box("strip-now" if cut else "strip", Rect(a, STRIP - 1.6, b - a, 3.2))
        wanted.append(Named((a + b) / 2, "part" if cut else "small", s.name, f"\u00f8 {sheet.size(2 * s.top)}"))
    name_strip(draft, wanted)


def _place_of_hole(draft: Draft, view: BrokenView, sheet: MillPanel) -> None:
    """Draw the distance from the shoulder that X counts from to the hole, as a dimension below the work."""
    plan = sheet.work.plan
    if not isinstance(plan, CrossHolePlan):
        return
    y = view.down(-plan.work.top) + 5.0
    ends = ((view.across(0.0), y), (view.across(plan.hole.x), y))
    draft.line("leader-bold", *ends)
    draft.rules.append(ends)
    for end in ends:
        draft.line("tick-mark", (end[0], y - 1.5), (end[0], y + 1.5))
    middle, lines = (ends[0][0] + ends[1][0]) / 2, [("part", sheet.size(abs(plan.hole.x)))]
    far = abs(ends[0][0] - ends[1][0]) / 2 + 5.0
    spots = [(middle, y + 3.0), (middle - far, y + 3.0), (middle + far, y + 3.0)]
    label_beside(draft, view.frame, lines, spots)


def _say_near(draft: Draft, view: BrokenView, sheet: MillPanel) -> None:
    """Write the least distance in large letters, and what it is between, with a line to the place."""
    near, scene = sheet.work.simulation.closest, sheet.scene
    assert near is not None
    assert scene.near is not None
    below = f"{near.body} to {near.obstacle}, line {sheet.work.simulation.closest_line}"
    if near.distance - math.dist(*scene.near) > 0.02 * max(near.distance, 0.1):
        below += "; partly along Y"
    text, covers = length_words(near.distance, sheet.unit), seen_boxes(view, (*scene.below, *scene.tool))
    dimension(draft, view, scene.near, [("distance", text), ("small", below)], covers)


# ---- what must not be ------------------------------------------------------------------------------


Spot = tuple[int, Finding]
"""A mark: its number and its finding."""


def _spots(scene: MillScene, view: Window) -> list[Spot]:
    """Return the findings that are marked, the worst first; near ones share a mark."""
    spots: list[Spot] = []
    taken: list[tuple[float, float]] = []
    for f in scene.findings:
        x, y = view.place(_place(f))
        inside = view.frame.left < x < view.frame.right and view.frame.top < y < view.frame.bottom
        if inside and all(math.hypot(x - a, y - b) > 6.0 for a, b in taken):
            spots.append((len(spots) + 1, f))
            taken.append((x, y))
    return spots[:MOST_MARKED]


def _place(finding: Finding) -> Point:
    assert finding.at is not None  # findings of a scene have a place
    return finding.at


def _mark(draft: Draft, view: Window, spots: Sequence[Spot], size: float) -> None:
    """Draw a ring with four strokes about each place that a view sees whole, and its number."""
    seen, reach, frame = [], size + 1.8, view.frame
    for number, finding in spots:
        x, y = view.place(_place(finding))
        if frame.left + reach < x < frame.right - reach and frame.top + reach < y < frame.bottom - reach:
            seen.append((number, x, y))
    ring_marks(draft, frame, seen, size)


def _list(draft: Draft, view: Window, sheet: MillPanel, spots: Sequence[Spot]) -> None:
    """List the sentences, each once, the marked ones with their number, in the half without the worst."""
    size, room, frame = SIZES["small"], 112.0, widest_frame(view, 120.0)
    first = view.place(_place(spots[0][1]))[0] if spots else frame.right
    left = frame.left + 3 if first > frame.left + frame.width / 2 else frame.right - room - 3
    numbers = {f.what: str(number) for number, f in reversed(spots)}
    found: dict[str, list[int]] = {f.what: [] for _, f in spots}
    for f in sheet.work.simulation.findings:
        found.setdefault(f.what, []).append(f.line)
    lines: list[tuple[str, str]] = []
    for what, places in list(found.items())[:MOST_LISTED]:
        at = sorted({p for p in places if p})
        more = f" and {len(at) - 4} more" if len(at) > 4 else ""
        where = f"line{'s' if len(at) > 1 else ''} {', '.join(map(str, at[:4]))}{more}: " if at else ""
        sentence = wrap(clean(where + what), size, room - 6)[:3]
        lines += [(numbers.get(what, "*") if n == 0 else "", line) for n, line in enumerate(sentence)]
    if len(found) > MOST_LISTED:
        lines.append(("", f"and {len(found) - MOST_LISTED} more"))
    box_lines(draft, left, frame.top, room, lines)


# ---- end-on ----------------------------------------------------------------------------------------


def circle(style: str, diameter: float) -> Shape:
    """Return a circle about the axis."""
    at = Point(diameter / 2, 0.0)
    return shape(style, (Arc(at, at, Point(0.0, 0.0), 1),))


def _end_on(draft: Draft, sheet: MillPanel) -> None:
    """Draw the section across the axis, seen from the tip: at the square's station, or through the hole."""
    plan, frame = sheet.work.plan, DETAILS[0]
    square = isinstance(plan, SquarePlan)
    x = plan.milled.station if isinstance(plan, SquarePlan) else plan.hole.x
    own = plan.work.sections[-1] if isinstance(plan, SquarePlan) else plan.work.section_at(x)
    assert own is not None
    circles = list(_circles(sheet, own))
    widest = max(2 * own.top, *(s.high.z * 2 for s in circles))
    scale = scale_at_most(0.88 * frame.height / widest)
    view = View(frame, scale, -(frame.width * 0.32) / scale, frame.top + frame.height / 2 + 1.5)
    shapes = [shape("work", outline_across(sheet.work, x), solid=True), *circles]
    if not square:
        for bore in bores_of(sheet.work):
            if abs(bore.x - x) < own.top:
                shapes += bore_shapes(sheet.work, bore, own.top, 0.0)
    layers = [layer for item in shapes for layer in drawn(item, view)]
    for ends in (((-widest, 0.0), (widest, 0.0)), ((0.0, -widest), (0.0, widest))):
        layers.append(("axis", view.draw(straight(*ends))))
    draft.window(view, tuple(layers))
    distance = x + (sheet.work.task.groove if isinstance(sheet.work.task, SquareTask) else 0.0)
    place = f"{sheet.size(distance)} {sheet.unit} from the shoulder" if square else "through the hole"
    draw_title(draft, view, f"from the tip, {place}")
    draw_corner_bar(draft, view, sheet.unit)
    lines = _square_lines(sheet, plan, own) if isinstance(plan, SquarePlan) else _hole_lines(sheet)
    _write_lines(draft, frame, lines, 0.66)
    if isinstance(plan, SquarePlan):
        _number_flats(draft, view, sheet, plan)


def _circles(sheet: MillPanel, own: Solid) -> Iterator[Shape]:
    """Return the round that it was cut from, and the bearing that it must pass."""
    yield circle("stock", 2 * own.top)
    task = sheet.work.task
    if isinstance(task, SquareTask) and task.bearing is not None:
        yield circle("bearing", task.bearing)


def _number_flats(draft: Draft, view: View, sheet: MillPanel, plan: SquarePlan) -> None:
    """Write the flats' numbers inside the section, and the size across flat 1 and its opposite as a dimension."""
    half = plan.milled.across / 2
    for k in range(plan.milled.flats):
        turn = 2 * math.pi * k / plan.milled.flats
        at = max(half - 4.0 / view.scale, 0.5 * half)
        x, y = view.place(Point(at * math.sin(turn), at * math.cos(turn)))
        draft.write("part", x, y + 1.0, str(k + 1), "middle", plate=True)
    top, foot = (view.down(side * half) for side in (1, -1))
    across = view.across(-max(sheet.work.plan.work.sections[-1].top, _widest(sheet) / 2)) - 4.0
    for y in (top, foot):
        draft.line("leader", (across - 1.5, y), (view.across(0.0), y), under=True)
        draft.ring("spot", across, y, 0.5)
    draft.line("leader-bold", (across, top), (across, foot))
    text = sheet.size(_across(sheet, plan, 0))
    draft.write("part", across - 1.2, (top + foot) / 2, text, "middle", upright=True, plate=True)


def _widest(sheet: MillPanel) -> float:
    task = sheet.work.task
    return task.bearing if isinstance(task, SquareTask) and task.bearing is not None else 0.0


def _across(sheet: MillPanel, plan: SquarePlan, pair: int) -> float:
    """Size over the middles of two opposite flats at the station, as the text left them, mm."""
    turn, faces = 360.0 * pair / plan.milled.flats, sheet.work.simulation.faces
    return sum(radius_at(faces, plan.work, plan.milled.station, turn + half) for half in (0.0, 180.0))


def _square_lines(sheet: MillPanel, plan: SquarePlan, own: Solid) -> list[str]:
    """Return the sizes of the square as the text left them."""
    s, task = plan.milled, sheet.work.task
    pairs = range(s.flats // 2)
    rows = ["across flats, as cut:"]
    rows += [f"{k + 1} and {k + 1 + s.flats // 2}: {sheet.size(_across(sheet, plan, k))} {sheet.unit}" for k in pairs]
    corner, faces = 180.0 / s.flats, sheet.work.simulation.faces
    over = sum(radius_at(faces, plan.work, s.station, corner + half) for half in (0.0, 180.0))
    rows.append(f"over corners {sheet.size(over)}")
    rows.append(f"cut from \u00f8 {sheet.size(2 * own.top)}")
    if isinstance(task, SquareTask) and task.bearing is not None:
        rows.append(f"bearing \u00f8 {sheet.size(task.bearing)}")
    if s.slope:
        rows.append(f"falls {show_number(s.slope, 5, trim=True)} a side")
    return rows


def _hole_lines(sheet: MillPanel) -> list[str]:
    """Return the hole's sizes as the text left it, and what stays of the body."""
    plan, task = sheet.work.plan, sheet.work.task
    assert isinstance(plan, CrossHolePlan)
    assert isinstance(task, HoleTask)
    body = plan.work.section_at(plan.hole.x)
    assert body is not None
    rows = [f"drill \u00f8 {sheet.size(task.drill.diameter)} {sheet.unit}"]
    if task.thread is not None:
        rows.insert(0, task.thread.name)
    for bore in bores_of(sheet.work):
        if not plan.hole.through:
            point = body.top - bore.tip
            rows.append(f"full to {sheet.size(point - task.drill.point_length)}, point {sheet.size(point)}")
            rows.append(f"below the point {sheet.size(2 * body.top - point)}")
        else:
            rows.append("right through")
    if plan.depths is not None:
        rows.append(f"full thread to {sheet.size(plan.depths.thread)}")
    rows.append(f"{100 * plan.net.area:.0f} % of the section stays")
    rows.append(f"least wall {sheet.size(plan.net.wall)}")
    return rows


def _write_lines(draft: Draft, frame: Rect, lines: Sequence[str], share: float) -> None:
    """Write lines at the right of a window."""
    left, room = frame.left + share * frame.width, (1 - share) * frame.width - 2.0
    flat = [piece for line in lines for piece in wrap(clean(line), SIZES["small"], room)][:12]
    for k, line in enumerate(flat):
        draft.write("small", left, frame.top + 8.0 + 3.4 * k, line, plate=True)


# ---- magnified -------------------------------------------------------------------------------------


def _magnified(draft: Draft, main: Window, sheet: MillPanel) -> None:
    """Show the worst finding, or the closest approach where magnifying helps, else where the work is cut."""
    scene, frame, plan = sheet.scene, DETAILS[1], sheet.work.plan
    title, middle, scale = _cut_at(sheet)
    distance = math.dist(*scene.near) if scene.near is not None else math.inf
    if scene.findings:
        at = scene.findings[0].at
        assert at is not None
        title, middle = "the worst place", at
        scale = min(max(10.0 / max(scene.findings[0].amount, 0.05), 2.5 * main.scale), 25.0)
    elif scene.near is not None and not sheet.work.simulation.findings and 25.0 / max(distance, 0.05) > 2 * main.scale:
        a, b = scene.near
        title, middle = CLOSE, Point((a.z + b.z) / 2, (a.x + b.x) / 2)
        scale = min(max(10.0 / max(distance, 0.05), 2.5 * main.scale), 25.0)
    else:
        tall = plan.work.sections[-1].top if isinstance(plan, SquarePlan) else plan.work.top
        scale = min(0.8 * frame.height / (2.2 * tall), 25.0)
    scale = scale_at_most(scale)
    view = View(frame, scale, middle.z - frame.width / 2 / scale, frame.top + frame.height / 2 + middle.x * scale)
    draft.window(view, tuple(_look(scene, view)))
    draw_title(draft, view, title)
    draw_corner_bar(draft, view, sheet.unit)
    draft.rules.append(((frame.left, view.axis_y), (frame.right, view.axis_y)))
    if scene.findings:
        _mark(draft, view, _spots(scene, main), 5.0)
    elif title == CLOSE:
        assert scene.near is not None
        assert sheet.work.simulation.closest is not None
        text = length_words(sheet.work.simulation.closest.distance, sheet.unit)
        covers = seen_boxes(view, (*scene.below, *scene.tool))
        dimension(draft, view, scene.near, [("distance", text)], covers)
    name_solids(draft, view, (*scene.below, *scene.tool))


def _cut_at(sheet: MillPanel) -> tuple[str, Point, float]:
    """Return what to look at where nothing is close: beside a square's shoulder, or the hole; its scale comes later."""
    plan = sheet.work.plan
    if isinstance(plan, SquarePlan):
        return "beside the shoulder", Point(plan.track.enter_x * 0.4, 0.0), 0.0
    return "the hole from the side", Point(plan.hole.x, 0.0), 0.0


def _legend(draft: Draft, sheet: MillPanel) -> None:
    """List every style that the sheet uses, in words."""
    there = {item.style for item in (*sheet.scene.below, *sheet.scene.tool)}
    if _widest(sheet):
        there.add("bearing")
    there.add("stock")
    rows: list[tuple[str, str]] = [
        ("work", "left by this program, in section"), ("stock", "the round before it"),
        ("bearing", "the bearing that it must pass"), ("hole", "hole"), ("thread", "thread's major diameter"),
        ("solid", "must not be touched"), ("jaws", "vice jaws"), ("shim", "shim"),
        ("finish", "finishing cut (middle of the end)"), ("cut", "cut (middle of the end)"), ("rapid", "rapid"),
        ("tool", "cutter"), ("holder", "shank and holder"),
    ]  # fmt: skip
    rows = [row for row in rows if row[0] in there]
    draw_rows(draft, [*rows, ("strip-now", "section that is cut"), ("strip", "other section")])
