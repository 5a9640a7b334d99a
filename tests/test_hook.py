"""A screw on its bar: limits and wires against printed tables, change wheels, passes of equal area, programs whole and
damaged, refusals, and the hook's page."""

from __future__ import annotations

import math
import random
import re
import shutil
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.geometry.path import Line, Point
from cam.ground.problem import Problem, ProblemError
from cam.ground.quantity import Quantity
from cam.ground.source import parse_source
from cam.ground.units import LENGTH, parse
from cam.job import Job, judge_plan, make_job
from cam.job.given import choose_dialect
from cam.job.logbook import record_value
from cam.job.make import rules_of
from cam.job.outputs import write_job_summary
from cam.job.record import job_record
from cam.job.why import answer
from cam.judge import simulate
from cam.judge.envelope import Metal, from_chain
from cam.judge.model import Simulation
from cam.judge.sizes import cut_sizes
from cam.judge.threading import vees
from cam.lengths import part_of
from cam.part import Part
from cam.part.screw import (
    best_wire,
    change_wheels,
    over_wires,
    pitch_diameter_at,
    pitch_limits,
    shank_of,
    tip_radius,
    widest_nose,
)
from cam.part.threads import all_threads, find_thread
from cam.picture import draw_plot
from cam.picture.hook_panel import shapes_of
from cam.plan import plan_job
from cam.plan.threads import pass_depths
from cam.plan.why import answer_why
from cam.rs274 import read_program
from cam.shop.model import Shop
from cam.shop.tool_shape import tool_bodies
from posts.hook_page import draw_hook, engaged, shape_of
from posts.notebook import write_notebook
from posts.pages.job import job_pages
from posts.summary import write_summary
from tests.specimens import SAMPLES, shop_from

IN = 25.4
PART = (SAMPLES / "drum-hook.toml").read_text(encoding="utf-8")
SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
ENCODER = 'by = "encoder"\nfastest = "320 rpm"\nacceleration = "100 mm/s2"\n'
WHEELS = 'by = "change wheels"\nfastest = "320 rpm"\nleadscrew = "3 mm"\nwheels = [20, 30, 40, 40, 60, 80]\n'
VEE = """
[[tool]]
number = 4
name = "60 degree threading tool"
kind = "threading"
material = "HSS"
hand = "right"
included = "60 deg"
nose_radius = "0.06 mm"
width = "1 mm"
edge = "3 mm"
minimum_cut = "0.01 mm"
deepest_cut = "0.1 mm"

[[tool.outline]]
name = "blade"
points = [["-0.5 mm", "3 mm"], ["0.5 mm", "3 mm"], ["4 mm", "25 mm"], ["-4 mm", "25 mm"]]
"""


def part(*changes: tuple[str, str], single: bool = False) -> Part:
    text = PART
    if single:
        text = re.sub(r"corner_b = .*\n", "", text.replace('thread_by = "die"', 'thread_by = "single point"'))
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return part_of(parse_source(text.encode(), "drum-hook.toml"))


def shop(*changes: tuple[str, str], threading: str = ENCODER, tool: str = VEE, dialect: str = "eia274d") -> Shop:
    text = SHOP.replace('dialect = "rs274ngc"', f'dialect = "{dialect}"', 1)
    table = f"[lathe.threading]\n{threading}\n[lathe.x]\n" if threading else "[lathe.x]\n"
    text = text.replace("[lathe.x]\n", table, 1) + tool
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return shop_from(text)


def job_with(screw: Part, there: Shop, dialect: str = "eia274d") -> Job:
    return judge_plan(plan_job(screw, there), choose_dialect(dialect, there))


@lru_cache
def single_point() -> Job:
    return job_with(part(single=True), shop())


def refused(screw: Part, there: Shop, dialect: str = "eia274d") -> str:
    with pytest.raises(ProblemError) as caught:
        job_with(screw, there, dialect)
    assert all(isinstance(p, Problem) for p in caught.value.problems)
    return "\n".join(str(p) for p in caught.value.problems)


# Published ------------------------------------------------------------------------------------------------

# ISO 965-2, limits of sizes of external threads 6g, mm: major most and least, pitch most and least. Recalled from such
# tables, to the last figure that they print.
ISO_965_6G = [
    ("M1.6", 1.581, 1.496, 1.354, 1.291), ("M2", 1.981, 1.886, 1.721, 1.654), ("M2.5", 2.480, 2.380, 2.188, 2.117),
    ("M3", 2.980, 2.874, 2.655, 2.580), ("M3.5", 3.479, 3.354, 3.089, 3.004), ("M4", 3.978, 3.838, 3.523, 3.433),
    ("M5", 4.976, 4.826, 4.456, 4.361), ("M6", 5.974, 5.794, 5.324, 5.212), ("M8", 7.972, 7.760, 7.160, 7.042),
    ("M10", 9.968, 9.732, 8.994, 8.862),
]  # fmt: skip


@pytest.mark.parametrize(("size", "most", "least", "pitch_most", "pitch_least"), ISO_965_6G)
def test_limits_of_6g(size, most, least, pitch_most, pitch_least):
    shank, pitch = shank_of(find_thread(size)), pitch_limits(find_thread(size))
    assert (shank.most, shank.least) == pytest.approx((most, least), abs=1e-9)
    assert (pitch.most, pitch.least) == pytest.approx((pitch_most, pitch_least), abs=1e-9)


def test_every_metric_limit_is_near_its_formula_and_in_whole_micrometres():
    """ISO 965-1 rounds 15 + 11 P, 180 P^(2/3) - 3.15 / P^(1/2) and 90 P^0.4 d^0.1, by about half a step of R40."""
    for thread in all_threads():
        if thread.series == "ISO metric":
            d, p = thread.diameter, thread.pitch
            shank, pitch = shank_of(thread), pitch_limits(thread)
            assert all(abs(1000 * v - round(1000 * v)) < 1e-6 for v in (*shank[:2], *pitch[:2]))
            assert 1000 * (d - shank.most) == pytest.approx(15 + 11 * p, abs=1.3)
            assert 1000 * (shank.most - shank.least) == pytest.approx(180 * p ** (2 / 3) - 3.15 / p**0.5, rel=0.035)
            assert 1000 * (pitch.most - pitch.least) == pytest.approx(90 * p**0.4 * d**0.1, rel=0.07)
            assert pitch.most - thread.pitch_diameter == pytest.approx(shank.most - d, abs=0.00051)


# ASME B1.1, class 2A, in, as in Machinery's Handbook's table of Unified threads; recalled.
UNIFIED_2A = [("2-56", 0.0854, 0.0813, 0.0738, 0.0717), ("4-40", 0.1112, 0.1061, 0.0950, 0.0925),
              ("6-32", 0.1372, 0.1312, 0.1169, 0.1141)]  # fmt: skip


@pytest.mark.parametrize(("size", "most", "least", "pitch_most", "pitch_least"), UNIFIED_2A)
def test_limits_of_2a(size, most, least, pitch_most, pitch_least):
    shank, pitch = shank_of(find_thread(size)), pitch_limits(find_thread(size))
    assert (shank.most / IN, shank.least / IN) == pytest.approx((most, least), abs=1.5e-4)
    assert (pitch.most / IN, pitch.least / IN) == pytest.approx((pitch_most, pitch_least), abs=1.5e-4)


def test_three_wires():
    """Machinery's Handbook, measuring screw threads by three wires: 60 degrees M = E + 3 W - 0.86603 P and the best
    wire 0.57735 P; British Association M = E + 3.48295 W - 1.13633 P (47.5 degrees) and 0.54626 P. Recalled."""
    metric, ba = find_thread("M3"), find_thread("4 BA")
    assert over_wires(metric, 2.6, 0.3) == pytest.approx(2.6 + 3 * 0.3 - 0.86603 * 0.5, abs=1e-5)
    assert best_wire(metric) == pytest.approx(0.57735 * 0.5, abs=1e-5)
    assert over_wires(ba, 3.1, 0.36) == pytest.approx(3.1 + 3.48295 * 0.36 - 1.13633 * 0.66, abs=1e-4)
    assert best_wire(ba) == pytest.approx(0.54626 * 0.66, abs=1e-5)


def test_roots_of_the_standards():
    """ISO 68-1: root radius H / 6 = 0.1443 P. BS 93: root radius 2 P / 11 = 0.1818 P (both from memory)."""
    for thread in all_threads():
        share = 2 / 11 if thread.series == "BA" else math.sqrt(3) / 12
        assert widest_nose(thread) / thread.pitch == pytest.approx(share, abs=0.0015)


def test_metric_by_a_wheel_of_63():
    """The known error of 63 teeth for metric pitches on an inch leadscrew: 0.0125 % (127 / 5 taken as 63 / 2.48)."""
    train = change_wheels(1.0, IN / 8, [20, 30, 40, 50, 60, 63, 80])
    assert train is not None
    assert abs(train.error) == pytest.approx(1.25e-4, abs=1e-6)
    exact = change_wheels(1.0, IN / 8, [40, 127])
    assert exact is not None
    assert (exact.drivers, exact.driven, exact.error) == ((40,), (127,), pytest.approx(0.0, abs=1e-12))


SHOP_AS_IT_IS = shop()
VEE_TOOL = next(t for t in SHOP_AS_IT_IS.tools if t.kind == "threading")


def length_of(text: str) -> Quantity:
    return Quantity(parse(text, LENGTH), text, SHOP_AS_IT_IS.lathe.where)


# Laws -----------------------------------------------------------------------------------------------------


@given(st.sampled_from(all_threads()), st.floats(0, 1), st.floats(0, 1))
def test_tip_and_pitch_diameter_are_one_another_s_inverse(thread, share, place):
    nose = share * widest_nose(thread)
    size = pitch_limits(thread).least + place * 0.1
    assert pitch_diameter_at(thread, tip_radius(thread, size, nose), nose) == pytest.approx(size, abs=1e-9)
    assert tip_radius(thread, size, nose) >= tip_radius(thread, size, 0.0)


@given(
    st.sampled_from(all_threads()), st.sampled_from(["0.01 mm", "0.02 mm", "0.04 mm", "1 thou"]), st.floats(0.07, 0.15)
)
def test_passes_fall_on_the_dial_and_go_to_depth(thread, division, first):
    """Each deeper than the one before, the first no deeper than it may be but for the dial, the last within limits."""
    lathe = replace(SHOP_AS_IT_IS.lathe, x=replace(SHOP_AS_IT_IS.lathe.x, division=length_of(division)))
    there = replace(SHOP_AS_IT_IS, lathe=lathe)
    limits, nose = pitch_limits(thread), 0.8 * widest_nose(thread)
    tool = replace(VEE_TOOL, deepest_cut=length_of(f"{first} mm"), minimum_cut=length_of("0.005 mm"))
    tip = tip_radius(thread, limits.aim, nose)
    wanted = replace(single_point().works[0].setting.threads[0], thread=thread, shank=shank_of(thread).aim / 2,
                     least=limits.least, most=limits.most)  # fmt: skip
    depths = pass_depths(there, wanted, tool, tip)
    assert all(b > a for a, b in pairwise((0.0, *depths[:-1])))
    assert depths[-1] == depths[-2]  # the spring pass
    assert limits.least <= pitch_diameter_at(thread, wanted.shank - depths[-1], nose) <= limits.most
    step = float(there.lathe.x.division) / 2
    assert depths[0] <= first + step
    if step <= (limits.most - limits.least) / 6:
        assert all(abs((wanted.shank - d) / step - round((wanted.shank - d) / step)) < 1e-6 for d in depths)


@given(st.floats(-20, 5), st.floats(0.1, 10), st.floats(0.2, 2))
def test_a_vee_at_every_turn(start, length, lead):
    path = Line(Point(start, 1.0), Point(start - length, 1.0))
    places = [p.z for p in vees(path, lead)]
    assert places[0] == start
    assert all(a - b == pytest.approx(lead) for a, b in pairwise(places))
    assert start - length - 1e-6 <= places[-1] < start - length + lead + 1e-6


def test_a_threading_tool_is_a_vee_that_becomes_a_blade():
    """Tangents at half the angle either side of the nose; as wide as the blade from there up."""
    tool = next(t for t in shop().tools if t.kind == "threading")
    nose = tool_bodies(tool)[0]
    assert (min(p.z for p in nose.polygon) - nose.round, max(p.z for p in nose.polygon) + nose.round) == (-0.5, 0.5)
    assert max(p.x for p in nose.polygon) + nose.round == pytest.approx(3.0)
    assert min(p.x for p in nose.polygon) == pytest.approx(nose.round)
    edges = [(b.x - a.x, b.z - a.z) for a, b in pairwise((*nose.polygon, nose.polygon[0]))]
    flanks = [abs(x / z) for x, z in edges if x and z]
    assert flanks == pytest.approx([1 / math.tan(math.radians(30))] * 2)


# The whole way --------------------------------------------------------------------------------------------


def test_a_thread_in_the_program():
    job = single_point()
    assert job.problems == ()
    passes = [c for c in job.works[0].planned.passes if c.kind == "thread"]
    assert len({(c.path[0].start.z, c.path[0].end.z, c.rpm) for c in passes}) == 1
    assert passes[-1].depth == pytest.approx(0.0)  # the spring pass
    wanted = job.works[0].setting.threads[0]
    size = pitch_diameter_at(wanted.thread, passes[-1].diameter / 2, 0.06)
    assert wanted.least < size < wanted.most
    before = [wanted.shank - c.diameter / 2 for c in passes]
    areas = [b * b - a * a for a, b in pairwise([0.0, *before[:-1]])]
    assert max(areas) / min(areas) < 2.2  # equal but for the dial's step, 0.01 mm
    assert len(re.findall(r"G33 Z\S+ K0\.5$", job.works[0].text, re.M)) == len(passes) + 1  # and one in air
    assert re.findall(r"CUT 0\.0 A SIDE|A SPRING PASS AT DIAMETER \S+ AGAIN", job.works[0].text.upper()) == [
        f"A SPRING PASS AT DIAMETER {passes[-1].diameter:.1f} AGAIN"
    ]


def test_the_thread_is_cut_in_the_half_section():
    """The metal that is left has grooves a pitch apart, down to the tip, and crests of the shank between them."""
    wanted, result = single_point().works[0].setting.threads[0], single_point().works[0].simulation.result
    lows = sorted({round(s.end.z, 4) for s in result if wanted.far < s.end.z < -0.6 and s.end.x < 1.2})
    tops = [
        s for s in result if isinstance(s, Line) and abs(s.start.x - wanted.shank) < 1e-6 > abs(s.end.x - s.start.x)
    ]
    assert len(lows) >= 3
    assert len(tops) >= 4


def test_the_area_of_a_groove_in_closed_form():
    """A rounded vee of half angle a, h deep: with D = h + r (1 / sin a - 1) it is D^2 tan a, less what the nose leaves
    full at the point, r^2 / tan a - r^2 (pi / 2 - a). Exact; the half-section is integrated by a plain sum."""
    work = single_point().works[0]
    wanted = work.setting.threads[0]
    metal = Metal(from_chain(work.simulation.result))
    nose, half, count = 0.06, math.radians(30), 20_000
    tip = next(c for c in reversed(work.planned.passes) if c.kind == "thread").diameter / 2
    sharp = wanted.shank - tip + nose * (1 / math.sin(half) - 1)
    area = sharp**2 * math.tan(half) - nose**2 * (1 / math.tan(half) - math.pi / 2 + half)
    pitch = wanted.thread.pitch
    cut = sum(wanted.shank - metal.at(-2.0 + pitch * (k + 0.5) / count) for k in range(count)) * pitch / count
    assert cut == pytest.approx(area, abs=1e-6)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("x_words", ["radius", "diameter"])
def test_threads_in_every_form_of_program(units, x_words):
    there = shop(('units = "mm"', f'units = "{units}"'), ('x_words = "radius"', f'x_words = "{x_words}"'))
    assert job_with(part(single=True), there).problems == ()


@pytest.mark.parametrize(("thread", "angle", "nose"), [("M2.5", 60, 0.05), ("5 BA", 47.5, 0.1), ("4-40", 60, 0.08)])
def test_other_threads(thread, angle, nose):
    own = VEE.replace('"60 deg"', f'"{angle} deg"').replace('"0.06 mm"', f'"{nose} mm"')
    screw = part(('thread = "M3"', f'thread = "{thread}"'), single=True)
    assert job_with(screw, shop(tool=own)).problems == ()


@pytest.mark.parametrize("dialect", ["rs274ngc", "eia274d"])
def test_by_die_in_both_dialects(dialect):
    job = job_with(part(), shop(threading="", tool="", dialect=dialect), dialect)
    assert job.problems == ()
    assert "G33" not in job.works[0].text


@pytest.mark.parametrize("single", [False, True])
def test_a_thread_at_the_b_end(single):
    """The same screw written the other way round gives the same passes."""
    text = PART.replace('free_end = "A"', 'free_end = "B"').replace("corner_b", "corner_a")
    first, second, hook = (text.index("[[section]]"), text.rindex("[[section]]"), text.index("[hook]"))
    text = text[:first] + text[second:hook] + text[first:second] + text[hook:]
    if single:
        text = re.sub(r"corner_a = .*\n", "", text.replace('thread_by = "die"', 'thread_by = "single point"'))
    other = job_with(part_of(parse_source(text.encode(), "drum-hook.toml")), shop())
    one = job_with(part(single=single), shop())
    assert other.problems == ()
    assert [c.diameter for c in other.works[0].planned.passes] == [c.diameter for c in one.works[0].planned.passes]


def test_a_screw_in_inches():
    """4-40 UNC: lengths in inches on every page, limits of ASME B1.1, all in 80 columns."""
    screw = part(
        ('thread = "M3"', 'thread = "4-40"'), ('length = "4 mm"', 'length = "5/32 in"'),
        ('diameter = "4 mm"', 'diameter = "3/16 in"'), ('length = "2.5 mm"', 'length = "0.1 in"'),
        ("1 mm wide 0.4 mm deep", "1.05 mm wide 0.5 mm deep"), ('flat = "0.3 mm"', 'flat = "20 thou"'),
    )  # fmt: skip
    assert not re.search(r"[0-9] mm\b", "".join(screw.screwed.threads[0].derived))
    assert {s.name: s.diameter_a.text[-3:] for s in screw.sections} == {"shank": " in", "head": " in"}
    text = write_summary(job_with(screw, shop()).plan)
    assert "0.0926 to 0.0950" in text  # 0.0925 to 0.0950 in the table
    assert "Sizes in inches" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_a_dialect_without_a_thread_refuses_and_names_the_move():
    text = refused(part(single=True), shop(dialect="rs274ngc"), "rs274ngc")
    assert "rs274ngc cannot say a move in step with the spindle: a thread of lead 0.5 mm" in text
    assert re.match(r"drum-hook\.toml:\d+: ", text)
    assert re.search(r"move \d+, thread to Z -3\.\d+, lead 0\.5 \(mm\), in pass \d+ \(thread, shank\)", text)


def test_by_change_wheels_nothing_of_it_is_in_the_program():
    job = job_with(part(single=True), shop(threading=WHEELS, dialect="rs274ngc"), "rs274ngc")
    assert job.problems == ()
    assert not [c for c in job.works[0].planned.passes if c.kind == "thread"]
    text = " ".join(write_summary(job.plan).split())
    assert re.search(r"Wheels: \d+ on the spindle drives \d+; on its stud \d+ drives \d+ on the leadscrew", text)
    assert "motor unplugged as long as it is in, and out before any power" in text
    assert "They cut 0.5000 mm for 0.5000 mm: exactly." in text
    assert "half-nut left shut" in text
    assert "[ ]" in text


REFUSALS = [
    (shop(threading=""), (), "does not say how this lathe cuts a thread"),
    (shop(tool=VEE.replace('deepest_cut = "0.1 mm"', 'deepest_cut = "0.01 mm"')), (), "far too many passes"),
    (shop(tool=""), (), "no tool of the shop cuts the thread M3 x 0.5"),
    (shop(tool=VEE.replace("0.06 mm", "0.1 mm")), (), "its nose at most 0.072 mm"),
    (shop(tool=VEE.replace("60 deg", "55 deg")), (), "a right-hand one of 60 deg"),
    (shop(threading=ENCODER.replace("320", "300")), (), "slowest spindle speed is too fast for a thread"),
    (shop(threading=WHEELS.replace("[20, 30, 40, 40, 60, 80]", "[20, 35]")), (), "no train of the shop's change"),
    (shop(tool=VEE.replace('width = "1 mm"', 'width = "2 mm"')), (), "has no room to run off behind the thread"),
    (shop(), (('finish = "turn"', 'corner_b = "undercut 1 mm wide 0.3 mm deep"\nfinish = "turn"'),),
     'the undercut of "shank" is not as deep as tool 4'),
]  # fmt: skip


@pytest.mark.parametrize(("there", "changes", "what"), REFUSALS, ids=[r[2] for r in REFUSALS])
def test_what_cannot_be_threaded_is_refused(there, changes, what):
    assert what in refused(part(*changes, single=True), there)


# Damaged programs -----------------------------------------------------------------------------------------


def judge_text(text: str) -> Simulation:
    job = single_point()
    program = read_program(text, rules_of(job.dialect, job.shop))
    assert program.problems == ()
    return simulate(program, job.works[0].setting, job.shop, stops=True)


def lines_with(pattern: str) -> list[int]:
    return [n for n, line in enumerate(single_point().works[0].text.splitlines()) if re.search(pattern, line)]


def damaged(at: int, pattern: str, new: str) -> str:
    lines = single_point().works[0].text.splitlines()
    assert re.search(pattern, lines[at]), lines[at]
    lines[at] = re.sub(pattern, new, lines[at])
    return "\n".join(lines) + "\n"


THREAD_LINES = lines_with(r"G33")[1:]
"""Those that cut: the first runs in air."""
CALLED = max(n for n in lines_with(r"T0404$") if n < THREAD_LINES[0])
DAMAGE = [
    ("a wrong lead", THREAD_LINES[3], r"K0\.5", "K0.6", "cuts a lead of 0.6000 mm; M3 x 0.5 has 0.5000 mm"),
    ("too deep", THREAD_LINES[-1] - 1, r"X1\.\d+", "X1.05", "too thin: pitch diameter 2.4"),
    ("deep at once", THREAD_LINES[0] - 1, r"X1\.\d+", "X1.22", "deeper at once, from 0.000 mm; tool 4 takes 0.100"),
    ("out of step", THREAD_LINES[4] - 2, r"Z1\.0", "Z1.2", "no whole number of pitches"),
    ("no room", THREAD_LINES[0] - 2, r"Z1\.0", "Z0.5", "the slide needs 1.000 mm to be in step"),
    ("another speed", THREAD_LINES[4] - 5, r"S320", "S600", "this lathe threads at 320 at the most"),
    ("into the shoulder", THREAD_LINES[4], r"Z-\d\.\d+", "Z-3.8", "into the shoulder"),
    ("too short", THREAD_LINES[-1], r"Z-\d\.\d+", "Z-2.0", ""),
    ("left-hand", THREAD_LINES[0], r"Z-\d\.\d+", "Z2.0", ""),
    ("with the wrong tool", CALLED, r"T0404", "T0202", "which is no threading tool"),
    ("a plain feed in its place", THREAD_LINES[-1], r"G33 (Z\S+) K0\.5", r"G1 \1 F100.", "has lost its crest"),
]


@pytest.mark.parametrize(("at", "old", "new", "what"), [d[1:] for d in DAMAGE], ids=[d[0] for d in DAMAGE])
def test_a_damaged_thread_is_found(at, old, new, what):
    found = judge_text(damaged(at, old, new)).findings
    if what:
        assert [f for f in found if what in f.what], [f.what for f in found]
    else:
        assert judge_text(single_point().works[0].text).ok


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_what_passes_after_any_damage_is_still_a_thread(seed):
    """Lines lost, repeated, moved and changed by figures: nothing breaks, and what is found clear has its thread."""
    rng = random.Random(seed)
    job = single_point()
    wanted, lines = job.works[0].setting.threads[0], job.works[0].text.splitlines()
    code = [n for n, line in enumerate(lines) if line.startswith("N")]

    def other(found: re.Match[str]) -> str:
        return f"{float(found[0]) * rng.choice([1, -1, 0.5, 2]) + rng.choice([0, 0.1, -3, 0.02]):.3f}"

    for _ in range(100):
        spoilt = list(lines)
        for at in (rng.choice(code[-130:]) for _ in range(rng.choice([1, 1, 2, 4]))):
            way = rng.random()
            spoilt[at] = (
                "" if way < 0.25
                else lines[rng.choice(code)] if way < 0.45
                else re.sub(r"-?\d+\.\d+", other, spoilt[at]) if way < 0.85
                else spoilt[at].replace("G33", rng.choice(["G1", "G0"])).replace("G0 X", "G33 Z")
            )  # fmt: skip
        program = read_program("\n".join(spoilt) + "\n", rules_of(job.dialect, job.shop))
        if simulate(program, job.works[0].setting, job.shop, stops=True).ok:
            full = [m for m in program.motions if m.kind == "thread" and m.end.z <= wanted.far]
            size = pitch_diameter_at(wanted.thread, min(m.end.x for m in full), 0.06)
            assert wanted.least - 1e-3 <= size <= wanted.most + 1e-3
            assert {m.feed for m in full} == {0.5}


def test_the_lead_is_proved_in_air_first():
    lines, air = single_point().works[0].text.splitlines(), lines_with(r"G33")[0]
    assert not [f for f in judge_text("\n".join(lines) + "\n").findings if f.kind == "no proof"]
    for lost, says in (
        ([air], "no pass in step with the spindle was run in air before"),
        ([n for n, line in enumerate(lines) if "IN STEP" in line], "no stop after the pass in air asks how it went"),
    ):
        text = "\n".join(line for n, line in enumerate(lines) if n not in lost) + "\n"
        assert [f for f in judge_text(text).findings if f.kind == "no proof" and says in f.what], says


def test_a_thread_left_out_or_unfinished_is_found():
    lines = single_point().works[0].text.splitlines()
    without = "\n".join(line for line in lines if "G33" not in line) + "\n"
    assert any('M3 x 0.5 on "shank" is not cut' in f.what for f in judge_text(without).findings)
    short = [re.sub(r"Z-\d\.\d+", "Z-2.0", line) if "G33" in line else line for line in lines]
    assert any("is not cut over its whole length" in f.what for f in judge_text("\n".join(short) + "\n").findings)
    early = [line for n, line in enumerate(lines) if n not in THREAD_LINES[5:]]
    assert any("too thick: pitch diameter" in f.what for f in judge_text("\n".join(early) + "\n").findings)


def test_a_thread_where_none_is_wanted_and_on_a_lathe_that_cannot():
    job = single_point()
    program = read_program(job.works[0].text, rules_of(job.dialect, job.shop))
    die = job_with(part(("0.4 mm deep", "0.35 mm deep")), shop())
    found = simulate(program, die.works[0].setting, die.shop).findings
    assert any("cuts a thread where none is wanted" in f.what for f in found)
    without = shop(threading="")
    found = simulate(program, die.works[0].setting, without).findings
    assert any("which this lathe cannot: the shop file names no spindle encoder" in f.what for f in found)


# Parted off -----------------------------------------------------------------------------------------------

BLADE = """
[[tool]]
number = 5
name = "parting blade"
kind = "grooving"
material = "HSS"
hand = "right"
nose_radius = "0.1 mm"
width = "1.5 mm"
edge = "4 mm"
minimum_cut = "0.02 mm"
deepest_cut = "1.5 mm"
rough_feed = "0.02 mm/rev"
finish_feed = "0.02 mm/rev"

[[tool.outline]]
name = "blade"
points = [["0.1 mm", "4 mm"], ["1.4 mm", "4 mm"], ["1.4 mm", "25 mm"], ["0.1 mm", "25 mm"]]
"""
BY_BLADE = ('part_off = "saw"', 'part_off = "blade"')


@lru_cache
def parted(dialect: str = "rs274ngc", single: bool = False) -> Job:
    tools = VEE + BLADE if single else BLADE
    threading = ENCODER if single else ""
    return job_with(part(BY_BLADE, single=single), shop(threading=threading, tool=tools, dialect=dialect), dialect)


@pytest.mark.parametrize(("dialect", "single"), [("rs274ngc", False), ("eia274d", False), ("eia274d", True)])
def test_parted_off_by_the_program(dialect, single):
    job = parted(dialect, single)
    assert job.problems == ()
    last = job.works[0].planned.passes[-1]
    assert (last.kind, last.before != ()) == ("part off", True)
    fastest = job.shop.materials["silver steel"].speed["HSS"][1]
    assert last.surface_speed <= 0.55 * fastest
    ends = [s for s in job.works[0].simulation.result if s.start.x > 0 and s.end.x == 0.0]
    assert any(s.end.z == pytest.approx(-6.5) for s in ends)


def test_the_program_stops_before_it_parts():
    lines = parted().works[0].text.splitlines()
    at = next(n for n, line in enumerate(lines) if "part off, head" in line)
    cuts = next(n for n in range(at, len(lines)) if re.search(r"G1 ", lines[n]))
    assert any(re.search(r"\bM0\b", line) for line in lines[at:cuts])
    assert "all handwork in this hold done" in " ".join(lines[at:cuts]).lower()


def test_the_pages_of_a_parted_part():
    flat = " ".join(write_summary(parted().plan).split())
    for words in ("BY THE BLADE, THE LAST PASS", "The thread is cut before that last pass", "14 part off",
                  "let a tray catch it, never a hand", "-- all handwork"):  # fmt: skip
        assert words in flat, words
    assert "BY SAW" not in flat


def test_a_plain_pin_parted_from_a_bar_left_as_bought():
    """The parted end need not be turned: the slot is cut in stock, and its pivot is burnished before."""
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    for old, new in (('facing = "0.5 mm"', 'part_off = "blade"\nfacing = "0.5 mm"'),
                     ('length = "36 mm"', 'length = "60 mm"'),
                     ('stick_out = "17 mm"', 'stick_out = "37 mm"')):  # fmt: skip
        text = text.replace(old, new, 1)
    job = job_with(part_of(parse_source(text.encode(), "crank-pin.toml")), shop(threading="", tool=BLADE), "eia274d")
    assert job.problems == ()
    assert job.works[0].planned.passes[-1].sections == ("head",)
    assert any(s.start == (-33.0, 3.0) and s.end == (-33.0, 0.0) for s in job.works[0].simulation.result)
    flat = " ".join(write_summary(job.plan).split())
    assert "before the last pass parts it off, in the same hold" in flat
    assert "The last pass has parted it off, 33.00 from the finished end" in flat


def test_what_cannot_be_parted_is_refused():
    text = refused(part(BY_BLADE), shop(threading="", tool=""))
    assert "no blade of the shop reaches through the bar" in text
    assert 'tool 2 "undercut tool": reaches 3 mm' in text
    near = part(BY_BLADE, ('stick_out = "18 mm"', 'stick_out = "8 mm"'))
    assert "there is no room to part off before the collet" in refused(near, shop(threading="", tool=BLADE))


PARTING_DAMAGE = [
    (r"Z-8\.0\b", "Z-7.9", "into the shoulder at the headstock end"),
    (r"Z-8\.0\b", "Z-8.3", "uncut"),
    (r"Z-8\.0\b", "Z-9.0", "the tool may cut no further than"),
    (r"X-0\.12", "X0.3", "uncut"),
    (r"X-0\.12", "X-0.5", "beyond the axis"),
]


@pytest.mark.parametrize(("old", "new", "what"), PARTING_DAMAGE)
def test_a_damaged_parting_is_found(old, new, what):
    job = parted()
    lines = job.works[0].text.splitlines()
    at = next(n for n, line in enumerate(lines) if "part off, head" in line)
    tail = [re.sub(old, new, line) for line in lines[at:]]
    assert tail != lines[at:]
    program = read_program("\n".join([*lines[:at], *tail]) + "\n", rules_of(job.dialect, job.shop))
    found = simulate(program, job.works[0].setting, job.shop, stops=True).findings
    assert [f for f in found if what in f.what], [f.what for f in found]


def test_a_part_that_was_never_parted_is_found():
    job = parted()
    text = job.works[0].text
    without = text[: text.index("(---- pass 13")] + "M5\nM2\n"
    program = read_program(without, rules_of(job.dialect, job.shop))
    found = simulate(program, job.works[0].setting, job.shop).findings
    assert any("uncut" in f.what for f in found)


# Pages ----------------------------------------------------------------------------------------------------


def test_the_pages_of_the_sample():
    job = make_job(str(SAMPLES / "drum-hook.toml"))
    text = write_summary(job.plan)
    flat = " ".join(text.split())
    titles = re.findall(r"DRUM HOOK: ([A-Z ,]+?)(?:, continued)? +page", text)
    assert list(dict.fromkeys(titles))[-3:] == ["THE THREAD", "OFF THE BAR", "THE HOOK, ON THE BENCH"]
    for words in (
        "shank as turned 2.874 to 2.980", "over three wires of 0.289: 3.051 ________ (3.014 to 3.088)",
            "Half a turn on, then back",
        "never saw into turning work", "nose over the round of the body 0.400 to 0.450",
        "3.00 of full thread is engaged",
        "Hot oil flares", "A wound mainspring throws its hook", "Cut the thread now, in this same hold",
    ):  # fmt: skip
        assert words in flat, words
    assert all(len(line) <= 80 for line in text.splitlines())
    assert text.isascii()


def test_the_notebook_wants_die_and_wires_and_names_the_pages():
    plan = make_job(str(SAMPLES / "drum-hook.toml")).plan
    text = " ".join(write_notebook(plan, job_pages(plan)).split())
    for words in ("die M3 x 0.5, its holder on the tailstock", "three wires of 0.289", "by its page, OFF THE BAR",
                  "by its page, THE HOOK", "over three wires"):  # fmt: skip
        assert words in text, words
    assert "Saw or part it off" not in text


def test_the_hook_and_the_arbor_agree():
    """The sample's hook screws into the hole of the sample's arbor: thread, body, flat and depth are the same."""
    arbor = (SAMPLES / "orrery-drum-arbor.toml").read_text(encoding="utf-8")
    hole = arbor[arbor.index("[[cross_hole]]") :]
    screwing = part().screwed
    assert screwing is not None
    assert screwing.hook is not None
    asked = {key: re.search(rf'^{key} = "(.*?)"', hole, re.M)[1] for key in ("thread", "depth", "flat_depth")}  # type: ignore[index]
    assert find_thread(asked["thread"]) == screwing.threads[0].thread
    assert (asked["depth"], asked["flat_depth"]) == (screwing.hook.hole_depth.text, screwing.hook.flat.text)
    assert re.search(rf'name = "drum body"\nrole = "body"\ndiameter = "{screwing.hook.body.text}"', arbor)


def test_the_hook_s_shape_in_closed_form():
    """Spring 0.4 + 0.05; eye 3 less 0.1 to 0.2; head 4 mm: the nose lies at sqrt(2^2 - 1.45^2) = 1.3775 mm."""
    screwing = part().screwed
    assert screwing is not None
    hook = screwing.hook
    assert hook is not None
    shape = shape_of(part(), hook)
    assert shape.height == pytest.approx(0.45)
    assert shape.width == pytest.approx((2.8, 2.9))
    assert shape.nose == pytest.approx(1.37750, abs=1e-5)
    assert math.hypot(shape.nose, shape.top) == pytest.approx(7.45)  # no further out than spring and clearance
    assert engaged(hook, screwing.threads[0], 4.0) == pytest.approx(3.0)


@given(st.floats(2.5, 6), st.floats(7, 30), st.floats(0, 20), st.floats(0.1, 0.8))
def test_the_face_leans_over_the_strip_by_what_was_asked(head, body, lean, spring):
    """From square to the strip where it stands; and nothing of the hook stands higher than its nose."""
    screwing = part().screwed
    assert screwing is not None
    assert screwing.hook is not None
    sizes = {"body": 2 * body, "spring_thickness": spring, "eye": 0.8 * head}
    hook = replace(screwing.hook, lean=lean, **{key: length_of(f"{size} mm") for key, size in sizes.items()})
    size = length_of(f"{head} mm")
    screw = replace(part(), sections=tuple(replace(x, diameter_a=size, diameter_b=size) for x in part().sections))
    made = shape_of(screw, hook)
    foot = (made.foot, math.sqrt(body * body - made.foot**2))
    face = (made.nose - foot[0], made.top - foot[1])
    along = (face[0] * foot[1] - face[1] * foot[0]) / body
    out = (face[0] * foot[0] + face[1] * foot[1]) / body
    assert math.degrees(math.atan2(along, out)) == pytest.approx(lean, abs=1e-6)
    assert math.degrees(math.atan2(*face)) == pytest.approx(made.lean, abs=1e-6)
    assert made.crown <= made.height + 1e-12


def test_the_hook_is_drawn_for_either_way_of_winding():
    one, other = draw_hook(clockwise=True), draw_hook(clockwise=False)
    assert "--->" in one[0]
    assert "<---" in other[0]
    assert sum("/" in line for line in one) == sum("\\" in line for line in other)
    assert all("thread" in picture[-1] for picture in (one, other))


@pytest.mark.parametrize("pull", ["clockwise", "anticlockwise"])
def test_the_hook_has_its_sheet_in_the_picture(pull):
    """Its sizes by letter; turned the other way every place is mirrored."""
    job = job_with(part(('pull = "clockwise"', f'pull = "{pull}"')), shop(threading="", tool=""))
    svg = draw_plot(job.plan, tuple(w.simulation for w in job.works), tuple(w.program for w in job.works))
    for words in ("the hook, on the bench", f"turns {pull} to wind", "over the strip", "1.377 mm"):
        assert words in svg, words
    screwing = job.part.screwed
    assert screwing is not None
    assert screwing.hook is not None
    shapes = list(shapes_of(job.part, screwing, screwing.hook, shape_of(job.part, screwing.hook)))
    screw = next(s for s in shapes if s.style == "work")
    nose = max((p for piece in screw.chain for p in (piece.start, piece.end)), key=lambda p: math.hypot(*p))
    assert math.hypot(*nose) == pytest.approx(7.45)  # no point of it stands further out than the nose
    assert (nose.z > 0) is (pull == "clockwise")


def test_a_die_that_the_shop_has_not_is_said():
    listed = shop(("[lathe]\nname", 'dies = ["M2", "4 BA"]\n\n[lathe]\nname'), threading="", tool="")
    text = " ".join(write_summary(job_with(part(), listed).plan).split())
    assert "The shop file lists no die for M3 x 0.5: it has M2 x 0.4, 4 BA." in text


def test_bad_threading_tables_are_refused():
    for change, what in (
        ((ENCODER, 'by = "magic"\nfastest = "320 rpm"\n'), "by is one of a few words"),
        ((ENCODER, 'by = "encoder"\nfastest = "320 rpm"\n'), "has no acceleration"),
        ((ENCODER, WHEELS.replace("[20, 30, 40, 40, 60, 80]", "[20, 3]")), "wheels is a list of change wheels"),
        ((ENCODER, WHEELS + 'acceleration = "1 mm/s2"\n'), "driven by the leadscrew"),
        (('deepest_cut = "0.1 mm"\n\n[[tool.outline]]\nname = "blade"\npoints = [["-0.5',
          'deepest_cut = "0.1 mm"\nrough_feed = "0.1 mm/rev"\n\n[[tool.outline]]\nname = "blade"\npoints = [["-0.5'),
         "a threading tool is fed by the pitch"),
        (('kind = "stepper"', 'kind = "hand"'), "nothing follows a spindle encoder on a lathe worked by hand"),
        (("[lathe]\nname", 'dies = ["M3.7"]\n\n[lathe]\nname'), "there is no thread 'M3.7'"),
        (("[lathe]\nname", 'dies = "M3"\n\n[lathe]\nname'), "dies is a list of threads"),
    ):  # fmt: skip
        with pytest.raises(ProblemError) as caught:
            shop(change)
        assert any(what in str(p) for p in caught.value.problems), what


def test_the_way_in_the_folder(tmp_path: Path):
    """make writes the sample's folder whole; the program holds no thread, and the summary has every page."""
    from cam.job import job_files  # noqa: PLC0415

    files = job_files(make_job(str(SAMPLES / "drum-hook.toml")))
    assert {"setting-1.ngc", "summary.txt", "plot.svg"} <= set(files)
    assert b"THE HOOK, ON THE BENCH" in files["summary.txt"]


def test_the_record_holds_the_thread():
    screw = job_record(make_job(str(SAMPLES / "drum-hook.toml")))["screw"]
    (thread,) = screw["threads"]
    assert (thread["thread"], thread["by"], screw["part_off"]) == ("M3 x 0.5", "die", "saw")
    assert thread["pitch_diameter_mm"] == pytest.approx([2.580, 2.655], abs=0.006)  # ISO 965-2, as above
    assert screw["hook"]["over_body_mm"] == pytest.approx(0.45)


# Sizes, records, reasons ----------------------------------------------------------------------------------


def test_real_slides_leave_the_crests_on_size():
    """With backlash, whichever way the slides stand before: shank, undercut and head come out to a micrometre."""
    job = single_point()
    sizes = cut_sizes(job.works[0].program, job.works[0].setting, job.shop, 0.04, 0.05)
    worst = {(s.section, s.what): max(abs(s.least), abs(s.most)) for s in sizes}
    assert worst["shank", "diameter"] < 1e-3
    assert worst["head", "diameter"] < 1e-3


def test_a_stop_that_read_otherwise_moves_the_shank_and_not_the_thread(tmp_path: Path):
    """The last cut makes up for what the stop read; the thread's own tool has its own zero."""
    for name in ("drum-hook.toml", "shop.toml"):
        (tmp_path / name).write_text((SAMPLES / name).read_text(encoding="utf-8"), encoding="utf-8")
    tools = SHOP.replace('dialect = "rs274ngc"', 'dialect = "eia274d"', 1)
    tools = tools.replace("[lathe.x]\n", f"[lathe.threading]\n{ENCODER}\n[lathe.x]\n", 1) + VEE + BLADE
    (tmp_path / "shop.toml").write_text(tools, encoding="utf-8")
    text = PART.replace('thread_by = "die"', 'thread_by = "single point"').replace(*BY_BLADE)
    (tmp_path / "drum-hook.toml").write_text(re.sub(r"corner_b = .*\n", "", text), encoding="utf-8")
    path = str(tmp_path / "drum-hook.toml")
    before = make_job(path)
    record_value(path, "shank stop diameter", "3.02 mm")
    after = make_job(path)
    assert before.problems == after.problems == ()
    finish, again = (
        next(c for c in job.works[0].planned.passes if c.kind == "finish" and "shank" in c.sections)
        for job in (before, after)
    )
    assert again.diameter < finish.diameter
    threads = [[c.diameter for c in job.works[0].planned.passes if c.kind == "thread"] for job in (before, after)]
    assert threads[0] == threads[1]


def test_why_says_where_the_sizes_of_a_thread_come_from_and_what_drills_leave():
    part = str(SAMPLES / "drum-hook.toml")
    text = " ".join(answer(part, None, None, None).split())
    for words in (
        "Pitch diameter 2.580 mm to 2.655 mm: ISO 965-1 class 6g", "2.5 mm 2.500 mm 92 77 as tables print",
        "2.6 mm 2.600 mm 74 62", "of the basic height, 5/8 H a side (ISO 68-1)",
    ):  # fmt: skip
        assert words in text, words
    assert "thread M3" not in answer(part, None, 1, None)
    drum = answer(str(SAMPLES / "orrery-drum-arbor.toml"), None, None, None)
    assert "thread M3 x 0.5:" in drum
    assert f"4 flats with sharp corners up to {5.2 / math.sqrt(2):.3f} mm across" in " ".join(drum.split())


def test_why_a_pass_of_a_thread_is_as_it_is():
    plan = parted("eia274d", single=True).plan
    text = " ".join(answer_why(plan, 1, None).split())
    assert "Depth k of n is the whole depth times sqrt(k / n)" in text
    assert "the pitch, 0.5 mm a turn, 160 mm a minute at 320 rev/min" in text
    assert "For parting off no more than half of that is taken" in text
    assert any("to be in step at 320 rev/min the slide needs 1 mm" in r for r in plan.settings[0].reasons)


SHOP_CASES = st.fixed_dictionaries(
    {
        "thread": st.sampled_from(["M2", "M2.5", "M3", "M3 x 0.35", "M4", "4 BA", "6 BA", "4-40", "6-32"]),
        "length": st.floats(4.0, 9.0),
        "lost": st.sampled_from(["0 mm", "0.03 mm", "0.1 mm"]),
        "units": st.sampled_from(["mm", "in"]),
        "by_blade": st.booleans(),
        "acceleration": st.sampled_from(["20 mm/s2", "100 mm/s2", "1000 mm/s2"]),
    }
)


@settings(max_examples=12, deadline=None)
@given(SHOP_CASES)
def test_random_screws_in_random_shops_are_cut_clear(case):
    """Planned, written, read back, and judged as slides with backlash carry it out: no finding."""
    thread = find_thread(case["thread"])
    vee = VEE.replace('"60 deg"', f'"{thread.angle:g} deg"').replace("0.06 mm", f"{0.9 * widest_nose(thread):.4f} mm")
    there = shop(
        ('units = "mm"', f'units = "{case["units"]}"'),
        ('backlash = "0.05 mm"', f'backlash = "{case["lost"]}"'),
        threading=ENCODER.replace("100 mm/s2", case["acceleration"]),
        tool=vee + BLADE,
    )
    changes = [
        ('thread = "M3"', f'thread = "{thread.name}"'), ('length = "4 mm"', f'length = "{case["length"]:.3f} mm"'),
        ('hole_depth = "5 mm"', 'hole_depth = "12 mm"'), ('diameter = "4 mm"', 'diameter = "5 mm"'),
        ('flat = "0.3 mm"', 'flat = "0.5 mm"'), ('stick_out = "18 mm"', 'stick_out = "20 mm"'),
    ]  # fmt: skip
    screw = part(*changes, *([BY_BLADE] if case["by_blade"] else []), single=True)
    assert job_with(screw, there).problems == ()


def test_what_is_threaded_and_milled_has_its_pages_in_the_order_of_the_work(tmp_path):
    """It is milled once it is off its bar, and says of one work alone no order."""
    shutil.copy(SAMPLES / "shop.toml", tmp_path)
    text = (SAMPLES / "drum-hook.toml").read_text().split("[hook]")[0]
    changes = {'length = "4 mm"': 'length = "8 mm"', 'length = "2.5 mm"': 'length = "14 mm"'}
    changes |= {'diameter = "4 mm"': 'diameter = "5.5 mm"', '"18 mm"': '"30 mm"', '"45 mm"': '"60 mm"'}
    for was, is_now in changes.items():
        assert was in text
        text = text.replace(was, is_now)
    hole = {"name": "pin hole", "section": "head", "face": "A", "distance": "3.5 mm", "angle": "any",
            "diameter": "2.6 mm", "flat_depth": "0 mm", "grip": "head", "grip_length": "6 mm"}  # fmt: skip
    lines = "\n".join(f'{key} = "{value}"' for key, value in hole.items())
    (tmp_path / "part.toml").write_text(f"{text}\n[[cross_hole]]\nthrough = true\n{lines}\n")
    job = make_job(str(tmp_path / "part.toml"))
    summary = write_job_summary(job)
    titles = re.findall(r"DRUM HOOK: ([A-Z0-9 ,]+?)(?: of 1, A END)? +page", summary)
    assert titles[1:] == ["SETTING 1", "THE THREAD", "OFF THE BAR", "PIN HOLE, ON THE MILL"]
    assert "then on the mill: pin hole, by its page" in summary
