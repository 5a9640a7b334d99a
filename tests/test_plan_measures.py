"""What is measured while it is turned: by what a size is for, and how close its limits are."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import chain
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.job import make_job
from cam.plan import Measure, Plan, SettingPlan, plan_job
from cam.plan.measures import left_beside
from cam.plan.touch import touched
from cam.setting.model import Turned
from posts.summary import write_summary
from tests.bench.roughing import SHOP, SOFT
from tests.plan_specimens import SAMPLE_NAMES, program_of, random_plans, sample_plan
from tests.specimens import part_from, quantity, sample, shop_from, turning_tool

BEFORE, AFTER = "before last cut", "after last cut"


def stops(planned: SettingPlan, kind: str) -> dict[str, list[Measure]]:
    """The stops of a setting by the section that is measured."""
    found: dict[str, list[Measure]] = {}
    for m in chain.from_iterable(p.measure for p in planned.passes):
        if m.kind == kind and not m.what.startswith("thread"):
            for name in m.sections:
                found.setdefault(name, []).append(m)
    return found


def check_stops(plan: Plan) -> None:
    """Each stop stands where its size is to be measured, and says what can be done there."""
    for planned in plan.settings:
        for cut in planned.passes:
            for m in cut.measure:
                assert (cut.kind == "semi-finish") == (m.when == BEFORE) == (m.cut_left > 0)
                assert m.least <= m.target <= m.most
                assert m.kind == "length" or m.scrap == "under"
                more = m.expected - m.target  # what the last cut still takes off is on the side that is no scrap
                assert (more > 0) == (m.cut_left > 0 and m.scrap == "under")
        diameters = stops(planned, "diameter")
        for turned in planned.setting.turned:
            check_section(turned, [m.when for m in diameters.get(turned.section.name, [])])


def check_section(turned: Turned, whens: list[str]) -> None:
    """Twice for what runs or sits, once for a body, never for a blank; of sections turned in one go the most."""
    role = turned.section.role
    if turned.far_kind == "level":
        return
    if role in ("pivot", "journal", "seat"):
        assert whens == [BEFORE, AFTER]
    elif role in ("body", "plain"):
        assert whens in ([BEFORE], [BEFORE, AFTER])


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_the_stops_of_a_sample(name: str) -> None:
    check_stops(sample_plan(name))


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
def test_the_stops_of_random_parts(plan: Plan) -> None:
    check_stops(plan)


def test_of_the_drum_arbor_the_square_is_never_measured_the_body_once_the_rest_twice() -> None:
    first, second = sample_plan("orrery-drum-arbor").settings
    counts = {name: len(found) for s in (first, second) for name, found in stops(s, "diameter").items()}
    assert counts == {"drum body": 1, "front seat": 2, "front pivot": 2, "back seat": 2, "back pivot": 2}
    # "drum inside" counts from the shoulder past the front seat, "frame" from those past both pivots
    assert {n: len(f) for n, f in stops(first, "length").items()} == {"front seat": 2, "front pivot": 2}
    assert {n: len(f) for n, f in stops(second, "length").items()} == {"back seat": 2, "back pivot": 2}


def test_a_shoulder_that_nothing_asks_for_is_measured_once() -> None:
    (planned,) = sample_plan("crank-pin").settings
    assert {n: [m.when for m in f] for n, f in stops(planned, "length").items()} == {
        "arm seat": [BEFORE], "handle pivot": [BEFORE]}  # fmt: skip
    assert not any(m.given for f in stops(planned, "length").values() for m in f)
    assert all(m.given for f in stops(planned, "diameter").values() for m in f)


PART = """
name = "pin"
corners = "fillet up to 0.2 mm"
edges = "sharp"
[stock]
material = "wax that cuts like 38 m/min"
diameter = "12 mm"
length = "100 mm"
[holding]
method = "chuck"
chuck = "small chuck"
free_end = "A"
stick_out = "60 mm"
facing = "0.5 mm"
[[section]]
name = "pin"
role = "{role}"
diameter = "6 mm"
length = "10 mm"
{rows}
[[section]]
name = "head"
role = "plain"
diameter = "12 mm"
length = "20 mm"
finish = "as stock"
"""
LIMITS = 'tolerance = "+0 / -0.1 mm"\n'
CLOSE = 'length_tolerance = "±0.05 mm"\n'
BEARING = 'bearing = "6.1 mm"\n'
LEFT = 'on_diameter = "0.03 mm"\non_face = "0 mm"\n'


@pytest.mark.parametrize(
    ("role", "rows", "diameter", "shoulder"),
    [
        ("pivot", LIMITS + 'finish = "turn"', 2, 1),
        ("pivot", LIMITS + LEFT + 'finish = "turn, stone, burnish"', 2, 1),
        ("pivot", LIMITS + LEFT + 'finish = "turn, file, stone"', 0, 0),
        ("seat", LIMITS + CLOSE + 'finish = "turn"', 2, 2),
        ("body", LIMITS + 'finish = "turn"', 1, 1),
        ("plain", 'finish = "turn"', 1, 1),
        ("plain", CLOSE + 'finish = "turn"', 1, 2),
        ("square blank", LIMITS + BEARING + 'finish = "turn"', 0, 0),
        ("square blank", LIMITS + CLOSE + BEARING + 'finish = "turn"', 0, 2),
    ],
)
def test_how_often_a_size_is_measured(role: str, rows: str, diameter: int, shoulder: int) -> None:
    part, shop = part_from(PART.format(role=role, rows=rows)), shop_from(SHOP + SOFT.format(speed=38))
    (planned,) = plan_job(part, shop).settings
    assert len(stops(planned, "diameter").get("pin", [])) == diameter
    found = stops(planned, "length").get("pin", [])
    assert len(found) == shoulder
    for m in found:  # Z zero is the end: the face stands short of where it goes
        assert m.scrap == "over"


SHORT = """
name = "short"
corners = "fillet up to 0.2 mm"
edges = "sharp"
finish = "turn"
stock = {{ material = "mild steel", diameter = "16 mm", length = "60 mm" }}
[holding]
method = "between centres"
end_a = {{ tail_centre = "dead centre", extra_length = "0 mm" }}
end_b = {{ tail_centre = "dead centre", extra_length = "0 mm" }}
[[section]]
name = "neck"
role = "plain"
diameter = "8 mm"
length = "10 mm"
[[section]]
name = "ring"
role = "plain"
{ring}
length = "{long} mm"
[[section]]
name = "body"
role = "body"
diameter = "13 mm"
length = "20 mm"
[[section]]
name = "tail"
role = "plain"
diameter = "9 mm"
length = "10 mm"
"""


@pytest.mark.parametrize("ring", ['diameter = "9 mm"', 'diameter_a = "8.8 mm"\ndiameter_b = "8.85 mm"'])
@pytest.mark.parametrize(("long", "blades"), [(0.8, True), (3.0, False)])
def test_a_short_cylinder_or_taper_takes_blade_anvils(ring: str, long: float, *, blades: bool) -> None:
    """Page and program say so where it is measured, and the first page has them ready."""
    plan = plan_job(part_from(SHORT.format(ring=ring, long=long)), sample("orrery-drum-arbor")[1])
    page = write_summary(plan, width=240)
    assert ("micrometer, one with blade anvils" in page) is blades
    lines = [line for line in page.splitlines() if re.match("MEASURE  (?!shoulder past )", line)]
    assert [line.split(":")[0] for line in lines if "; blade anvils" in line] == ["MEASURE  ring"] * blades
    programs = (program_of(plan, number=n) for n in (1, 2))
    program = re.sub(r"\s*\)\s*\(\.?\.?\s*", " ", "".join(programs))
    assert ("ring takes blade anvils" in program) is blades


def test_where_the_shoulder_past_a_taper_is_over_z_is_set_otherwise_for_its_own_row_too() -> None:
    """That row faces the shoulder as the tool comes out: left as it was, it would cut it too deep again."""
    ring = 'diameter_a = "8 mm"\ndiameter_b = "9 mm"'
    plan = plan_job(part_from(SHORT.format(ring=ring, long=12)), sample("orrery-drum-arbor")[1])
    page = write_summary(plan, width=240)
    rows = {what: int(number) for number, what in re.findall(r"(?m)^ *(\d+)  (ring, last|face past ring)", page)}
    said = re.search(r"(?m)^MEASURE  shoulder past ring: .*; each 0.02 over: Z \+1 in ([\d, ]+)", page)
    assert said is not None
    assert set(rows.values()) <= set(map(int, said[1].split(", ")))
    # a taper of 1 mm in 12: so much of what Z is out stands in its diameter, and is no error of X
    share = "take 0.08 of what its shoulder is over; each 0.02 over: X +1 in "
    assert re.search(rf"(?m)^MEASURE  ring: [^;]*; at Z [^;]*; first {re.escape(share)}", page)
    program = re.sub(r"\s*\)\s*\(\.?\.?\s*", " ", program_of(plan, number=2))
    assert "from what ring is over take 0.08 of what the shoulder is over" in program


@pytest.mark.parametrize(("nose", "count"), [(0.1, 2), (0.4, 0)])
def test_a_low_shoulder_is_measured_only_outside_the_round_that_the_nose_leaves(nose: float, count: int) -> None:
    """It is 0.2 high: of one that lies in the round, nobody can tell where the face begins."""
    rows = LIMITS + CLOSE + 'finish = "turn"\ncorner_b = "undercut 1 mm wide 0.1 mm deep"'
    part = part_from(PART.format(role="seat", rows=rows).replace('"6 mm"', '"11.6 mm"'))
    shop = shop_from(SHOP + SOFT.format(speed=38))
    noses = {"turning": quantity(nose), "grooving": quantity(0.1)}
    shop = replace(shop, tools=tuple(replace(t, nose_radius=noses.get(t.kind, t.nose_radius)) for t in shop.tools))
    (planned,) = plan_job(part, shop).settings
    assert len(stops(planned, "length").get("pin", [])) == count


def test_a_tool_is_set_on_no_face_that_lies_in_the_round_of_the_nose() -> None:
    rows = 'finish = "turn"\ncorner_b = "undercut 1 mm wide 0.1 mm deep"'
    part = PART.format(role="seat", rows=rows).replace("12 mm", "12.5 mm")
    shop = shop_from(SHOP + SOFT.format(speed=38))
    told = []
    for size in ("6 mm", "12.39 mm"):
        (planned,) = plan_job(part_from(part.replace('"6 mm"', f'"{size}"')), shop).settings
        told.append(touched(planned, planned.passes[-1]).face)
    assert told[0] is not None
    assert told[1] is None


def test_a_taper_that_is_carried_on_as_the_face_before_it_is_left_keeps_its_limits_at_the_thin_end() -> None:
    """0.05 is left on the face at its thin end: it begins so much further out, and is 0.03 thinner there."""
    taper = 'name = "pin"\nrole = "plain"\ndiameter_a = "8 mm"\ndiameter_b = "11 mm"\nlength = "5 mm"\n' + LIMITS
    seat = '[[section]]\nname = "seat"\nrole = "seat"\ndiameter = "6 mm"\nlength = "10 mm"\nfinish = "turn, stone"\n'
    head, _, rest = PART.partition("[[section]]\n")
    own = rest[rest.index('[[section]]\nname = "head"') :]
    left = 'on_diameter = "0 mm"\non_face = "0.05 mm"\n'
    part = part_from(f'{head}{seat}{left}[[section]]\n{taper}finish = "turn"\n{own}')
    (planned,) = plan_job(part, shop_from(SHOP + SOFT.format(speed=38))).settings
    (stop,) = stops(planned, "diameter")["pin"]
    assert (stop.least, stop.most) == (pytest.approx(7.9 - 0.03), pytest.approx(8.0 - 0.03))
    assert stop.least < stop.target < stop.most


@pytest.mark.parametrize(
    ("long", "blades", "at"), [(4, False, "-6.10"), (1.5, False, "-5.40"), (20, False, "-11.40")]
)  # fmt: skip
def test_a_taper_is_measured_past_the_seat_before_it_which_still_stands_higher(
    long: float, at: str, *, blades: bool
) -> None:
    """Seat and thin end are of one size, and the seat is finished last: at the thin end no anvil reaches the taper."""
    large = 5.4 if long < 20 else 3.1
    plan = plan_job(part_from(LEVEL.format(long=long, large=large)), sample("crank-pin")[1])
    lines = re.findall(r"(?m)^MEASURE  cone: .*$", write_summary(plan, width=240))
    assert [re.search(r"; at Z (\S+?);", line)[1] for line in lines] == [at, at]  # type: ignore[index]
    assert ["; blade anvils" in line for line in lines] == [blades, blades]
    measures = stops(plan.settings[0], "diameter")["cone"]
    slope = (large - 3) / long
    further = -5 - float(at)
    for m in measures:
        assert m.further == pytest.approx(further)
        assert m.least == pytest.approx(2.97 + slope * further, abs=0.001)
        assert m.most == pytest.approx(3.0 + slope * further, abs=0.001)
    text = re.sub(r"\s*\)\s*\(\.?\.?\s*", " ", program_of(plan, number=1))
    assert f"cone is a taper: measured at Z {float(at):g}. - what is before its thin end stands higher yet" in text
    assert ("cone takes blade anvils" in text) is blades


def test_no_measure_of_a_taper_is_asked_for_where_no_anvil_has_room() -> None:
    """It rises less than the seat before it stands higher, and is shorter than a blade with what is cut yet."""
    plan = plan_job(part_from(LEVEL.format(long=1, large=3.02)), sample("crank-pin")[1])
    page = re.sub(r"\s+", " ", write_summary(plan, width=240))
    assert "MEASURE cone:" not in page
    assert "cone cannot be measured before the end: no anvil reaches it past what stands higher yet." in page
    assert "cone 3.00 / 3.02" in page.split("Once:")[1] or "cone 2.98 / 3.00" in page


LEVEL = """
name = "peg"
corners = "fillet up to 0.1 mm"
edges = "sharp"
finish = "turn"
[stock]
material = "silver steel"
diameter = "6 mm"
length = "60 mm"
[holding]
method = "collet"
chuck = "6 mm collet"
free_end = "A"
stick_out = "30 mm"
facing = "0.5 mm"
[[section]]
name = "seat"
role = "seat"
diameter = "3 mm"
length = "5 mm"
[[section]]
name = "cone"
role = "seat"
diameter_a = "3 mm"
diameter_b = "{large} mm"
tolerance = "+0 / -0.03 mm"
length = "{long} mm"
[[section]]
name = "head"
role = "plain"
diameter = "6 mm"
length = "20 mm"
finish = "as stock"
"""


@given(st.floats(0.01, 0.8), st.floats(20.0, 85.0), st.floats(0.0, 3.0))
def test_beside_a_plunge_metal_is_left_under_nose_and_trailing_edge(nose: float, trailing: float, along: float) -> None:
    """What is left under a convex tool is the highest of all lines that lie under its nose, up to its trailing edge."""
    tool = turning_tool(shape="", included=87.0 - trailing, nose_radius=nose)
    slopes = [math.radians(trailing * k / 2000) for k in range(2001)]
    lines = [(along - nose) * math.tan(a) + nose - nose / math.cos(a) for a in slopes]
    assert left_beside(tool, along) == pytest.approx(max(lines), abs=2e-4)


def test_a_taper_that_its_fillet_takes_whole_is_refused_with_how_long_it_must_be() -> None:
    """Before its fillet is cut, the way along what is left of it would go backward. Found by the search."""
    files = [Path(__file__).parent / "cases" / f"taper_all_in_its_fillet.{kind}.toml" for kind in ("part", "shop")]
    with pytest.raises(ProblemError) as caught:
        make_job(*map(str, files))
    (problem,) = caught.value.problems
    assert problem.what == 'section "s3" is too short for what stands in its corner before its last cut'
    assert problem.allowed == "at least 0.81 mm of length"
