"""One setting's sheet: where on the paper everything goes. The template only loops over what stands here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from cam.geometry.path import Point, bounds
from cam.ground.units import show_fine
from cam.judge.model import Simulation
from cam.judge.report import say_tip_only
from cam.picture.breaks import HALF, BrokenView, Window, break_view, place_pieces
from cam.picture.draft import SIZES, Draft, Layer, Panel, clean, fit, text_width
from cam.picture.labels import label, label_beside, label_size
from cam.picture.margins import (
    ROOM,
    draw_axes,
    draw_corner_bar,
    draw_ends,
    draw_head,
    draw_legend,
    draw_strip,
    draw_title,
)
from cam.picture.marks import (
    dimension,
    find_spots,
    lead_to,
    list_findings,
    mark_findings,
    name_solids,
    pair_words,
    seen_boxes,
)
from cam.picture.scene import Scene, Shape, place_of
from cam.picture.sheet import HATCHES, HEIGHT, Rect, View, hatch, scale_at_most, straight, view_about
from cam.plan.model import Plan, SettingPlan
from cam.setting.model import Setting

MAIN = Rect(20, 31.5, 255, 81.5)
NARROWEST = 110.0
"""The least room that the letters of a setting's window need, mm of paper."""
EDGE = 16.0
"""Room left beside two points that a magnified window must both show, mm of paper."""
DETAILS = (Rect(76, 148, 104, 54), Rect(186, 148, 103, 54))


def lay_out(plan: Plan, planned: SettingPlan, scene: Scene, simulation: Simulation | None, why: str) -> Panel:
    """Place one setting on its sheet: what has its fixed place first, then what must be said, then names."""
    setting, unit = planned.setting, plan.part.unit
    draft = Draft(f"{setting.number}")
    view = main_view(scene)
    rows = _head(draft, plan, scene, simulation, why)
    open_window(draft, view, lambda piece: look((*scene.below, *scene.tool, *scene.overlap), piece))
    draw_axes(draft, view, unit)
    draw_ends(draft, view, "headstock", "tailstock" if setting.tail_centre is not None else "free end", unit)
    draw_strip(draft, view, plan, setting)
    details = list(details_of(scene, view))
    outlines = [outline_detail(draft, view, window) for _, window in details]
    if simulation and simulation.findings:
        spots = find_spots(view, scene.findings)
        list_findings(draft, view, simulation.findings, spots, scene.places)
        mark_findings(draft, view, spots, 2.6)
    elif scene.shown:
        lead_to(draft, view, scene, unit)
    for k, outline in enumerate(outlines, start=1):
        name_detail(draft, view.frame, outline, f"detail {k}", seen_boxes(view, (*scene.below, *scene.tool)))
    name_solids(draft, view, (*scene.below, *scene.tool))
    for k, (name, window) in enumerate(details, start=1):
        _detail(draft, view, scene, window, f"detail {k}: {name}", unit)
    draw_legend(draft, scene, simulation)
    above = len([s for s in plan.settings if s.setting.number < setting.number])
    return draft.panel(f"setting-{setting.number}", HEIGHT * above, " ".join(rows))


def main_view(scene: Scene) -> BrokenView:
    """Return the view of the setting, from catch plate or chuck to tailstock, broken so that the part is large."""
    setting = scene.setting
    faces, noses = ([most(p.z for p in o.polygon) for o in setting.obstacles] for most in (max, min))
    ends = (min([setting.head_z, *faces]) - 5.0, max([setting.stock_end_z + 6.0, *noses]) + 5.0)
    low, _, high, radius = bounds(setting.stock)
    marked, part = scene.marked, (low, high)
    frame, most, tall = MAIN, MAIN.height / (1.9 * radius + 3.0), 0.0
    if most * (part[1] - part[0]) < HALF * MAIN.width:  # a stubby part: less is shown over it and under the axis
        tall = max([radius, *(p.x for p in marked if p.x < 1.3 * radius)]) + 1.5
        most = MAIN.height / (1.1 * tall)
    scale, shown = break_view(frame, part, most, ends, scene.below, scene.tool, marked)
    width = scale * (part[1] - part[0]) / HALF
    if width < frame.width:  # as wide as it can be drawn: the window is narrower
        width = max(width, NARROWEST)
        frame = Rect(MAIN.left + (MAIN.width - width) / 2, MAIN.top, width, MAIN.height)
        scale, shown = break_view(frame, part, scale, ends, scene.below, scene.tool, marked)
    below = min(radius + 2.0, 0.3 * frame.height / scale, frame.height / scale - tall)
    return place_pieces(frame, scale, shown, frame.bottom - below * scale)


def open_window(draft: Draft, view: BrokenView, look: Callable[[View], Iterable[Layer]]) -> None:
    """Open the pieces of the main window, with the axis and the datum, which no label may lie on."""
    for piece, around in view.edges():
        draft.window(piece, tuple(look(piece)), around)
    frame = view.frame
    draft.rules.append(((frame.left, view.axis_y), (frame.right, view.axis_y)))
    draft.rules.append(((view.across(0.0), frame.top), (view.across(0.0), frame.bottom)))
    for one, other in pairwise(view.pieces):
        draft.taken.append(Rect(one.frame.right - 1, frame.top, other.frame.left - one.frame.right + 2, frame.height))


# ---- head ------------------------------------------------------------------------------------------


def _head(draft: Draft, plan: Plan, scene: Scene, simulation: Simulation | None, why: str) -> list[str]:
    """Write title, how the work is held, datum and verdict; return the sentences for readers who cannot see it."""
    setting = scene.setting
    title = f"setting {setting.number} of {plan.count}: the {setting.end} end is turned"
    room = ROOM - text_width(f" - {title}", SIZES["title"], bold=True)
    name = fit(clean(plan.part.name), SIZES["title"], room, bold=True)
    rows, (said, detail) = [_holding(setting), setting.datum_words], _verdict(scene, simulation, plan.part.unit, why)
    refused = bool(why) or (simulation is not None and bool(simulation.findings))
    draw_head(draft, f"{name} - {title}", rows, (said, detail), refused=refused)
    unknown = say_tip_only(simulation.tip_only) if simulation is not None else ""
    if unknown:
        draft.write("small", 203, 25.0, unknown)
    return [f"{name}, {title}.", *rows, f"{said}. {detail}.", *([f"{unknown}."] if unknown else [])]


def _holding(setting: Setting) -> str:
    if setting.chuck is not None:
        return f"held in the {setting.chuck.name}; the {setting.end} end stands free"
    parts = ["between centres"]
    if setting.tail_centre is not None:
        hole = f" in centre hole {setting.hole.designation}" if setting.hole else ""
        parts.append(f"{setting.tail_centre.name} at the tailstock{hole}")
    if setting.carrier is not None:
        parts.append(f"{setting.carrier.name} grips the {setting.grip.removeprefix('the ')}")
    return "; ".join(parts)


def _verdict(scene: Scene, simulation: Simulation | None, unit: str, why: str) -> tuple[str, str]:
    if simulation is not None and simulation.findings:
        count = len(simulation.findings)
        return "REFUSED", f"{count} finding{'s' if count > 1 else ''}; this program must not be cut"
    if why:
        return "REFUSED", why
    if simulation is None:
        return "not simulated", "the planned passes are drawn; no program has been checked"
    if simulation.closest is None:
        return "nothing moves", "the program makes no motion"
    near, fixed = simulation.closest, simulation.closest_fixed
    said = f"clears by {show_fine(near.distance, unit)}"
    if fixed is None or fixed == near:
        return said, f"at the closest: {pair_words(near, scene.places)}"
    other = f"{show_fine(fixed.distance, unit)} from {pair_words(fixed, scene.places)}"
    return said, f"{pair_words(near, scene.places)}; {other}"


# ---- window contents -------------------------------------------------------------------------------


def look(shapes: Iterable[Shape], view: View) -> tuple[Layer, ...]:
    """Return shapes as they are seen through a window, from the back to the front, then axis and datum."""
    return (*drawn(shapes, view), ("axis", view.axis()), ("datum", view.datum()))


def drawn(shapes: Iterable[Shape], view: View) -> Iterator[Layer]:
    """Return shapes through a window, each with its area, its hatching, its edge."""
    for item in shapes:
        if not view.sees(item.low, item.high):
            continue
        yield item.style, view.draw(item.chain, close=item.solid)
        if item.style in HATCHES:
            if lines := hatch(view.outline(item.chain), *HATCHES[item.style], view.frame):
                yield f"{item.style}-hatch", lines
            yield f"{item.style}-edge", view.draw(item.chain, close=True)


def crossed(view: View, far: float) -> Iterator[Layer]:
    """Return two lines that cross on the axis of work seen end-on, each so far both ways, mm."""
    for z, x in ((far, 0.0), (0.0, far)):
        yield "axis", view.draw(straight((-z, -x), (z, x)))


# ---- details ---------------------------------------------------------------------------------------


def details_of(scene: Scene, main: Window) -> Iterator[tuple[str, View]]:
    """Return the magnified windows: the end beside the tailstock, and the closest approach or worst finding."""
    setting = scene.setting
    frame = DETAILS[0]
    radius = setting.turned[0].radius_near if setting.turned else 2.0
    scale = scale_at_most(frame.height / max(2.4 * radius + 3.0, 5.0))
    left = setting.end_z - 0.55 * frame.width / scale
    below = min(1.0 + 0.25 * radius, 0.3 * frame.height / scale)
    name = "the end beside the tailstock" if setting.tail_centre is not None else "the free end"
    if scale > main.scale:
        yield name, View(frame, scale, left, frame.bottom - below * scale)
    if scene.findings:
        yield "the worst place", magnified(place_of(scene.findings[0]), scene.findings[0].amount, main)
    elif scene.shown is not None:
        a, b = scene.shown.on_tool, scene.shown.on_obstacle
        across = (abs(a.z - b.z), abs(a.x - b.x))
        yield f"nearest to the {scene.shown.obstacle}", magnified(between(a, b), scene.shown.distance, main, across)


def between(a: Point, b: Point) -> Point:
    """Return the middle of two places."""
    return Point((a.z + b.z) / 2, (a.x + b.x) / 2)


def magnified(at: Point, size: float, main: Window, across: tuple[float, float] = (0.0, 0.0)) -> View:
    """Return the second detail about a place, in which size mm shows as about 10 mm of paper, within reason.

    Args:
        across: what the window must hold along Z and along X with room beside, mm.
    """
    room = DETAILS[1].width - EDGE, DETAILS[1].height - EDGE
    most = (paper / max(mm, 0.05) for paper, mm in zip(room, across, strict=True))
    scale = scale_at_most(min(max(10.0 / max(abs(size), 0.05), 2.5 * main.scale), 25.0, *most))
    return view_about(DETAILS[1], scale, at)


def open_detail(draft: Draft, view: View, layers: tuple[Layer, ...], title: str, unit: str) -> None:
    """Open a magnified window with its title and scale; no label may lie on its axis."""
    draft.window(view, layers)
    draw_title(draft, view, title)
    draw_corner_bar(draft, view, unit)
    draft.rules.append(((view.frame.left, view.axis_y), (view.frame.right, view.axis_y)))


def _detail(draft: Draft, main: BrokenView, scene: Scene, view: View, title: str, unit: str) -> None:
    open_detail(draft, view, look((*scene.below, *scene.tool, *scene.overlap), view), title, unit)
    draft.rules.append(((view.across(0.0), view.frame.top), (view.across(0.0), view.frame.bottom)))
    if scene.findings:
        mark_findings(draft, view, find_spots(main, scene.findings), 5.0)
    elif scene.shown is not None:
        covers = seen_boxes(view, (*scene.below, *scene.tool))
        text = show_fine(scene.shown.distance, unit)
        dimension(draft, view, (scene.shown.on_tool, scene.shown.on_obstacle), [("distance", text)], covers)
    name_solids(draft, view, (*scene.below, *scene.tool))


def outline_detail(draft: Draft, main: Window, view: View) -> Rect | None:
    """Draw a detail's outline in the main window; return None where that shows nothing of it."""
    frame = main.frame
    left, right = (min(max(main.across(z), frame.left), frame.right) for z in (view.left_z, view.right_z))
    top, bottom = (min(max(main.down(x), frame.top), frame.bottom) for x in (view.top_x, view.bottom_x))
    if right - left <= 0.5 or bottom - top <= 0.5:
        return None
    box = Rect(left, top, right - left, bottom - top)
    draft.box("window", box)
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    draft.rules += list(zip(corners, (*corners[1:], corners[0]), strict=True))
    return box


def name_detail(draft: Draft, within: Rect, outline: Rect | None, name: str, covers: Sequence[Rect]) -> None:
    """Write a detail's name beside its outline where nothing else is; else with a leader to it."""
    if outline is None:
        return
    (wide, high), lines = label_size([("small", name)]), [("small", name)]
    near, far = outline.left + wide / 2, outline.right - wide / 2
    over, under = outline.top - high / 2 - 1.2, outline.bottom + high / 2 + 1.2
    across = (near, far, outline.left - wide / 2 - 1.2, outline.right + wide / 2 + 1.2)
    level = (outline.top + high / 2, outline.bottom - high / 2, outline.top + outline.height / 2)
    spots = [(x, y) for y in (over, under) for x in across] + [(x, y) for x in across[2:] for y in level]
    if not label_beside(draft, within, lines, spots, covers):
        label(draft, within, lines, (outline.right, outline.top + outline.height / 2), nearest=4.0)
