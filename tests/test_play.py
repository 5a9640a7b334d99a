"""What backlash does to sizes: nothing to our programs', and how much to a contour edited by hand."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from cam.geometry.path import Arc, Chain
from cam.ground.problem import ProblemError
from cam.job import Work, choose_dialect, judge_plan, make_job, move_outline
from cam.judge.envelope import from_chain, height
from cam.judge.play import Play, Slides
from cam.judge.really import Really
from cam.judge.result import cover
from cam.judge.sizes import cut_sizes
from cam.judge.sweep import along_line, find_underside
from cam.plan import Plan, plan_job
from cam.rs274 import read_program
from cam.rs274.model import Rules
from cam.shop.model import Shop
from cam.shop.tool_shape import tool_bodies
from tests.plan_specimens import SAMPLE_NAMES, change_lathe, sample_plan
from tests.play_case import with_play
from tests.specimens import SAMPLES, one_in, part_from, part_texts, quantity, sample, shop_from, shop_texts
from tests.test_whole import speaking

NGC = Rules(standard="NISTIR 6556", x_words="radius")
UM = 1e-3


def played(text: str, play: Play) -> list[tuple[float, float]]:
    """Ends (x, z) of every motion that moves, as the slides carry it out."""
    program = read_program(f"G21\nG18 G90 G94 F100\n{text}\nM2\n", NGC, "x.ngc")
    assert not program.problems
    moved = [m for m in with_play(program, play).motions if m.kind in ("rapid", "line", "arc")]
    return [(round(m.end.x, 9), round(m.end.z, 9)) for m in moved]


CONTOUR = "G0 X10\nG0 Z1\nG1 X2\nG1 Z-5\nG1 X3\nG1 Z-10\nG1 X5\nG1 Z-15"
"""From small to large in one go: diameters 4, 6, 10."""


def test_a_contour_from_small_to_large_sizes_every_later_diameter_small() -> None:
    # Derived: once X turns outward it lags by B, 2B on diameter; B 0.05: 4 / 5.9 / 9.9 for 4 / 6 / 10.
    ends = played(CONTOUR, Play(0.05, 0.0))
    assert [2 * x for x, z in ends if z in (-5, -10, -15)][::2] == pytest.approx([4.0, 5.9, 9.9])


def test_without_backlash_nothing_changes() -> None:
    work = make_job(str(SAMPLES / "crank-pin.toml")).works[0]
    ends = {m.line: (m.end.x, m.end.z) for m in with_play(work.program, Play(0.0, 0.0)).motions}
    for motion in work.program.motions:
        if motion.start != motion.end and not math.isnan(motion.end.z):
            assert ends[motion.line] == pytest.approx((motion.end.x, motion.end.z), abs=1e-9)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(-400, 100)), min_size=1, max_size=8),
    st.floats(0, 0.5),
    st.floats(0, 0.5),
    st.booleans(),
)
def test_a_slide_is_never_further_from_its_screw_than_the_play(
    places: list[tuple[int, int]], x: float, z: float, loose: bool
) -> None:
    text = "G0 X5\nG0 Z5\n" + "\n".join(f"G1 X{a / 100} Z{b / 100}" for a, b in places)
    program = read_program(f"G21\nG18 G90 G94 F100\n{text}\nM2\n", NGC, "x.ngc")
    for motion in with_play(program, Play(x, z, loose=loose)).motions:
        told = next(m for m in program.motions if m.line == motion.line)
        if motion.kind == "line" and not math.isnan(told.start.z):
            low_x, high_x = sorted((told.start.x, told.end.x))
            low_z, high_z = sorted((told.start.z, told.end.z))
            assert low_x - x - 1e-9 <= motion.end.x <= high_x + 1e-9
            assert low_z - z - 1e-9 <= motion.end.z <= high_z + 1e-9


def test_an_arc_outward_stays_behind_and_keeps_its_radius() -> None:
    text = "G0 X4\nG0 Z1\nG1 Z0\nG3 X5 Z-1 I0 K-1"
    program = read_program(f"G21\nG18 G90 G94 F100\n{text}\nM2\n", NGC, "x.ngc")
    pieces = [m for m in with_play(program, Play(0.1, 0.0)).motions if m.line == 6]
    assert pieces[0].kind == "line"
    assert pieces[-1].kind == "arc"
    arc = pieces[-1]
    assert arc.centre is not None
    assert (arc.centre.x, arc.centre.z) == pytest.approx((3.9, -1.0))
    for end in (arc.start, arc.end):
        assert math.dist((end.x, end.z), (arc.centre.x, arc.centre.z)) == pytest.approx(1.0)


# The sweep ----------------------------------------------------------------------------------------------


def worst_errors(part_text: str, shop_text: str, play: float) -> list[tuple[str, float, float]]:
    """(what, error, what it may be) of every size of both settings, mm, each setting on what the one before left."""
    part = part_from(re.sub(r"(?m)^tolerance.*$", "", part_text))  # finer limits than the backlash are refused
    shop = speaking(shop_from(shop_text), "rs274ngc")
    shop = replace(shop, lathe=change_lathe(shop.lathe, x_backlash=quantity(play), z_backlash=quantity(play)))
    try:
        job = judge_plan(plan_job(part, shop), choose_dialect("rs274ngc", shop))
    except ProblemError:
        assume(condition=False)
        raise
    assert not job.problems, "\n".join(str(p) for p in job.problems)
    found, stock = [], None
    for before, work in zip([None, *job.works], job.works, strict=False):
        if before is not None:
            stock = move_outline(before.simulation.result, before.setting, work.setting)
        for size in cut_sizes(work.program, work.setting, shop, play, play, stock=stock):
            found.append((f"{size.what} of {size.section}", max(-size.least, size.most), UM))
    return found


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(part_texts(extra_length=True, centre="half centre"), shop_texts(), st.sampled_from([0.0, 0.05, 0.2, 0.3]))
def test_backlash_changes_no_size_of_our_programs(part_text: str, shop_text: str, play: float) -> None:
    """Diameters, tapers, shoulders, edges, fillets and undercuts keep to 1 um."""
    for what, error, allowed in worst_errors(part_text, shop_text, play):
        assert error <= allowed, what


@pytest.mark.slow
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    part_texts(extra_length=True, centre="half centre"), shop_texts(), st.floats(0.0, 0.3).map(lambda b: round(b, 3))
)
def test_backlash_changes_no_size_of_many_programs(part_text: str, shop_text: str, play: float) -> None:
    for what, error, allowed in worst_errors(part_text, shop_text, play):
        assert error <= allowed, what


# Rapids -------------------------------------------------------------------------------------------------


def scraped(work: Work, shop: Shop, play: Play, stock: Chain | None) -> list[str]:
    """What rapids of a program would cut on slides with backlash: line, place and how deep."""
    unders = {t.number: find_underside(tool_bodies(t)[0].polygon, float(t.nose_radius)) for t in shop.tools}
    before = from_chain(work.setting.stock if stock is None else stock)
    really = Really(cover(before, work.setting.head_z, work.setting.stock_end_z), play, work.setting)
    slides, found = Slides(play), []
    for number, motion in enumerate(work.program.motions):
        for path in slides.paths(motion):
            if motion.kind != "rapid" or motion.tool not in unders or isinstance(path, Arc):
                continue
            sweep = along_line(unders[motion.tool], path.start, path.end, number)
            for z0, z1, old, new in really.metal.overlap(sweep):
                deep = max(height(old, z) - height(new, z) for z in (z0, (z0 + z1) / 2, z1))
                if deep > TOUCH:
                    found.append(f"line {motion.line}: {deep:.4f} mm at Z {z0:.3f} to {z1:.3f}, on its way {path}")
        really.move(number, motion, unders.get(motion.tool))
    return found


TOUCH = 1e-6


def assert_no_rapid_in_metal(plan: Plan, play: float) -> None:
    """Both slides' extreme states before the program, each setting on what the one before left."""
    shop = plan.shop
    stock, before = None, None
    for work in judge_plan(plan, choose_dialect("rs274ngc", shop)).works:
        if before is not None:
            stock = move_outline(before.simulation.result, before.setting, work.setting)
        for loose in (False, True):
            assert not scraped(work, shop, Play(play, play, loose=loose), stock)
        before = work


@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize("play", one_in(2, [0.0, 0.1, 0.3]))
def test_no_rapid_of_a_sample_enters_metal(name: str, play: float) -> None:
    part, shop = sample(name)
    bare = tuple(replace(s, tolerance=None, length_tolerance=None) for s in part.sections)  # as in worst_errors
    part, shop = replace(part, sections=bare), speaking(shop, "rs274ngc")
    lathe = change_lathe(shop.lathe, x_backlash=quantity(play), z_backlash=quantity(play))
    assert_no_rapid_in_metal(plan_job(part, replace(shop, lathe=lathe)), play)


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(part_texts(extra_length=True, centre="half centre"), shop_texts(), st.sampled_from([0.0, 0.05, 0.2, 0.3]))
def test_no_rapid_enters_metal(part_text: str, shop_text: str, play: float) -> None:
    part = part_from(re.sub(r"(?m)^tolerance.*$", "", part_text))
    shop = speaking(shop_from(shop_text), "rs274ngc")
    lathe = change_lathe(shop.lathe, x_backlash=quantity(play), z_backlash=quantity(play))
    try:
        plan = plan_job(part, replace(shop, lathe=lathe))
    except ProblemError:
        assume(condition=False)
        raise
    assert_no_rapid_in_metal(plan, play)


# Sizes of the samples -----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize("play", one_in(2, [0.08, 0.05, 0.0]))
def test_backlash_changes_no_size_of_a_sample(name: str, play: float) -> None:
    plan = sample_plan(name, x_backlash=quantity(play), z_backlash=quantity(play))
    job = judge_plan(plan, choose_dialect(None, plan.shop))
    for work in job.works:
        sizes = cut_sizes(work.program, work.setting, plan.shop, play, play)
        assert {"diameter", "shoulder", "edge"} <= {s.what for s in sizes}
        assert max(max(-s.least, s.most) for s in sizes) <= UM


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    part_texts(extra_length=True, centre="half centre"), shop_texts(), st.sampled_from([0.05, 0.2]), st.floats(0.0, 1.0)
)
def test_slides_tighter_than_declared_never_leave_too_little(
    part_text: str, shop_text: str, declared: float, share: float
) -> None:
    """Diameters and shoulders stay; what slants is left too thick by up to the difference."""
    part = part_from(re.sub(r"(?m)^tolerance.*$", "", part_text))
    shop = speaking(shop_from(shop_text), "rs274ngc")
    lathe = change_lathe(shop.lathe, x_backlash=quantity(declared), z_backlash=quantity(declared))
    shop = replace(shop, lathe=lathe)
    try:
        plan = plan_job(part, shop)
    except ProblemError:
        assume(condition=False)
        raise
    work = judge_plan(plan, choose_dialect("rs274ngc", shop)).works[0]
    for size in cut_sizes(work.program, work.setting, shop, share * declared, share * declared):
        slants = size.what in ("taper", "edge", "fillet") or re.search(r'corner_[ab] = "fillet 0', part_text)
        assert size.least >= -UM, size
        assert size.most <= UM + (2 * (1 - share) * declared if slants else 0.0), size


def test_a_program_edited_to_turn_outward_is_shown_small() -> None:
    job = make_job(str(SAMPLES / "crank-pin.toml"))
    work = job.works[0]
    # The last cut of the arm seat is made to go 0.01 mm deeper and come out to size again: X then stays behind.
    cut = next(p for p in work.planned.passes if p.kind == "finish" and p.sections == ("arm seat",))
    size = cut.path[0].start.x
    old = f"G0 X{size:g}\nG1 Z"
    assert work.text.count(old) == 1
    text = work.text.replace(old, f"G0 X{size - 0.01:g}\nG0 X{size:g}\nG1 Z")
    program = read_program(text, NGC, "edited.ngc")
    assert not program.problems
    sizes = cut_sizes(program, work.setting, job.shop, 0.04, 0.05)
    errors = {s.section: s.least for s in sizes if s.what == "diameter"}
    assert errors == {"handle pivot": pytest.approx(0, abs=UM), "arm seat": pytest.approx(-0.02, abs=UM)}
