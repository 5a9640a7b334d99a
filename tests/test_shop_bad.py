"""Shop files with a fault each: the reader says what, where, and how to fix it, and nothing else."""

from __future__ import annotations

import random
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.problem import Problem, ProblemError
from cam.ground.source import parse_source
from cam.shop import read_shop, shop_of
from tests.specimens import SAMPLES, shop_from

SAMPLE = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
BAD = sorted((Path(__file__).parent / "bad" / "shop").glob("*.toml"))


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(ProblemError) as caught:
        shop_from(text)
    return caught.value.problems


# What is replaced in the sample, by what, what is said, and what else the message holds.
FAULTS = [
    ('swing = "140 mm"', 'swing = "14O mm"', "swing: there is no unit of length called", ["14O mm"]),
    ('swing = "140 mm"', "swing = 140", "swing: this length has no unit", ["140 mm", "140 in"]),
    ('swing = "140 mm"', 'swing = "-140 mm"', "swing: this length may not be negative", []),
    ('swing = "140 mm"', 'swing = "nan mm"', "swing: a length must be a number that exists", []),
    ('swing = "140 mm"', "swing = inf", "swing: a length must be a number that exists", []),
    ('swing = "140 mm"', 'swing = "140 deg"', "swing: deg measures an angle", ["length"]),
    ('swing = "140 mm"', "", "[lathe] has no swing", ['swing = "140 mm"']),
    ('swing = "140 mm"', 'swing = "140 mm"\nswnig = "1 mm"', '[lathe] has no key "swnig"', ['did you mean "swing"?']),
    ('swing_over_slide = "80 mm"', 'swing_over_slide = "150 mm"', "swing over the cross slide is larger", ["140 mm"]),
    ('tool_post = "front"', 'tool_post = "rare"', "tool_post is one of a few words", ["front, rear"]),
    ('reading = "dial"', 'reading = "dail"', "reading is one of a few words", ['did you mean "dial"?']),
    ('contact_clearance = "0.1 mm"', 'contact_clearance = "0.6 mm"', "clearance for cuts is larger", ["0.5 mm"]),
    ('turn = "2 mm"', 'turn = "2.01 mm"', "not a whole number of its divisions", ["0.02 mm", "2.01 mm"]),
    ('division = "0.02 mm"', 'division = "0 mm"', "division: this length is too small", ["more than 0 mm"]),
    ('{ name = "A2", speed = "600 rpm" }', '{ name = "A1", speed = "600 rpm" }', 'belt positions called "A1"', []),
    ('name = "A2", speed = "600 rpm"', 'name = "A2", speed = "600"', "speed: this rotational speed has no", ["rpm"]),
    ("constant_surface_speed = false", "constant_surface_speed = 1", "is yes or no", ["true or false"]),
    ('power = "250 W"', 'power = "250 W"\nslowest = "1 rpm"', "positions already say which speeds", ["leave it"]),
    ('finish_feed = "0.03 mm/rev"', 'finish_feed = "3 um/rev"', 'finish_feed of "right-hand knife" is', ["0.01"]),
    ('rough_feed = "0.06 mm/rev"', 'rough_feed = "0.6 mm/rev"', '"right-hand knife" is outside the lathe', ["0.15"]),
    ('most = "0.15 mm/rev"', 'most = "0.001 mm/rev"', "the least feed is above the most", ["0.01 mm/rev"]),
    ('name = "half centre"', 'name = "dead centre"', 'two centres called "dead centre"', ["line"]),
    ('name = "middle carrier"', 'name = "small carrier"', 'two carriers called "small carrier"', []),
    ('name = "undercut tool"', 'name = "right-hand knife"', 'two tools called "right-hand knife"', []),
    ("number = 2", "number = 1", "two tools have the number 1", ["right-hand knife", "undercut tool"]),
    ("number = 2", "number = 10", "number is a whole number", ["1 to 9"]),
    ('body_diameter = "34 mm"', 'body_diameter = "10 mm"', 'body of "revolving centre" is thinner', ["14 mm"]),
    ('reach = "48 mm"', 'reach = "12 mm"', '"revolving centre" reaches less far than its cone is long', ["12.125 mm"]),
    ('flat = "0.6 mm"', 'flat = "6 mm"', 'the flat of "half centre" is no lower than its body', ["6 mm"]),
    ('flat_length = "20 mm"', 'flat_length = "33 mm"', 'the flat of "half centre" runs into the barrel', ["32 mm"]),
    ('flat = "0.6 mm"', "", "has no flat", ["line"]),
    ('kind = "revolving"', 'kind = "revolving"\nflat = "1 mm"', 'only a half centre has a flat, and kind is', []),
    ('swing = "32 mm"', 'swing = "9 mm"', '"small carrier" swings no larger than what it grips', []),
    ('grip = ["3 mm", "9 mm"]', 'grip = ["9 mm", "3 mm"]', "the least of grip is larger than the most", []),
    ('grip = ["3 mm", "9 mm"]', 'grip = "3 mm"', "grip is two lengths", ['["3 mm", "9 mm"]']),
    ('nose_diameter = "32 mm"', 'nose_diameter = "5 mm"', 'nose of "6 mm collet" is no larger', []),
    ('shape = "D"', 'shape = "X"', "shape is one of a few words", ["C, D, E, R, S, T, V, W"]),
    ('shape = "D"', "", "has no shape", ["ISO 1832", 'included = "55 deg"']),
    ('shape = "D"', 'shape = "D"\nincluded = "55 deg"', "shape and included both say", []),
    ('shape = "D"', 'shape = "S"', 'trailing edge of "right-hand knife" would rub', ["below 90 deg"]),
    ('approach = "93 deg"', 'approach = "20 deg"', "approach: this angle is too small", ["at least 45"]),
    ('edge = "7 mm"', 'edge = "0.2 mm"', 'edge of "right-hand knife" is no longer than its own nose', []),
    ('width = "1 mm"', 'width = "0.15 mm"', '"undercut tool" is narrower than its two corner radii', ["0.2 mm"]),
    ('width = "1 mm"', 'width = "60 mm"', "width: this length is too large", ["at most 50 mm"]),
    ('shape = "D"', 'included = "140 deg"', "included: this angle is too large", ["more than 5 deg, at most 130 deg"]),
    ('width = "1 mm"', "", "has no width", []),
    ('width = "1 mm"', 'width = "1 mm"\nshape = "D"', "only a turning tool has shape", []),
    ('minimum_cut = "0.02 mm"', 'minimum_cut = "0.9 mm"', 'least cut of "right-hand knife" is above its deepest', []),
    ('deepest_cut = "0.75 mm"', 'deepest_cut = "8 mm"', 'deepest cut of "right-hand knife" is deeper', ["7 mm"]),
    ('nose_radius = "0.1 mm"', 'nose_radius = "0.01 mm"', "its marks would not meet", ["0.02 mm/rev"]),
    ('nose_radius = "0.1 mm"', 'nose_radius = "0 mm"', "nose_radius: this length is too small", []),
    ('["6.5 mm", "4.6 mm"]', '["6.5 mm", "9 mm"]', 'outline "tool head" is not convex', ["split it", "corner 2"]),
    ('["6.5 mm", "4.6 mm"]', '["6.5 mm", "0 mm"]', 'outline "tool head" of "right-hand knife" reaches as low', []),
    ('["6.5 mm", "4.6 mm"]', '["6.5 mm"]', "point 2 of points is not two lengths", []),
    ('square_by = "tipped block"', 'square_by = "tiped block"', "square_by is one of a few words",
     ['mean "tipped block"?']),
    ('shim_distance = "50 mm"', "", "[mill] has no shim_distance", ["50 mm"]),
    ('shim_distance = "50 mm"', 'shim_distance = "80 mm"', "the shim does not lie under the block", ["60 mm"]),
    ('slowest = "300 rpm"', 'slowest = "3000 rpm"', "the slowest speed is above the fastest", []),
    ("sides = 4", "sides = 3", "a block that is turned by hand lies on one of its sides", ["4, 6, 8"]),
    ('crown = "0.0005 mm"', "", "[mill] has no crown", ["0.0005 mm"]),
    ("tap_cycle = false", 'tap_cycle = "no"', "tap_cycle is yes or no", ["true or false"]),
    ('jaws_below_axis = "6 mm"', "", "[mill.vice] has no jaws_below_axis", []),
    ('grip_length = "24 mm" ', "#", "[mill.block] has no grip_length", []),
    ('kind = "end mill"', 'kind = "end mil"', "kind is one of a few words", ['did you mean "end mill"?']),
    ("teeth = 4", "", "has no teeth", []),
    ("teeth = 4", 'teeth = 4\nfeed = "0.1 mm/rev"', "feed has no meaning for this cutter", ["end mill", "leave it"]),
    ('thread = "M3"', 'thread = "M3"\ndiameter = "3 mm"', "diameter has no meaning for this cutter", ["tap"]),
    ('number = 2\nname = "4 mm', 'number = 1\nname = "4 mm', "two cutters have the number 1", ["also on line"]),
    ('stick_out = "30 mm"', 'stick_out = "10 mm"', "sticks out less than its flutes are long", ["12 mm"]),
    ('point_angle = "118 deg"', 'point_angle = "180 deg"', "point_angle: this angle is too large", ["170"]),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "what", "pieces"), FAULTS, ids=[f[1][:40] or f"no {f[0][:30]}" for f in FAULTS])
def test_the_fault_is_found_and_nothing_else(old, new, what, pieces):
    assert old in SAMPLE
    problems = problems_of(SAMPLE.replace(old, new, 1))
    assert len(problems) == 1, [str(p) for p in problems]
    assert what in problems[0].what
    for piece in pieces:
        assert piece in str(problems[0])
    line = SAMPLE[: SAMPLE.index(old)].count("\n") + 1
    assert problems[0].where.path == "shop.toml"
    assert 0 < problems[0].where.line <= line + 16
    assert problems[0].allowed or problems[0].fix or problems[0].given


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_files_with_many_faults_give_them_all(path):
    text = path.read_text(encoding="utf-8")
    expected = [row.removeprefix("# expect: ") for row in text.splitlines() if row.startswith("# expect: ")]
    with pytest.raises(ProblemError) as caught:
        read_shop(path)
    found = [f"{p.where.line}: {p.what}" for p in caught.value.problems]
    assert found == expected


@pytest.mark.parametrize("content", [b"", b"\0", b"\xff\xfe", b"[lathe\n", b"lathe = 3\ntool = 4\n", b"x" * 2_000_000])
def test_what_is_no_shop_file_is_refused(content, tmp_path):
    path = tmp_path / "shop.toml"
    path.write_bytes(content)
    with pytest.raises(ProblemError):
        read_shop(path)


def test_a_missing_file_is_a_problem():
    with pytest.raises(ProblemError, match="there is no such file"):
        read_shop("no/such/shop.toml")


def test_a_bad_row_of_materials_is_told():
    row = '[[material]]\nname = "lead"\nhss = { least = "50 m/min", most = "20 m/min" }\nmc = 2\n'
    whats = [p.what for p in problems_of(SAMPLE + row)]
    assert any("the least speed in" in what for what in whats)
    assert any("mc is a number without a unit" in what for what in whats)
    assert sum("has no" in what for what in whats) == 4


def test_two_rows_of_one_material_are_refused():
    row = (
        '[[material]]\nname = "lead"\nhss = { least = "5 m/min", most = "9 m/min" }\n'
        'carbide = { least = "5 m/min", most = "9 m/min" }\nkc11 = "300 N/mm2"\nmc = 0.2\nmodulus = "16 GPa"\n'
        'source = "test"\n'
    )
    assert [p.what for p in problems_of(SAMPLE + row + row)] == ['there are two materials called "lead"']


WORDS = [
    "true",
    "-1",
    '"0 mm"',
    '"-3 mm"',
    '"1e300 mm"',
    "[]",
    "{}",
    '"x"',
    '""',
    "nan",
    "1979-05-27",
    "[[1]]",
    '"5 deg"',
]


@settings(max_examples=150)
@given(st.integers(0, 10**9))
def test_any_damage_gives_problems_and_never_a_traceback(seed):
    rng = random.Random(seed)
    rows = SAMPLE.splitlines()
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(rows))
        match rng.randrange(4):
            case 0:
                del rows[at]
            case 1:
                rows.insert(at, rows[rng.randrange(len(rows))])
            case 2:
                key = rows[at].partition("=")[0]
                rows[at] = f"{key}= {rng.choice(WORDS)}"
            case _:
                place = rng.randrange(len(rows[at]) + 1)
                rows[at] = rows[at][:place] + rng.choice('"[]=#.x0\n') + rows[at][place + 1 :]
    with suppress(ProblemError):
        shop_of(parse_source("\n".join(rows).encode(), "shop.toml"))
