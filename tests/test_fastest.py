"""What holds the work turns no faster than the shop file says: planned so, judged from the text, refused in words."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings

from cam.ground.problem import ProblemError
from cam.job import judge_plan
from cam.job.model import Work
from cam.job.record import job_record
from cam.judge import simulate
from cam.plan import plan_job
from cam.plan.model import Plan
from cam.plan.why import answer_why
from cam.rs274 import read_program
from cam.rs274.model import Motion, Rules
from cam.setting import settle
from cam.setting.fastest import speed_limits
from cam.setting.model import Setting
from cam.shop.model import Shop
from posts.dialect import load_dialect
from posts.summary import write_summary
from tests.plan_specimens import change_lathe, encoder_plan, program_of, random_plans, sample_plan
from tests.simulate_case import Writer, good, judge, make_setting, make_shop
from tests.specimens import SAMPLES, quantity, sample, shop_from
from tests.test_shop_bad import problems_of

SHOP_TEXT = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
CARRIER = 'grip = ["8 mm", "18 mm"]\nfastest = "600 rpm"'
RULES = {
    "rs274ngc": Rules(standard="NISTIR 6556", x_words="radius"),
    "eia274d": Rules(standard="EIA-274-D", x_words="radius"),
}


def allowed(setting: Setting) -> float:
    """The most that a setting may turn, rev/min, worked out apart from the code under test."""
    found = [math.inf]
    found += [float(held.fastest) for held in (setting.carrier, setting.chuck) if held is not None]
    centre = setting.tail_centre
    if centre is not None and centre.kind == "revolving":
        found.append(float(centre.fastest))
    elif centre is not None:
        assert setting.hole is not None
        found.append(float(centre.fastest_surface) / (math.pi * setting.hole.mouth / 1000))
    return min(found)


def turns(motion: Motion) -> float:
    """The fastest that the spindle turns on a motion, rev/min."""
    if not motion.spindle:
        return 0.0
    if motion.surface_speed is None:
        return motion.rpm
    ends = (motion.start.x, motion.end.x)
    least = 0.0 if any(math.isnan(x) for x in ends) or ends[0] * ends[1] <= 0 else min(map(abs, ends))
    return min(motion.rpm or math.inf, 1000 * motion.surface_speed / (2 * math.pi * least) if least else math.inf)


def with_carriers(shop: Shop, rpm: float) -> Shop:
    return replace(shop, carriers=tuple(replace(c, fastest=quantity(rpm, "rpm")) for c in shop.carriers))


def job_of(name: str = "orrery-drum-arbor", **changes: Any) -> Any:
    return judge_plan(sample_plan(name, **changes), load_dialect("rs274ngc"))


# The figures ------------------------------------------------------------------------------------------


def test_the_limits_of_a_setting_are_named_slowest_first():
    """6 m/min at a mouth of 2.12 mm: 1000 * 6 / (pi * 2.12) = 900.9 rev/min, by hand."""
    first, second = sample_plan("orrery-drum-arbor").settings
    assert [(w.kind, w.name, round(w.rpm, 1)) for w in speed_limits(first.setting)] == [
        ("carrier", "middle carrier", 600.0),
        ("dead centre", "dead centre", 900.9),
    ]
    carrier, centre = speed_limits(second.setting)
    assert (carrier.words, carrier.thing) == (
        'carrier "small carrier", 800 rev/min at most',
        'carrier "small carrier"',
    )
    assert centre.words == (
        'dead centre "dead centre", 1446 rev/min at most (6 m/min at the 1.32 mm mouth of its hole, with '
        "high-pressure grease)"
    )
    (collet,) = speed_limits(sample_plan("crank-pin").settings[0].setting)
    assert (collet.kind, collet.rpm) == ("collet", 2500.0)


def test_a_revolving_centre_has_the_limit_of_its_bearings():
    part, shop = sample("orrery-drum-arbor")
    setting = next(iter(settle(part, shop)))
    revolving = next(c for c in shop.centres if c.kind == "revolving")
    limits = speed_limits(replace(setting, tail_centre=revolving))
    assert [(w.kind, w.rpm) for w in limits] == [("carrier", 600.0), ("revolving centre", 2500.0)]


FAULTS = [
    (CARRIER, 'grip = ["8 mm", "18 mm"]', '"middle carrier" has no fastest'),
    (CARRIER, 'grip = ["8 mm", "18 mm"]\nfastest = "600"', "fastest: this rotational speed has no unit"),
    (CARRIER, 'grip = ["8 mm", "18 mm"]\nfastest = "0 rpm"', "fastest: this rotational speed is too small"),
    ('grip_length = "15 mm"\nfastest = "2500 rpm"', 'grip_length = "15 mm"', '"6 mm collet" has no fastest'),
    ('reach = "48 mm"\nfastest = "2500 rpm"', 'reach = "48 mm"', '"revolving centre" has no fastest'),
    ('reach = "48 mm"', 'reach = "48 mm"\nlubricant = "oil"', "the work does not rub on a revolving centre"),
    ('fastest_surface = "6 m/min"', "", '"dead centre" has no fastest_surface'),
    ('fastest_surface = "6 m/min"', 'fastest_surface = "6 rpm"', "fastest_surface: rpm measures"),
    ('lubricant = "high-pressure grease"  #', "#", '"dead centre" has no lubricant'),
    ('fastest_surface = "6 m/min"', 'fastest_surface = "6 m/min"\nfastest = "900 rpm"', "it is the speed at the mouth"),
]


@pytest.mark.parametrize(("old", "new", "what"), FAULTS, ids=[what for _, _, what in FAULTS])
def test_every_limit_is_asked_for(old: str, new: str, what: str):
    assert old in SHOP_TEXT
    (problem,) = problems_of(SHOP_TEXT.replace(old, new, 1))
    assert what in problem.what


# The plan ---------------------------------------------------------------------------------------------


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
@example(encoder_plan())
def test_no_pass_and_no_text_turns_faster_than_what_holds_the_work(plan: Plan):
    dialect = "eia274d" if plan.shop.lathe.spindle.constant_surface_speed else "rs274ngc"
    for number, planned in enumerate(plan.settings, 1):
        most = allowed(planned.setting)
        assert all(cut.rpm <= most + 1e-9 for cut in planned.passes)
        program = read_program(program_of(plan, dialect, number=number), RULES[dialect], "text")
        assert not program.problems
        assert max(turns(m) for m in program.motions) <= most + 0.5
        found = simulate(program, planned.setting, plan.shop).findings
        assert not [f for f in found if f.kind == "too fast"]


def test_a_pass_says_what_ruled_it_only_where_it_would_have_turned_faster():
    slow, fast = (
        plan_job(part, with_carriers(shop, rpm))
        for rpm in (600, 5000)
        for part, shop in [sample("moon-carriage-spindle")]
    )
    for planned in slow.settings:
        assert {c.ruled_by for c in planned.passes} == {'carrier "small carrier"'}
        assert any("what holds the work rules the speed" in r and "600 rev/min" in r for r in planned.reasons)
    assert {c.ruled_by for p in fast.settings for c in p.passes} == {'half centre "half centre"'}
    free = sample_plan("crank-pin").settings[0]
    assert {c.ruled_by for c in free.passes} == {""}
    assert not any("what holds the work" in r for r in free.reasons)


def test_the_page_names_the_lubricant_that_the_limit_is_for():
    def page(centre: str) -> str:
        part, shop = sample("moon-carriage-spindle")
        holding = part.holding
        ends = (replace(end, tail_centre=centre) for end in (holding.end_a, holding.end_b) if end is not None)
        held = replace(holding, **dict(zip(("end_a", "end_b"), ends, strict=True)))
        return " ".join(write_summary(plan_job(replace(part, holding=held), shop)).split())

    words = "half center), its flat toward the tool, high-pressure grease in the hole, no end play"
    assert words in page("half centre")
    assert "grease in the hole" not in page("revolving centre")


def test_why_and_the_record_say_what_ruled():
    text = " ".join(answer_why(sample_plan("moon-carriage-spindle"), 1, 1).split())
    assert 'No faster here: carrier "small carrier", 800 rev/min at most' in text
    assert "what holds the work" not in " ".join(answer_why(sample_plan("crank-pin"), 1, 1).split())
    record = job_record(job_of())["settings"][0]
    assert record["speed_limits"][1] == {
        "kind": "dead centre",
        "name": "dead centre",
        "rpm": pytest.approx(900.877, abs=1e-3),
        "surface_m_min": 6.0,
        "mouth_mm": 2.12,
        "lubricant": "high-pressure grease",
    }
    ruled = {p["ruled_by"] for o in record["operations"] for p in o["passes"]}
    assert ruled == {'carrier "middle carrier"', None}


@pytest.mark.parametrize(
    ("old", "new", "what", "allowed_words", "fix"),
    [
        (CARRIER, CARRIER.replace("600", "300"), "slowest spindle speed", 'carrier "middle', "another carrier"),
        ("6 m/min", "2 m/min", "slowest spindle speed", "2 m/min at the 2.12 mm mouth", "revolving centre"),
    ],
)
def test_a_slowest_belt_that_is_too_fast_is_refused_in_words(old, new, what, allowed_words, fix):
    part, _ = sample("orrery-drum-arbor")
    shop = shop_from(SHOP_TEXT.replace(old, new, 1))
    with pytest.raises(ProblemError) as caught:
        plan_job(part, shop)
    problem = caught.value.problems[0]
    assert what in problem.what
    assert problem.given == "320 rev/min"
    assert allowed_words in problem.allowed
    assert fix in problem.fix
    assert problem.where.line == SHOP_TEXT[: SHOP_TEXT.index(old)].count("\n") + 1 + old.count("\n")


def test_a_range_of_speeds_ends_at_the_limit():
    part, shop = sample("moon-carriage-spindle")
    lathe = change_lathe(shop.lathe, spindle_positions=(), spindle_slowest=50.0, spindle_fastest=3000.0)
    plan = plan_job(part, replace(shop, lathe=lathe))
    assert max(c.rpm for p in plan.settings for c in p.passes) == 800.0


# The judge --------------------------------------------------------------------------------------------


def faster(work: Work, word: str, by: str) -> str:
    """The text with one speed changed."""
    assert re.search(word, work.text)
    return re.sub(word, by, work.text, count=1)


def findings(work: Work, text: str, shop: Shop, dialect: str = "rs274ngc") -> list[tuple[str, str]]:
    program = read_program(text, RULES[dialect], work.file)
    assert not program.problems
    return [(f.kind, f.what) for f in simulate(program, work.setting, shop).findings]


@pytest.mark.parametrize("name", ["orrery-drum-arbor", "moon-carriage-spindle"])
def test_a_program_edited_to_turn_faster_than_its_carrier_is_found(name: str):
    """1000 and 1800 rev/min are belt positions of this lathe: nothing else is wrong with them."""
    job = job_of(name)
    assert not job.problems
    for work in job.works:
        for rpm in (1000, 1800):
            found = findings(work, faster(work, r"\bS600\b", f"S{rpm}"), job.shop)
            held = speed_limits(work.setting)[0].words
            assert ("too fast", f"turns at {rpm} rev/min; {held}") in found


def test_it_is_found_whether_it_cuts_or_not():
    setting = make_setting(carrier=with_carriers(sample("orrery-drum-arbor")[1], 800).carriers[0])
    assert not [f for f in judge(good(Writer(rpm=600)), setting).findings if f.kind == "too fast"]
    w = good(Writer(rpm=600))
    w.set(rpm=1000)
    line = w.spin()
    (found,) = [f for f in judge(w, setting).findings if f.kind == "too fast"]
    assert (found.line, found.amount) == (line, 1000.0)
    assert found.what == 'turns at 1000 rev/min; carrier "small carrier", 800 rev/min at most'


@pytest.mark.parametrize(
    ("limit", "speed", "found"),
    [
        (800, 12.0, False),  # 12 m/min at radius 4 mm is 477 rev/min, but the text goes no nearer the axis
        (3000, 30.0, True),  # 30 m/min at 4 mm is 1194
        (0, 12.0, False),
        (1000, 30.0, True),
        (800, 30.0, False),
    ],
)
def test_held_surface_speed_turns_as_fast_as_its_place_and_its_limit_let_it(limit, speed, found):
    setting = make_setting(carrier=with_carriers(sample("orrery-drum-arbor")[1], 800).carriers[0])
    spindle = replace(make_shop().lathe.spindle, constant_surface_speed=True, positions=(), fastest=3000)
    w = good(Writer(rpm=limit, surface_speed=speed, feed_mode=95, feed=0.05))
    kinds = {f.kind for f in judge(w, setting, make_shop(spindle=spindle)).findings}
    assert ("too fast" in kinds) == found


def test_held_surface_speed_without_a_limit_is_too_fast_at_the_axis():
    setting = make_setting(carrier=with_carriers(sample("orrery-drum-arbor")[1], 800).carriers[0])
    spindle = replace(make_shop().lathe.spindle, constant_surface_speed=True, positions=(), fastest=3000)
    w = Writer(rpm=0, surface_speed=5.0, feed_mode=95, feed=0.05)
    w.begin()
    w.rapid(z=20)
    line = w.rapid(x=0)
    (found,) = [f for f in judge(w, setting, make_shop(spindle=spindle)).findings if f.kind == "too fast"]
    assert (found.line, found.what) == (
        line,
        'turns without a limit; carrier "small carrier", 800 rev/min at most',
    )


def test_the_clamp_of_held_surface_speed_follows_the_limit_and_a_higher_one_is_found():
    plan = encoder_plan("moon-carriage-spindle")
    job = judge_plan(plan, load_dialect("eia274d"))
    assert not job.problems
    work = job.works[0]
    assert set(re.findall(r"G50 ?S(\d+)|G92 ?S(\d+)", work.text)) <= {("800", ""), ("", "800")}
    raised = re.sub(r"(G50|G92)( ?)S800", r"\1\2S2500", work.text)
    assert raised != work.text
    assert {kind for kind, _ in findings(work, raised, job.shop, "eia274d")} == {"too fast"}
