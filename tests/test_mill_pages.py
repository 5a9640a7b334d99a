"""The mill's pages: every figure against its closed form, dials that land, nothing needed that is not there."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.job import make_job, read_given, write_job_summary
from cam.mill.cycles import expand
from cam.mill.model import Cycle, Feed, Move, Rapid
from cam.mill.plan_hole import HolePlan
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.mill.simulate import simulate_mill
from cam.problem import ProblemError, Where
from cam.quantity import Quantity
from cam.shop.model import Slide
from posts.cross_hole_page import uses_of
from posts.layout import BREAK, HEIGHT, paginate
from posts.mill_dials import Counter
from posts.mill_pages import mill_pages
from posts.mill_sheet import Sheet
from posts.pages import Ruler
from posts.pages.mill_passes import flat_passes
from posts.square_page import SquareFigures, depths_of, place_on
from posts.wording import plain
from tests.mill_case import read, text_of
from tests.mill_variants import VARIANTS, WHEN, changed, pages_of, variant, words
from tests.specimens import SAMPLES

ROOT = Path(__file__).parent.parent
HERE = Where(path="shop.toml", line=12)
FLAT_WAYS = ("tipped", "parallel", "hexagon", "broken", "undercut", "readouts", "inch page", "hidden", "no dials")
"""Variants whose square can be cut by hand."""


def square_of(name: str) -> tuple[SquareTask, SquarePlan]:
    work = variant(name)[2].works[-1]
    assert isinstance(work.task, SquareTask)
    assert isinstance(work.plan, SquarePlan)
    return work.task, work.plan


def hole_of(name: str) -> HolePlan:
    plan = variant(name)[2].works[0].plan
    assert isinstance(plan, HolePlan)
    return plan


def square(name: str) -> str:
    """The words of the square's page."""
    return words(pages_of(name)["square"])


def hole(name: str) -> str:
    """The words of the cross hole's page."""
    return words(pages_of(name)["cross-hole"])


def size(name: str, mm: float, least: int | None = None) -> str:
    part, shop, _ = variant(name)
    return Ruler(part, shop.lathe).size(mm, least)


# Form


@pytest.mark.parametrize("name", VARIANTS)
@pytest.mark.parametrize("width", [40, 80, 132])
def test_pages_are_ascii_within_their_width_and_height(name: str, width: int) -> None:
    for text in pages_of(name, width).values():
        assert text.isascii()
        assert BREAK not in text
        assert "nan" not in text
        assert "None" not in text
        for page in text.split("\f"):
            lines = page.rstrip("\n").split("\n")
            assert len(lines) <= HEIGHT
            assert max(map(len, lines)) <= width


@pytest.mark.parametrize("name", VARIANTS)
def test_any_width_keeps_every_word_and_figure(name: str) -> None:
    def said(text: str) -> set[str]:
        return set(re.findall(r"[\w.+/%]+", re.sub(r"page \d+ of \d+|, continued", "", words(text))))

    for short, wide in zip(pages_of(name, 80).values(), pages_of(name, 240).values(), strict=True):
        assert said(short) == said(wide)
        assert "..." not in short


def test_hostile_names_stay_words() -> None:
    part, shop, job = variant("tipped")
    evil = "{{ 7*7 }}\x1b[31m\n\f\x02head %s \u202e" + "w" * 500
    sections = tuple(replace(s, name=evil) if s.name == "drum body" else s for s in part.sections)
    works = []
    for work in job.works:
        asked = replace(work.asked.asked, hold=replace(work.asked.asked.hold, section=evil))
        if hasattr(asked, "lead"):
            asked = replace(asked, name=evil, section=evil)
        works.append(replace(work, asked=replace(work.asked, asked=asked)))
    evil_part = replace(part, name=evil, sections=sections)
    pages = mill_pages(evil_part, replace(job, works=tuple(works)), Ruler(part, shop.lathe), {})
    text = paginate(pages)
    assert text.isascii()
    assert "\x1b" not in text
    assert "49" not in words(text).split("WHERE")[1][:200]
    assert plain("{{ 7*7 }}") in words(text)
    assert max(len(line) for line in text.replace("\f", "").split("\n")) <= 80


# The first test


def test_corners_are_whole_up_to_0_707_of_the_round() -> None:
    # Exact, by Pythagoras: a square in a circle has 1 / sqrt(2) of its diameter across flats.
    text = square("tipped")
    task, _ = square_of("tipped")
    assert f"whole only up to 0.707 of the round, {size('tipped', task.square.blank / math.sqrt(2))} across" in text
    assert "the mill leaves these round over the length; asked for: round" in text
    limit = size("hexagon", task.square.blank * math.sqrt(3) / 2)
    assert f"whole only up to 0.866 of the round, {limit} across" in square("hexagon")


def test_where_corners_turn_whole_is_counted_from_the_shoulder() -> None:
    s = square_of("broken")[1].milled
    change = s.station + (s.across - s.blank / math.sqrt(2)) / (2 * s.slope)  # where a(x) = D / sqrt 2
    assert 0 < change < s.length
    assert f"round to {size('broken', change)} from the shoulder, whole from there" in square("broken")


def test_it_passes_its_bearing_by_what_is_said() -> None:
    text = square("tipped")
    blank = square_of("tipped")[0].square.blank
    spare = size("tipped", 6.03 - blank)
    assert f"{size('tipped', blank)} over the corners passes its hole of 6.03, {spare} to spare" in text
    # broken corners, legs b along both faces: (a/2)^2 + (a/2 - b)^2 = (d/2)^2
    half = (3.6 + 2 * 0.004 * 10) / 2
    over = 2 * math.hypot(half, half - 0.2)
    assert f"{size('broken', over)} over the corners passes" in square("broken")


def test_the_key_stops_where_the_taper_says() -> None:
    # 4.24 = 4.2 + 2 * 0.004 * (10 - x) at x = 5 from the shoulder: 15 of 20 are covered.
    text = square("tipped")
    assert "key of 4.24 across flats: goes on over 15.00 from the tip, 75 % of the length, and stops on" in text
    assert "0.12 loose at the tip" in text
    assert "key: none is named; take the key in hand as the gauge" in square("hexagon")


def test_the_taper_is_said_per_side_and_included() -> None:
    text = square("tipped")
    angle = math.degrees(math.atan(0.004))
    assert f'{angle:.3f} deg a side, {2 * angle:.3f} deg included; written "0.004 in/in per side"' in text
    assert "parallel: no taper" in square("parallel")


# Block and shim


def test_the_shim_is_spacing_times_slope_and_its_end_is_named() -> None:
    # Derived: height = spacing x tan t; 50 mm x 0.004.
    text = square("tipped")
    assert "Shim of 0.20 under the end toward the tip of the square, its near edge 50.00 from the edge" in text
    assert "To raise the other end would make the tip the larger one." in text
    assert "[###] shim" in pages_of("tipped")["square"]
    # 0.01 more on 50 mm tips 20 mm of square by 0.004 a side
    assert "One that is 0.01 thicker makes the tip 0.008 smaller" in text


def test_a_block_of_3_in_needs_12_thou_for_4_thou_an_inch() -> None:
    # Common practice, no source: a shim giving 0.004 in per inch a side; a 3 in block needs 0.012 in.
    part, shop, job = variant("inch page")
    task, plan = square_of("inch page")
    assert plan.tip is not None
    tip = plan.tip._replace(spacing=3 * 25.4, shim=3 * 25.4 * 0.004)
    works = (replace(job.works[-1], plan=replace(plan, tip=tip), task=replace(task, spacing=3 * 25.4)),)
    pages = mill_pages(part, replace(job, works=works), Ruler(part, shop.lathe), {})
    text = words(paginate(pages))
    assert "Shim of 0.012 under the end toward the tip of the square, its near edge 3.000 from" in text


def test_level_ways_say_that_no_shim_is_wanted() -> None:
    for name in ("ramped", "rotary", "parallel"):
        text = square(name)
        assert "Level, no shim" in text
        assert "Shim of" not in text
    assert "Rotary axis true to the table's X" in square("rotary")


# Depths by dial


def table_rows(text: str) -> dict[str, list[str]]:
    """The depth table: name of the layer -> its figures."""
    rows = re.findall(r"^ (layer \d of \d|finish) +(\d.*)$", text, re.MULTILINE)
    return {name: figures.split() for name, figures in rows}


def dial(text: str, division: float, per_turn: int) -> float:
    """Travel that a printed dial setting stands for, mm."""
    turns, divisions = text.split("+")
    assert 0 <= int(divisions) < per_turn
    return (int(turns) * per_turn + int(divisions)) * division


@pytest.mark.parametrize("name", FLAT_WAYS)
def test_depths_are_the_closed_form_and_leave_the_size(name: str) -> None:
    task, plan = square_of(name)
    depths = depths_of(plan)
    touch, cos = plan.touch_off[1], plan.work.frame.cos
    at_station = (plan.milled.across, plan.milled.station)
    assert plan.milled.across == pytest.approx(task.square.across + task.allowance)
    for left, depth in depths:
        assert depth == pytest.approx(touch - (at_station[0] / 2 + left) * cos, abs=1e-9)
        assert 2 * ((touch - depth) / cos) == pytest.approx(at_station[0] + 2 * left, abs=1e-9)
    assert depths[-1][0] == 0.0
    rows = table_rows(pages_of(name)["square"])
    assert len(rows) == len(depths)
    fine = 4 if name == "inch page" else 3
    for figures, (left, depth) in zip(rows.values(), depths, strict=True):
        assert figures[:2] == [size(name, left, fine), size(name, depth, fine)]


@pytest.mark.parametrize("name", ["tipped", "parallel", "hexagon", "broken", "undercut", "inch page"])
def test_dial_turns_reach_the_depths_within_half_a_division(name: str) -> None:
    rows = table_rows(pages_of(name)["square"])
    for figures, (_, depth) in zip(rows.values(), depths_of(square_of(name)[1]), strict=True):
        landed = dial(figures[2], 0.01, 100)
        assert abs(landed - depth) <= 0.005 + 1e-9
        if len(figures) > 3:
            assert figures[3:] == [size(name, abs(landed - depth)), "too", "deep" if landed > depth else "high"]
        else:
            assert abs(landed - depth) < 0.0005


def test_readouts_that_fall_print_their_own_number() -> None:
    rows = table_rows(pages_of("readouts")["square"])
    for figures, (_, depth) in zip(rows.values(), depths_of(square_of("readouts")[1]), strict=True):
        assert float(figures[2]) == pytest.approx(-depth, abs=0.005 + 1e-9)


def test_without_dials_the_figures_stand_alone() -> None:
    text = pages_of("no dials")["square"]
    assert words(text).count("not described in the shop file") == 3
    assert "(dial" not in text
    assert "Z dial" not in text
    assert all(len(figures) == 2 for figures in table_rows(text).values())


def test_a_ramp_is_refused_by_hand_and_says_what_would_do() -> None:
    for name in ("ramped", "rotary"):
        text = square(name)
        assert "BY HAND it cannot be cut so" in text
        assert 'say square_by = "tipped block" in the shop file' in text
        assert table_rows(pages_of(name)["square"]) == {}
        assert "by hand: (mean" not in text


def test_a_parallel_square_on_a_level_block_is_cut_by_hand() -> None:
    assert "BY HAND it cannot" not in pages_of("parallel")["square"]
    assert table_rows(pages_of("parallel")["square"])


def slide(**changes: object) -> Slide:
    given = {"reading": "dial", "habit": "radius", "counts": "up", "division": 0.02, "turn": 2.0, "backlash": 0.05}
    values = (given | changes).items()
    return Slide(**{k: Quantity(v, f"{v:g} mm", HERE) if isinstance(v, float) else v for k, v in values}, where=HERE)


@given(
    st.sampled_from(["up", "down"]), st.sampled_from([0.01, 0.02, 0.025, 0.05]),
    st.lists(st.floats(-60.0, 60.0), min_size=1, max_size=6), st.sampled_from(["x", "y", "z"]),
)  # fmt: skip
def test_every_reading_of_a_slide_is_on_its_dial_and_lands(counts, division, travels, axis) -> None:
    part, shop, _ = variant("tipped")
    of = slide(counts=counts, division=division, turn=100 * division)
    counter = Counter(axis, of, travels, Ruler(part, shop.lathe))
    sign = 1 if counts == "up" else -1
    for travel in travels:
        shown = dial(counter.text(travel), division, 100) - counter.turns * 100 * division
        assert sign * shown == pytest.approx(counter.landed(travel), abs=1e-9)
        assert abs(counter.landed(travel) - travel) <= division / 2 + 1e-9


@pytest.mark.parametrize("name", ["tipped", "parallel", "hexagon", "broken", "inch page"])
def test_cut_by_the_dials_the_square_has_the_size_that_the_page_says(name: str) -> None:
    # The moves of the plan with Z where the printed dial setting puts it, simulated: what a hand on the dials cuts.
    task, plan = square_of(name)
    touch, rows = plan.touch_off[1], table_rows(pages_of(name)["square"])
    landed = [dial(figures[2], 0.01, 100) for figures in rows.values()]
    by_hand = {round(touch - depth, 4): touch - at for (_, depth), at in zip(depths_of(plan), landed, strict=True)}

    def set_by_hand(move: Move) -> Move:
        if isinstance(move, Feed):
            return replace(move, z=by_hand[round(move.z, 4)])
        if isinstance(move, Rapid) and move.axis == "z":
            return replace(move, to=by_hand.get(round(move.to, 4), move.to))
        return move

    program = read(text_of([set_by_hand(move) for move in plan.moves]))
    assert program.problems == ()
    simulation = simulate_mill(program, plan.work, [task.cutter], tolerance=0.02)
    off = depths_of(plan)[-1][1] - landed[-1]
    assert simulation.across
    for across in simulation.across:
        assert across.reading - across.wanted == pytest.approx(2 * off, abs=0.0005)
    assert abs(2 * off) <= 0.01 + 1e-9  # a division, on two flats


def test_the_stop_at_the_shoulder_leaves_the_wall_where_it_is_wanted() -> None:
    task, _ = square_of("parallel")
    text = square("parallel")
    # level: from the end face touched by the cutter's side to the wall is length less wall, whatever the cutter
    assert f"X to {task.square.length - task.wall:.2f} (dial" in text
    assert "the flat then ends 0.10 from the shoulder" in text
    found = re.search(r"X to ([\d.]+) \(dial \S+\) in from the end face", square("tipped"))
    figure = float(found[1])
    assert figure == pytest.approx(19.9, abs=0.03)  # tipped: the round's edge leans over by what its radius falls
    assert "the flat then ends in the undercut groove" in square("undercut")


def test_beside_a_undercut_stations_count_from_the_shoulder() -> None:
    text = square("undercut")
    assert "4.20 across flats at 10.00 from the shoulder" in text
    assert "4.27 where it begins" in text.replace("4.272", "4.27")  # 1 mm from the shoulder: 4.2 + 0.008 * 9
    rows = station_rows("undercut")
    for at, across in rows:
        assert across == pytest.approx(4.22 + 0.008 * (10 - at), abs=0.0006)


# Flats in order


def station_rows(name: str) -> list[tuple[float, float]]:
    text = pages_of(name)["square"]
    table = text[text.index("| at ") :]
    return [(float(a), float(b)) for a, b in re.findall(r"^ +\| ([\d.]+) +([\d.]+) +[\d.]+ to", table, re.MULTILINE)]


@pytest.mark.parametrize("name", ["tipped", "ramped", "rotary", "broken", "hexagon", "parallel"])
def test_three_stations_have_the_size_that_the_taper_gives(name: str) -> None:
    task, plan = square_of(name)
    rows = station_rows(name)
    assert len(rows) == 3
    assert rows[0][0] < rows[1][0] < rows[2][0] < task.square.length
    crown = 2 * plan.crown if plan.tip is None else 0.0
    for at, across in rows:
        wanted = task.square.across + task.allowance + 2 * task.square.slope * (task.square.station - at) + crown
        assert across == pytest.approx(wanted, abs=0.00051)


def test_flats_come_in_pairs_with_a_stop_after_each_and_all_finish_alike() -> None:
    text = square("tipped")
    order = re.findall(r"\d\. flat (\d), (layer \d|finish)(?: of 2)?: side (\d) of the block up", text)
    rough = [(n, f"layer {k}", n) for n in "1324" for k in (1, 2)]
    assert order == [*rough, *((n, "finish", n) for n in "1234")]
    finish = set(re.findall(r"finish: side \d of the block up, Z dial (\S+), as corrected", text))
    assert len(finish) == 1
    stops = pages_of("tipped")["square"].count("== STOP: spindle off")
    assert stops == 5
    assert square("tipped").count("Take the burrs off the flat's edges first") == stops


def test_readings_expected_are_the_closed_form() -> None:
    # After flat one alone, over flat and round: (D + a) / 2; over two flats: a. Exact.
    task, plan = square_of("tipped")
    text = square("tipped")
    across = plan.milled.across + 2 * task.left
    blank = plan.milled.blank
    assert f"flat 1 to round at 10.00: {size('tipped', (blank + across) / 2)} expected, is ____" in text
    assert f"across flats 1 and 3 at 10.00: {size('tipped', across)} expected, is ____" in text
    depth = depths_of(plan)[-2][1]
    off = depth - round(depth / 0.01) * 0.01
    assert f"where Z lands by the dial it is {size('tipped', across + 2 * off)}" in text


def test_the_correction_by_hand_counts_from_where_z_stands() -> None:
    task, plan = square_of("tipped")
    text = square("tipped")
    stands = table_rows(pages_of("tipped")["square"])["layer 2 of 2"][2]
    aim = size("tipped", plan.milled.across)
    assert f"by hand: (mean - {aim}) / 2 = ________ is what Z goes down from {stands}" in text
    assert f"by program: (mean - {size('tipped', plan.milled.across + 2 * task.left)}) / 2 = ________" in text


def test_program_passes_are_numbered_as_the_program_numbers_them() -> None:
    _, plan = square_of("tipped")
    steps = flat_passes(plan.moves)
    numbers = [step.number for step in steps]
    text = variant("tipped")[2].works[-1].text
    assert numbers == list(range(1, len(numbers) + 1))
    assert f"pass {numbers[-1]} of {numbers[-1]}" in text
    assert all(f"{step.number}. {step.name}: " in square("tipped") for step in steps)


def test_the_square_is_lined_up_with_a_hole_whose_angle_counts() -> None:
    assert "hook hole points straight up; a drill's shank in it shows" in square("tipped")
    assert "hook hole points 30 deg clockwise of straight up, seen from the tip" in square("rotary")
    assert "it is hidden in the collet" in square("hidden")
    assert "Before the nut is tightened" not in pages_of("through")["square"]  # any angle
    task, _ = square_of("tipped")
    # 8 from the A face of the drum body, that is 6 + 7.5 + 8 behind the square's shoulder
    assert place_on(task, hole_of("tipped")) == pytest.approx(-21.5)


def test_figures_of_the_program_are_in_its_own_unit() -> None:
    text = square("inch page")
    _, plan = square_of("inch page")
    assert "Lengths in inches where no unit is written" in text
    assert f"for square.ngc it is Z {plan.touch_off[1]:.3f} mm there" in text
    assert "for square.ngc it is X 23.00 there" in square("tipped")


def test_spring_and_grip_are_those_of_the_plan() -> None:
    _, plan = square_of("tipped")
    text = square("tipped")
    assert f"The tip bends {size('tipped', plan.spring, 1)} under the deepest layer (about {plan.force:.0f} N)" in text
    assert "The collet bears on 21.00, 1.5 diameters; 1.5 hold a cut" in text
    assert "The collet bears on 12.00, 0.86 diameters" in hole("tipped")
    assert "it may turn or pull out" in hole("tipped")


# The cross hole


def test_depths_of_a_blind_thread() -> None:
    # M3: pitch 0.5; 5 mm of full thread, a bottoming tap's lead 2 threads, 0.5 mm for chips; point of 118 degrees.
    text = hole("tipped")
    point = 6.5 + 1.3 / math.tan(math.radians(59))
    assert f"Z {point:.3f} (dial 7+28) at its point, 6.50 where its full diameter ends" in text
    assert "its end is then 6.00 below the top of the round, and full thread 5.00 (its lead takes 2 threads)" in text
    assert "About 11.6 turns from the first bite" in text  # from the small flat, (6 - 0.2) / 0.5
    assert "the drilled hole ends 0.50 below the tap's end" in text
    # spot of 90 degrees, 0.8 of the drill wide: 0.2 + 0.8 * 1.3
    assert "Z 1.24 (dial 1+24): the spot stays narrower" in text


def test_pecks_are_those_of_the_cycle_written_long_hand() -> None:
    plan = hole_of("tipped")
    radius = plan.work.section_at(plan.hole.x).top
    cycle = next(m for m in plan.moves if isinstance(m, Cycle) and m.kind == "peck")
    bottoms = [radius - m.z for m in expand(cycle) if isinstance(m, Feed)]
    drill = uses_of(plan, radius)[-1]
    assert list(drill.bottoms) == pytest.approx(bottoms)
    text = hole("tipped")
    shown = " and ".join(f"{b:.2f} (dial {int(b)}+{round(b % 1 * 100):02d})" for b in bottoms[:-1])
    assert f"Draw it right out to clear the chips at {shown}." in text


def test_the_screw_goes_in_as_far_as_the_thread_is_whole() -> None:
    text = hole("tipped")
    assert "thread engaged: 4.80, 1.6 diameters, 9.6 threads" in text  # the flat takes 0.2 of the 5 mm
    plan = hole_of("through")
    radius = plan.work.section_at(plan.hole.x).top
    sag = radius - math.sqrt(radius**2 - 1.5**2)  # where a round meets a hole 3 wide all round
    whole = 2 * radius - max(0.2, sag) - sag
    assert f"thread engaged: {size('through', whole)}, {whole / 3:.2f} diameters" in hole("through")


PERCENT = [
    # M3, 2.5 mm drill: ISO 2306 gives 2.5 for M3; by ISO 68-1 H = 0.866025 P, of 5/8 H a side (3 - 2.5) / 0.54127,
    # of 3/4 H a side (3 - 2.5) / 0.64952.
    ("2.5 mm", "2.500", "0.0984", "92", "77"),
    ("No. 38", "2.578", "0.1015", "78", "65"),  # 0.1015 in: ASME B94.11M
    ("No. 37", "2.642", "0.1040", "66", "55"),
]


@pytest.mark.parametrize(("drill", "mm", "inch", "percent", "chart"), PERCENT)
def test_drills_say_their_percent_on_both_bases(drill: str, mm: str, inch: str, percent: str, chart: str) -> None:
    text = pages_of("tipped")["cross-hole"]
    assert re.search(rf"^ {re.escape(drill)} +{mm} +{inch} +{percent} \({chart}\)", text, re.MULTILINE)
    assert "Percent of the basic height, 5/8 H a side (ISO 68-1); in brackets of 3/4 H" in words(text)
    for series in ("2.65 mm", "3/32 in", "7/64 in"):
        assert series in text
    assert "a weak thread" in text
    assert "smaller than the thread's core" in text


def test_where_the_hole_is_and_what_stays_round_it() -> None:
    text = hole("tipped")
    plan = hole_of("tipped")
    assert "centre 8.00 from the A face of drum body, toward the collet; X -8.00 for cross-hole.ngc" in text
    # edges: 8 - 1.5 to the face; the body is 32 long
    assert "6.50 to the end of drum body toward the tip, 22.50 to its other end, 10.50 to the nut" in text
    area, stiffness = (f"{100 * share:.0f} %" for share in (plan.net.area, plan.net.stiffness))
    assert f"{area} of the body's area and {stiffness} of its stiffness stay" in text
    radius = plan.work.section_at(plan.hole.x).top
    below = 2 * radius - 6.5 - 1.3 / math.tan(math.radians(59))
    assert f"below the drill's point {size('tipped', below)} of metal stays" in text


def test_through_holes_caution_where_the_drill_comes_out() -> None:
    text = hole("through")
    out = 0.5 + 1.3 / math.tan(math.radians(59))  # 0.5 beyond the far side, and the point
    assert f"the drill's point comes out {size('through', out)} below the round" in text
    assert "ease the feed as the point comes out below: there a drill grabs" in text
    assert "below the drill's point" not in text
    assert "angle: any" in text


def test_a_machine_tap_and_a_plain_hole_have_no_hand_tapping() -> None:
    text = hole("machine tap")
    assert "tap by the machine, the spindle in step with Z" in text
    assert "by hand, spindle off" not in text
    plain_hole = hole("plain")
    assert "2.60 plain" in plain_hole
    assert "tap" not in re.sub(r"\W", " ", plain_hole).split()
    assert "small flat" not in plain_hole


def test_the_middle_makes_up_for_backlash() -> None:
    # Touches from both sides with a slide that lags by half its play each way: the middle is half-way, and on by half.
    for page in pages_of("tipped").values():
        assert "Come to it the same way as to the first touch, and go on by 0.025, half the backlash." in words(page)
    assert "half the backlash" not in words("".join(pages_of("no dials").values()))


def test_cautions_stand_on_both_pages() -> None:
    for page in pages_of("tipped").values():
        text = words(page)
        assert "Eye protection. No gloves" in text
        assert "Spindle off, and standing, before a hand goes near" in text
        assert "local rules and people qualified" in text
    assert "never hold work by hand under a drill" in hole("tipped")
    assert "a small tap breaks without warning" in hole("tipped")


# In the summary


@pytest.fixture(scope="module")
def summary() -> str:
    """Of the sample as it comes: setting 2 waits for a measurement."""
    return write_job_summary(make_job(str(ROOT / "samples" / "orrery-drum-arbor.toml")))


def test_once_setting_2_is_planned_its_page_leads_to_the_mill() -> None:
    text = words(write_job_summary(make_job(str(SAMPLES / "orrery-drum-arbor.toml"))))
    assert "Now the mill: hook hole and the square, by the pages that follow." in text
    assert "see MEASURE NEXT" not in text


def test_the_pages_come_in_the_order_of_the_work(summary: str) -> None:
    titles = [page.split("\n")[0] for page in summary.split("\f")]
    names = ("FIRST, ON THE BENCH", "SETTING 1", "HOOK HOLE, ON THE MILL", "THE SQUARE, ON THE MILL", "MEASURE NEXT")
    at = [next(k for k, t in enumerate(titles) if name in t) for name in names]
    assert at == sorted(at)
    assert at[-1] == len(titles) - 1


def test_bench_and_setting_pages_say_what_the_mill_does_and_when(summary: str) -> None:
    text = words(summary)
    assert re.search(r"STOP HERE: .* is to be measured", text)
    assert "then on the mill: hook hole and the square, in this order, by their pages" in text
    assert "once hook hole and the square are cut, back between the same centres" in text
    assert "After setting 2, before front pivot and back pivot are stoned or burnished" in text
    assert "Never sooner: the carrier grips the round of winding square while the B end is turned." in text
    assert "Setting 2 is not planned yet, see MEASURE NEXT" in text


def test_what_waits_for_a_length_is_named_on_the_bench_page(tmp_path: Path) -> None:
    text = (ROOT / "samples" / "orrery-drum-arbor.toml").read_text("utf-8")
    later = changed(text, (
        (r'section = "drum body"\nface = "A"', 'section = "back seat"\nface = "B"'),
        (r'distance = "8 mm"', 'distance = "3 mm"'),
        (r'angle = "0 deg"', 'angle = "any"'), (r'\ndepth = ".*?"', '\ndepth = "3 mm"'),
        (r'grip = "drum body"(.*)\ngrip_length = "21 mm"', r'grip = "back seat"\1\ngrip_length = "4 mm"'),
    ))  # fmt: skip
    (tmp_path / "shop.toml").write_text((SAMPLES / "shop.toml").read_text("utf-8"), "utf-8")
    (tmp_path / "arbor.toml").write_text(later, "utf-8")
    said = words(write_job_summary(make_job(str(tmp_path / "arbor.toml"))))
    assert 'of these the square and "hook hole" cannot be planned before a length is measured' in said
    assert "ON THE MILL" not in said


def test_every_caution_and_figure_of_a_stop_is_on_the_page() -> None:
    for name in ("tipped", "ramped"):
        text = square(name)
        _, plan = square_of(name)
        for step in flat_passes(plan.moves):
            for stop in step.stops:
                for line in stop.lines if stop.reason == "measure" else ():
                    assert line in text


def test_figures_hold_together_for_a_machinist_without_a_program() -> None:
    figures = SquareFigures(sheet_of("tipped"))
    near, middle, far = figures.stations
    assert figures.task.wall < near < middle == figures.square.station < far < figures.square.length
    assert figures.finished(far) < figures.finished(middle) < figures.finished(near)


def sheet_of(name: str) -> Sheet:
    part, shop, job = variant(name)
    return Sheet(part, Ruler(part, shop.lathe), job, job.works[-1], WHEN)


# The shop file's dials


def test_a_dial_of_the_mill_that_does_not_divide_is_refused(tmp_path: Path) -> None:
    text = (SAMPLES / "shop.toml").read_text("utf-8")
    bad = changed(text, ((r'(\[mill\.z\](?:\n.*){3}\n)turn = "1 mm"', r'\1turn = "0.995 mm"'),))
    (tmp_path / "shop.toml").write_text(bad, "utf-8")
    part = tmp_path / "arbor.toml"
    part.write_text((SAMPLES / "orrery-drum-arbor.toml").read_text("utf-8"), "utf-8")
    with pytest.raises(ProblemError) as found:
        read_given(str(part))
    assert any("a turn of the mill's Z dial is not a whole number" in p.what for p in found.value.problems)


def test_a_shim_beyond_the_block_is_refused(tmp_path: Path) -> None:
    text = (SAMPLES / "shop.toml").read_text("utf-8")
    bad = changed(text, ((r'shim_distance = "50 mm"', 'shim_distance = "61 mm"'),))
    (tmp_path / "shop.toml").write_text(bad, "utf-8")
    part = tmp_path / "arbor.toml"
    part.write_text((SAMPLES / "orrery-drum-arbor.toml").read_text("utf-8"), "utf-8")
    with pytest.raises(ProblemError) as found:
        read_given(str(part))
    assert any("the shim does not lie under the block" in p.what for p in found.value.problems)


def test_the_schema_knows_the_dials() -> None:
    schema = json.loads((ROOT / "cam" / "shop" / "shop.schema.json").read_text("utf-8"))
    assert {"x", "y", "z"} <= schema["$defs"]["mill"]["properties"].keys()


def test_a_square_by_rotary_axis_has_one_row_a_pass() -> None:
    # Every pass turns the work anew, so that the program may be begun there: no row of its own for that.
    text = write_job_summary(make_job(str(ROOT / "tests" / "cases" / "flats_page_phantom_rows.toml")))
    page = text[text.index(": THE HEXAGON, ON THE MILL") :]
    rows = re.findall(r"(?m)^ *(?:\[ \] )?(\d+)\.?  ?(flat \d.*)$", page)
    assert [int(number) for number, _ in rows] == list(range(1, 31))
    assert all("()" not in words for _, words in rows)
    assert "layers 1 to" not in page
