"""Working by hand: what is printed, wound off on a machine of whatever habit, gives the sizes that are printed."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPoint, Polygon

from cam.geometry.path import Line, Point, nearest_on
from cam.ground.figures import LEAST, Figures
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.plan.model import Plan
from cam.shop.machine import Slide
from posts.dials import FACTORS, LEAST_PILE, counts_size
from posts.pages.figures import figures_for
from posts.pages.measures import correct_x
from posts.pages.nose import under_row
from posts.pages.points import MANY, MOST, STONED, _flanks, _passed, in_and_out, set_over, taper_places
from posts.pages.readings import SlideScale, scales_of
from posts.pages.setting import SettingKnown, setting_page
from posts.pages.standing import Standing
from posts.pages.text import write_pages
from posts.summary import write_summary
from tests.plan_specimens import SAMPLE_NAMES, program_of, sample_plan
from tests.test_page_laws import ROW, matches
from tests.test_summary import setting_text

HERE = Where(path="shop.toml", line=12)
DIVISIONS = [(0.01, "0.01 mm"), (0.02, "0.02 mm"), (0.025, "0.025 mm"), (0.05, "0.05 mm"), (0.0254, "1 thou"),
             (0.0508, "2 thou")]  # fmt: skip


def slide(reading: str, habit: str, counts: str, division: tuple[float, str], per_turn: int) -> Slide:
    turn = per_turn * division[0] if reading == "dial" else 0.0
    return Slide(
        reading=reading, habit=habit, counts=counts, division=Quantity(*division, HERE),  # type: ignore[arg-type]
        turn=Quantity(turn, f"{turn:g} mm", HERE), backlash=Quantity(0.04, "0.04 mm", HERE), where=HERE,
    )  # fmt: skip


class Handwheel:
    """A slide as a hand moves it: it knows nothing of sizes, only how far it was wound since its zero was set."""

    def __init__(self, of: Slide, at: float) -> None:
        self.of, self.shown = of, at
        self.wound = 0.0

    def wind_to(self, reading: float) -> float:
        """Wind from the number that it shows to another; plain distance that way since zero, mm."""
        sign = 1 if self.of.counts == "up" else -1
        self.wound += sign * (reading - self.shown) / FACTORS[self.of.habit]
        self.shown = reading
        return self.wound


def number_of(text: str, of: Slide) -> float:
    """The number that a printed reading stands for, in the dial's own measure, mm."""
    if of.reading == "dial":
        turns, sign, rest = re.fullmatch(r"(\d+)([+-])(\d+(?:\.5)?)", text).groups()  # type: ignore[union-attr]
        per_turn = round(of.turn / of.division)
        assert float(rest) < per_turn
        return (1 if sign == "+" else -1) * (int(turns) * per_turn + float(rest)) * of.division
    return float(text) * (25.4 if "thou" in of.division.text else 1.0)


@cache
def page_of(name: str, index: int, x: Slide, z: Slide) -> tuple[Plan, Figures, str]:
    plan = sample_plan(name, control_kind="hand")
    plan = replace(plan, shop=replace(plan.shop, lathe=replace(plan.shop.lathe, x=x, z=z)))
    figures = figures_for(plan.part, plan.shop.lathe)
    return plan, figures, write_pages([setting_page(plan, index, figures, SettingKnown())], plan.part, figures)


@given(
    st.sampled_from([(name, n) for name in SAMPLE_NAMES for n in range(1 if name == "crank-pin" else 2)]),
    st.sampled_from(["dial", "readout", "none"]),
    st.sampled_from(sorted(FACTORS)),
    st.sampled_from(["up", "down"]),
    st.sampled_from(DIVISIONS),
    st.sampled_from([40, 50, 80, 100, 125, 200]),
)
@settings(deadline=None, max_examples=60)
def test_what_is_printed_reaches_each_printed_size_and_never_adds_up(
    which: tuple[str, int], reading: str, habit: str, counts: str, division: tuple[float, str], per_turn: int
) -> None:
    x, z = slide(reading, habit, counts, division, per_turn), slide(reading, "radius", counts, division, per_turn)
    plan, figures, text = page_of(*which, x, z)
    bar = float(plan.part.stock.diameter)
    joined = " ".join(text.split())
    zero = float(number_of(re.search(r"X DIAL .*?; (\S+) is diameter", joined)[1], x)) if reading == "dial" else 0.0  # type: ignore[index]
    own = (bar if habit == "diameter" else bar / 2) if counts_size(x) and reading != "none" else 0.0
    wheel = Handwheel(x, zero + own)
    per = 25.4 if figures.unit == "in" else 1.0
    count = 0
    for row in matches(ROW, text):
        number = number_of(row["x"], x)
        diameter = bar - 2 * (number if reading == "none" else wheel.wind_to(number))
        assert abs(diameter - float(row["leaves"]) * per) <= 10.0**-figures.x * per / 2 * (1 + 1e-6) + 1e-9
        place = z_of(row["z"], z, joined, per)
        assert abs(place - float(row["stop"]) * per) <= 10.0**-figures.z * per / 2 * (1 + 1e-6) + 1e-9
        count += 1
    assert count > 5


def z_of(text: str, z: Slide, page: str, per: float) -> float:
    """Where the carriage stands at a reading, Z in mm, by what the page says of its zero."""
    zero, at = re.search(r"Z (?:DIAL|READS|SLIPS) (?:[^;]*?; )?(\S+) is Z (\S+?)(?:,|;| |$)", page).groups()  # type: ignore[union-attr]
    sign = -1 if z.counts == "up" and z.reading != "none" else 1
    return float(at) * per + sign * (number_of(text, z) - number_of(zero, z))


EXAMPLES = [  # a dial of so many divisions of 0.001 in a turn, moved by so many; what comes off the diameter, in
    # Headquarters, Department of the Army, TC 9-524, Fundamentals of Machine Tools (1996), chapter 7, on the cross
    # slide's graduated collar: a cut a side takes twice as much off the diameter. By memory; the figures are ours.
    ("radius", 0.075, "0+75", 0.150),
    ("radius", 0.250, "2+50", 0.500),
    ("diameter", 0.150, "1+50", 0.150),
    ("depth on diameter", 0.025, "0+25", 0.025),
]


@pytest.mark.parametrize(("habit", "moved", "text", "off"), EXAMPLES)
def test_a_collar_in_thousandths_takes_off_what_the_textbook_says(
    habit: str, moved: float, text: str, off: float
) -> None:
    of = slide("dial", habit, "up", (0.0254, "1 thou"), 100)
    assert number_of(text, of) == pytest.approx(moved * 25.4)
    assert 2 * Handwheel(of, 0.0).wind_to(number_of(text, of)) == pytest.approx(off * 25.4)
    assert SlideScale(of, 25.4, [], across=True).mark(25.4 - off * 25.4, "near").text == text


READINGS = [  # habit, counts, diameter, text; the bar is 16.00
    ("diameter", "up", 14.5, "0+75"), ("diameter", "up", 8.5, "3+75"), ("diameter", "down", 14.5, "7+25"),
    ("depth on diameter", "up", 14.5, "0+75"), ("radius", "up", 14.48, "0+38"), ("radius", "down", 14.52, "3+63"),
    ("depth on diameter", "down", 14.5, "0+25"),
]  # fmt: skip


@pytest.mark.parametrize(("habit", "counts", "diameter", "text"), READINGS)
def test_every_habit_of_dial(habit: str, counts: str, diameter: float, text: str) -> None:
    of = slide("dial", habit, counts, (0.02, "0.02 mm"), 100)
    assert SlideScale(of, 16.0, [16.0, diameter], across=True).mark(diameter, "near").text == text


@given(
    st.floats(0.5, 40.0), st.floats(0.0, 0.05), st.floats(0.2, 0.8), st.sampled_from(DIVISIONS),
    st.sampled_from(sorted(FACTORS)), st.sampled_from(["up", "down"]),
)  # fmt: skip
def test_a_last_cut_takes_a_mark_else_half_a_division_within_the_limits(
    least: float, width: float, share: float, division: tuple[float, str], habit: str, counts: str
) -> None:
    scale = SlideScale(slide("dial", habit, counts, division, 100), 50.0, [0.0], across=True)
    aim = least + share * width
    found = scale.last(aim, least, least + width)
    if width >= scale.step / 2:
        assert least - 1e-6 <= found.at <= least + width + 1e-6
    assert found.within == (least - 1e-5 <= found.at <= least + width + 1e-5)
    assert abs(found.at - aim) <= scale.step + 1e-9
    assert (".5" in found.text) == found.half
    leaves = scale.mark(aim)
    assert aim - 1e-4 * scale.step <= leaves.at < aim + scale.step


def test_a_number_short_of_zero_is_printed_as_such() -> None:
    scale = SlideScale(slide("dial", "radius", "up", (0.02, "0.02 mm"), 100), 0.0, [], across=False)
    assert [scale.text(count) for count in (-5, -205, 0)] == ["0-05", "2-05", "0+00"]


# Slips


@given(st.lists(st.floats(-150.0, 80.0), min_size=1, max_size=12), st.floats(-5.0, 90.0), st.sampled_from(DIVISIONS))
def test_piles_of_slips_are_all_from_one_place_and_can_be_built(
    stops: list[float], touch: float, division: tuple[float, str]
) -> None:
    of = slide("none", "radius", "up", division, 1)
    scale = SlideScale(of, touch, stops, across=False)
    assert scale.mark(touch, "near").at == pytest.approx(touch)  # nothing is rounded where it is set
    for z in stops:
        pile = scale.mark(z, "near")
        assert number_of(pile.text, of) >= LEAST_PILE - division[0] / 2 - 1e-9
        assert abs(pile.at - z) <= division[0] / 2 * (1 + 1e-6)
        assert scale.zero + number_of(pile.text, of) == pytest.approx(pile.at, abs=1e-6)


def test_a_lathe_without_dials_is_told_of_stop_slips_and_indicator() -> None:
    plan = sample_plan("orrery-drum-arbor", x_reading="none", z_reading="none", control_kind="hand")
    text = " ".join(write_summary(plan).split())
    touching = scales_of(plan.shop.lathe, 16.0, plan.settings[0]).z.mark(0.0, "near").text
    assert f"Z SLIPS {touching} is Z 0.00" in text
    x = scales_of(plan.shop.lathe, 16.0, plan.settings[0]).x
    tried = x.mark(16.0 - 5 * x.step, "near")
    assert 2 * float(tried.text) == pytest.approx(16.0 - tried.at)  # a side, in from the bar that was skimmed
    assert f"X IN a side from diameter 16.00; skim the bar, stop, measure: {tried.at:.2f} is {tried.text}, by" in text
    assert "by an indicator on the cross slide; every row is set by it, in air too" in text
    assert "slips at its stop: a pile thinner by as much as X goes in" in text
    assert "X in from Z to Z slips" in text


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_with_slips_the_stop_is_locked_anew_wherever_a_tool_is_touched_again(name: str) -> None:
    """There is no Z to be set: a pile between carriage and stop is what makes the readings true again."""
    plan = sample_plan(name, z_reading="none", control_kind="hand")
    text = " ".join(write_summary(plan).split())
    assert re.search(r"set [^.]*\bZ to its reading", text) is None
    assert "its pile is the row's and what lies between \"from Z\" and \"to Z\" on top" in text
    pages = [" ".join(setting_text(write_summary(plan), n).split()) for n in range(1, len(plan.settings) + 1)]
    for planned, page in zip(plan.settings, pages, strict=True):
        again = len({c.tool.number for c in planned.passes}) > 1 or any(t.is_taper for t in planned.setting.turned)
        assert ("lock the stop until a tool is touched anew" in page) == again
        assert ("lock the stop for this whole setting" in page) != again
        for touched in re.findall(r"touch it on ([^;]+);", page):
            assert ": Z " not in touched
            assert "the shoulder" not in touched or re.search(r": pile [\d.]+, the stop locked anew$", touched), touched


# Edges and tapers


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_points_lie_on_the_tools_path_or_just_outside_it_and_say_what_they_leave(name: str) -> None:
    plan = sample_plan(name)
    lathe, found = plan.shop.lathe, 0
    for planned in plan.settings:
        scales, standing = scales_of(lathe, float(plan.part.stock.diameter), planned), Standing(planned.setting)
        standing.face(planned.setting.end_z)
        for cut in planned.passes:
            if cut.shape == "straight":
                standing.cut(cut.z_to, cut.z_from, 2 * cut.x)
            if cut.kind != "edge":
                continue
            places = in_and_out(cut, scales, standing)
            assert 1 <= len(places.places) <= MOST
            assert 0 < places.ridge < 0.1
            assert [p.z for p in places.at] == sorted((p.z for p in places.at), reverse=True)
            for p in places.at:
                at = Point(p.z + cut.z_told, p.x)
                off = min(math.dist(at, nearest_on(piece, at)) for piece in cut.path)
                assert off <= math.hypot(lathe.z.division, lathe.x.division / 2) + 1e-9
            found += 1
    assert found


def test_many_points_by_a_slim_knife_are_spread_and_not_set_in_runs() -> None:
    """Between places 0.2 apart a trailing edge of 52 degrees leaves 0.3 square to a chamfer; 0.04 apart, a fifth."""
    plan = sample_plan(SAMPLE_NAMES[0])
    planned = plan.settings[0]
    edge = next(c for c in planned.passes if c.kind == "edge")
    x, z = float(plan.part.stock.diameter) / 2, planned.setting.end_z
    chamfer = (Line(Point(z, x - 2.0), Point(z - 2.0, x)),)
    slim = replace(edge.tool, included=35.0, approach=93.0, nose_radius=Quantity(0.05, "0.05 mm", HERE))
    cut = replace(edge, path=chamfer, z_told=0.0, tool=slim)
    places = in_and_out(cut, scales_of(plan.shop.lathe, 2 * x, planned), Standing(planned.setting))
    assert MOST < len(places.at) < MANY
    assert places.ridge <= STONED


@pytest.mark.parametrize("size", [0.02, 0.028, 0.03, 0.035, 0.05])
@pytest.mark.parametrize("beyond", [0.02, 0.03, 0.04])
def test_an_edge_is_half_cut_at_least_or_left_to_a_stone(size: float, beyond: float) -> None:
    """A chamfer wherever it lies between the marks of Z, by tenths of a division; its path ends a little beyond it.

    Square to a chamfer of 0.028 no more stands than the 0.02 that a slip stone takes off.
    """
    plan = sample_plan(SAMPLE_NAMES[0])
    planned = plan.settings[0]
    edge = next(c for c in planned.passes if c.kind == "edge")
    x = float(plan.part.stock.diameter) / 2
    scales, off = scales_of(plan.shop.lathe, 2 * x, planned), float(edge.tool.nose_radius) * (math.sqrt(0.5) - 1)
    for end in (planned.setting.end_z - 0.002 * part for part in range(10)):
        low = Point(end - size - beyond + off, x + beyond + off)
        slant = Line(low, Point(end + beyond + off, x - size - beyond + off))
        standing = Standing(planned.setting)
        standing.face(end)
        places = in_and_out(replace(edge, path=(slant,), z_told=0.0), scales, standing)
        assert bool(places.at) == (size > 0.028)
        assert not places.at or places.ridge <= 0.5 * size * math.sqrt(0.5) + 1e-4


@given(
    st.floats(0.03, 0.4), st.floats(10.0, 80.0), st.floats(75.0, 100.0), st.floats(0.0, 1.5),
    st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5)),
)  # fmt: skip
def test_what_a_tool_passes_above_a_place_is_what_its_outline_drawn_in_covers(
    nose: float, trailing: float, approach: float, slant: float, centre: tuple[float, float]
) -> None:
    """What stands outside a trailing edge steeper than the normal is left, though the nose has passed below it."""
    at, normal = Point(0.0, 0.0), Point(math.sin(slant), math.cos(slant))
    knife = replace(sample_plan("crank-pin").settings[0].passes[0].tool, included=180.0 - approach - trailing,
                    approach=Quantity(approach, "", HERE))  # fmt: skip
    lean = math.radians(approach - 90.0)
    far = [(0.0, 0.0), (0.0, 99.0), (99.0 * math.sin(lean), 99.0 * math.cos(lean)),
           (99.0 * math.cos(math.radians(trailing)), 99.0 * math.sin(math.radians(trailing)))]  # fmt: skip
    noses = MultiPoint([(centre[0] + z, centre[1] + x) for z, x in far]).convex_hull.buffer(nose, quad_segs=400)
    seen = LineString([at, (9.0 * normal.z, 9.0 * normal.x)]).intersection(noses)
    found = _passed(at, normal, Point(*centre), nose, _flanks(knife))
    if seen.is_empty or seen.length < 0.01:
        return
    assert found is not None
    ends = sorted(math.dist(at, p) for p in seen.coords)
    assert found[0] == pytest.approx(ends[0], abs=2e-3)
    assert min(found[1], 9.0) == pytest.approx(ends[1], abs=2e-3)


def test_a_row_shorter_than_its_nose_leaves_the_whole_round_of_it() -> None:
    """It was drawn in to half of the row, so that a row that takes nothing off was printed to be cut."""
    straight = next(c for c in sample_plan("crank-pin").settings[0].passes if c.shape == "straight")
    nose = float(straight.tool.nose_radius)
    under = under_row(Point(-1.0, 2.0), -1.0 + nose / 2, straight)
    assert under[0] == pytest.approx((-1.0, 2.0 + nose))
    assert min(p.x for p in under) == pytest.approx(2.0)
    assert under[-1].z >= -1.0 + nose


def test_a_taper_is_set_over_between_two_places() -> None:
    # 3/4 in per foot, the textbook's standing example, is 1.79 degrees a side (atan of 0.75 / 24); exact
    plan = sample_plan("crank-pin")
    planned = plan.settings[0]
    last = next(c for c in planned.passes if c.kind == "finish")
    slope = 0.75 / 24
    cone = replace(last, path=(Line(Point(-1.0, 2.0), Point(-9.0, 2.0 + 8 * slope)),), z_told=0.0)
    scales = scales_of(plan.shop.lathe, 6.0, planned)
    found, angle = set_over(cone, scales, last=True)
    assert round(angle, 2) == 1.79
    assert len(found.places) == 2
    (near, far) = found.at
    assert near.z > far.z
    assert far.x - near.x == pytest.approx(slope * (near.z - far.z), abs=0.5 * plan.shop.lathe.x.division)


@pytest.mark.parametrize("x", [1.5, 1.503, 1.506, 1.509, 1.512])
def test_a_taper_is_begun_at_the_first_mark_that_is_clear_of_the_centre(x: float) -> None:
    """The nose keeps the clearance from the cone, by its circle alone; it did not where the nearest mark lay beyond."""
    plan = sample_plan("orrery-drum-arbor", control_kind="hand")
    planned, lathe = plan.settings[0], plan.shop.lathe
    last = next(c for c in planned.passes if c.kind == "finish")
    cone = next(Polygon(o.polygon) for o in planned.setting.obstacles if o.name == "centre cone")
    scales, nose, clear = scales_of(lathe, 16.0, planned), float(last.tool.nose_radius), float(lathe.contact_clearance)

    def gap(z: float) -> float:
        return cone.distance(shapely.Point(z + nose, x + nose)) - nose

    begin = next(z for z in (0.8 - 0.0005 * k for k in range(4000)) if gap(z) >= clear)  # as the plan begins it
    cut = replace(last, path=(Line(Point(begin, x), Point(begin - 9.0, x + 0.01)),), z_told=0.0)
    found, _ = taper_places(cut, scales, planned.setting.turned[0], planned.setting, lathe)
    first, step = found.at[0], scales.z.step
    assert gap(first.z) >= clear
    assert begin - step - 0.002 < first.z < begin + step / 2, "no further in than the next mark"
    assert found.at[1].z == pytest.approx(scales.z.mark(begin - 9.0).at)


@pytest.mark.parametrize("dialect", ["rs274ngc", "eia274d"])
def test_the_page_says_the_line_on_which_the_program_begins_each_pass(dialect: str) -> None:
    plan = sample_plan("crank-pin", control_dialect=dialect)
    rows = re.findall(r"^ *(\d+)  [a-z].* N(\d+)$", write_summary(plan), re.MULTILINE)
    assert len(rows) == len(plan.settings[0].passes)
    lines = program_of(plan, dialect).splitlines()
    for number, line in rows:
        at = next(n for n, text in enumerate(lines) if text.startswith(f"N{line} "))
        assert any(f"pass {number} of".upper() in text.upper() for text in lines[at - 4 : at])


READ_OVER = {
    "each 0.0010 over: X up by 0.025 mm": ("readout", "diameter", "up", 1, "in"),
    "over: X down by as much": ("readout", "diameter", "down", 1, "mm"),
    "over: X up by half of it": ("readout", "radius", "up", 0, "mm"),
    "each 0.010 over: X up by 0.00020 in": ("readout", "radius", "up", 4, "mm"),
    "each 0.0010 over: in further by 0.013 mm": ("none", "radius", "up", 1, "in"),
    "each 0.0010 over: X -1": ("dial", "diameter", "down", 4, "in"),
}
"""A correction as it must read: slide, which division (thousandths of an inch or mm), the page's unit."""


@pytest.mark.parametrize("words", READ_OVER)
def test_a_correction_is_in_the_unit_of_its_slide(words: str) -> None:
    """0.001 in is 0.0254 mm, half of it 0.013; half of 0.01 mm is 0.00020 in: exact, rounded."""
    reading, habit, counts, division, unit = READ_OVER[words]
    of = slide(reading, habit, counts, DIVISIONS[division], 100)
    plan = sample_plan("moon-carriage-spindle" if unit == "in" else "crank-pin", control_kind="hand")
    figures = figures_for(plan.part, replace(plan.shop.lathe, x=of))
    assert correct_x(SlideScale(of, 10.0, [], across=True), figures) == words


LAST = [  # division on the diameter or along Z, limits, aim; the reading a careful hand takes: by plain arithmetic
    (0.02, 3.000, 3.010, 3.005, 3.010),  # midway between a mark and half a division: 3.000 is where scrap begins
    (0.02, 2.996, 3.014, 3.005, 3.010),  # both inside: of two as near, the one that leaves metal
    (0.02, 2.990, 3.020, 3.005, 3.000),  # a mark is surer than half a division where it is far from both limits
    (0.02, 3.000, 3.009, 3.0045, 3.010),  # the nearest is where scrap begins, and no other lies within: full
    (0.02, 3.002, 3.006, 3.0035, 3.010),  # the nearest is scrap
    (0.02, 3.000, 3.100, 3.015, 3.020),  # a mark snug to the aim, as ever
    (0.02, 3.000, 3.014, 3.006, 3.010),
    (0.02, 2.994, 3.016, 3.004, 3.000),  # well inside, and nearer
]


@pytest.mark.parametrize(("step", "least", "most", "aim", "wanted"), LAST)
@pytest.mark.parametrize("counts", ["up", "down"])
@pytest.mark.parametrize("across", [True, False])
def test_a_last_cut_never_aims_at_where_scrap_begins(
    step: float, least: float, most: float, aim: float, wanted: float, counts: str, across: bool
) -> None:
    """A diameter, and a shoulder faced toward the headstock: less of either is metal gone, whatever the dial counts."""
    of = slide("dial", "diameter", counts, (step, f"{step} mm"), 100)
    reading = SlideScale(of, 10.0, [aim], across=across).last(aim, least, most)
    assert reading.at == pytest.approx(wanted, abs=1e-6)
    assert reading.within == (wanted <= most)


@given(
    st.sampled_from(["dial", "readout", "none"]), st.sampled_from(["up", "down"]), st.sampled_from(DIVISIONS),
    st.booleans(), st.integers(2000, 4000), st.integers(0, 120), st.floats(0.0, 1.0),
)  # fmt: skip
def test_no_last_reading_is_scrap(
    reading: str, counts: str, division: tuple[float, str], across: bool, low: int, width: int, share: float
) -> None:
    """It leaves the least metal that a hand is sure of, and says where that is over the limits."""
    least, most = low / 1000, (low + width) / 1000
    aim = least + share * (most - least)
    scale = SlideScale(slide(reading, "diameter", counts, division, 100), 10.0, [aim], across=across)
    found = scale.last(aim, least, most)
    assert found.at > least
    assert found.within == (found.at <= most + 1e-6)
    assert found.at - max(aim, least) <= scale.fraction * scale.step + 2 * LEAST


@given(st.sampled_from(["up", "down"]), st.booleans(), st.integers(-200, 200))
def test_of_two_marks_as_near_the_one_that_leaves_metal_is_set(counts: str, across: bool, mark: int) -> None:
    scale = SlideScale(slide("dial", "diameter", counts, (0.02, "0.02 mm"), 100), 10.0, [], across=across)
    assert scale.mark(10.0 + (mark + 0.5) * 0.02, "near").at == pytest.approx(10.0 + (mark + 1) * 0.02)
    assert scale.last(10.0 + (mark + 0.5) * 0.02, 0.0, math.inf).at == pytest.approx(10.0 + (mark + 1) * 0.02)
