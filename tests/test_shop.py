"""Shop files read right: the sample, dial habits, materials with published speeds, schema and reader alike."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from jsonschema import Draft202012Validator

from cam.ground.problem import Problem, ProblemError
from cam.ground.schema import tables_in
from cam.ground.source import Table, parse_source
from cam.lengths.thermal import expansion_of
from cam.setting.aims import finest_diameter, finest_length, step_on_diameter
from cam.shop import read_shop, shop_of
from cam.shop.materials import TOOL_MATERIALS, built_in_materials
from tests.schemas import KEPT, schema_text
from tests.specimens import SAMPLES, by_hand, shop_from, shop_texts

ROOT = Path(__file__).parent.parent
SCHEMA = json.loads((ROOT / "cam" / "shop" / "shop.schema.json").read_text(encoding="utf-8"))
SAMPLE = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
FOOT = 0.3048

OWN_MATERIAL = """
[[material]]
name = "brass"
hss = { least = "40 m/min", most = "80 m/min" }
carbide = { least = "300 ft/min", most = "600 ft/min" }
kc11 = "780 MPa"
mc = 0.18
modulus = "97 GPa"
source = "own trials"
"""

# Cutting speeds, HSS, ft/min: a public small-lathe guide (0.004 in/rev, 0.040 in deep, 180 min of tool life); stainless
# 303, finishing, US Army TM 43-0106.
PUBLISHED_SPEEDS = [
    ("silver steel", 125), ("gauge plate", 125), ("mild steel", 125), ("mild steel", 215), ("free-cutting steel", 200),
    ("free-cutting steel", 290), ("EN8", 55), ("EN8", 180), ("stainless 303", 65), ("stainless 303", 105),
    ("brass", 300), ("brass", 350), ("gunmetal", 200), ("gunmetal", 250), ("phosphor bronze", 200),
    ("6082 aluminium", 500), ("6082 aluminium", 600),
]  # fmt: skip

# Older handbook figures, ft/min, from memory: nearly half of the guide's for two of the steels.
REMEMBERED_SPEEDS = [
    ("silver steel", 70),
    ("free-cutting steel", 150),
    ("mild steel", 100),
    ("EN8", 90),
    ("brass", 300),
]


def test_the_sample_is_read_whole():
    shop = read_shop(str(SAMPLES / "shop.toml"))
    lathe = shop.lathe
    assert (lathe.name, lathe.swing, lathe.between_centres, lathe.tool_post) == ("bench lathe", 140.0, 250.0, "front")
    assert (lathe.x.habit, lathe.x.division, lathe.x.turn, lathe.x.backlash) == ("diameter", 0.02, 2.0, 0.04)
    assert (lathe.z.habit, lathe.z.counts) == ("radius", "up")
    assert [(s.name, s.rpm) for s in lathe.spindle.positions] == [("A1", 320), ("A2", 600), ("B1", 1000), ("B2", 1800)]
    assert (lathe.spindle.slowest, lathe.spindle.fastest, lathe.spindle.power) == (320.0, 1800.0, 250.0)
    assert [(c.name, c.kind, c.reach) for c in shop.centres] == [
        ("dead centre", "plain", 32.0),
        ("half centre", "half", 32.0),
        ("revolving centre", "revolving", 48.0),
    ]
    assert [(c.name, c.grip_least, c.grip_most) for c in shop.carriers] == [
        ("small carrier", 3.0, 9.0),
        ("middle carrier", 8.0, 18.0),
    ]
    knife, undercut = shop.tools
    assert (knife.shape, knife.included, knife.trailing, knife.text) == ("D", 55.0, 32.0, "ISO 1832 shape D")
    assert (undercut.kind, undercut.width, undercut.approach, undercut.trailing) == ("grooving", 1.0, 90.0, 90.0)
    assert [o.name for o in knife.outlines] == ["tool head", "tool post"]
    assert len(shop.digest) == 64


def test_what_was_written_is_kept_with_its_line():
    shop = read_shop(str(SAMPLES / "shop.toml"))
    swing = shop.lathe.swing
    assert swing.text == "140 mm"
    assert SAMPLE.splitlines()[swing.where.line - 1].startswith('swing = "140 mm"')
    assert SAMPLE.splitlines()[shop.tools[1].where.line - 1] == "[[tool]]"
    assert 'name = "undercut tool"' in SAMPLE.splitlines()[shop.tools[1].where.line + 1]


def test_belt_positions_are_put_in_order():
    text = SAMPLE.replace('{ name = "A1", speed = "320 rpm" }', '{ name = "A1", speed = "5000 rpm" }')
    assert [s.name for s in shop_from(text).lathe.spindle.positions] == ["A2", "B1", "B2", "A1"]


def test_a_ground_tool_is_given_by_its_angle():
    tool = shop_from(SAMPLE.replace('shape = "D"', 'included = "60 deg"')).tools[0]
    assert (tool.shape, tool.included, tool.text) == ("", pytest.approx(60.0), "ground: 60 deg")
    assert tool.trailing == pytest.approx(27.0)


def test_outlines_may_be_given_either_way_round():
    one = 'points = [["1 mm", "6 mm"], ["6.5 mm", "4.6 mm"], ["10 mm", "8 mm"], ["10 mm", "25 mm"], ["1 mm", "25 mm"]]'
    other = (
        'points = [["1 mm", "25 mm"], ["10 mm", "25 mm"], ["10 mm", "8 mm"], ["6.5 mm", "4.6 mm"], ["1 mm", "6 mm"]]'
    )
    assert one in SAMPLE
    assert shop_from(SAMPLE.replace(one, other)).tools[0].outlines == shop_from(SAMPLE).tools[0].outlines


# A dial of 0.02 mm: on diameter as such; read as radius the diameter changes by twice that.
@pytest.mark.parametrize(("habit", "step"), [("diameter", 0.02), ("depth on diameter", 0.02), ("radius", 0.04)])
def test_dial_habits(habit, step):
    lathe = shop_from(SAMPLE.replace('habit = "diameter"', f'habit = "{habit}"')).lathe
    assert step_on_diameter(lathe.x) == pytest.approx(step)


@pytest.mark.parametrize(("division", "units"), [("0.02 mm", "mm"), ("1 thou", "in"), ("0.001 in", "in")])
def test_a_lathe_worked_by_hand_needs_no_more_than_that_word_of_its_control(division, units):
    text = by_hand(SAMPLE).replace('division = "0.02 mm"', f'division = "{division}"', 1)
    turn = "2 mm" if units == "mm" else "0.1 in"
    control = shop_from(text.replace('turn = "2 mm"', f'turn = "{turn}"', 1)).lathe.control
    assert (control.dialect, control.x_words, control.units) == ("rs274ngc", "radius", units)
    assert (control.rapid, control.rapid.text) == (250.0, "")
    assert errors_of(text) == []


def test_finest_limits_are_half_a_division_or_a_tenth_of_the_backlash():
    """Sample: division 0.02 on diameter, backlash 0.04 and 0.05: 0.01 v. 2 x 0.004; 0.01 v. 0.005."""
    lathe = shop_from(SAMPLE).lathe
    assert finest_diameter(lathe) == pytest.approx(0.01)
    assert finest_length(lathe) == pytest.approx(0.01)
    loose = shop_from(SAMPLE.replace('backlash = "0.04 mm"', 'backlash = "0.2 mm"')).lathe
    assert finest_diameter(loose) == pytest.approx(0.04)


# Materials --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "feet"), PUBLISHED_SPEEDS + REMEMBERED_SPEEDS)
def test_speeds_of_the_table_take_in_what_sources_say(name, feet):
    least, most = built_in_materials()[name].speed["HSS"]
    assert least - 1e-9 <= feet * FOOT <= most + 1e-9


def test_every_material_is_a_range_with_its_source_and_standing():
    for row in built_in_materials().values():
        assert set(row.speed) == set(TOOL_MATERIALS)
        for least, most in row.speed.values():
            assert 0 < least < most <= 3.5 * least
        assert row.speed["HSS"][1] < row.speed["carbide"][1]
        assert any(standing in row.source for standing in ("published", "practice", "memory"))
        assert 500 <= row.kc11 <= 2600
        assert 0.1 <= row.mc <= 0.3
        assert 60_000 <= row.modulus <= 215_000


def test_every_row_of_the_table_has_one_standing_and_one_source():
    for row in built_in_materials().values():
        figures = [figure for figure, _, _ in row.standings]
        assert set(figures) == {"speed HSS", "speed carbide", "force", "bulk"}
        assert figures.count("force") == figures.count("bulk") == 1
        for figure, standing, source in row.standings:
            assert standing in ("published", "practice", "memory")
            assert source
            assert f"{standing}: {source}" in row.source_of(figure)
        assert row.spread[0] <= row.kc11 <= row.spread[1]
        assert 2 < row.density < 10


def test_the_materials_that_the_job_needs_are_all_there():
    steels = {"silver steel", "gauge plate", "mild steel", "free-cutting steel", "EN8", "stainless 303"}
    others = {"brass", "gunmetal", "phosphor bronze", "2011 aluminium", "6082 aluminium"}
    assert set(built_in_materials()) == steels | others


# Expansion: handbook values recalled, against the measuring chain's own table, which has a published row of steel.
@pytest.mark.parametrize(("ours", "theirs"), [("silver steel", "silver steel"), ("mild steel", "mild steel"),
                                              ("EN8", "gauge block steel"), ("stainless 303", "stainless steel"),
                                              ("brass", "brass"), ("phosphor bronze", "bronze"),
                                              ("6082 aluminium", "aluminium")])  # fmt: skip
def test_expansion_lies_within_the_doubt_of_the_other_table(ours, theirs):
    other = expansion_of(theirs)
    assert built_in_materials()[ours].expansion == pytest.approx(other.rate, abs=other.doubt)


def test_specific_force_of_en8_as_worked():
    """Kienzle, C45, depth 0.5 mm, feed 0.1 mm/rev, 90 degrees: 2220 x 0.1**-0.14 = 3064 N/mm2, 153.2 N."""
    row = built_in_materials()["EN8"]
    assert row.kc11 * 0.1**-row.mc == pytest.approx(3064, abs=1)
    assert row.kc11 * 0.5 * 0.1 ** (1 - row.mc) == pytest.approx(153.2, abs=0.1)


def test_own_rows_add_to_the_table_or_replace_a_row():
    shop = shop_from(SAMPLE + OWN_MATERIAL)
    assert shop.materials["brass"].source == "own trials"
    assert shop.materials["brass"].speed == {
        "HSS": (40.0, 80.0),
        "carbide": (pytest.approx(91.44), pytest.approx(182.88)),
    }
    assert shop.materials["brass"].modulus == 97_000
    assert set(shop.materials) == set(built_in_materials())
    added = shop_from(SAMPLE + OWN_MATERIAL.replace('"brass"', '"nickel silver"'))
    assert set(added.materials) - set(built_in_materials()) == {"nickel silver"}


# Schema -----------------------------------------------------------------------------------------------


def errors_of(text: str) -> list[str]:
    return [error.message for error in Draft202012Validator(SCHEMA).iter_errors(tomllib.loads(text))]


def test_the_schema_takes_the_sample():
    Draft202012Validator.check_schema(SCHEMA)
    assert errors_of(SAMPLE) == []
    assert errors_of(SAMPLE + OWN_MATERIAL) == []


@given(shop_texts())
def test_reader_and_schema_take_the_same_random_shops(text):
    assert errors_of(text) == []
    shop_from(text)


FORM_FAULTS = [
    ('reading = "dial"', 'reading = "dail"'), ('swing = "140 mm"', "swing = 140"), ('kind = "half"', 'kind = "plain"'),
    ('flat = "0.6 mm"', ""), ('shape = "D"', ""), ('shape = "D"', 'shape = "D"\nincluded = "55 deg"'),
    ('shape = "D"', 'shape = "X"'), ('width = "1 mm"', ""), ("number = 1", "number = 0"), ('power = "250 W"', ""),
    ('turn = "2 mm"', ""), ('counts = "up"', ""), ('power = "250 W"', 'power = "250 W"\nslowest = "100 rpm"'),
    ('[lathe.feed]', '[lathe.feeds]'), ('grip = ["3 mm", "9 mm"]', 'grip = ["3 mm"]'), ('shape = "D"', 'shape = "R"'),
    ('rapid = "800 mm/min"', ""), ('x_words = "radius"', ""), ('dialect = "rs274ngc"', ""),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new"), FORM_FAULTS)
def test_reader_and_schema_both_see_faults_of_form(old, new):
    assert old in SAMPLE
    text = SAMPLE.replace(old, new, 1)
    assert errors_of(text)
    with pytest.raises(ProblemError):
        shop_from(text)


THREADING = """
[lathe.threading]
by = "encoder"
fastest = "320 rpm"
acceleration = "100 mm/s2"

[[tool]]
number = 3
name = "60 degree threading tool"
kind = "threading"
material = "HSS"
hand = "right"
included = "60 deg"
nose_radius = "0.06 mm"
width = "1 mm"
edge = "3 mm"
minimum_cut = "0.01 mm"
deepest_cut = "0.1 mm"
outline = "tip only"
"""


def test_reader_and_schema_take_a_shop_that_cuts_threads():
    by_wheels = 'by = "change wheels"\nfastest = "320 rpm"\nleadscrew = "1/8 in"\nwheels = [20, 40, 63, 100]\n'
    encoder = 'by = "encoder"\nfastest = "320 rpm"\nacceleration = "100 mm/s2"\n'
    for text in (SAMPLE + THREADING, SAMPLE + THREADING.replace(encoder, by_wheels)):
        assert errors_of(text) == []
        assert shop_from(text).lathe.threading is not None
    mixed = SAMPLE + THREADING.replace(encoder, by_wheels + 'acceleration = "1 mm/s2"\n')
    assert errors_of(mixed)
    with pytest.raises(ProblemError):
        shop_from(mixed)


FACTS = 'stands = { "G90" = "2026-05-02", "G94" = "2026-05-02" }\n'


def with_stands(facts: str) -> str:
    """The sample with what the lathe's control stands in."""
    return SAMPLE.replace('rapid = "800 mm/min"\n', f'rapid = "800 mm/min"\n{facts}')


def test_what_a_control_stands_in_is_read_with_its_date():
    assert errors_of(with_stands(FACTS)) == []
    assert shop_from(with_stands(FACTS)).lathe.control.facts.stands == (("G90", "2026-05-02"), ("G94", "2026-05-02"))
    assert shop_from(SAMPLE).lathe.control.facts.stands == ()


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ('stands = { "G90" = "last spring" }', "G90 is followed by the date"),
        ('stands = { "G90" = true }', "G90 is followed by the date"),
        ('stands = { "G91" = "2026-05-02" }', 'no key "G91"'),
        ('stands = { "G94" = "2026-05-02", "G95" = "2026-05-02" }', "cannot stand in G94 and in G95"),
        ('stands = "G90"', "stands is a table"),
    ],
)
def test_what_a_control_stands_in_is_refused_otherwise(facts: str, says: str):
    text = with_stands(facts + "\n")
    with pytest.raises(ProblemError) as refused:
        shop_from(text)
    assert says in str(refused.value)


def keys_read() -> dict[str, set[str]]:
    """Every key that the reader knows, by the table's place."""
    found: dict[str, set[str]] = {}
    tables: list[Table] = []
    close = Table.close
    try:
        Table.close = lambda table: tables.append(table)  # type: ignore[method-assign, assignment]  # noqa: PLW0108 - binds
        text = with_stands(FACTS).replace('rapid = "600 mm/min"\n', f'rapid = "600 mm/min"\n{FACTS}')
        text += OWN_MATERIAL + THREADING
        shop_of(parse_source(text.encode(), "shop.toml"))
    finally:
        Table.close = close  # type: ignore[method-assign]
    for table in tables[0]._family():
        name = ".".join(str(key) for key in table.path if isinstance(key, str))
        found.setdefault(name, set()).update(table.asked)
    found["mill"] -= {"arcs", "arc_height"}  # refused there, in words
    return found


def test_reader_and_schema_know_the_same_keys():
    known = {place: set(node["properties"]) for place, node in tables_in(SCHEMA)}
    assert keys_read() == {place: known[place] for place in keys_read()}


def test_the_schema_takes_american_words():
    kind = SCHEMA["properties"]["centre"]["items"]["properties"]["kind"]
    assert kind["enum"] == ["plain", "half", "revolving", "dead", "hard", "live", "soft", "solid"]


def test_the_kept_schemas_are_those_of_the_keys_declared():
    for path, make in KEPT.items():
        assert path.read_text(encoding="utf-8") == schema_text(make()), "run python -m tests.schemas"


def test_problems_are_collected_not_raised_one_by_one():
    with pytest.raises(ProblemError) as caught:
        shop_from("")
    problems: tuple[Problem, ...] = caught.value.problems
    assert [p.what for p in problems] == ["the file has no [[tool]]", "the file has no [lathe]"]
