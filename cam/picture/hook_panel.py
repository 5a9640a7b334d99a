"""A screwed-in hook on a sheet of its own: seen along the arbor, with its spring, and its sizes by letter."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.geometry.path import Arc, Chain, Line, Point
from cam.ground.units import show_fine
from cam.part.model import Part
from cam.part.screwed import HookAsked, Screwing
from cam.picture.draft import SIZES, Draft, Panel, clean, fit, wrap
from cam.picture.margins import draw_corner_bar, draw_rows, draw_title
from cam.picture.panel import drawn
from cam.picture.scene import Shape, ring, shape
from cam.picture.sheet import Rect, View, scale_at_most, straight, view_about
from posts.hook_page import HookShape, shape_of

FRAME = Rect(84, 31.5, 120, 150)
SIZES_AT = Rect(210, 31.5, 79, 150)


def lay_out_hook(part: Part, screwing: Screwing, above: float) -> Panel:
    """Place the hook on its sheet.

    Args:
        screwing: has a hook. above: height in the picture at which the sheet begins, mm.
    """
    hook = screwing.hook
    assert hook is not None
    draft, made = Draft("hook"), shape_of(part, hook)
    title = f"{fit(clean(part.name), SIZES['title'], 120.0, bold=True)} - the hook, on the bench"
    draft.write("title", 8, 13, title)
    draft.write("text", 8, 18.5, f"seen from the A end of the arbor, which turns {hook.pull} to wind; filed by hand")
    view = _view(part, hook, made)
    draft.window(view, (*drawn(shapes_of(part, screwing, hook, made), view), ("axis", view.datum())))
    _letters(draft, view, hook, made)
    draw_corner_bar(draft, view, part.unit)
    draw_title(draft, view, "along the arbor")
    _sizes(draft, part, hook, made)
    rows = {"work": "the screw, its head filed to the hook", "stock": "the head as turned", "solid": "the arbor's body",
            "finish": "the spring", "wanted": "the hole"}  # fmt: skip
    draw_rows(draft, list(rows.items()), rows)
    over = show_fine(made.height, part.unit, trim=True)
    return draft.panel("hook", above, f"{title}. It stands {over} over the body.")


def _view(part: Part, hook: HookAsked, made: HookShape) -> View:
    """Return the view of the head and what lies about it, as large as it fits."""
    head = next(s for s in part.sections if s.name == hook.section)
    middle = Point(0.0, hook.body / 2 + made.height - 0.5 * head.thickest)
    return view_about(FRAME, scale_at_most(FRAME.width / (1.7 * head.thickest)), middle)


def shapes_of(part: Part, screwing: Screwing, hook: HookAsked, made: HookShape) -> Iterator[Shape]:
    """Return body, hole, screw, hook, head as turned, and spring, z across and x up from the arbor's axis, mm."""
    way = 1.0 if hook.pull == "clockwise" else -1.0
    head = next(s for s in part.sections if s.name == hook.section)
    shank = next(s for s in part.sections if s.name == screwing.threads[0].section)
    body, seat, reach = hook.body / 2, float(hook.body / 2 - hook.flat), head.thickest / 2
    flat = math.sqrt(max(body * body - seat * seat, 0.0))
    yield shape("solid", _body(body, seat, flat), solid=True)
    bore = shank.thickest / 2
    bottom = seat - float(shank.length)
    floor = -body if hook.through else body - float(hook.hole_depth)
    yield shape("wanted", straight((-bore, seat), (-bore, floor), (bore, floor), (bore, seat)))
    corners = [(-bore, bottom), (bore, bottom), (bore, seat), *hook_outline(hook, made, reach), (-bore, seat)]
    yield shape("work", ring(tuple(Point(way * z, x) for z, x in corners)), solid=True)
    top = seat + float(head.length)
    yield shape("stock", straight((-reach, seat), (-reach, top), (reach, top), (reach, seat)))
    yield from _spring(hook, made, way, body, reach)


def hook_outline(hook: HookAsked, made: HookShape, reach: float) -> list[tuple[float, float]]:
    """Return corners of the hook's profile from its seat's right end round to its left, the holding face at right."""
    body, seat = hook.body / 2, float(hook.body / 2 - hook.flat)

    def surface(z: float) -> float:
        return max(math.sqrt(body * body - z * z), seat)

    return [
        (reach, seat), (reach, surface(reach)), (made.foot, surface(made.foot)), (made.nose, made.top), (0.0, made.top),
        (-reach, surface(reach)), (-reach, seat),
    ]  # fmt: skip


def _body(radius: float, seat: float, flat: float) -> Chain:
    """Return the round of the body with its flat on top."""
    left, right, foot = Point(-flat, seat), Point(flat, seat), Point(0.0, -radius)
    centre = Point(0.0, 0.0)
    return (Line(left, right), Arc(right, foot, centre, -1), Arc(foot, left, centre, -1))


def _spring(hook: HookAsked, made: HookShape, way: float, body: float, reach: float) -> Iterator[Shape]:
    """Return the strip on both sides of the hook: its tongue before the holding face, its length behind."""
    thick = float(hook.spring_thickness)
    start, back = made.foot, -reach
    for z, turn, angle in ((start, -1, 12.0), (back, 1, 70.0)):
        begin = math.atan2(math.sqrt(max(body * body - z * z, 0.0)), z)
        end = begin + turn * math.radians(angle)
        for radius in (body, body + thick):
            a, b = (Point(way * radius * math.cos(t), radius * math.sin(t)) for t in (begin, end))
            yield shape("finish", (Arc(a, b, Point(0.0, 0.0), round(turn * way)),))


def _letters(draft: Draft, view: View, hook: HookAsked, made: HookShape) -> None:
    """Write the letters of the sizes where they are."""
    way, body, thick = (1.0 if hook.pull == "clockwise" else -1.0), hook.body / 2, made.height
    foot = Point(way * made.foot, math.sqrt(body * body - made.foot**2))
    nose = Point(way * made.nose, made.top)
    share = body / math.hypot(*nose)
    below = Point(nose.z * share, nose.x * share)
    draft.line("leader-bold", view.place(nose), view.place(below))
    places = (
        ("a", Point(below.z + way * 0.6 * thick, below.x + 0.25 * thick)),
        ("b", Point(foot.z - way * 0.9 * thick, foot.x + 0.3 * thick)),
        ("c", Point(way * made.nose / 2, made.top + 0.5 * thick)),
        ("d", Point(-way * made.nose * 0.9, made.top + 0.2 * thick)),
    )
    for letter, place in places:
        draft.write("part", *view.place(place), letter, "middle", plate=True)


def _sizes(draft: Draft, part: Part, hook: HookAsked, made: HookShape) -> None:
    """List the sizes by letter, as the bench page has them."""
    unit = part.unit
    height, crown, foot, nose, least, most, eye = (show_fine(mm, unit, trim=True) for mm in (
        made.height, made.crown, made.nose - made.foot, made.nose, *made.width, made.eye))  # fmt: skip
    rows = (
        ("a", f"nose over the round of the body {height}: no higher, or the next coil rides on it"),
        ("", f"level top over the body's crown {crown}"),
        ("b", f"holding face {made.lean:.1f} deg from the screw's axis, {hook.lean:g} deg over the strip; its foot "
              f"{foot} behind the nose"),
        ("c", f"nose to the screw's axis {nose}"),
        ("d", f"slope behind the axis {made.back:.0f} deg, down to the body"),
        ("e", f"width across the strip {least} to {most}"),
        ("f", f"eye along the strip at least {eye}"),
    )  # fmt: skip
    y = SIZES_AT.top + 4
    for letter, words in rows:
        draft.write("part", SIZES_AT.left, y, letter)
        for line in wrap(clean(words), SIZES["text"], SIZES_AT.width - 8):
            draft.write("text", SIZES_AT.left + 6, y, line)
            y += 4.2
        y += 2.0
    draft.write("small", SIZES_AT.left, y + 2, "common practice, no source; filing, fitting, hardening:")
    draft.write("small", SIZES_AT.left, y + 6, "THE HOOK in the summary")
