"""Laws of a setting's page, held against its printed text alone: random parts in random shops, at any width."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from cam.ground.figures import Figures, decimals_for, say_metal, say_small, show_inward
from cam.ground.frozen import Row
from cam.plan.model import Plan
from cam.setting.model import Setting
from posts.pages.figures import figures_for
from posts.pages.setting import SettingKnown, setting_page
from posts.pages.text import write_pages
from tests.plan_specimens import SAMPLE_NAMES, random_plans, sample_plan
from tests.specimens import quantity, some

SLOW = settings(
    deadline=None, max_examples=15, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
FIGURE = r"-?\d+\.\d+"
ROW = re.compile(
    rf"(?P<number>\d+)  (?P<what>.+?)  (?P<was>{FIGURE})  (?P<leaves>{FIGURE})  (?:(?P<x>\S+)  )?(?P<start>{FIGURE})  "
    rf"(?P<stop>{FIGURE})(?:  (?P<z>\S+))?"
)
MEASURE = re.compile(
    rf"MEASURE  (?P<of>shoulder past )?(?P<name>.+?): (?P<expected>{FIGURE}) ________ "
    rf"\((?P<then>then )?(?P<least>{FIGURE}) to (?P<most>{FIGURE})\)"
)
READING = re.compile(r"(\d+)[+-](\d+)(\.5)?")
FACE = 0.25
"""Before the stop a face may stand, which is not what a cut meets, mm."""
VARIANTS: tuple[dict[str, Any], ...] = (
    {}, {"x_habit": "radius", "x_counts": "down"}, {"x_habit": "depth on diameter", "z_counts": "down"},
    {"x_division": quantity(0.025), "z_division": quantity(0.04)}, {"control_kind": "hand"},
    {"x_reading": "none", "z_reading": "none", "control_kind": "hand"},
    {"x_reading": "readout", "z_reading": "readout"},
)  # fmt: skip


def page_of(plan: Plan, index: int, width: int = 80) -> str:
    figures = figures_for(plan.part, plan.shop.lathe)
    return write_pages([setting_page(plan, index, figures, SettingKnown())], plan.part, figures, width)


def lines_of(text: str) -> list[str]:
    """Lines as the grammar of sheets has them: what hangs by ten spaces goes on the line before; columns two apart."""
    joined: list[str] = []
    for line in text.replace("\f", "\n").splitlines():
        if joined and line.startswith(" " * 10):
            apart = "  " if re.match(r" *\d+  ", joined[-1]) else " "
            joined[-1] += apart + line.strip()
        else:
            joined.append(line.strip())
    return [re.sub(r" {2,}", "  ", line) for line in joined]


def matches(pattern: re.Pattern[str], text: str) -> Iterator[re.Match[str]]:
    return (found for line in lines_of(text) if (found := pattern.match(line)))


class Stretch(Row):
    """Metal between two z as the page has left it: its diameter in figures."""

    low: float
    high: float
    figure: str


def begin(setting: Setting, figures: Figures) -> list[Stretch]:
    """The metal before the setting; slopes and arcs by their greatest diameter."""
    found = []
    for piece in setting.stock:
        low, high = sorted((piece.start.z, piece.end.z))
        found.append(Stretch(low, high, figures.size(2 * max(piece.start.x, piece.end.x))))
    return [s for s in found if s.high - s.low > 1e-6]


def cut(metal: list[Stretch], low: float, high: float, figure: str) -> list[Stretch]:
    """The metal after a straight cut that leaves a figure."""
    kept = []
    for s in metal:
        inside = Stretch(max(s.low, low), min(s.high, high), min(figure, s.figure, key=float))
        kept += [Stretch(s.low, min(s.high, low), s.figure), inside, Stretch(max(s.low, high), s.high, s.figure)]
    return [s for s in kept if s.high - s.low > 1e-6]


def replace_high(s: Stretch, high: float) -> Stretch:
    return Stretch(s.low, min(s.high, high), s.figure)


def plain_plan(plan: Plan) -> bool:
    """Whether nothing but straight cuts and faces changes what a later row meets."""
    kinds = {c.kind for p in plan.settings for c in p.passes if c.shape == "points"}
    return kinds <= {"edge"} and not any(p.ramp or p.setting.cone for p in plan.settings)


def check_chain(plan: Plan, index: int, text: str) -> int:
    """What a row meets is what the rows before it left there, to the last digit printed; how many rows there were."""
    setting, count = plan.settings[index].setting, 0
    figures = figures_for(plan.part, plan.shop.lathe)
    per = 25.4 if figures.unit == "in" else 1.0
    metal = begin(setting, figures)
    for row in matches(ROW, text):
        start, stop = float(row["start"]) * per, float(row["stop"]) * per
        count += 1
        if start == stop:
            if row["what"].startswith("face the end"):
                metal = [replace_high(s, stop) for s in metal if s.low < stop]
            continue  # a face of a shoulder changes nothing that a later row meets
        inner = stop + min(FACE, (start - stop) / 2)
        met = [s.figure for s in metal if s.high - inner > 0.005 and start - s.low > 0.005]
        if not met:
            continue
        # at a stair before a shoulder it is what stands at its stop; the reader of sheets says which it must be
        assert row["was"] in met, f"row {row['number']} of {text}"
        assert float(row["leaves"]) <= float(row["was"])
        metal = cut(metal, stop, start, row["leaves"])
    return count


@pytest.mark.parametrize("variant", some(range(len(VARIANTS)), 0, 3))
@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_was_is_what_the_rows_before_left_to_the_last_digit(name: str, variant: int) -> None:
    plan = sample_plan(name, **VARIANTS[variant])
    assert plain_plan(plan) or name == "orrery-drum-arbor"
    assert all(check_chain(plan, n, page_of(plan, n)) > 5 for n in range(len(plan.settings)))


@given(random_plans())
@SLOW
def test_was_is_what_the_rows_before_left_in_random_jobs(plan: Plan) -> None:
    assume(plain_plan(plan) and columns_known(plan))
    for n in range(len(plan.settings)):
        check_chain(plan, n, page_of(plan, n))


def columns_known(plan: Plan) -> bool:
    """Whether a row's figures can be told apart without its heads: no X column, and a Z that reads as a place does."""
    lathe = plan.shop.lathe
    return lathe.x.reading != "none" or lathe.z.reading != "readout"


@given(random_plans())
@SLOW
def test_every_reading_is_a_mark_or_half_a_division_and_the_page_says_so(plan: Plan) -> None:
    lathe = plan.shop.lathe
    for n in range(len(plan.settings)):
        text = page_of(plan, n)
        halves = False
        for row in matches(ROW, text):
            for reading, slide in ((row["x"], lathe.x), (row["z"], lathe.z)):
                if slide.reading != "dial" or reading is None:
                    continue
                found = READING.fullmatch(reading)
                assert found
                assert int(found[2]) < round(slide.turn / slide.division)
                halves = halves or bool(found[3])
        assert not halves or '".5" is half a division' in " ".join(text.split())


@given(random_plans())
@SLOW
def test_a_measure_expects_what_the_row_before_leaves(plan: Plan) -> None:
    assume(columns_known(plan))
    tapered = {t.section.name for p in plan.settings for t in p.setting.turned if t.radius_near != t.radius_far}
    for n in range(len(plan.settings)):
        row = stopped = None
        limits: dict[str, tuple[str, str]] = {}
        for line in lines_of(page_of(plan, n)):
            match = ROW.match(line)
            stopped = match or stopped
            row = match if match and not match["what"].startswith("face past") else row
            found = MEASURE.match(line)
            if found is None or row is None or set(found["name"].split(" and ")) & tapered or " over " in found["name"]:
                continue
            if not found["of"]:
                assert found["expected"] == row["leaves"]
            else:
                assert stopped is not None
                assert found["expected"] == stopped["stop"].lstrip("-")
            both = limits.setdefault(f"{found['of']} {found['name']}", (found["least"], found["most"]))
            assert both == (found["least"], found["most"])
            assert float(found["least"]) <= float(found["most"])


@given(random_plans(), st.sampled_from([40, 47, 60, 72, 100, 132, 240]))
@SLOW
def test_rows_and_measures_are_the_same_at_any_width(plan: Plan, width: int) -> None:
    for n in range(len(plan.settings)):
        wide, narrow = (
            [found[0] for pattern in (ROW, MEASURE) for found in matches(pattern, page_of(plan, n, w))]
            for w in (80, width)
        )
        assert narrow == wide


@given(random_plans())
@SLOW
def test_drawing_and_table_say_what_the_last_rows_leave(plan: Plan) -> None:
    for n, planned in enumerate(plan.settings):
        text = page_of(plan, n)
        last = {row["what"].removesuffix(", last"): row for row in matches(ROW, text) if row["what"].endswith(", last")}
        joined = " ".join(text.split())
        for t in planned.setting.turned:
            row = last.get(t.section.name)
            if row is None or row["start"] == row["stop"] or t.radius_near != t.radius_far:
                continue
            assert f" {t.section.name} {row['leaves']}, Z " in joined
            table = re.search(rf"^ *{t.section.name}  +({FIGURE})  ", text, re.MULTILINE)
            assert table is None or table[1] == row["leaves"]


def test_an_inch_page_shows_as_many_decimals_as_its_limits_need() -> None:
    plan = sample_plan("moon-carriage-spindle")
    assert figures_for(plan.part, plan.shop.lathe) == Figures("in", 4, 4)
    text = page_of(plan, 0)
    assert "is diameter 0.1875" in text  # 3/16 in
    thou = replace(
        plan.shop.lathe,
        x=replace(plan.shop.lathe.x, division=quantity(0.001, "in"), turn=quantity(0.1, "in")),
        z=replace(plan.shop.lathe.z, division=quantity(0.001, "in"), turn=quantity(0.1, "in")),
    )
    quarter = quantity(0.25, "in")
    changed = {"tolerance": None, "length_tolerance": None, "diameter_a": quarter, "diameter_b": quarter}
    wide = replace(plan.part, sections=tuple(replace(s, **changed) for s in plan.part.sections))
    assert figures_for(wide, thou).x == 4  # half a thou by eye, and a bar of 3/16
    assert plan.part.holding.end_a is not None
    longer = replace(plan.part.holding.end_a, extra_length=quantity(25.4 * 0.4725))
    bare = replace(thou, z=replace(thou.z, reading="none"))
    inch = quantity(25.4)
    whole = replace(wide, sections=tuple(replace(s, length=inch) for s in wide.sections), unit="in")
    ends = {"end_a": replace(longer, extra_length=inch), "end_b": replace(longer, extra_length=inch)}
    assert figures_for(replace(whole, holding=replace(wide.holding, **ends)), bare).z == 3
    assert figures_for(replace(whole, holding=replace(wide.holding, **{**ends, "end_a": longer})), bare).z == 4


DECIMALS = [  # unit, sizes, widths of limits, decimals
    ("mm", [6.0, 0.02, 0.01], [0.02], 2), ("mm", [6.0], [0.012], 3), ("mm", [15.875], [], 3), ("mm", [0.0125], [], 3),
    ("in", [25.4 * 0.303], [25.4 * 0.004], 3), ("in", [25.4 * 0.3125], [], 4), ("in", [25.4], [25.4 * 0.0015], 4),
    ("in", [25.4, 0.02], [], 4),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "sizes", "widths", "decimals"), DECIMALS)
def test_decimals_follow_unit_sizes_and_limits(
    unit: Any, sizes: list[float], widths: list[float], decimals: int
) -> None:
    assert decimals_for(unit, sizes, widths) == decimals


@given(st.floats(0.3, 60.0), st.floats(0.0, 0.2), st.sampled_from(["mm", "in"]), st.integers(2, 4))
def test_limits_are_rounded_inward(least: float, width: float, unit: Any, decimals: int) -> None:
    per = 25.4 if unit == "in" else 1.0
    low, high = (float(text) * per for text in show_inward(least, least + width, unit, decimals))
    step = per * 10.0**-decimals
    assert low <= high
    if width >= step:
        assert least - 1e-4 * step <= low <= high <= least + width + 1e-4 * step
    assert abs(low - least) <= step * 1.001
    assert abs(high - least - width) <= step * 1.001


def test_nothing_is_said_finer_than_a_micrometre() -> None:
    assert say_small(0.00002) == "nothing"
    assert say_small(0.0072) == "7 um"
    assert say_small(0.25) == "0.250 mm"
    assert say_metal(0.00002, 0.0) == "nothing too deep or uncut, within 1 um"
    assert say_metal(0.002, 0.0) == "2 um too deep, nothing uncut"
