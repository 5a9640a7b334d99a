"""Whether the lathe is true: set-over by published examples, which way to move, and what a known cone does."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import ProblemError, RangeError
from cam.job import Job, choose_dialect, judge_plan
from cam.judge import simulate
from cam.judge.envelope import Metal, from_chain
from cam.judge.sizes import cut_sizes
from cam.plan import Measure, Pass, plan_job
from cam.plan.true_lathe import BarReading, answer_tailstock, find_truth, read_reading, set_over
from cam.plan.warn_size import lengthening
from cam.plan.why import answer_why
from cam.setting.cone import runs_of
from cam.shop.materials import built_in_materials
from tests.plan_specimens import SAMPLE_NAMES, change_lathe, sample_plan
from tests.specimens import SAMPLES, one_in, sample, shop_from
from tests.test_whole import speaking

INCH = 25.4
UM = 1e-3
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
    truth = find_truth([BarReading(at=10, diameter=12.0), BarReading(at=110, diameter=tail)], 150, post)  # type: ignore[arg-type]
    assert (truth.toward_tool, truth.way) == (toward_tool, way)
    assert truth.move == pytest.approx(0.015 * 150 / 100)


@given(st.floats(-0.2, 0.2), st.floats(60, 300), st.floats(0.05, 0.4), st.floats(0.55, 0.95))
def test_a_bar_turned_with_the_tailstock_off_gives_back_how_far(off: float, length: float, a: float, b: float) -> None:
    # Turned by geometry: the tool cuts a radius that grows as the tailstock centre stands away from it.
    readings = [BarReading(at=s * length, diameter=12 + 2 * off * s) for s in (a, (a + b) / 2, b)]
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
    readings = [BarReading(at=at, diameter=d) for at, d in zip((10, 60, 110), diameters, strict=True)]
    assert find_truth(readings, 120, "front").looks_like == looks


def test_readings_that_say_nothing_are_refused() -> None:
    with pytest.raises(RangeError):
        find_truth([BarReading(at=10, diameter=12)], 100, "front")
    with pytest.raises(RangeError):
        find_truth([BarReading(at=10, diameter=12), BarReading(at=10, diameter=12.1)], 100, "front")
    with pytest.raises(RangeError):
        find_truth([BarReading(at=10, diameter=12), BarReading(at=110, diameter=12.1)], 100, "front")
    with pytest.raises(ProblemError) as refused:
        answer_tailstock(["12 at 10 mm", "12 mm"], "150", "side", "5 um")
    assert len(refused.value.problems) == 4


def test_the_answer_says_what_to_write_in_the_shop_file() -> None:
    text = answer_tailstock(["12.03 mm at 15 mm", "12.00 mm at 135 mm"], "150 mm", "front", "0.005 mm")
    assert "move it 0.019 mm away from you" in text
    assert 'cone = { difference = "0.03 mm", over = "120 mm", larger_at = "headstock", plan = "warn" }' in text
    assert "two readings cannot tell a bar that springs" in text


def test_a_known_cone_is_warned_of_section_by_section() -> None:
    plan = sample_plan("orrery-drum-arbor", cone=0.0005)  # 0.05 mm on 100 mm: 16 um on the 32 mm of the body
    warned = {w.what.split('"')[1] for w in plan.warnings if "larger at its tailstock end" in w.what}
    assert "drum body" in warned
    assert "back pivot" not in warned  # 3 um of its 20
    assert not [w for w in sample_plan("crank-pin", cone=0.0005).warnings if "larger at its" in w.what]


# A known cone, corrected ----------------------------------------------------------------------------------


def coned(name: str, cone: float, dialect: str = "rs274ngc") -> Job:
    """A sample planned and judged for a lathe that turns a cone, the plan correcting it."""
    part, shop = sample(name)
    lathe = change_lathe(shop.lathe, cone=cone, corrects_cone=True)
    shop = speaking(replace(shop, lathe=lathe), dialect)
    return judge_plan(plan_job(part, shop), choose_dialect(dialect, shop))


@pytest.mark.parametrize("dialect", ["rs274ngc", "eia274d"])
@pytest.mark.parametrize("cone", one_in(3, [0.0002, -0.0002, 0.001]))
@pytest.mark.parametrize("name", ["orrery-drum-arbor", "moon-carriage-spindle"])
def test_each_section_is_right_at_its_middle_on_a_lathe_that_turns_a_cone(name: str, cone: float, dialect: str) -> None:
    """The metal itself, by an envelope of its own: X of the text and the cone put together by hand."""
    job = coned(name, cone, dialect)
    assert not job.problems, "\n".join(str(p) for p in job.problems)
    for work in job.works:
        metal = Metal(from_chain(work.simulation.result))
        for run in runs_of(work.setting.turned):
            middle = (run[0].near + run[-1].far) / 2
            if run[0].extra_length == 0 and all(t.radius_near == t.radius_far for t in run):
                assert metal.at(middle) == pytest.approx(run[0].radius_near, abs=UM)
        sizes = [s for s in cut_sizes(work.program, work.setting, job.shop, 0.02, 0.02) if s.what == "diameter"]
        for size in sizes:
            run = next(r for r in runs_of(work.setting.turned) if size.section in [t.section.name for t in r])
            most = abs(cone) * (run[0].near - run[-1].far) / 2 + UM
            assert -most <= size.least <= size.most <= most


def test_the_text_says_what_the_cone_takes_off_again() -> None:
    """By hand: Z 0 is X's true place; the body's middle lies 49.5 mm from it (33.5 to 65.5), so 9.9 um on diameter."""
    plain, corrected = sample_plan("orrery-drum-arbor"), coned("orrery-drum-arbor", 0.0002).works[0].planned

    def body(passes: Sequence[Pass]) -> Pass:
        return next(p for p in passes if p.kind == "finish" and p.sections == ("drum body",))

    def stop(passes: Sequence[Pass]) -> Measure:
        return next(m for p in passes for m in p.measure if m.sections == ("drum body",))

    before, after = body(plain.settings[0].passes), body(corrected.passes)
    assert after.diameter - before.diameter == pytest.approx(0.0002 * 49.5, abs=1e-6)  # smaller there by itself
    assert stop(corrected.passes).target == pytest.approx(stop(plain.settings[0].passes).target)
    told = next(r for r in corrected.reasons if "turns a cone" in r)
    assert '"drum body" +9.9 um at its middle, which leaves 3.2 um either way at its ends' in told
    assert "skim the bar beside the tailstock" in corrected.setting.datum_words


def test_a_program_that_does_not_know_of_the_cone_is_refused_on_such_a_lathe() -> None:
    job, plain = coned("orrery-drum-arbor", 0.0005), coned("orrery-drum-arbor", 0.0)
    judged = simulate(plain.works[0].program, job.works[0].setting, job.shop)
    assert {f.kind for f in judged.findings} >= {"gouge"}
    turned_round = simulate(job.works[0].program, replace(job.works[0].setting, cone=-0.0005), job.shop)
    assert not turned_round.ok


def test_the_cone_of_the_shop_file_says_what_to_do_about_it() -> None:
    row = 'cone = { difference = "0.02 mm", over = "100 mm", larger_at = "headstock", plan = "correct" }\n\n[lathe.x]'
    text = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
    lathe = shop_from(text.replace("[lathe.x]", row, 1)).lathe
    assert (lathe.cone, lathe.corrects_cone) == (pytest.approx(-0.0002), True)
    for bad, words in ((', plan = "correct"', "plan"), ('"0.02 mm", over', "too steep a cone to correct")):
        spoilt = row.replace(bad, "" if words == "plan" else '"0.2 mm", over')
        with pytest.raises(ProblemError) as refused:
            shop_from(text.replace("[lathe.x]", spoilt, 1))
        assert words in str(refused.value.problems[0])


def test_warm_work_is_told_how_much_longer_it_is() -> None:
    # JCGM 100:2008, H.1: steel grows 11.5 millionths a kelvin: 100 mm by 15 K is 17.25 um.
    assert lengthening(100, built_in_materials()["EN8"], 15) == pytest.approx(0.01725)
    part, shop = sample("orrery-drum-arbor")
    plan = plan_job(part, replace(shop, lathe=change_lathe(shop.lathe, warmer=15.0)))
    said = [w for w in plan.warnings if "K warm is" in w.what]
    assert said
    assert all("let it cool" in w.fix for w in said)


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
    assert one.rstrip() in text


def test_a_pass_that_is_not_there_is_refused() -> None:
    with pytest.raises(ProblemError) as refused:
        answer_why(sample_plan("crank-pin"), 1, 99)
    assert refused.value.problems[0].allowed == "1 to 13"
    with pytest.raises(ProblemError):
        answer_why(sample_plan("crank-pin"), 2, None)


def test_why_of_no_pass_says_which_there_are() -> None:
    plan = sample_plan("crank-pin")
    text = answer_why(plan, None, None, whole=False)
    assert re.findall(r"^  pass (\d+) ", text, re.M) == [str(c.number) for c in plan.settings[0].passes]
    assert "--setting 1 --pass 1; of all: --every" in text
    assert text.count("\n") < len(answer_why(plan, None, None).splitlines()) / 2


def test_readings_in_two_units_are_no_cone():
    """12.03 inches beside 12.00 mm would move a tailstock by 183 mm."""
    readings = [read_reading("12.00 mm at 15 mm"), read_reading("12.03 in at 135 mm")]
    with pytest.raises(RangeError, match="look at the units"):
        find_truth(readings, 150.0, "front")
