"""One sheet of the milling: from the side in its block with the cutter, end-on as it was left, closest approach."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cam.geometry.path import Point
from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, show_fine, show_number
from cam.judge.mill import radius_at
from cam.mill.done import MillDone, MillWorkDone
from cam.mill.plan_hole import CrossHolePlan, HoleTask
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.picture.breaks import HALF, BrokenView, Window, break_view, place_pieces
from cam.picture.draft import SIZES, Draft, Panel, clean, fit, text_width, wrap
from cam.picture.labels import label_beside
from cam.picture.margins import (
    ROOM,
    Named,
    bare_size,
    draw_corner_bar,
    draw_ends,
    draw_head,
    draw_rows,
    draw_stretch,
    draw_ticks_below,
    draw_title,
    name_strip,
    round_step,
)
from cam.picture.marks import (
    dimension,
    find_spots,
    list_findings,
    mark_findings,
    name_solids,
    seen_boxes,
)
from cam.picture.mill_scene import MillScene, bore_shapes, bores_of, outline_across, set_mill_scene
from cam.picture.panel import (
    DETAILS,
    MAIN,
    NARROWEST,
    between,
    crossed,
    drawn,
    look,
    magnified,
    open_detail,
    open_window,
)
from cam.picture.scene import Shape, box_of, circle, place_of, shape
from cam.picture.sheet import Rect, View, scale_at_most, view_about
from cam.setting.milled import Solid
from cam.shop.mill import Mill
from posts.pages.mill_sheet import name_of

CLOSE = "the closest approach"


class MillPanel(Row):
    """What one sheet shows, and in what unit."""

    part: str
    mill: Mill
    work: MillWorkDone
    scene: MillScene
    unit: str

    def size(self, mm: float) -> str:
        """Show a length without its unit, to a micrometre or a tenth of a thou."""
        return bare_size(mm, self.unit)


def lay_out_mill(part: str, unit: str, job: MillDone, work: MillWorkDone, above: float) -> Panel:
    """Place one of the mill's programs on its sheet.

    Args:
        part: its name. unit: "mm" or "in". above: height in the picture at which the sheet begins, mm.
    """
    sheet = MillPanel(part, job.mill, work, set_mill_scene(work), unit)
    draft = Draft(work.name)
    view = side_view(sheet.scene)
    rows = _head(draft, sheet)
    shown = (*sheet.scene.below, *sheet.scene.tool)
    open_window(draft, view, lambda piece: look(shown, piece))
    _axes(draft, view, sheet)
    _strip(draft, view, sheet)
    _place_of_hole(draft, view, sheet)
    if work.simulation.findings:
        spots = find_spots(view, sheet.scene.findings)
        list_findings(draft, view, work.simulation.findings, spots)
        mark_findings(draft, view, spots, 2.6)
    elif sheet.scene.near is not None:
        _say_near(draft, view, sheet)
    name_solids(draft, view, shown)
    _end_on(draft, sheet)
    _magnified(draft, view, sheet)
    _legend(draft, sheet)
    return draft.panel(work.name, above, " ".join(rows))


def side_view(scene: MillScene) -> BrokenView:
    """Return the view from the side: work, what holds it, and some of the cutter, broken so that the work is large."""
    left, foot, right, high = box_of(s for s in scene.below if s.style == "work")
    per = (right - left) / (HALF * MAIN.width)  # mm of work per mm of paper where the work fills half
    low = foot - 11.0 * per
    near = max((p.x + 4.0 for p in scene.near or ()), default=0.0)
    tall = max(near if near - low < MAIN.height * per else 0.0, high + 0.5 * (high - low))
    most = MAIN.height / (tall - low)
    shapes = [s for s in scene.below if s.style not in ("jaws", "rapid")]
    ends, places = (scene.low.z - 4.0, scene.high.z + 10.0), [*(scene.near or ()), *map(place_of, scene.findings)]
    frame = MAIN
    scale, shown = break_view(frame, (left, right), most, ends, shapes, scene.tool, places)
    width = max(scale * (right - left) / HALF, NARROWEST)
    if width < frame.width:  # as wide as its height lets it be drawn: the window is narrower
        frame = Rect(MAIN.left + (MAIN.width - width) / 2, MAIN.top, width, MAIN.height)
        scale, shown = break_view(frame, (left, right), scale, ends, shapes, scene.tool, places)
    return place_pieces(frame, scale, shown, frame.bottom + low * scale)


# ---- head ------------------------------------------------------------------------------------------


def _head(draft: Draft, sheet: MillPanel) -> list[str]:
    """Write title, hold, zeros, verdict; return the sentences for readers who cannot see it."""
    title = f" - {clean(name_of(sheet.work))}, {sheet.work.file}"
    room = ROOM - text_width(title, SIZES["title"], bold=True)
    name = fit(clean(sheet.part), SIZES["title"], max(room, 20.0), bold=True)
    name = fit(name + title, SIZES["title"], ROOM, bold=True)
    rows, (said, detail) = [_hold_words(sheet), _tool_words(sheet)], _verdict(sheet)
    draw_head(draft, name, rows, (said, detail), refused=bool(sheet.work.simulation.findings))
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
    said = f"clears by {show_fine(near.distance, sheet.unit)}"
    return said, f"{near.body} to {near.obstacle}, {sheet.work.file}, line {simulation.closest_line}"


# ---- the side view ---------------------------------------------------------------------------------


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
        wanted.append(draw_stretch(draft, a, b, s.name, now=cut, sizes=[sheet.size(2 * s.top)]))
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
    text, covers = show_fine(near.distance, sheet.unit), seen_boxes(view, (*scene.below, *scene.tool))
    dimension(draft, view, scene.near, [("distance", text), ("small", below)], covers)


# ---- end-on ----------------------------------------------------------------------------------------


def _end_on(draft: Draft, sheet: MillPanel) -> None:
    """Draw the section across the axis, seen from the tip: at the square's station, or through the hole."""
    plan, task = sheet.work.plan, sheet.work.task
    if isinstance(plan, SquarePlan) and isinstance(task, SquareTask):
        own, x = plan.work.sections[-1], plan.milled.station
        place = f"{sheet.size(x + task.groove)} {sheet.unit} from the shoulder"
        view = _draw_across(draft, sheet, own, x, place, [circle("bearing", d) for d in _bearing(sheet)])
        _write_lines(draft, view.frame, _square_lines(sheet, plan, own))
        _number_flats(draft, view, sheet, plan)
    elif isinstance(plan, CrossHolePlan) and isinstance(task, HoleTask):
        body, x = plan.work.section_at(plan.hole.x), plan.hole.x
        assert body is not None  # plan_cross_hole refuses a hole off the work
        bores = [b for b in bores_of(sheet.work) if abs(b.x - x) < body.top]
        shapes = [s for bore in bores for s in bore_shapes(sheet.work, bore, body.top, 0.0)]
        view = _draw_across(draft, sheet, body, x, "through the hole", shapes)
        _write_lines(draft, view.frame, _hole_lines(sheet, plan, task, body))


def _draw_across(draft: Draft, sheet: MillPanel, own: Solid, x: float, place: str, more: Sequence[Shape]) -> View:
    """Draw the section at x, the round it was cut from, and more; return the window."""
    frame = DETAILS[0]
    widest = max([2 * own.top, *_bearing(sheet)])
    scale = scale_at_most(0.88 * frame.height / widest)
    view = View(frame, scale, -(frame.width * 0.32) / scale, frame.top + frame.height / 2 + 1.5)
    shapes = [shape("work", outline_across(sheet.work, x), solid=True), circle("stock", 2 * own.top), *more]
    draft.window(view, (*drawn(shapes, view), *crossed(view, widest)))
    draw_title(draft, view, f"from the tip, {place}")
    draw_corner_bar(draft, view, sheet.unit)
    return view


def _number_flats(draft: Draft, view: View, sheet: MillPanel, plan: SquarePlan) -> None:
    """Write the flats' numbers inside the section, and the size across flat 1 and its opposite as a dimension."""
    half = plan.milled.across / 2
    for k in range(plan.milled.flats):
        turn = 2 * math.pi * k / plan.milled.flats
        at = max(half - 4.0 / view.scale, 0.5 * half)
        x, y = view.place(Point(at * math.sin(turn), at * math.cos(turn)))
        draft.write("part", x, y + 1.0, str(k + 1), "middle", plate=True)
    top, foot = (view.down(side * half) for side in (1, -1))
    across = view.across(-max(sheet.work.plan.work.sections[-1].top, *(d / 2 for d in _bearing(sheet)), 0.0)) - 4.0
    for y in (top, foot):
        draft.line("leader", (across - 1.5, y), (view.across(0.0), y), under=True)
        draft.ring("spot", across, y, 0.5)
    draft.line("leader-bold", (across, top), (across, foot))
    text = sheet.size(_across(sheet, plan, 0))
    draft.write("part", across - 1.2, (top + foot) / 2, text, "middle", upright=True, plate=True)


def _bearing(sheet: MillPanel) -> list[float]:
    """Return the diameter of the bearing that a square must pass, mm; none where none is named."""
    task = sheet.work.task
    return [task.bearing] if isinstance(task, SquareTask) and task.bearing is not None else []


def _across(sheet: MillPanel, plan: SquarePlan, pair: int) -> float:
    """Size over the middles of two opposite flats at the station, as the text left them, mm."""
    turn, faces = 360.0 * pair / plan.milled.flats, sheet.work.simulation.faces
    return sum(radius_at(faces, plan.work, plan.milled.station, turn + half) for half in (0.0, 180.0))


def _square_lines(sheet: MillPanel, plan: SquarePlan, own: Solid) -> list[str]:
    """Return the sizes of the square as the text left them."""
    s = plan.milled
    pairs = range(s.flats // 2)
    rows = ["across flats, as cut:"]
    rows += [f"{k + 1} and {k + 1 + s.flats // 2}: {sheet.size(_across(sheet, plan, k))} {sheet.unit}" for k in pairs]
    corner, faces = 180.0 / s.flats, sheet.work.simulation.faces
    over = sum(radius_at(faces, plan.work, s.station, corner + half) for half in (0.0, 180.0))
    rows.append(f"over corners {sheet.size(over)}")
    rows.append(f"cut from \u00f8 {sheet.size(2 * own.top)}")
    rows += [f"bearing \u00f8 {sheet.size(diameter)}" for diameter in _bearing(sheet)]
    if s.slope:
        rows.append(f"falls {show_number(s.slope, 5, trim=True)} a side")
    return rows


def _hole_lines(sheet: MillPanel, plan: CrossHolePlan, task: HoleTask, body: Solid) -> list[str]:
    """Return the hole's sizes as the text left it, and what stays of the body."""
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


def _write_lines(draft: Draft, frame: Rect, lines: Sequence[str]) -> None:
    """Write lines at the right of a window."""
    left, room = frame.left + 0.66 * frame.width, (1 - 0.66) * frame.width - 2.0
    flat = [piece for line in lines for piece in wrap(clean(line), SIZES["small"], room)][:12]
    for k, line in enumerate(flat):
        draft.write("small", left, frame.top + 8.0 + 3.4 * k, line, plate=True)


# ---- magnified -------------------------------------------------------------------------------------


def _magnified(draft: Draft, main: Window, sheet: MillPanel) -> None:
    """Show the worst finding, or the closest approach where magnifying helps, else where the work is cut."""
    scene, closest = sheet.scene, sheet.work.simulation.closest
    shapes = (*scene.below, *scene.tool)
    title, view = _place_to_show(sheet, main)
    open_detail(draft, view, look(shapes, view), title, sheet.unit)
    if scene.findings:
        mark_findings(draft, view, find_spots(main, scene.findings), 5.0)
    elif title == CLOSE and scene.near is not None and closest is not None:
        text = show_fine(closest.distance, sheet.unit)
        dimension(draft, view, scene.near, [("distance", text)], seen_boxes(view, shapes))
    name_solids(draft, view, shapes)


def _place_to_show(sheet: MillPanel, main: Window) -> tuple[str, View]:
    """Choose what is magnified: its title and the window about it."""
    scene, plan = sheet.scene, sheet.work.plan
    if scene.findings:
        return "the worst place", magnified(place_of(scene.findings[0]), scene.findings[0].amount, main)
    distance = math.dist(*scene.near) if scene.near is not None else math.inf
    if scene.near is not None and not sheet.work.simulation.findings and 25.0 / max(distance, 0.05) > 2 * main.scale:
        return CLOSE, magnified(between(*scene.near), distance, main)
    if isinstance(plan, SquarePlan):
        title, tall, z = "beside the shoulder", plan.work.sections[-1].top, plan.track.enter_x * 0.4
    else:
        title, tall, z = "the hole from the side", plan.work.top, plan.hole.x
    scale = scale_at_most(min(0.8 * DETAILS[1].height / (2.2 * tall), 25.0))
    return title, view_about(DETAILS[1], scale, Point(z, 0.0))


def _legend(draft: Draft, sheet: MillPanel) -> None:
    """List every style that the sheet uses, in words."""
    there = {item.style for item in (*sheet.scene.below, *sheet.scene.tool)}
    there |= {"stock", "strip-now", "strip", *(["bearing"] if _bearing(sheet) else [])}
    rows = [
        ("work", "left by this program, in section"), ("stock", "the round before it"),
        ("bearing", "the bearing that it must pass"), ("hole", "hole"), ("thread", "thread's major diameter"),
        ("solid", "must not be touched"), ("jaws", "vice jaws"), ("shim", "shim"),
        ("finish", "finishing cut (middle of the end)"), ("cut", "cut (middle of the end)"), ("rapid", "rapid"),
        ("tool", "cutter"), ("holder", "shank and holder"), ("strip-now", "section that is cut"),
        ("strip", "other section"),
    ]  # fmt: skip
    draw_rows(draft, rows, there)
