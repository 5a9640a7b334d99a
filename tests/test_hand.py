"""Working by hand: what is printed, turned off on a machine of whatever habit, gives the sizes that are printed."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.geometry.path import Point, nearest_on
from cam.plan.model import Plan, SettingPlan
from cam.problem import Where
from cam.quantity import Quantity
from cam.shop.model import Slide
from posts.dials import FACTORS, LEAST_PILE, pile_setting, pile_zero, show_turns
from posts.hand import (
    RIDGE,
    ends_words,
    hand_points,
    tailstock_offset,
    taper_words,
    x_dial_words,
    z_dial_words,
)
from posts.pages import Counts, Ruler, count_from, pass_heads, pass_rows, stops_along, touch_z, travel
from posts.summary import write_summary
from tests.plan_specimens import SAMPLE_NAMES, program_of, sample_plan

HERE = Where(path="shop.toml", line=12)
DIVISIONS = [(0.01, "0.01 mm"), (0.02, "0.02 mm"), (0.025, "0.025 mm"), (0.05, "0.05 mm"), (0.0254, "1 thou"),
             (0.0508, "2 thou")]  # fmt: skip


def slide(reading: str, habit: str, counts: str, division: tuple[float, str], per_turn: int) -> Slide:
    turn = per_turn * division[0] if reading == "dial" else 0.0
    return Slide(
        reading=reading, habit=habit, counts=counts, division=Quantity(*division, HERE),  # type: ignore[arg-type]
        turn=Quantity(turn, f"{turn:g} mm", HERE), backlash=Quantity(0.04, "0.04 mm", HERE), where=HERE,
    )  # fmt: skip


def with_slides(plan: Plan, x: Slide, z: Slide) -> Plan:
    return replace(plan, shop=replace(plan.shop, lathe=replace(plan.shop.lathe, x=x, z=z)))


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
        turns, sign, rest = re.fullmatch(r"(\d+)([+-])(\d+)", text).groups()  # type: ignore[union-attr]
        per_turn = round(of.turn / of.division)
        assert int(rest) < per_turn
        return (1 if sign == "+" else -1) * (int(turns) * per_turn + int(rest)) * of.division
    return float(text) * (25.4 if "thou" in of.division.text else 1.0)


@cache
def rows_of(name: str, number: int, x: Slide, z: Slide) -> tuple[Plan, SettingPlan, Counts, list[Any]]:
    plan = with_slides(sample_plan(name), x, z)
    planned = plan.settings[number]
    return plan, planned, count_from(plan, planned), pass_rows(plan, planned, Ruler(plan.part, plan.shop.lathe))


@given(
    st.sampled_from([(name, n) for name in SAMPLE_NAMES for n in range(1 if name == "crank-pin" else 2)]),
    st.sampled_from(["dial", "readout", "none"]),
    st.sampled_from(sorted(FACTORS)),
    st.sampled_from(["up", "down"]),
    st.sampled_from(DIVISIONS),
    st.sampled_from([40, 50, 80, 100, 125, 200]),
)
@settings(deadline=None, max_examples=120)
def test_what_is_printed_reaches_each_printed_size_within_half_a_division_and_never_adds_up(
    which: tuple[str, int], reading: str, habit: str, counts: str, division: tuple[float, str], per_turn: int
) -> None:
    x, z = slide(reading, habit, counts, division, per_turn), slide(reading, "radius", counts, division, per_turn)
    plan, _, counted, rows = rows_of(*which, x, z)
    heads = pass_heads(plan.shop.lathe)
    places = {h: n for n, h in enumerate(heads)}
    x_at, z_at = heads[5], heads[8]
    own = counts == "down" and habit != "depth on diameter"
    stock = float(plan.part.stock.diameter)
    zero = (2 * stock / 2 if habit == "diameter" else stock / 2) if own else counted.x_turns * per_turn * division[0]
    wheel = Handwheel(x, zero)
    half = division[0] / FACTORS[habit]  # half a division as a diameter
    per = 25.4 if plan.part.unit == "in" else 1.0
    digit = 10.0 ** -Ruler(plan.part, plan.shop.lathe).x * per
    for row in rows:
        cells, cut = row.cells, row.cut
        if cells[places[x_at]]:
            number = number_of(cells[places[x_at]], x)
            diameter = stock - 2 * (number if reading == "none" else wheel.wind_to(number))
            assert abs(diameter - cut.diameter) <= half * (1 + 1e-6) + 1e-9
            assert abs(diameter - float(cells[places["leaves"]]) * per) <= digit / 2 * (1 + 1e-6) + 1e-9
        if cells[places[z_at]]:
            check_z(row, cells[places[z_at]], z, counted, per_turn, division[0])


def check_z(row: Any, text: str, z: Slide, counted: Counts, per_turn: int, division: float) -> None:
    number = number_of(text, z)
    sign = 1 if z.counts == "up" else -1
    called = counted.z_turns * per_turn * division if z.reading == "dial" else 0.0
    place = counted.pile + number if z.reading == "none" else -sign * (number - called)
    assert abs(place - stops_along(row.cut)[1]) <= division / 2 * (1 + 1e-6) + 1e-9


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
    assert show_turns(round(moved / 0.001), 100) == text


def test_a_number_short_of_nothing_is_printed_as_such() -> None:
    assert show_turns(-5, 100) == "0-05"
    assert show_turns(-205, 100) == "2-05"
    assert show_turns(0, 50) == "0+00"


# Slips


@given(st.lists(st.floats(-150.0, 80.0), min_size=1, max_size=12), st.floats(-5.0, 90.0), st.sampled_from(DIVISIONS))
def test_piles_of_slips_are_all_from_one_place_and_can_be_built(
    stops: list[float], touch: float, division: tuple[float, str]
) -> None:
    of = slide("none", "radius", "up", division, 1)
    zero = pile_zero(of, touch, stops)
    assert pile_setting(of, touch, zero).number == pytest.approx(touch - zero)  # nothing is rounded where it is set
    for z in stops:
        pile = pile_setting(of, z, zero)
        assert pile.number >= LEAST_PILE - division[0] / 2 - 1e-9
        assert abs(zero + pile.number - z) <= division[0] / 2 * (1 + 1e-6)
        assert number_of(pile.text, of) == pytest.approx(pile.number, abs=1e-6)


def test_a_lathe_without_dials_is_told_of_stop_slips_and_indicator() -> None:
    plan = sample_plan("orrery-drum-arbor", x_reading="none", z_reading="none", control_kind="hand")
    text = " ".join(write_summary(plan).split())
    counts = count_from(plan, plan.settings[0])
    touching = pile_setting(plan.shop.lathe.z, touch_z(plan.settings[0].setting), counts.pile).text
    assert f"Z SLIPS {touching} is Z 0.00" in text
    assert "by an indicator on it or slips at its stop" in text
    assert "X in from Z to Z slips" in text


def test_dial_words_say_both_ends_of_travel_and_the_habit() -> None:
    plan = sample_plan("orrery-drum-arbor")
    planned = plan.settings[1]
    counts, ruler = count_from(plan, planned), Ruler(plan.part, plan.shop.lathe)
    low, high = ends_words(plan.shop.lathe, counts, ruler, travel(planned))
    assert re.fullmatch(r"Z [\d.-]+ \(dial \d+\+\d\d\)", low)
    assert high.startswith("Z 4")
    words = " ".join(x_dial_words(plan.shop.lathe, counts, ruler))
    assert "0.02 mm on the diameter, 100 a turn; rises as the tool goes in" in words
    assert "rises toward the headstock" in " ".join(z_dial_words(plan.shop.lathe, planned.setting, counts, ruler))


def test_a_readout_that_shows_the_size_needs_no_example_and_reads_below_nothing_too() -> None:
    plan = sample_plan("crank-pin", x_reading="readout", z_reading="readout", x_counts="down", z_counts="down")
    planned = plan.settings[0]
    counts, ruler = count_from(plan, planned), Ruler(plan.part, plan.shop.lathe)
    assert "measure, set the readout to that." in " ".join(x_dial_words(plan.shop.lathe, counts, ruler))
    low, high = ends_words(plan.shop.lathe, counts, ruler, travel(planned))
    assert re.fullmatch(r"Z (-\d+\.\d\d) \(reading \1\)", low)
    assert high == "Z 1.04 (reading 1.04)"


# Edges and tapers


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_points_lie_on_the_tools_path_and_leave_low_ridges(name: str) -> None:
    plan = sample_plan(name)
    lathe = plan.shop.lathe
    found = 0
    for planned in plan.settings:
        counts = count_from(plan, planned)
        for cut in planned.passes:
            points = hand_points(cut, lathe, counts)
            assert (points is None) == (cut.kind not in ("edge", "fillet"))
            if points is None:
                continue
            assert 1 <= len(points.points) <= 11
            assert points.ridge <= RIDGE * 1.3
            for p in points.points:
                at = (p.z_landed + cut.z_told, p.diameter / 2)
                off = min(math.dist(at, nearest_on(piece, Point(*at)))
                          for piece in cut.path)  # fmt: skip
                assert off <= math.hypot(lathe.z.division / 2, lathe.x.division / 4) + 1e-9
                assert number_of(p.x, lathe.x) == pytest.approx(plan.part.stock.diameter - p.diameter)
            found += 1
    assert found


def test_a_taper_is_set_over_by_the_textbooks_rule() -> None:
    # Offset of the tailstock = taper per foot x length of the work / 24, in inches (TC 9-524, chapter 7, and
    # F. D. Jones, Turning and Boring, 1914; both by memory). 3/4 in per foot on work 8 in long: 1/4 in.
    plan = sample_plan("orrery-drum-arbor")
    setting = plan.settings[0].setting
    whole = replace(setting, end_z=0.0, head_z=-8 * 25.4)
    assert tailstock_offset(0.0, 0.75 * 25.4 * 5 / 12, 5 * 25.4, whole) == pytest.approx(0.25 * 25.4)
    turned = setting.turned[3]
    cone = replace(turned, radius_near=turned.radius_far - (turned.near - turned.far) * math.tan(math.radians(0.8)))
    words = taper_words(cone, setting, Ruler(plan.part, plan.shop.lathe), "front")
    assert words.startswith("top slide set over 0.80 degrees")
    assert "toward the tool (at the front)" in words
    assert taper_words(turned, setting, Ruler(plan.part, plan.shop.lathe), "front") == ""
    steep = replace(turned, radius_near=turned.radius_far - (turned.near - turned.far) * math.tan(math.radians(5.0)))
    assert "tailstock" not in taper_words(steep, setting, Ruler(plan.part, plan.shop.lathe), "front")


@pytest.mark.parametrize("dialect", ["rs274ngc", "eia274d"])
def test_the_page_says_the_line_on_which_the_program_begins_each_pass(dialect: str) -> None:
    plan = sample_plan("crank-pin", control_dialect=dialect)
    rows = re.findall(r"^ *(\d+)  [a-z].* N(\d+)$", write_summary(plan), re.MULTILINE)
    assert len(rows) == len(plan.settings[0].passes)
    lines = program_of(plan, dialect).splitlines()
    for number, line in rows:
        at = next(n for n, text in enumerate(lines) if text.startswith(f"N{line} "))
        assert any(f"pass {number} of".upper() in text.upper() for text in lines[at - 4 : at])
