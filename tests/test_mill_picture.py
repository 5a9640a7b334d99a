"""The mill's sheets: what the text left, at its place and to scale; names that can do no harm."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree as Tree

import pytest
import shapely

from cam.geometry.path import Point
from cam.job import draw_given, read_given
from cam.job.milling import judge_text
from cam.judge.model import Finding
from cam.mill.cross_hole import net_section
from cam.mill.done import MillWorkDone
from cam.mill.plan_hole import CrossHolePlan
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.mill.settle import settle_mill
from cam.moves.model import Feed
from cam.picture.draft import BOLD, SIZES, text_width
from cam.picture.mill_panel import lay_out_mill, side_view
from cam.picture.mill_scene import (
    bore_shapes,
    bores_of,
    outline_across,
    set_mill_scene,
    side_outline,
    silhouette,
)
from cam.picture.plot import draw_plot
from cam.picture.refused_square import beyond, outline_at_shoulder, reach
from cam.picture.scene import box_of
from cam.picture.sheet import HEIGHT, WIDTH
from cam.setting.square import across_at, corner_diameter_at, largest_that_passes
from tests.mill_variants import VARIANTS, variant
from tests.plan_specimens import sample_plan
from tests.specimens import SAMPLES, one_in

SVG = "{http://www.w3.org/2000/svg}"


def work_of(name: str, kind: str) -> MillWorkDone:
    return next(w for w in variant(name)[2].works if w.name == kind)


@cache
def sheets(name: str) -> dict[str, Tree.Element]:
    """Each of the mill's sheets by its name."""
    part, _, job = variant(name)
    plan = replace(sample_plan("orrery-drum-arbor"), part=part)
    root = Tree.fromstring(draw_plot(plan, (), (), job))
    found = {sheet.get("id", ""): sheet for sheet in root.findall(f"{SVG}g")}
    return {key: found[key] for key in ("cross-hole", "square")}


def words(sheet: Tree.Element) -> str:
    return "\n".join(element.text or "" for element in sheet.iter(f"{SVG}text"))


def paths(sheet: Tree.Element, style: str) -> list[str]:
    return [e.get("d", "") for e in sheet.iter(f"{SVG}path") if e.get("class") == style]


def ring_of(chain) -> shapely.Polygon:
    return shapely.Polygon([tuple(piece.start) for piece in chain])


# The sheet


@pytest.mark.parametrize("name", VARIANTS)
def test_the_work_fills_half_of_the_window(name: str) -> None:
    for work in variant(name)[2].works:
        scene = set_mill_scene(work)
        view, (left, _, right, _) = side_view(scene), box_of(s for s in scene.below if s.style == "work")
        assert view.scale * (right - left) >= 0.49 * view.frame.width


@pytest.mark.parametrize("name", one_in(2, VARIANTS))
def test_every_letter_and_box_lies_on_the_sheet(name: str) -> None:
    for sheet in sheets(name).values():
        for element in sheet.iter(f"{SVG}text"):
            style, anchor = element.get("class", "").split()
            style = style.removeprefix("t-")
            place = re.fullmatch(r"translate\((-?\d+) (-?\d+)\)(rotate\(-90\))?", element.get("transform", ""))
            assert place is not None
            x, y = int(place[1]) / 100, int(place[2]) / 100
            room = 0.93 * text_width(element.text or "", SIZES[style], bold=style in BOLD)
            if place[3] is None:
                back = {"start": 0.0, "middle": room / 2, "end": room}[anchor]
                assert x - back >= 0
                assert x - back + room <= WIDTH
            assert 0 <= y <= HEIGHT
        for style in ("frame", "strip", "strip-now", "passed", "plate", "leader-bold", "bar"):
            for data in paths(sheet, style):
                numbers = [int(n) / 100 for n in re.findall(r"-?\d+", data)]
                assert all(-1 <= n <= WIDTH + 1 for n in numbers), (style, data)


@pytest.mark.parametrize("name", VARIANTS)
def test_numbers_are_whole_and_sheets_are_described(name: str) -> None:
    for key, sheet in sheets(name).items():
        text = Tree.tostring(sheet, encoding="unicode")
        for data in re.findall(r' (?:d|transform)="([^"]*)"', text):
            assert not re.search(r"\d[eE]|nan|inf|\.|-0(?!\d)", data), data
        title = sheet.find(f"{SVG}title")
        assert title is not None
        assert "orrery drum arbor" in (title.text or "")
        assert "clears by" in (title.text or "")
        assert key == sheet.get("id")


def test_the_same_work_gives_the_same_sheet() -> None:
    part, _, job = variant("tipped")
    panels = [lay_out_mill(part.name, part.unit, job, work, 0.0) for work in job.works]
    assert panels == [lay_out_mill(part.name, part.unit, job, work, 0.0) for work in job.works]


def test_hostile_names_are_letters_only() -> None:
    evil = "</text><script>alert(1)</script> & \u202e\x00\x1b ]]> {{ 7*7 }} " + "M" * 300
    part, _, job = variant("tipped")
    works = tuple(
        replace(
            w,
            file=evil,
            plan=replace(w.plan, work=replace(w.plan.work, sections=tuple(
                s._replace(name=evil) for s in w.plan.work.sections))),
            asked=replace(w.asked, asked=replace(w.asked.asked, hold=replace(w.asked.asked.hold, section=evil))),
        )
        for w in job.works
    )  # fmt: skip
    mill = replace(job.mill, block=replace(job.mill.block, name=evil))
    plan = replace(sample_plan("orrery-drum-arbor"), part=replace(part, name=evil))
    svg = draw_plot(plan, (), (), replace(job, works=works, mill=mill))
    root = Tree.fromstring(svg)
    assert "<script" not in svg
    assert "\u202e" not in svg
    assert "49" not in "".join(t.text or "" for t in root.iter(f"{SVG}title"))


# The square


@pytest.mark.parametrize("name", ["tipped", "ramped", "rotary", "hexagon", "broken"])
def test_the_end_on_view_is_the_polygon_cut_off_by_its_round(name: str) -> None:
    work = work_of(name, "square")
    assert isinstance(work.plan, SquarePlan)
    milled = work.plan.milled
    for x in (2.0, milled.station, milled.length - 1.0):
        drawn = ring_of(outline_across(work, x))
        apothem, turn = across_at(milled, x) / 2 + work.plan.crown, math.pi / milled.flats
        corner = apothem / math.cos(turn)
        rays = [turn * (2 * k + 1) for k in range(milled.flats)]
        polygon = shapely.Polygon([(corner * math.sin(ray), corner * math.cos(ray)) for ray in rays])
        ideal = polygon.intersection(shapely.Point(0, 0).buffer(milled.blank / 2, 512))
        assert drawn.symmetric_difference(ideal).area < 5e-4 * ideal.area
        assert drawn.bounds[3] - drawn.bounds[1] == pytest.approx(2 * apothem, abs=2e-3)


def test_the_size_that_is_written_is_the_one_that_was_cut() -> None:
    text = words(sheets("tipped")["square"])
    assert "1 and 3: 4.22 mm" in text
    assert "2 and 4: 4.22 mm" in text
    assert "bearing \u00f8 6.03" in text
    assert "falls 0.00262 a side" in text
    assert "from the tip, 10 mm from the shoulder" in text
    assert all(f"{n} and {n + 3}: 4.42 mm" in words(sheets("hexagon")["square"]) for n in (1, 2, 3))
    assert "1 and 3: 0.1661 in" in words(sheets("inch page")["square"])  # 4.22 mm, rounded as the part file's inches


def test_over_corners_is_what_the_round_or_the_faces_leave() -> None:
    text = words(sheets("tipped")["square"])
    work = work_of("tipped", "square")
    assert f"over corners {2 * work.plan.work.sections[-1].top:.2f}" in text
    broken = words(sheets("broken")["square"])
    assert f"over corners {3.62 * math.sqrt(2):.3f}" in broken  # the mill leaves them whole there


def test_a_program_that_cuts_deeper_is_drawn_so() -> None:
    part, shop, job = variant("tipped")
    work = work_of("tipped", "square")
    deepest = min(m.z for m in work.plan.moves if isinstance(m, Feed))
    word = f"Z{deepest:.4f}".rstrip("0")
    assert word in work.text
    text = work.text.replace(word, f"Z{deepest - 0.1:.4f}".rstrip("0"))
    program, simulation, problems = judge_text(text, "square.ngc", work.task, shop, job.dialect)
    assert problems
    bad = replace(work, text=text, program=program, simulation=simulation, problems=problems)
    panel = lay_out_mill(part.name, part.unit, job, bad, 0.0)
    said = "\n".join(text for _, _, text in panel[5])
    assert "REFUSED" in said
    assert "1 and 3: 4.02 mm" in said
    assert "must not be cut" in said
    assert any(style == "hit-box" for style, _ in panel[4])
    sentence = simulation.findings[0].what.split(",")[0][:30]
    assert sentence in said.replace("\n", " ")


def test_a_hit_is_marked_where_it_is() -> None:
    part, shop, job = variant("tipped")
    work = work_of("tipped", "square")
    text = re.sub(r"X3\.\d+", "X-24.0", work.text)  # the stop at the shoulder set into the nut
    program, simulation, problems = judge_text(text, "square.ngc", work.task, shop, job.dialect)
    hits = [f for f in simulation.findings if f.kind == "contact"]
    assert hits
    bad = replace(work, text=text, program=program, simulation=simulation, problems=problems)
    scene = set_mill_scene(bad)
    assert scene.findings[0].kind == "contact"
    assert scene.pose is not None
    panel = lay_out_mill(part.name, part.unit, job, bad, 0.0)
    view = side_view(scene)
    x, y = view.place(scene.findings[0].at)
    rings = [data for style, data in panel[4] if style == "hit" and "A" in data]
    centres = [
        ((int(a) + int(c)) / 200, int(b) / 100)
        for a, b, c in (re.match(r"M(-?\d+) (-?\d+)A\d+ \d+ 0 0 1 (-?\d+)", data).groups() for data in rings)
    ]
    assert any(math.dist(c, (x, y)) < 0.05 for c in centres)
    said = "\n".join(text for _, _, text in panel[5])
    assert "the worst place" in said
    assert "collet nut" in said


def test_findings_for_which_the_list_has_no_room_are_counted_as_its_head_counts() -> None:
    part, _, job = variant("tipped")
    work = work_of("tipped", "square")
    found = [
        Finding(line=n, kind="uncut", what=f"uncut, place {n // 3}", amount=0.1, at=None, tip=None, obstacle="", tool=1)
        for n in range(5, 26)
    ]
    bad = replace(work, simulation=replace(work.simulation, findings=tuple(found)))
    panel = lay_out_mill(part.name, part.unit, job, bad, 0.0)
    said = [text for _, _, text in panel[5]]
    assert "21 findings" in " ".join(said)
    assert f"and {sum(f.what not in ' '.join(said) for f in found)} more" in said


def test_the_side_view_has_the_work_the_block_and_the_tilt() -> None:
    work = work_of("tipped", "square")
    wanted = work.plan.work
    outline = shapely.Polygon(side_outline(wanted, work.simulation, 0.0))
    assert outline.is_valid
    # in the work's own axes the square is across_at(x) thick and its sections are as thick as turned
    for x, thick in ((5.0, across_at(work.plan.milled, 5.0)), (-3.0, 2 * wanted.section_at(-3.0).top)):
        column = shapely.LineString([wanted.frame.to_machine(x, -20.0), wanted.frame.to_machine(x, 20.0)])
        assert outline.intersection(column).length == pytest.approx(thick, abs=2e-3)
    block = next(s for s in wanted.fixtures if not s.round and s.tilts)
    a, b = silhouette(block, wanted)[:2]
    assert math.atan2(b.x - a.x, b.z - a.z) == pytest.approx(math.radians(0.15))
    scene = set_mill_scene(work)
    shim = next(s for s in scene.below if s.style == "shim")
    assert shim.high.x - shim.low.x == pytest.approx(0.13)
    assert shim.low.z - a.z == pytest.approx(0.13 / math.tan(math.radians(0.15)))


@pytest.mark.parametrize("name", ["tipped", "rotary", "hexagon"])
def test_the_finished_face_lies_level_where_the_block_is_tipped(name: str) -> None:
    work = work_of(name, "square")
    top = [p for p in side_outline(work.plan.work, work.simulation, 0.0) if 1.0 < p.z < 19.0 and p.x > 0]
    fall = (max(p.x for p in top) - min(p.x for p in top)) / (max(p.z for p in top) - min(p.z for p in top))
    assert fall == pytest.approx(0.0 if work.plan.tip else math.tan(math.radians(0.15)), abs=1e-6)


# The closest approach


@pytest.mark.parametrize("name", VARIANTS)
@pytest.mark.parametrize("kind", ["cross-hole", "square"])
def test_the_closest_approach_is_marked_with_its_distance(name: str, kind: str) -> None:
    work, scene = work_of(name, kind), set_mill_scene(work_of(name, kind))
    near = work.simulation.closest
    assert near is not None
    assert scene.near is not None
    seen = math.dist(*scene.near)
    assert seen <= near.distance + 1e-3  # from the side it can only look nearer; of a tipped solid the least is said
    solid = next(s for s in (*work.plan.work.fixtures, *work.plan.work.sections) if s.name == near.obstacle)
    assert shapely.Polygon(silhouette(solid, work.plan.work)).exterior.distance(shapely.Point(scene.near[1])) < 1e-9
    assert scene.pose is not None
    assert scene.pose[0] == Point(near.at[0], near.at[2])
    text = words(sheets(name)[kind])
    unit = variant(name)[0].unit
    shown = f"{near.distance / (25.4 if unit == 'in' else 1.0):.{4 if unit == 'in' else 3}f} {unit}"
    assert f"clears by {shown}" in text
    assert f"{near.body} to {near.obstacle}, line {work.simulation.closest_line}" in text


def test_all_of_the_hold_and_the_cutter_is_in_the_view() -> None:
    for kind in ("cross-hole", "square"):
        scene = set_mill_scene(work_of("tipped", kind))
        view = side_view(scene)
        assert scene.near is not None
        assert view.left_z <= scene.low.z
        assert any(view.sees(place, place) for place in scene.near)
        for work in (s for s in scene.below if s.style == "work"):  # whole, and as long as half of the window
            assert view.bottom_x <= work.low.x < work.high.x <= view.top_x
            assert view.across(work.high.z) - view.across(work.low.z) >= 0.5 * view.frame.width
        assert view.right_z > work_of("tipped", kind).plan.work.sections[-1].end


# The hole


def test_the_hole_is_drawn_as_deep_as_the_text_drills() -> None:
    work = work_of("tipped", "cross-hole")
    assert isinstance(work.plan, CrossHolePlan)
    body = work.plan.work.section_at(work.plan.hole.x)
    bore = bores_of(work)[0]
    hole, *threads = bore_shapes(work, bore, body.top, 0.0)
    assert hole.low.x == pytest.approx(body.top - 6.5 - 1.3 / math.tan(math.radians(59)), abs=1e-4)
    assert hole.high.z - hole.low.z == pytest.approx(2.6)
    assert [t.chain[0].start.z for t in threads] == pytest.approx([-1.5, 1.5])
    assert all(t.low.x == pytest.approx(body.top - 5.0) for t in threads)
    text = words(sheets("tipped")["cross-hole"])
    assert "full to 6.5, point 7.281" in text
    assert "full thread to 5" in text
    assert "M3 x 0.5" in text


def test_what_stays_of_the_section_agrees_with_the_drawing() -> None:
    # The thread counts with its major diameter and to the full depth, as net_section has it; shapely measures the same.
    work = work_of("tipped", "cross-hole")
    body = work.plan.work.section_at(work.plan.hole.x)
    disc = shapely.Point(0, 0).buffer(body.top, 512)
    hole = shapely.box(-1.5, body.top - 6.5, 1.5, body.top + 1)
    share = disc.difference(hole).area / disc.area
    assert net_section(2 * body.top, 3.0, 6.5).area == pytest.approx(share, abs=1e-4)
    assert f"{100 * share:.0f} % of the section" in words(sheets("tipped")["cross-hole"]).replace("\n", " ")


def test_the_small_flat_shows_end_on() -> None:
    work = work_of("tipped", "cross-hole")
    body = work.plan.work.section_at(work.plan.hole.x)
    drawn = ring_of(outline_across(work, work.plan.hole.x))
    assert drawn.bounds[3] == pytest.approx(body.top - 0.2, abs=1e-3)
    assert drawn.bounds[1] == pytest.approx(-body.top, abs=1e-3)
    turned = work_of("rotary", "cross-hole")  # at 30 deg from flat 1, and still drawn on top
    assert ring_of(outline_across(turned, turned.plan.hole.x)).bounds[3] == pytest.approx(body.top - 0.2, abs=1e-3)


def test_through_and_plain_holes() -> None:
    assert "right through" in words(sheets("through")["cross-hole"])
    assert "drill \u00f8 2.6 mm" in words(sheets("plain")["cross-hole"])
    assert not paths(sheets("plain")["cross-hole"], "thread")
    assert paths(sheets("tipped")["cross-hole"], "thread")


def test_the_place_of_the_hole_is_a_dimension() -> None:
    sheet = sheets("tipped")["cross-hole"]
    assert "8" in words(sheet).split("\n")
    assert "X0" in words(sheet)


# A square that is refused


def refused_task() -> SquareTask:
    """The square of the sample that is too large for its bearing."""
    part, shop = read_given(str(SAMPLES / "square-too-large.toml"))
    jobs = settle_mill(part, shop)
    assert jobs is not None
    assert jobs.square is not None
    return jobs.square.tasks[0]


def test_a_refused_square_is_drawn_with_what_does_not_pass() -> None:
    svg, problems = draw_given(str(SAMPLES / "square-too-large.toml"))
    assert problems
    sheet = Tree.fromstring(svg).findall(f"{SVG}g")[-1]
    text = words(sheet).replace("\n", " ")
    assert "the square, refused" in text
    assert "bearing: it could not be put together" in text
    assert "6.833 mm over the corners" in text
    assert "the largest that would pass" in text
    assert len(paths(sheet, "overlap")) == 4 + 1  # four corners, and the legend's
    for element in sheet.iter(f"{SVG}text"):
        place = re.match(r"translate\((-?\d+) (-?\d+)\)", element.get("transform", ""))
        assert place is not None
        assert 0 <= int(place[1]) <= 100 * WIDTH
        assert 0 <= int(place[2]) <= 100 * HEIGHT


def test_what_lies_beyond_the_bearing_is_what_shapely_says() -> None:
    task = refused_task()
    square = task.square
    half = across_at(square, 0.0) / 2
    box = shapely.box(-half, -half, half, half)
    out = box.difference(shapely.Point(0, 0).buffer(task.bearing / 2, 1024)).area
    drawn = sum(shapely.Polygon(piece).area for piece in beyond(square, task.bearing / 2))
    assert drawn == pytest.approx(out, rel=0.02)  # by rays a quarter of a degree apart
    most = replace(square, across=largest_that_passes(square, task.bearing))
    assert max(math.hypot(*p) for p in outline_at_shoulder(most)) == pytest.approx(task.bearing / 2, abs=1e-6)


@pytest.mark.parametrize("legs", [0.1, 0.3, 0.6])
def test_a_broken_corner_is_drawn_by_its_legs(legs: float) -> None:
    square = replace(refused_task().square, corners="broken", broken=legs)
    half = across_at(square, 0.0) / 2
    drawn = shapely.Polygon(outline_at_shoulder(square))
    assert drawn.area == pytest.approx(4 * half * half - 4 * legs * legs / 2, rel=2e-3)
    assert reach(square, 45.0) == pytest.approx(half * math.sqrt(2) - legs / math.sqrt(2))
    assert 2 * math.hypot(half, half - legs) == pytest.approx(corner_diameter_at(square, 0.0))
