"""Finishing that suits the stiffness, and cuts that spindle and slide can drive."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import groupby
from random import Random
from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.plan import plan_job
from cam.plan.choose_cuts import SHARE, explain_cuts
from cam.plan.cuts import Cuts
from cam.plan.cutting import FEED_SHARE, FORCE_BAND, chip_of, cutting_power, power_limit, tool_force, torque
from cam.plan.model import Pass, Plan
from cam.plan.why import answer_why
from cam.plan.work import cylinders
from cam.shop.materials import built_in_materials
from tests.plan_specimens import SAMPLE_NAMES, change_lathe, random_plans, sample_plan
from tests.search.draw import draw_part, draw_shop
from tests.search.fixes import ways
from tests.search.spec import Part
from tests.specimens import SAMPLES, part_from, quantity, sample, shop_from, turning_tool
from tests.test_begin_again import two_knives


def finishing(plan: Plan) -> list[list[Pass]]:
    """The straight finishing cuts of each run."""
    cuts = [p for s in plan.settings for p in s.passes if p.kind in ("semi-finish", "finish")]
    return [list(group) for _, group in groupby(cuts, key=lambda p: p.sections)]


def plan_fixed(part: Part, shop: str, rounds: int = 4) -> Plan:
    """The plan of a drawn part, fixed as its refusals say."""
    try:
        return plan_job(part_from(part.text()), shop_from(shop))
    except ProblemError as refused:
        if not rounds:
            raise
        (_, fixed), *_ = ways(part, str(refused.problems[0]))
        return plan_fixed(fixed, shop, rounds - 1)


@pytest.mark.parametrize(("job", "shared"), [("31001-389", {"s5": 2, "s4": 3}), ("40001-1212", {"s3": 3, "s2": 3})])
def test_no_last_cut_is_deeper_than_the_tool_takes_nor_in_air(job: str, shared: dict[str, int]) -> None:
    """What springs much keeps much metal: two cuts of it were too deep here, and stood outside of the bar on "s5"."""
    rng = Random(job)
    shop = draw_shop(rng)
    plan = plan_fixed(draw_part(rng, shop.shop), shop.text)
    for setting in plan.settings:
        bar = max(d for _, _, d in cylinders(setting.setting.stock))
        last = [p for p in setting.passes if p.kind in ("semi-finish", "finish")]
        assert all(p.depth <= float(p.tool.deepest_cut) + 1e-9 and p.diameter < bar for p in last)
        assert all(m.expected < bar for p in last for m in p.measure if m.kind == "diameter")
    sizes = {cuts[0].sections[0]: {p.diameter for p in cuts} for cuts in finishing(plan)}
    assert {name: len(sizes[name]) for name in shared} == shared
    said = " ".join(r for s in plan.settings for r in s.reasons)
    assert '"right-hand knife" takes 0.3 mm at once' in said


def plan_arbor(**cuts: float) -> Plan:
    """The plan of the drum arbor, cuts of every tool so."""
    part, shop = sample("orrery-drum-arbor")
    given = {name: quantity(value) for name, value in cuts.items()}
    return plan_job(part, replace(shop, tools=tuple(replace(t, **given) for t in shop.tools)))


@pytest.mark.parametrize(("least", "most"), [(0.19, 0.2), (0.25, 0.3)])
def test_a_tool_whose_least_and_deepest_cut_leave_no_last_cut_is_refused_and_either_fix_works(
    least: float, most: float
) -> None:
    """Before: cuts deeper than the tool takes were planned, and the check of our own program called them our fault."""
    with pytest.raises(ProblemError, match="no number of last cuts") as refused:
        plan_arbor(minimum_cut=least, deepest_cut=most)
    said = str(refused.value)
    deeper, keener = (re.findall(rf'{key} = "(\S+) mm"', said) for key in ("deepest_cut", "minimum_cut"))
    for minimum, deepest in ((least, max(map(float, deeper))), (float(keener[0]), most)):
        plan = plan_arbor(minimum_cut=minimum, deepest_cut=deepest)
        cuts = [p for s in plan.settings for p in s.passes if p.kind in ("semi-finish", "finish")]
        assert all(p.depth <= deepest + 1e-9 for p in cuts)


def test_no_face_is_cut_deeper_than_the_tool_takes() -> None:
    """Before: the last cuts on faces were 0.12 mm, as a Z zero may be 0.1 mm out, whatever the tool takes."""
    with pytest.raises(ProblemError, match="does not take a cut on a face as deep") as refused:
        plan_arbor(deepest_cut=0.1)
    assert 'write deepest_cut = "0.12 mm"' in refused.value.problems[0].fix
    passes = [p for s in plan_arbor(deepest_cut=0.12).settings for p in s.passes if p.tool.kind == "turning"]
    assert all(p.depth <= 0.12 + 1e-9 for p in passes)


def test_the_reasons_call_no_two_cuts_equal_where_more_are_made() -> None:
    spindle = sample_plan("moon-carriage-spindle")
    for setting in spindle.settings:
        assert setting.reasons[0].startswith("roughing leaves 0.")
        assert "room for two equal last cuts of" in setting.reasons[0]


def test_a_taper_without_limits_is_said_to_be_finished_lighter_for_what_roughing_left_of_it() -> None:
    """Before: its spring was held against limits that it has not, or roughing was said to have left the allowance."""
    text = (SAMPLES / "orrery-drum-arbor.toml").read_text()
    text = text.replace(
        'role = "seat"\ndiameter = "8 mm"\ntolerance = "+0 / -0.03 mm"\nlength = "7.5 mm"',
        'role = "plain"\ndiameter_a = "7.5 mm"\ndiameter_b = "8 mm"\nlength = "7.5 mm"', 1,
    )  # fmt: skip
    shop = two_knives("").replace('deepest_cut = "0.35 mm"', 'deepest_cut = "0.27 mm"')
    plan = plan_job(part_from(text), shop_from(shop))
    said = (
        '"front seat" is finished in 3 cuts, the last two of 0.02 mm per side at 0.03 mm a turn: '
        'roughing left 0.31 mm, and "right-hand knife" takes 0.27 mm at once'
    )
    assert [r for s in plan.settings for r in s.reasons if "is finished" in r] == [said]
    assert said in " ".join(answer_why(plan, None, None).split())


def test_what_is_finished_lighter_for_its_drive_is_said_to_be() -> None:
    part, shop = sample("orrery-drum-arbor")
    bench = SimpleNamespace(
        chosen=[Cuts(names=("drum body",), count=2, depth=0.06, feed=0.02, too_strong=True)], shop=shop,
        finish_tool=shop.tools[0],
    )  # fmt: skip
    said = '"drum body" is finished in 2 cuts, the last two of 0.06 mm per side at 0.02 mm a turn: spindle and slide'
    assert [r.partition(" can")[0] for r in explain_cuts(part, bench)] == [said]


# Chips and forces ---------------------------------------------------------------------------------------


def test_a_sharp_tool_has_the_chip_of_the_law() -> None:
    # b = ap / sin k, h = f sin k (Kienzle); at 45 degrees, 2 mm deep, 0.4 mm/rev: 2.8284 mm and 0.2828 mm.
    assert chip_of(2.0, 0.4, 0.0, 45.0) == pytest.approx((2.8284, 0.2828), abs=5e-5)
    assert chip_of(0.5, 0.1, 0.0, 90.0) == pytest.approx((0.5, 0.1))


def test_a_cut_as_deep_as_the_nose_meets_a_quarter_of_it() -> None:
    width, thickness = chip_of(0.2, 0.05, 0.2, 90.0)
    assert width == pytest.approx(math.pi / 2 * 0.2)
    assert width * thickness == pytest.approx(0.2 * 0.05)


@given(st.floats(0.01, 2), st.floats(0.01, 0.3), st.floats(0.05, 0.4), st.floats(60, 107))
def test_a_nose_takes_no_less_force_than_a_sharp_tool(depth: float, feed: float, nose: float, approach: float) -> None:
    steel = built_in_materials()["mild steel"]
    blunt = tool_force(steel, turning_tool(nose_radius=nose, approach=approach), depth, feed)
    sharp = tool_force(steel, turning_tool(nose_radius=1e-9, approach=approach), depth, feed)
    assert blunt >= 0.999999 * sharp
    width, thickness = chip_of(depth, feed, nose, approach)
    assert width * thickness == pytest.approx(depth * feed)


def test_power_and_torque_from_printed_units() -> None:
    # 1 kW = 1000 N m/s: 600 N at 100 m/min take 1 kW; 1276.5 N (16MnCr5, derived) on 25 mm turn 15.96 N m.
    assert cutting_power(600, 100) == pytest.approx(1000)
    assert torque(1276.5, 25) == pytest.approx(15.956, abs=5e-4)


# Finishing ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_the_last_two_cuts_are_equal(name: str) -> None:
    for cuts in finishing(sample_plan(name)):
        *_, before, last = cuts
        assert before.depth == last.depth
        assert before.feed == last.feed
        assert before.depth >= float(before.tool.minimum_cut) - 1e-9


def test_the_slender_spindle_is_finished_lighter_than_the_drum_arbor_and_why_is_answered() -> None:
    spindle, arbor = sample_plan("moon-carriage-spindle"), sample_plan("orrery-drum-arbor")
    lightest = min(p.depth for cuts in finishing(spindle) for p in cuts)
    assert lightest < min(p.depth for cuts in finishing(arbor) for p in cuts)
    assert max(len(cuts) for cuts in finishing(spindle)) > max(len(cuts) for cuts in finishing(arbor)) == 2
    said = [r for s in spindle.settings for r in s.reasons if "finished lighter" in r]
    assert said
    assert all("um for each N" in r and "a quarter of its limits" in r for r in said)
    answer = " ".join(answer_why(spindle, None, None).split())
    assert all(" ".join(r.split()) in answer for r in said)
    assert not [r for s in arbor.settings for r in s.reasons if "finished lighter" in r]


def test_why_says_what_it_goes_by_in_the_unit_of_the_part() -> None:
    answer = " ".join(answer_why(sample_plan("moon-carriage-spindle"), None, None).split())
    assert "would spring more than 0.002 in or spindle" in answer
    assert "below about 0.002 in a turn much" in answer


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
def test_spring_uses_no_more_than_its_share_of_the_limits_or_a_warning_says_so(plan: Plan) -> None:
    warned = " ".join(w.what for w in plan.warnings)
    by_name = {s.name: s for s in plan.part.sections}
    for cuts in finishing(plan):
        tolerances = [by_name[n].tolerance for n in cuts[-1].sections]
        widths = [t.upper - t.lower for t in tolerances if t is not None]
        if widths and cuts[-1].error > SHARE * min(widths) + 1e-9:
            assert " and ".join(cuts[-1].sections) in warned


def test_a_part_too_slender_for_any_cut_is_told_fat_and_what_would_help() -> None:
    part, shop = sample("moon-carriage-spindle")
    tools = tuple(replace(t, minimum_cut=quantity(0.06)) if t.kind == "turning" else t for t in shop.tools)
    plan = plan_job(part, replace(shop, tools=tools))
    fat = [w for w in plan.warnings if "fat in the middle" in w.what]
    assert fat
    assert all("steady" in w.fix and "N radial or less would do" in w.fix for w in fat)


# What can be driven -------------------------------------------------------------------------------------


def rough_depths(plan: Plan) -> list[float]:
    return [p.depth for s in plan.settings for p in s.passes if p.kind == "rough"]


def test_a_weak_motor_makes_the_layers_lighter() -> None:
    plain, weak = sample_plan("orrery-drum-arbor"), sample_plan("orrery-drum-arbor", spindle_power=quantity(60, "W"))
    assert max(rough_depths(weak)) < max(rough_depths(plain))
    assert any("the motor drives no more" in r for s in weak.settings for r in s.reasons)
    limit = power_limit(weak.shop.lathe)
    assert all((1 + FORCE_BAND) * p.power <= limit for s in weak.settings for p in s.passes)


def test_a_weak_slide_makes_the_layers_lighter() -> None:
    plain, weak = sample_plan("orrery-drum-arbor"), sample_plan("orrery-drum-arbor", slide_force=80.0)
    assert max(rough_depths(weak)) < max(rough_depths(plain))
    assert any("the slide pushes no more, 80 N" in r for s in weak.settings for r in s.reasons)
    assert all((1 + FORCE_BAND) * FEED_SHARE * p.force <= 80 for s in weak.settings for p in s.passes)


def test_a_spindle_of_little_torque_makes_the_layers_lighter_on_thick_work() -> None:
    plain = sample_plan("orrery-drum-arbor")
    part, shop = sample("orrery-drum-arbor")
    spindle = replace(shop.lathe.spindle, torque=0.8)
    weak = plan_job(part, replace(shop, lathe=replace(shop.lathe, spindle=spindle)))
    assert max(rough_depths(weak)) < max(rough_depths(plain))
    for cut in (p for s in weak.settings for p in s.passes):
        assert torque((1 + FORCE_BAND) * cut.force, 1000 * cut.surface_speed / (math.pi * cut.rpm)) <= 0.8 * (1 + 1e-9)
    assert any("the spindle turns with no more, 0.80 N m" in r for s in weak.settings for r in s.reasons)
    with pytest.raises(ProblemError) as refused:
        plan_job(part, replace(shop, lathe=replace(shop.lathe, spindle=replace(spindle, torque=0.01))))
    assert "0.01 N m at the spindle" in refused.value.problems[0].allowed


@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize("watts", [20, 40, 90])
def test_any_cut_turns_slower_or_lighter_for_a_weak_motor(name: str, watts: float) -> None:
    plain, weak = sample_plan(name), sample_plan(name, spindle_power=quantity(watts, "W"))
    limit = power_limit(weak.shop.lathe)
    cuts = [p for s in weak.settings for p in s.passes]
    assert all((1 + FORCE_BAND) * p.power <= limit for p in cuts)
    assert min(p.surface_speed for p in cuts) <= min(p.surface_speed for s in plain.settings for p in s.passes)


def test_a_undercut_is_cut_at_less_feed_for_a_weak_slide_and_why_says_so() -> None:
    plain, weak = sample_plan("orrery-drum-arbor"), sample_plan("orrery-drum-arbor", slide_force=60.0)

    def grooves(plan: Plan) -> list[Pass]:
        return [p for s in plan.settings for p in s.passes if p.kind == "groove"]

    assert all(a.feed < b.feed for a, b in zip(grooves(weak), grooves(plain), strict=True))
    assert all((1 + FORCE_BAND) * FEED_SHARE * p.force <= 60 for p in grooves(weak))
    number, groove = next((s.setting.number, p) for s in weak.settings for p in s.passes if p.kind == "groove")
    said = answer_why(weak, number, groove.number)
    assert "could not drive more, see force" in " ".join(said.split())


@pytest.mark.parametrize(("changes", "words"), [({"spindle_power": quantity(0.5, "W")}, "W at the cut"),
                                                ({"slide_force": 4.0}, "the slide's drive")])  # fmt: skip
def test_what_no_lighter_cut_brings_down_is_refused(changes: dict[str, float], words: str) -> None:
    part, shop = sample("crank-pin")
    with pytest.raises(ProblemError) as refused:
        plan_job(part, replace(shop, lathe=change_lathe(shop.lathe, **changes)))
    problem = refused.value.problems[0]
    assert "more than the lathe can drive" in problem.what
    assert words in problem.allowed


def test_no_fix_is_a_least_cut_that_the_tool_keeps_to_already() -> None:
    """What a roughing knife leaves on a steep taper is too deep for a fine tool at once, however keen that is."""
    shop = two_knives("").replace('deepest_cut = "0.35 mm"', 'deepest_cut = "0.15 mm"')
    seat = 'role = "seat"\ndiameter = "5 mm"\ntolerance = "+0 / -0.03 mm"\nlength = "8 mm"'
    cone = 'role = "plain"\ndiameter_a = "3.6 mm"\ndiameter_b = "5 mm"\nlength = "2 mm"\nedge_a = "sharp"'
    pin = (SAMPLES / "crank-pin.toml").read_text()
    assert seat in pin
    with pytest.raises(ProblemError, match="no number of last cuts") as refused:
        plan_job(part_from(pin.replace(seat, cone)), shop_from(shop))
    (found,) = refused.value.problems
    assert found.given.startswith("minimum_cut 0.02 mm")
    assert 'write deepest_cut = "' in found.fix
    assert "keener" not in found.fix
