"""A pass is one dial and one stop, for the control and for the hand alike."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from cam.geometry.path import Arc, Line, Point
from cam.ground.problem import ProblemError
from cam.job import judge_program, make_job
from cam.plan import plan_job
from cam.plan.bench import through
from cam.plan.model import Plan, shape_of
from posts.summary import write_summary
from tests.plan_specimens import SAMPLE_NAMES, change_lathe, random_plans, sample_plan
from tests.search.fixes import FIXES
from tests.sheets.jobs import Written, pages_of
from tests.sheets.law import judge_pages
from tests.specimens import SAMPLES, by_hand, crank_pin, part_from, quantity

STRAIGHT = [
    [(1, 5), (-10, 5)],
    [(1, 5), (-10, 5), (-10, 8)],  # and the shoulder faced outward
    [(4, 8), (1, 5), (-10, 5), (-10, 8)],  # a ramp leads in
]
PLUNGE = [
    [(0, 8), (0, -0.2)],  # an end faced
    [(0, 8), (0, -0.2), (0.1, -0.2)],
    [(-10, 8), (-10, 5), (-10, 8)],  # a shoulder's ring
    [(-10, 8), (-10, 6), (-10, 6.2), (-10, 4), (-10, 8)],  # in bites
]
POINTS = [
    [(1, 5), (-10, 5), (-10, 6), (-20, 6)],  # X steps outward within the cut
    [(1, 5), (-10, 6)],
    [(-10, 6), (1, 6)],  # toward the tailstock
    [(-10, 5), (-10, 8), (-12, 8), (-12, 5)],
    [(0, 8), (0, 5), (-1, 5)],
    [(-10, 8), (-10, 5), (-10, 8), (-11, 8), (-11, 5), (-11, 8)],  # two plunges
]


@pytest.mark.parametrize(
    ("shape", "points"),
    [(shape, points) for shape, cases in (("straight", STRAIGHT), ("plunge", PLUNGE), ("points", POINTS))
     for points in cases],
)  # fmt: skip
def test_what_two_handles_do_for_a_path(shape: str, points: list[tuple[float, float]]) -> None:
    assert shape_of(through(*(Point(z, x) for z, x in points))) == shape


def test_an_arc_is_done_by_points() -> None:
    path = (Line(Point(1, 5), Point(-9, 5)), Arc(Point(-9, 5), Point(-10, 6), Point(-9, 6), -1))
    assert shape_of(path) == "points"


# The law on plans -----------------------------------------------------------------------------------------------

POINTWISE = ("edge", "fillet", "groove", "thread")
"""What a hand does by a table of points; tapers as well."""


def assert_one_dial_and_one_stop(plan: Plan) -> None:
    """Every pass is straight or a plunge, but for what slants, curves or is cut by a form."""
    for planned in plan.settings:
        tapers = {t.section.name for t in planned.setting.turned if t.radius_near != t.radius_far}
        for cut in planned.passes:
            slants = cut.kind in ("semi-finish", "finish") and tapers & {*cut.sections}
            if cut.kind in POINTWISE or (slants and cut.shape == "points"):
                assert cut.shape == "points", cut
                continue
            assert cut.shape in ("straight", "plunge"), cut
            assert (cut.shape == "plunge") == (cut.z_from == cut.z_to)
            along = [s for s in cut.path if s.start.z > s.end.z and s.end.x == s.start.x]
            assert len(along) == (cut.shape == "straight")
            assert all(s.start.x == cut.x for s in along)


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_every_pass_of_a_sample_is_one_dial_and_one_stop(name: str) -> None:
    assert_one_dial_and_one_stop(sample_plan(name))


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
def test_every_pass_is_one_dial_and_one_stop(plan: Plan) -> None:
    assert_one_dial_and_one_stop(plan)


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
def test_no_roughing_layer_is_thin_or_deeper_than_the_tool_takes(plan: Plan) -> None:
    for planned in plan.settings:
        for cut in planned.passes:
            if cut.kind == "rough":
                assert float(cut.tool.minimum_cut) - 1e-6 <= cut.depth <= float(cut.tool.deepest_cut) + 1e-6


GROOVED = """
name = "grooved"
corners = "fillet up to 0.5 mm"
edges = "sharp"
finish = "turn"
stock = {{ material = "brass", diameter = "15 mm", length = "{bar} mm" }}
[holding]
method = "between centres"
end_a = {{ tail_centre = "dead centre", extra_length = "12 mm" }}
end_b = {{ tail_centre = "half centre", extra_length = "12 mm" }}
[[section]]
name = "body"
role = "body"
diameter = "14 mm"
length = "14 mm"
[[section]]
name = "taper"
role = "plain"
diameter_a = "11.35 mm"
diameter_b = "9.35 mm"
length = "{long} mm"
[[section]]
name = "groove"
role = "undercut"
diameter = "{floor} mm"
length = "3 mm"
corner_a = "fillet up to 0.05 mm"
corner_b = "fillet up to 0.05 mm"
[[section]]
name = "journal"
role = "journal"
diameter = "9.35 mm"
length = "10 mm"
[[section]]
name = "pivot"
role = "pivot"
diameter = "4.35 mm"
length = "3 mm"
"""
"""A taper past a groove, as thick at its end as the section before the groove."""


def make_grooved(folder: Path, *, floor: float, long: float) -> None:
    """Make the job for it in the samples' shop, with a larger nose and sharper corners of the blade."""
    (folder / "part.toml").write_text(GROOVED.format(floor=floor, long=long, bar=54 + long), encoding="utf-8")
    knife, blade = (SAMPLES / "shop.toml").read_text(encoding="utf-8").split('name = "undercut tool"')
    shop = knife.replace('nose_radius = "0.1 mm"', 'nose_radius = "0.4 mm"') + 'name = "undercut tool"'
    shop += blade.replace('nose_radius = "0.1 mm"', 'nose_radius = "0.05 mm"', 1)
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    job = make_job(str(folder / "part.toml"), str(folder / "shop.toml"))
    assert job.problems == ()


def test_no_tool_is_set_on_a_shoulder_that_is_not_there_before_its_groove(tmp_path: Path) -> None:
    """Two of one size on both sides of a groove: neither the program nor a coarse dial's page tells of a shoulder."""
    part, shop, program = (tmp_path / name for name in ("part.toml", "shop.toml", "x.ngc"))
    limited = re.sub(r'role = "(journal|plain)"', r'\g<0>\ntolerance = "+0 / -0.04 mm"', GROOVED)
    part.write_text(limited.replace("0.05 mm", "0.1 mm").format(floor=7, long=10, bar=64), encoding="utf-8")
    shop.write_text((SAMPLES / "shop.toml").read_text(encoding="utf-8"), encoding="utf-8")
    text = next(w.text for w in make_job(str(part), str(shop)).works if w.setting.number == 2)
    program.write_text(text, encoding="utf-8")
    groove = int(re.findall(r"(?m)^N([0-9]+)00 ", text)[-1])
    assert judge_program(str(program), str(part), 2, str(shop), from_pass=groove, reground=True).problems == ()
    coarse = shop.read_text(encoding="utf-8").replace('division = "0.02 mm"', 'division = "0.05 mm"', 1)
    shop.write_text(by_hand(coarse), encoding="utf-8")
    job = make_job(str(part), str(shop))
    page = re.sub(r"\n +", " ", write_summary(job.plan))
    assert "touch it on journal, 9.325" in page, "half a division below the taper's end, at 9.330"
    assert not re.search(r"touch it on.*shoulder past journal", page)
    found = judge_pages(Written(job.part, job.shop, job.plan, pages_of(job.plan)))
    (wall,) = (r.size for v in found.verdicts for r in v.reached if (r.name, r.of) == ("journal", "shoulder"))
    assert wall == pytest.approx(36.0), "the wall of the groove, though it ends half a division below the taper"
    assert found.outside == []


def test_a_taper_past_a_groove_is_cut_to_its_end(tmp_path: Path) -> None:
    """The job's own check finds nothing uncut: the nose that touches both sides of the groove left some um there."""
    make_grooved(tmp_path, floor=8.95, long=3.0)


def test_a_groove_that_does_not_take_the_nose_before_a_taper_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ProblemError) as refused:
        make_grooved(tmp_path, floor=9.2, long=0.8)
    (problem,) = refused.value.problems
    assert problem.what == 'the nose that cuts the taper "taper" to its end has no room in the groove "groove"'
    assert next(name for name, said, _ in FIXES if re.search(said, str(problem), re.S)) == "a groove for the nose"
    deeper = re.match(r"make it ([0-9.]+) mm deeper a side, or", problem.fix)
    assert deeper, problem.fix
    make_grooved(tmp_path, floor=9.2 - 2 * float(deeper[1]), long=0.8)


SHARED = re.sub(r'(?s)name = "taper".*?section]]\n', "", GROOVED.replace("0.05 mm", "{corner} mm")).replace(
    'name = "pivot"\n',
    'name = "collar"\nrole = "journal"\ndiameter = "9.35 mm"\ntolerance = "{limits}"\nlength = "4 mm"\n'
    '[[section]]\nname = "pivot"\n',
)
"""A groove beside a section without limits, which is turned as one with a section that has them."""


@pytest.mark.parametrize("limits", ["-0.04 / -0.09 mm", "+0.09 / +0.04 mm"])
def test_a_groove_is_to_be_deeper_by_what_is_turned_as_one_with_its_neighbour(limits: str) -> None:
    """It was to be too little deeper where the other's limits lie low; high, its corners must have room as drawn."""

    def plan(floor: float, corner: float) -> None:
        plan_job(part_from(SHARED.format(bar=58, corner=corner, floor=floor, limits=limits)), crank_pin()[1])

    with pytest.raises(ProblemError) as refused:
        plan(9.24, 0.05)
    (problem,) = refused.value.problems
    deeper = re.match(r"make it ([0-9.]+) mm deeper a side and let its corners be 0.1 mm round", problem.fix)
    assert deeper, problem.fix
    plan(9.24 - 2 * float(deeper[1]), 0.1)
    with pytest.raises(ProblemError):
        plan(9.24 - 2 * (float(deeper[1]) - 0.03), 0.1)


def test_beside_a_centre_there_is_room_for_the_backlash_of_z() -> None:
    """The slide stands that much nearer where it came from the headstock, so that a cut began inside the end."""
    end = 'end_b = {{ tail_centre = "half centre", extra_length = "12 mm" }}'
    beside = GROOVED.replace(end, 'end_b = {{ tail_centre = "revolving centre", extra_length = "0 mm" }}')
    beside = beside.replace("0.05 mm", "0.1 mm").replace("4.35 mm", "1.7 mm").format(floor=8.95, long=3.0, bar=45)
    _, shop = crank_pin()
    loose = replace(shop, lathe=change_lathe(shop.lathe, z_backlash=quantity(0.5)))
    with pytest.raises(ProblemError) as refused:
        plan_job(part_from(beside), loose)
    (problem,) = refused.value.problems
    assert problem.what.startswith('no room to start on "pivot" beside the revolving centre')
    assert problem.allowed.startswith("0.55 mm off the end face")
