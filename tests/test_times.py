"""Times of cuts by published examples, and what a setting takes in all."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from cam.geometry.path import Line, Point
from cam.job import make_job
from cam.job.report import show_check, show_made
from cam.plan import plan_job
from cam.plan.cutting import spindle_speed
from cam.plan.times import pass_seconds, time_of
from cam.setting.words import say_time
from tests.plan_specimens import SAMPLE_NAMES, sample_plan
from tests.specimens import SAMPLES, by_hand, quantity, sample

INCH = 25.4
CUTS = [  # length, feed, rev/min, minutes; t = L / (f n)
    (500, 0.7, spindle_speed(50, 30), 3.740),  # d 50, 30 m/min: a university workshop sheet, value derived
    (
        4 * INCH,
        0.004 * INCH,
        spindle_speed(1.5 * INCH, 225 * 0.3048),
        1.7453,
    ),  # 225 ft/min on 1.5 in, 4 in long: derived
    (150, 0.5, 400, 0.75),  # S. Kalpakjian's stainless bar, 12 to 11 mm at 400 rpm and 200 mm/min (from memory)
    (100, 0.1, 1000, 1.0),  # a tool maker's formula page: 100 mm in a minute at 1000 rpm is 0.1 mm/rev
]


@pytest.mark.parametrize(("length", "feed", "rpm", "minutes"), CUTS)
def test_a_cut_takes_its_printed_time(length: float, feed: float, rpm: float, minutes: float) -> None:
    plan = sample_plan("crank-pin")
    cut = plan.settings[0].passes[0]
    start, end = Point(0.0, 5.0), Point(-length, 5.0)
    bare = replace(cut, approach=(start,), path=(Line(start, end),), leave=(end,), feed=feed, rpm=rpm, out_feed=0.0)
    assert pass_seconds(bare, plan.shop.lathe) / 60 == pytest.approx(minutes, rel=1e-4)


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_roughing_is_held_against_a_bound_that_it_does_not_pass(name: str) -> None:
    plan = sample_plan(name)
    for planned in plan.settings:
        times = time_of(planned, plan.shop.lathe)
        assert times.rough >= times.bound > 0
        assert times.changes >= 60 * times.belts
        assert any(r.startswith("roughing takes about") for r in planned.reasons)


def test_what_check_says_of_times_adds_up() -> None:
    job = make_job(str(SAMPLES / "moon-carriage-spindle.toml"))
    lines = show_check(job).splitlines()
    last = next(line for line in lines if line.startswith("in all"))
    cutting = round(sum(w.simulation.cutting_time for w in job.works))
    assert f"{cutting // 60} min {cutting % 60} s cutting" in last
    assert [line for line in lines if line.startswith("roughing   1.0") and "the least time" in line]
    assert not [line for line in lines if "more belt change" in line]


def test_the_answer_says_each_settings_times() -> None:
    job = make_job(str(SAMPLES / "moon-carriage-spindle.toml"))
    answer = " ".join(show_check(job).split())
    for work in job.works:
        number = work.setting.number
        assert f"setting {number} {say_time(work.simulation.cutting_time)} cutting, " in answer


def test_by_hand_every_setting_is_gone_through_in_air(tmp_path: Path) -> None:
    shop = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
    (tmp_path / "shop.toml").write_text(by_hand(shop), encoding="utf-8")
    shutil.copy(SAMPLES / "crank-pin.toml", tmp_path)
    job = make_job(str(tmp_path / "crank-pin.toml"))
    said = dict(show_made(job, "there", changed=True))
    assert said["next"].startswith("go through it in air first, by its page")
    other = dict(show_made(make_job(str(SAMPLES / "crank-pin.toml")), "there", changed=True))
    assert other["next"].startswith("run it in air first")


def test_what_belts_cost_roughing_is_told_apart_from_what_levels_cost() -> None:
    part, shop = sample("orrery-drum-arbor")
    fast = tuple(replace(c, fastest=quantity(1800, "rpm")) for c in shop.carriers)
    centres = tuple(replace(c, fastest_surface=quantity(40, "m/min")) for c in shop.centres)
    plan = plan_job(part, replace(shop, carriers=fast, centres=centres))
    times = time_of(plan.settings[0], plan.shop.lathe)
    assert times.bound <= times.freely < times.rough
    assert times.saved > 0
    assert (times.rough - times.freely) < times.saved * 60 + 60  # or the belt had better been moved
    words = plan.settings[0].reasons[-1]
    assert f"with {times.saved} more belt changes of 60 s it would take {say_time(times.freely)} and those" in words
