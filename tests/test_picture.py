"""The picture: right places, right words, nothing that a reader or a parser could take for something else."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree as Tree

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from cam.geometry.convex import hull
from cam.geometry.path import Arc, Line, Point, flatten, nearest_on
from cam.ground.problem import RangeError
from cam.ground.units import show_length
from cam.job import Job, draw_given, draw_job, make_job
from cam.judge.model import Finding
from cam.picture import draw_plot
from cam.picture.breaks import BrokenView
from cam.picture.convert import _fonts
from cam.picture.draft import BOLD, SIZES, clean, fit, text_width, wrap
from cam.picture.panel import details_of, main_view
from cam.picture.scene import common, mirror_x, ring, rounded, set_scene
from cam.picture.sheet import Rect, View, hatch, paper, scale_at_most
from tests.specimens import SAMPLES as FOLDER

ROOT = Path(__file__).parent.parent
SAMPLES = ("orrery-drum-arbor", "moon-carriage-spindle", "crank-pin")
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def jobs() -> dict[str, Job]:
    return {name: make_job(str(FOLDER / f"{name}.toml")) for name in SAMPLES}


@pytest.fixture(scope="module")
def drum(jobs) -> Job:
    return jobs["orrery-drum-arbor"]


@pytest.fixture(scope="module")
def refused() -> str:
    return draw_given(str(FOLDER / "too-near-the-centre.toml"))[0]


class Letters(NamedTuple):
    """A text of the picture: style, anchor, place and turn on its sheet in mm, words."""

    style: str
    anchor: str
    x: float
    y: float
    upright: bool
    words: str

    @property
    def box(self) -> tuple[float, float, float, float]:
        size = SIZES[self.style]
        room = text_width(self.words, size, bold=self.style in BOLD) * 0.93  # the estimate is from above
        back = {"start": 0.0, "middle": room / 2, "end": room}[self.anchor]
        if self.upright:
            return self.x - 0.72 * size, self.y + back - room, self.x, self.y + back
        return self.x - back, self.y - 0.72 * size, self.x - back + room, self.y


def sheets(svg: str) -> list[Tree.Element]:
    return Tree.fromstring(svg).findall(f"{SVG}g")


def setting_sheets(svg: str) -> list[Tree.Element]:
    """Those of the lathe's settings."""
    return [sheet for sheet in sheets(svg) if sheet.get("id", "").startswith("setting-")]


def letters(sheet: Tree.Element) -> Iterator[Letters]:
    for element in sheet.iter(f"{SVG}text"):
        style, anchor = element.get("class", "").split()
        x, y, turn = re.fullmatch(
            r"translate\((-?\d+) (-?\d+)\)(rotate\(-90\))?", element.get("transform", "")
        ).groups()
        yield Letters(
            style.removeprefix("t-"), anchor, int(x) / 100, int(y) / 100, turn is not None, element.text or ""
        )


def words(sheet: Tree.Element) -> str:
    return "\n".join(text.words for text in letters(sheet))


def paths(sheet: Tree.Element, style: str) -> list[str]:
    return [e.get("d", "") for e in sheet.iter(f"{SVG}path") if e.get("class") == style]


def corners(data: str) -> list[tuple[float, float]]:
    """End points of path data on the sheet, mm."""
    numbers = [[int(n) for n in re.findall(r"-?\d+", part)] for part in re.findall(r"[MLA][^MLAZHV]*", data)]
    return [(part[-2] / 100, part[-1] / 100) for part in numbers]


# ---- the whole picture -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_is_one_sheet_a_setting_well_formed_and_described(jobs, name):
    job = jobs[name]
    svg = draw_job(job)
    root = Tree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    ids = root.get("aria-labelledby", "").split()
    named = {e.get("id"): e for e in root}
    assert named[ids[0]].text == job.part.name
    assert f"setting 1 of {len(job.works)}" in (named[ids[1]].text or "")
    count = len(job.works) + (len(job.mill.works) if job.mill else 0)
    assert len(sheets(svg)) == count
    assert len(setting_sheets(svg)) == len(job.works)
    assert root.get("viewBox") == f"0 0 29700 {21000 * count}"
    assert len(svg) < 400_000


@pytest.mark.parametrize("name", SAMPLES)
def test_every_number_is_whole_and_plain(jobs, name, refused):
    for svg in (draw_job(jobs[name]), refused):
        for data in re.findall(r' (?:d|transform)="([^"]*)"', svg):
            assert not re.search(r"\d[eE]|nan|inf|\.|-0(?!\d)", data), data


def test_same_input_gives_the_same_bytes_in_another_process(drum):
    code = "import sys; from cam.job import make_job, draw_job; sys.stdout.write(draw_job(make_job(sys.argv[1])))"
    given = [sys.executable, "-c", code, str(FOLDER / "orrery-drum-arbor.toml")]
    other = subprocess.run(
        given, cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": "7"}, capture_output=True, text=True, check=True
    )
    assert other.stdout == draw_job(drum)


def test_a_hostile_part_name_stays_text(drum):
    name = "</text><script>alert(1)</script> & \"x' M3 \x1b[31m \u202e \x00 " + "long " * 80
    part = replace(drum.plan.part, name=name)
    svg = draw_plot(replace(drum.plan, part=part), (), ())
    root = Tree.fromstring(svg)
    assert not list(root.iter(f"{SVG}script"))
    assert "<script" not in svg
    title = next(t for t in letters(sheets(svg)[0]) if t.style == "title")
    assert title.words.startswith("</text><script>")
    assert "..." in title.words
    assert title.box[2] <= 200
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\u202e]", svg)


def test_settings_without_a_simulation_show_their_planned_passes(drum):
    first, second = sheets(draw_plot(drum.plan, [drum.works[1].simulation], [drum.works[1].program]))
    assert "not simulated" in words(first)
    assert "clears by" in words(second)
    assert paths(first, "finish")
    assert not paths(first, "tool")[1:]  # only the legend could show one, and it has no reason to
    assert paths(second, "tool")


def view_of(job, work) -> BrokenView:
    return main_view(set_scene(work.planned, job.shop, work.simulation, work.program))


def seen_in(piece: View, polygon) -> bool:
    ends = [p.z for p in polygon]
    return piece.left_z < max(ends) and min(ends) < piece.right_z


# ---- places ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_stock_and_obstacles_stand_where_the_setting_has_them(jobs, name):
    job = jobs[name]
    for work, sheet in zip(job.works, setting_sheets(draw_job(job)), strict=True):
        view = view_of(job, work)
        drawn = corners(paths(sheet, "stock")[0])
        wanted = [view.place(p) for p in (work.setting.stock[0].start, *(s.end for s in work.setting.stock))]
        assert len(drawn) == len(wanted)
        assert max(math.dist(a, b) for a, b in zip(drawn, wanted, strict=True)) <= 0.0072
        solid = {tuple(corners(data)) for data in paths(sheet, "solid")}
        for obstacle in work.setting.obstacles:
            pieces = [piece for piece in view.pieces if seen_in(piece, obstacle.polygon)]
            assert pieces, obstacle.name
            for piece in pieces:  # a broken view draws it in each of its pieces, each in its own place
                places = [tuple(round(v, 2) for v in piece.place(p)) for p in obstacle.polygon]
                assert any(all(any(math.dist(p, q) < 0.02 for q in outline) for p in places) for outline in solid), (
                    obstacle.name
                )


@pytest.mark.parametrize("name", SAMPLES)
def test_the_ends_are_lettered_and_the_reversal_shows(jobs, name):
    job = jobs[name]
    for work, sheet in zip(job.works, setting_sheets(draw_job(job)), strict=True):
        at = {t.words: t.x for t in letters(sheet) if t.style == "end"}
        assert (at["A"] > at["B"]) == (work.setting.sign < 0)
        assert f"the {work.setting.end} end is turned" in words(sheet)
        right = max(at, key=at.__getitem__)
        faces = [view_of(job, work).across(work.setting.to_setting(z)) for z in (0.0, job.part.length)]
        assert min(at.values()) + 3 < min(faces)
        assert max(at.values()) - 3 > max(faces)
        assert right == work.setting.end  # the end that is turned is the one away from the headstock
        heads = {t.words: t.x for t in letters(sheet) if t.style == "part"}
        assert heads["headstock"] < min(heads.get("tailstock", 999), heads.get("free end", 999))
        assert "Z0" in heads
        assert heads["Z0"] == pytest.approx(view_of(job, work).across(0.0), abs=0.006)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_distance_is_written_and_the_points_lie_on_tool_and_obstacle(jobs, name):
    job = jobs[name]
    unit = job.part.unit
    for work, sheet in zip(job.works, setting_sheets(draw_job(job)), strict=True):
        scene = set_scene(work.planned, job.shop, work.simulation, work.program)
        assert work.simulation.closest is not None
        assert scene.shown is not None
        for near in (work.simulation.closest, scene.shown):
            assert show_length(near.distance, unit, 4 if unit == "in" else 3) in words(sheet)
            assert f"line {near.line}" in words(sheet)
        assert math.dist(scene.shown.on_tool, scene.shown.on_obstacle) == pytest.approx(scene.shown.distance, abs=1e-6)
        (body,) = [s for s in scene.tool if s.name == scene.shown.body]
        point = scene.shown.on_tool
        assert min(math.dist(point, nearest_on(piece, point)) for piece in body.chain) < 1e-6
        if scene.shown.obstacle != "work":
            point = scene.shown.on_obstacle
            solids = [s for s in scene.below if s.name == scene.shown.obstacle]
            assert min(math.dist(point, nearest_on(piece, point)) for s in solids for piece in s.chain) < 1e-6


@pytest.mark.parametrize("name", SAMPLES)
def test_every_motion_of_the_program_is_drawn_once(jobs, name):
    """The nose centre's way: the programmed point's, moved by the nose radius both ways."""
    job = jobs[name]
    for work in job.works:
        scene = set_scene(work.planned, job.shop, work.simulation, work.program)
        nose = {t.number: t.nose_radius * (1 if t.hand == "right" else -1) for t in job.shop.tools}
        drawn = [p for s in scene.below if s.style in ("rapid", "approach", "cut", "finish") for p in s.chain]
        ends = {(round(p.end.z, 3), round(p.end.x, 3)) for p in drawn}
        for motion in work.program.motions:
            moves = motion.kind in ("rapid", "line", "arc") and motion.start != motion.end
            if moves and not any(map(math.isnan, (motion.start.z, motion.end.z, motion.start.x))):
                r = nose[motion.tool]
                assert (round(motion.end.z + r, 3), round(motion.end.x + abs(r), 3)) in ends


def test_finishing_cuts_are_told_from_roughing_by_the_plan(drum):
    for work in drum.works:
        scene = set_scene(work.planned, drum.shop, work.simulation, work.program)
        unsimulated = set_scene(work.planned, drum.shop, None, None)
        for style in ("cut", "finish"):
            (read,), (planned,) = ([s for s in x.below if s.style == style] for x in (scene, unsimulated))
            lengths = [sum(math.dist(p.start, p.end) for p in s.chain) for s in (read, planned)]
            assert lengths[0] == pytest.approx(lengths[1], abs=0.02)


def test_sections_are_named_with_the_diameters_turned(drum):
    for work, sheet in zip(drum.works, setting_sheets(draw_job(drum)), strict=True):
        text = words(sheet)
        for section in drum.part.sections:
            assert section.name in text
        for turned in work.setting.turned:
            assert f"\u00f8 {2 * turned.radius_near:.3f}".rstrip("0").rstrip(".") in text


def test_axes_are_in_the_users_unit(jobs):
    for name, unit in (("orrery-drum-arbor", "mm"), ("moon-carriage-spindle", "in")):
        job = jobs[name]
        sheet = sheets(draw_job(job))[0]
        view = view_of(job, job.works[0])
        text = words(sheet)
        assert f"Z, {unit}" in text
        assert f"diameter, {unit}" in text
        ticks = [t for t in letters(sheet) if t.style == "tick" and t.anchor == "middle"]
        assert len(ticks) > 5
        for tick in ticks:
            z = float(tick.words) * (25.4 if unit == "in" else 1.0)
            assert tick.x == pytest.approx(view.across(z), abs=0.006)


# ---- a refused plan --------------------------------------------------------------------------------


def test_every_sheet_of_a_refused_job_says_so_and_why(refused, tmp_path):
    """Setting 2 would clear, and of a job without passes nothing is simulated: neither may be printed as done."""
    part = tmp_path / "part.toml"
    text = (FOLDER / "too-near-the-centre.toml").read_text("utf-8").replace('"shop.toml"', f'"{FOLDER}/shop.toml"')
    part.write_text(text.replace("fillet up to 0.2 mm", "fillet up to 0.02 mm"), "utf-8")
    for svg, why in ((refused, "no room to start on"), (draw_given(str(part))[0], "no tool has a nose small")):
        for sheet in sheets(svg):
            assert "REFUSED" in words(sheet)
            assert why in words(sheet) or "must not be cut" in words(sheet)


def test_a_refused_plan_is_drawn_with_what_it_hits(refused):
    first = sheets(refused)[0]
    assert "REFUSED" in words(first)
    assert re.search(r"the tool head runs 0\.\d+ mm into the\s+centre body", words(first))
    assert paths(first, "hit")
    assert paths(first, "refused")
    assert paths(first, "overlap")
    assert paths(first, "tool")


def test_overlap_agrees_with_shapely(drum):
    """A tool put 0.3 mm into the work or the cone by hand: the common area is that of shapely's polygons."""
    work = drum.works[0]
    simulation, near = work.simulation, work.simulation.closest_fixed
    assert near is not None
    assert near.obstacle.startswith("centre")
    step = near.distance + 0.3
    way = ((near.on_obstacle.z - near.on_tool.z) / near.distance, (near.on_obstacle.x - near.on_tool.x) / near.distance)
    tip = Point(near.tip.z + step * way[0], near.tip.x + step * way[1])
    hit = finding("contact", near.line, 0.3, near.on_obstacle, tip, near.obstacle, near.tool)
    scene = set_scene(work.planned, drum.shop, replace(simulation, findings=(hit,)), work.program)
    area = sum(shapely.Polygon([p.start for p in s.chain]).area for s in scene.overlap)
    bodies = [shapely.Polygon([p for piece in s.chain for p in flatten(piece, 1e-4)[1:]]) for s in scene.tool]
    solids = [shapely.Polygon(o.polygon) for o in work.setting.obstacles if o.name == near.obstacle]
    common = sum(b.intersection(s).area for b in bodies for s in solids)
    assert common > 0.01
    assert area == pytest.approx(common, rel=2e-3)


def finding(kind, line, amount, at, tip, obstacle, tool, what="it is wrong"):
    return Finding(line=line, kind=kind, what=what, amount=amount, at=at, tip=tip, obstacle=obstacle, tool=tool)


def test_many_findings_are_gathered_and_the_worst_comes_first(drum):
    work = drum.works[0]
    far, near = Point(-40.0, 8.0), Point(2.0, 3.0)
    found = [finding("gouge", n, 0.5, far, far, "", 1, "cut too deep") for n in range(10, 19)]
    found += [finding("contact", 7, 0.1, near, near, "centre cone", 1, "the nose runs into the centre cone")]
    found += [finding("uncut", 0, 0.1, None, None, "", 0, f"uncut, place {n}") for n in range(9)]
    svg = draw_plot(drum.plan, [replace(work.simulation, findings=tuple(found))], [work.program])
    text = words(sheets(svg)[0])
    assert "line 7: the nose runs into the centre cone" in text
    assert "lines 10, 11, 12, 13 and 5 more: cut too deep" in text
    assert "19 findings" in text
    assert "and 6 more" in text
    numbers = {t.words: (t.x, t.y) for t in letters(sheets(svg)[0]) if t.style == "distance" and t.y < 130}
    assert set(numbers) == {"1", "2"}  # near ones share a mark
    view = main_view(set_scene(work.planned, drum.shop, replace(work.simulation, findings=tuple(found)), work.program))
    for number, place in (("1", near), ("2", far)):
        x, y = view.place(place)
        assert math.dist(numbers[number], (x, y)) < 9
    rows = {t.y: t.words for t in letters(sheets(svg)[0]) if t.style == "small" and t.words.startswith("line")}
    signs = {t.words: t.y for t in letters(sheets(svg)[0]) if t.style == "part" and t.words in ("1", "2")}
    assert rows[signs["1"]].startswith("line 7:")
    assert rows[signs["2"]].startswith("lines 10,")


# ---- legibility ------------------------------------------------------------------------------------


def style_sheet() -> dict[str, dict[str, str]]:
    text = (ROOT / "templates" / "plot.svg.j2").read_text()
    body = text[text.index("<style>") + 7 : text.index("</style>")]
    rules: dict[str, dict[str, str]] = {}
    for names, block in re.findall(r"([^{}]+)\{([^}]*)\}", body):
        for name in names.split(","):
            rules.setdefault(name.strip(), {}).update(p.split(":", 1) for p in block.split(";") if p)
    return rules


def test_letters_are_at_least_seven_point_and_as_large_as_the_layout_takes_them():
    rules = style_sheet()
    for style, size in SIZES.items():
        assert size >= 2.46  # 7 point
        assert rules[f".t-{style}"]["font-size"] == f"{round(size * 100)}px"
        assert (rules[f".t-{style}"].get("font-weight") == "bold") == (style in BOLD)


def test_lines_differ_in_more_than_colour():
    rules = style_sheet()
    lines = ["finish", "cut", "approach", "rapid", "stock", "wanted", "datum", "axis"]
    looks = [(rules[f".{s}"].get("stroke-dasharray", ""), int(rules[f".{s}"]["stroke-width"])) for s in lines]
    for (dash_a, width_a), (dash_b, width_b) in combinations(looks, 2):
        assert dash_a != dash_b or max(width_a, width_b) >= 2 * min(width_a, width_b)


def luminance(colour: str) -> float:
    """Relative luminance: W3C, Web Content Accessibility Guidelines 2.1, definition of relative luminance."""
    digits = colour.lstrip("#")
    digits = "".join(2 * c for c in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_what_must_be_seen_stands_out_from_white():
    """W3C, Web Content Accessibility Guidelines 2.1, 1.4.3 (text, 4.5 : 1) and 1.4.11 (graphics, 3 : 1)."""
    rules = style_sheet()
    seen = "finish cut approach rapid stock wanted tool hit overlap datum solid-edge work-edge leader-bold"
    for name in seen.split():
        assert 1.05 / (luminance(rules[f".{name}"]["stroke"]) + 0.05) >= 3.0, name
    assert 1.05 / (luminance(rules["text"]["fill"]) + 0.05) >= 4.5


def test_every_style_that_is_used_is_in_the_style_sheet(jobs, refused):
    rules = style_sheet()
    for svg in (*(draw_job(j) for j in jobs.values()), refused):
        for value in re.findall(r' class="([^"]*)"', svg):
            assert all(f".{name}" in rules for name in value.split())


# ---- the sheet's geometry --------------------------------------------------------------------------


@given(st.floats(-100, 100), st.floats(-20, 60), st.sampled_from((0.5, 1.25, 6.0, 25.0)))
def test_a_place_on_the_paper_leads_back(z, x, scale):
    view = View(Rect(20, 30, 255, 80), scale, -80.0, 100.0)
    across, down = view.place(Point(z, x))
    assert (across - 20) / scale - 80 == pytest.approx(z, abs=1e-9)
    assert (100 - down) / scale == pytest.approx(x, abs=1e-9)
    assert paper(across) == str(round(across * 100))


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_not_drawn(value):
    with pytest.raises(RangeError):
        paper(value)
    with pytest.raises(RangeError):
        View(Rect(0, 0, 9, 9), 1.0, 0.0, 5.0).draw((Line(Point(0, 0), Point(value, 1)),))


@given(st.floats(0.2, 9), st.floats(0, 6.28), st.floats(0.05, 6.2), st.sampled_from((1, -1)))
def test_arcs_bend_the_right_way(r, start, sweep, turn):
    """W3C, Scalable Vector Graphics 1.1, appendix F.6.5: from end points and flags to the centre."""
    centre = Point(3.0, 2.0)
    a, b = (Point(centre.z + r * math.cos(t), centre.x + r * math.sin(t)) for t in (start, start + turn * sweep))
    assume(math.dist(a, b) > 0.1 and abs(sweep - math.pi) > 0.05)
    view = View(Rect(0, 0, 200, 200), 8.0, -15.0, 150.0)
    data = view.draw((Arc(a, b, centre, turn),))
    x1, y1, rx, _, _, large, way, x2, y2 = map(int, re.findall(r"-?\d+", data))
    px, py = (x1 - x2) / 2, (y1 - y2) / 2
    root = math.sqrt(max(rx * rx * rx * rx - rx * rx * (py * py + px * px), 0.0) / (rx * rx * (py * py + px * px)))
    sign = -1 if large == way else 1
    cx, cy = sign * root * py + (x1 + x2) / 2, -sign * root * px + (y1 + y2) / 2
    wanted = view.place(centre)
    flat = 1.0 + rx / math.hypot(px, py)  # whole numbers move the centre most where the chord is short or long
    root_error = 3.0 / max(root, 0.05)
    assert math.hypot(cx / 100 - wanted[0], cy / 100 - wanted[1]) <= 0.02 * (flat + root_error)


def test_a_full_circle_is_two_halves():
    view = View(Rect(0, 0, 100, 100), 1.0, 0.0, 50.0)
    circle = Arc(Point(30, 20), Point(30, 20), Point(25, 20), 1)
    assert view.draw((circle,)) == "M3000 3000A500 500 0 0 0 2000 3000A500 500 0 0 0 3000 3000"


clouds = st.lists(st.builds(Point, st.floats(1, 40), st.floats(1, 40)), min_size=3, max_size=9)


def area_of(polygon):
    return shapely.Polygon(polygon).area if len(polygon) > 2 else 0.0


@given(clouds, st.floats(0.05, 2.0))
def test_a_rounded_outline_is_the_buffer(cloud, radius):
    polygon = hull(cloud)
    assume(len(polygon) > 2 and area_of(polygon) > 0.1)
    chain = rounded(polygon, radius)
    assert all(math.dist(a.end, b.start) < 1e-9 for a, b in pairwise((*chain, chain[0])))
    drawn = shapely.Polygon([p for piece in chain for p in flatten(piece, 1e-5)[1:]])
    assert drawn.symmetric_difference(shapely.Polygon(polygon).buffer(radius, quad_segs=64)).area < 0.01


def test_round_inserts_and_slots_have_outlines_too():
    (circle,) = rounded((Point(1, 1),), 0.5)
    assert isinstance(circle, Arc)
    assert circle.start == circle.end
    slot = rounded((Point(1, 1), Point(1, 3)), 0.5)
    assert shapely.Polygon([p for s in slot for p in flatten(s, 1e-6)[1:]]).area == pytest.approx(
        2 + math.pi / 4, abs=1e-4
    )


def test_what_of_a_comb_lies_in_a_window_is_two_pieces():
    comb = tuple(Point(*p) for p in ((0, 0), (9, 0), (9, 5), (7, 5), (7, 1), (2, 1), (2, 5), (0, 5)))
    pieces = list(common(comb, shapely.box(-1, 2, 20, 4)))
    assert sorted(map(set, pieces), key=min) == [
        {(0, 2), (2, 2), (2, 4), (0, 4)}, {(7, 2), (9, 2), (9, 4), (7, 4)}
    ]  # fmt: skip
    assert all(shapely.LinearRing(piece).is_ccw for piece in pieces)
    assert not list(common(comb, shapely.box(20, 2, 30, 4)))


@given(clouds, st.sampled_from((1, -1)))
def test_hatching_fills_the_outline_and_nothing_else(cloud, rise):
    outline = hull(cloud)
    assume(len(outline) > 2 and area_of(outline) > 60)
    data = hatch(list(outline), 1.0, rise, Rect(0, 0, 50, 50))
    ends = corners(data)
    lines = [shapely.LineString(pair) for pair in zip(ends[::2], ends[1::2], strict=True)]
    shape = shapely.Polygon(outline).buffer(0.03)
    assert all(shape.contains(line) for line in lines)
    covered = sum(line.length for line in lines) / math.sqrt(2)  # spaced 1 upright, so 1/sqrt 2 apart
    assert covered == pytest.approx(area_of(outline), rel=0.2)


def test_hatching_keeps_to_the_window_and_out_of_hollows():
    hollow = [
        (0.0, 0.0),
        (40.0, 0.0),
        (40.0, 40.0),
        (30.0, 40.0),
        (30.0, 10.0),
        (10.0, 10.0),
        (10.0, 40.0),
        (0.0, 40.0),
    ]
    window = Rect(5, 5, 20, 20)
    ends = corners(hatch(hollow, 2.0, 1, window))
    shape = shapely.Polygon(hollow).intersection(shapely.box(5, 5, 25, 25)).buffer(0.02)
    lines = [shapely.LineString(pair) for pair in zip(ends[::2], ends[1::2], strict=True)]
    assert lines
    assert all(shape.contains(line) for line in lines)


def test_an_open_outline_is_closed_for_hatching():
    view = View(Rect(0, 0, 100, 100), 2.0, -20.0, 80.0)
    round_edge = Arc(Point(0, 6), Point(-2, 8), Point(-2, 6), 1)
    lines = [Line(Point(*a), Point(*b)) for a, b in (((0, 0), (0, 6)), ((-2, 8), (-15, 8)), ((-15, 8), (-15, 0)))]
    work = (lines[0], round_edge, *lines[1:])
    assert shapely.Polygon(view.outline(work)).area == pytest.approx(4 * (15 * 8 - (4 - math.pi)), rel=1e-3)


def test_mirror_and_ring():
    chain = (Line(Point(0, 1), Point(2, 1)), Arc(Point(2, 1), Point(3, 2), Point(2, 2), 1))
    assert mirror_x(mirror_x(chain)) == chain
    assert mirror_x(chain)[1] == Arc(Point(2, -1), Point(3, -2), Point(2, -2), -1)
    assert ring((Point(0, 0), Point(1, 0), Point(0, 1)))[-1] == Line(Point(0, 1), Point(0, 0))


def test_scales_are_round():
    assert [scale_at_most(v) for v in (0.01, 1.0, 1.49, 7.9, 99)] == [0.1, 1, 1.25, 7, 50]


# ---- letters ---------------------------------------------------------------------------------------


@given(st.text(max_size=60))
def test_cleaned_text_is_xml_and_stays_as_it_is(text):
    once = clean(text)
    assert clean(once) == once
    assert Tree.fromstring(f"<a>{once.replace('&', '&amp;').replace('<', '&lt;')}</a>").text in (once, None)
    if text.isascii() and text.isprintable():
        assert once == " ".join(text.split())


@given(st.text("abc WMil.", max_size=60), st.floats(8, 60))
def test_fitted_and_wrapped_text_keeps_to_its_room(text, room):
    assert text_width(fit(text, 3.0, room), 3.0) <= room
    lines = wrap(text, 3.0, room)
    assert all(text_width(line, 3.0) <= room for line in lines)
    if text_width(text, 3.0) <= room:
        assert fit(text, 3.0, room) == text


def test_the_estimate_of_width_is_from_above():
    """Against the metrics of the letters that PNG and PDF are written with."""
    for (name, bold), path in zip((("plain", False), ("bold", True)), _fonts(), strict=True):
        pdfmetrics.registerFont(TTFont(name, str(path)))
        for text in ("clears by 0.430 mm", "winding square", "nose of T1 to centre cone, line 123", "WWW.iii", "AVAB"):
            real = pdfmetrics.stringWidth(text, name, 10)
            assert real <= text_width(text, 10, bold=bold) * 1.02
            assert text_width(text, 10, bold=bold) <= 1.35 * real


@pytest.mark.parametrize("name", [*SAMPLES, "drum-hook"])
def test_the_closest_approach_is_shown_whole_in_its_window(name: str) -> None:
    job = make_job(str(FOLDER / f"{name}.toml"))
    for work in job.works:
        scene = set_scene(work.planned, job.shop, work.simulation, work.program)
        assert scene.shown is not None
        (view,) = [v for title, v in details_of(scene, main_view(scene)) if title.startswith("nearest to")]
        for at in (scene.shown.on_tool, scene.shown.on_obstacle):
            x, y = view.place(at)
            assert view.frame.left + 5 < x < view.frame.right - 5
            assert view.frame.top + 5 < y < view.frame.bottom - 5
