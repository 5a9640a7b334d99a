"""Whether the lathe is true: set-over by published examples, which way to move, and what a known cone does."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.plan import plan_job
from cam.plan.true_lathe import Reading, answer_tailstock, find_truth, set_over
from cam.plan.warn_size import lengthening
from cam.plan.why import answer_why
from cam.problem import ProblemError, RangeError
from cam.shop.materials import built_in_materials
from tests.plan_specimens import SAMPLE_NAMES, change_lathe, sample_plan
from tests.specimens import sample

INCH = 25.4
SET_OVER = [  # larger, smaller, tapered, length between centres, set-over; inches as printed
    (3, 2, 12, 12, 0.5),  # US Navy training text "Machinery Repairman", tailstock set-over: whole length
    (1.5, 1.0, 6, 6, 0.25),  # the same: 1 in a foot on 6 in
    (4, 1, 36, 36, 1.5),  # J. Rose, Modern Machine-Shop Practice (1888), tapers: 1 in a foot on 3 ft
    (0.9375, 0, 15, 15, 0.46875),  # a printed exercise: 0.0625 in an inch on 15 in
]


@pytest.mark.parametrize(("larger", "smaller", "tapered", "length", "printed"), SET_OVER)
def test_set_over_of_printed_examples(
    larger: float, smaller: float, tapered: float, length: float, printed: float
) -> None:
    assert set_over(larger * INCH, smaller * INCH, tapered * INCH, length * INCH) == pytest.approx(printed * INCH)


def test_compound_slide_of_a_printed_exercise() -> None:
    # 80 to 50 mm in 80 mm: tan a = (D - d) / (2 l), 10.62 degrees (a university workshop sheet; value derived).
    # A tailstock set over by as much turns the same slope: set-over / length is that tangent.
    slope = set_over(80, 50, 80, 200) / 200
    assert math.degrees(math.atan(slope)) == pytest.approx(10.62, abs=0.005)


@pytest.mark.parametrize(
    ("tail", "post", "toward_tool", "way"),
    [
        (12.03, "front", True, "toward you"),  # large at the tailstock: its centre stands away from the tool
        (11.97, "front", False, "away from you"),
        (12.03, "rear", True, "away from you"),
        (11.97, "rear", False, "toward you"),
    ],
)
def test_which_way_the_tailstock_goes(tail: float, post: str, toward_tool: bool, way: str) -> None:
    truth = find_truth([Reading(at=10, diameter=12.0), Reading(at=110, diameter=tail)], 150, post)  # type: ignore[arg-type]
    assert (truth.toward_tool, truth.way) == (toward_tool, way)
    assert truth.move == pytest.approx(0.015 * 150 / 100)


@given(st.floats(-0.2, 0.2), st.floats(60, 300), st.floats(0.05, 0.4), st.floats(0.55, 0.95))
def test_a_bar_turned_with_the_tailstock_off_gives_back_how_far(off: float, length: float, a: float, b: float) -> None:
    # Turned by geometry: the tool cuts a radius that grows as the tailstock centre stands away from it.
    readings = [Reading(at=s * length, diameter=12 + 2 * off * s) for s in (a, (a + b) / 2, b)]
    truth = find_truth(readings, length, "front", resolution=1e-9)
    if abs(off) > 1e-6:
        assert truth.move == pytest.approx(abs(off), rel=1e-6)
        assert truth.toward_tool == (off > 0)
        assert truth.looks_like == "offset"


@pytest.mark.parametrize(
    ("diameters", "looks"),
    [((12, 12.001, 12.002), "true"), ((12, 12.015, 12.03), "offset"), ((12, 12.02, 12), "deflection"),
     ((12, 12.04, 12.03), "both"), ((12, 11.98, 12), "deflection")],
)  # fmt: skip
def test_what_three_readings_look_like(diameters: tuple[float, ...], looks: str) -> None:
    readings = [Reading(at=at, diameter=d) for at, d in zip((10, 60, 110), diameters, strict=True)]
    assert find_truth(readings, 120, "front").looks_like == looks


def test_readings_that_say_nothing_are_refused() -> None:
    with pytest.raises(RangeError):
        find_truth([Reading(at=10, diameter=12)], 100, "front")
    with pytest.raises(RangeError):
        find_truth([Reading(at=10, diameter=12), Reading(at=10, diameter=12.1)], 100, "front")
    with pytest.raises(RangeError):
        find_truth([Reading(at=10, diameter=12), Reading(at=110, diameter=12.1)], 100, "front")
    with pytest.raises(ProblemError) as refused:
        answer_tailstock(["12 at 10 mm", "12 mm"], "150", "side", "5 um")
    assert len(refused.value.problems) == 4


def test_the_answer_says_what_to_write_in_the_shop_file() -> None:
    text = answer_tailstock(["12.03 mm at 15 mm", "12.00 mm at 135 mm"], "150 mm", "front", "0.005 mm")
    assert "move it 0.019 mm away from you" in text
    assert 'cone = { difference = "0.03 mm", over = "120 mm", larger_at = "headstock" }' in text
    assert "two readings cannot tell a bar that springs" in text


def test_a_known_cone_is_warned_of_section_by_section() -> None:
    plan = sample_plan("orrery-drum-arbor", cone=0.0005)  # 0.05 mm on 100 mm: 16 um on the 32 mm of the body
    warned = {w.what.split('"')[1] for w in plan.warnings if "larger at its tailstock end" in w.what}
    assert "drum body" in warned
    assert "back pivot" not in warned  # 3 um of its 20
    assert not [w for w in sample_plan("crank-pin", cone=0.0005).warnings if "larger at its" in w.what]


def test_warm_work_is_told_how_much_longer_it_is() -> None:
    # JCGM 100:2008, H.1: steel grows 11.5 millionths a kelvin: 100 mm by 15 K is 17.25 um.
    assert lengthening(100, built_in_materials()["EN8"], 15) == pytest.approx(0.01725)
    part, shop = sample("orrery-drum-arbor")
    plan = plan_job(part, replace(shop, lathe=change_lathe(shop.lathe, warmer=15.0)))
    said = [w for w in plan.warnings if "K warm is" in w.what]
    assert said
    assert all("let it cool" in w.mend for w in said)


# Why ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_every_pass_can_be_asked_why(name: str) -> None:
    plan = sample_plan(name)
    text = answer_why(plan, None, None)
    passes = [p for s in plan.settings for p in s.passes]
    assert text.count(", pass ") == len(passes)
    for word in ("depth", "speed", "feed", "force", "spring"):
        assert text.count(f"\n  {word}") == len(passes)
    assert "v = pi d n / 1000" in text
    assert "Kienzle" in text
    assert max(len(line) for line in text.splitlines() if line.startswith("  ")) <= 88
    one = answer_why(plan, 1, passes[0].number)
    assert text.startswith(one.rstrip())


def test_a_pass_that_is_not_there_is_refused() -> None:
    with pytest.raises(ProblemError) as refused:
        answer_why(sample_plan("crank-pin"), 1, 99)
    assert refused.value.problems[0].allowed == "1 to 12"
    with pytest.raises(ProblemError):
        answer_why(sample_plan("crank-pin"), 2, None)
