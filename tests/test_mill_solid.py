"""A solid modeller as the independent check: the square that a program's text cuts out of a bar, against closed forms.

The solid is built from motions as read, with nothing of cam.mill's own geometry: every motion of the cutter is the hull
of its cylinder at both ends, turned and tipped as the work was, and taken off round bars.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from manifold3d import Manifold, OpType

from cam.judge.mill import radius_at, section_outline
from cam.mill.plan_square import plan_square
from cam.mill.ramp import plan_ramp
from cam.rs274.model import Program
from cam.setting.milled import MillWork
from cam.setting.square import Square, across_at
from tests.mill_case import END_MILL, SQUARE, judge, read, task_for, text_of
from tests.specimens import some

FACETS = 96
"""Of the cutter: the reach of its flat sides is 1.6 um short, which on a slope of 0.005 is 8 nm."""

TALL = 40.0


def cutter(radius: float = 3.0) -> Manifold:
    return Manifold.cylinder(TALL, radius, radius, FACETS)


def swept(start, end, radius: float = 3.0) -> Manifold:
    body = cutter(radius)
    return Manifold.batch_hull([body.translate(start), body.translate(end)])


def bars_of(work: MillWork) -> Manifold:
    bars = [
        Manifold.cylinder(s.end - s.start, s.top, s.top, 1024).rotate((0, 90, 0)).translate((s.start, 0, 0))
        for s in work.sections
    ]
    return Manifold.batch_boolean(bars, OpType.Add)


def milled_solid(program: Program, work: MillWork, radius: float) -> Manifold:
    """The work after a program, in its own axes with flat 1 on top; motions wholly above all of it are left out."""
    tilt, about = math.degrees(math.asin(work.frame.sin)), work.frame.about
    above = work.frame.to_machine(work.sections[-1].end, work.top)[1]
    angle, turns, cuts = 0.0, list(program.turns), {}
    for motion in program.motions:
        while turns and turns[0].line <= motion.line:
            angle = turns.pop(0).angle
        places = (*motion.start, *motion.end)
        if motion.kind not in ("rapid", "line") or any(map(math.isnan, places)):
            continue
        if min(motion.start.z, motion.end.z) <= above:
            cut = swept(motion.start, motion.end, radius)
            # the work's tip stands higher by the tilt, so the cutter leans the other way as the work sees it
            cut = cut.translate((-about, 0, 0)).rotate((0, tilt, 0)).translate((about, 0, 0))
            cuts[(angle, *places)] = cut.rotate((-angle, 0, 0))
    return bars_of(work) - Manifold.batch_boolean(list(cuts.values()), OpType.Add)


def section(solid: Manifold, x: float) -> np.ndarray:
    """Corners of the section at x as (y, z)."""
    upright = solid.rotate((0, -90, 0))
    corners = np.vstack(upright.slice(x).to_polygons())
    return np.column_stack([corners[:, 1], -corners[:, 0]])


def height_over(corners: np.ndarray, angle: float) -> float:
    """How far a section reaches in a direction: what an anvil touches."""
    return float((corners @ [math.sin(math.radians(angle)), math.cos(math.radians(angle))]).max())


WAYS = {"level block": 0.0, "rotary": 0.0, "tipped block": 60.0}
TRIED = some(WAYS, "tipped block")
"""The way that has a slope every time."""


@lru_cache
def made(way: str, flats: int, crown: float = 0.0005):
    square = SQUARE if flats == 4 else replace(SQUARE, flats=flats, across=4.2)
    plan = plan_square(task_for(square, way=way, spacing=WAYS[way], crown=crown))
    text = text_of(plan.moves)
    return plan, judge(plan, text), milled_solid(read(text), plan.work, END_MILL.radius)


# The ramp alone -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("y", [0.0, 1.0, 2.0, 2.5])
def test_a_ramp_cuts_as_much_too_low_as_the_formula_says(y):
    """r 3, slope 0.005: a path along a falling line cuts 0.005 * sqrt(9 - y^2) below it at y."""
    bar = Manifold.cube((40, 12, 4)).translate((0, -6, -4))
    cut = swept((5, 0, -1 + 15 * 0.005), (35, 0, -1 - 15 * 0.005))
    corners = np.vstack((bar - cut).rotate((0, -90, 0)).slice(20.0).to_polygons())
    y_of, z_of = corners[:, 1], -corners[:, 0]
    order = np.argsort(y_of[(abs(y_of) < 2.99) & (z_of < -0.5) & (z_of > -2)])
    keep = (abs(y_of) < 2.99) & (z_of < -0.5) & (z_of > -2)
    floor = np.interp(y, y_of[keep][order], z_of[keep][order])
    assert -1 - floor == pytest.approx(0.005 * math.sqrt(9 - y * y), abs=2e-5)


# The square ---------------------------------------------------------------------------------------------------


@pytest.mark.told
@pytest.mark.slow
@pytest.mark.parametrize("way", TRIED)
def test_across_flats_at_three_stations_within_half_a_micrometre(way):
    plan, _, solid = made(way, 4)
    for x in (1.0, 6.0, 11.0):
        corners = section(solid, x)
        for angle in (0.0, 90.0, 180.0, 270.0):
            assert height_over(corners, angle) == pytest.approx(across_at(plan.milled, x) / 2, abs=0.0005)
        for first in (0.0, 90.0):
            over = height_over(corners, first) + height_over(corners, first + 180)
            assert over == pytest.approx(across_at(plan.milled, x) + 2 * plan.crown, abs=0.0005)


OTHERS = ("level block", 4), ("rotary", 4), ("level block", 6)
BOTH = [("tipped block", 4), *(pytest.param(*row, marks=pytest.mark.slow) for row in OTHERS)]


def section_area(square: Square, x: float) -> float:
    """Area of the cross-section as milled, mm2: the polygon where corners are whole, else cut off by the round."""
    half, radius, sector = across_at(square, x) / 2, square.blank / 2, math.pi / square.flats
    edge = math.atan2(math.sqrt(radius**2 - half**2), half)
    if edge >= sector:
        return square.flats * half**2 * math.tan(sector)
    return square.flats * (half**2 * math.tan(edge) + radius**2 * (sector - edge))


@pytest.mark.told
@pytest.mark.slow
@pytest.mark.parametrize(("way", "flats"), BOTH)
def test_the_volume_within_a_hundredth_of_a_percent(way, flats):
    """With a crown of 0.1 um: one of 0.5 takes off 0.02 % more, as it lies lower on the whole than in its middle."""
    plan, _, solid = made(way, flats, 0.0001)
    low, high = 0.5, 12.0
    cut = solid.trim_by_plane((1, 0, 0), low).trim_by_plane((-1, 0, 0), -high)
    count = 200
    step = (high - low) / count
    wanted = sum(section_area(plan.milled, low + (k + 0.5) * step) for k in range(count)) * step
    assert cut.volume() == pytest.approx(wanted, rel=1e-4)


@pytest.mark.parametrize(("way", "flats"), BOTH)
def test_the_judge_sees_the_section_that_the_solid_has(way, flats):
    """Every corner of the solid's section lies as far from the axis as the simulation says, within 0.05 um."""
    plan, judged, solid = made(way, flats)
    assert judged.ok
    for x in (0.3, 3.0, 6.0, 11.9):
        corners = section(solid, x)
        rays = np.degrees(np.arctan2(corners[:, 0], corners[:, 1]))
        radii = [radius_at(judged.faces, plan.work, x, float(ray)) for ray in rays]
        assert abs(np.hypot(*corners.T) - radii).max() < 0.00005


def test_the_outline_is_that_of_a_square():
    plan, judged, _ = made("tipped block", 4)
    outline = section_outline(judged.faces, plan.work, 11.9)
    assert max(z for _, z in outline) == pytest.approx(across_at(plan.milled, 11.9) / 2, abs=0.0005)
    assert set(section_outline(judged.faces, plan.work, 12.5)) == {(0.0, 0.0)}


@pytest.mark.slow
def test_the_three_ways_make_the_same_solid_within_a_micrometre():
    """The symmetric difference of two solids, spread over their faces, is thinner than a micrometre everywhere."""
    solids = {way: made(way, 4)[2].trim_by_plane((1, 0, 0), 0.5) for way in WAYS}
    first = solids["tipped block"]
    for way in ("level block", "rotary"):
        other = solids[way]
        area = 4 * 11.5 * 3.7
        odd = (first - other).volume() + (other - first).volume()
        assert odd / area < 0.001
        for x in (0.6, 6.0, 11.9):
            for angle in range(0, 360, 15):
                gap = height_over(section(first, x), angle) - height_over(section(other, x), angle)
                assert abs(gap) < 0.001


@pytest.mark.parametrize("way", TRIED)
def test_what_lies_behind_the_wall_is_untouched(way):
    plan, _, solid = made(way, 4)
    behind = solid.trim_by_plane((-1, 0, 0), -0.05)
    bars = bars_of(plan.work).trim_by_plane((-1, 0, 0), -0.05)
    assert behind.volume() == pytest.approx(bars.volume(), rel=1e-12)


def test_one_pass_raised_by_r_times_the_slope_leaves_a_crown_and_the_plan_does_not():
    """Slope 0.005, r 3, over 3.6 mm: one pass lies +-2.9 um, the planned two within 0.5 um, as the solid shows."""
    one = plan_ramp(0.005, 3.0, 1.8, 1.0)
    assert len(one.across) == 1
    assert one.crown == pytest.approx(0.005 * (3 - math.sqrt(9 - 1.8**2)) / 2)
    plan = made("tipped block", 4)[0]
    assert plan.crown < 0.0005 < one.crown
