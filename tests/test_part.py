"""Part files read right: the samples' geometry, lengths solved, one geometry in any unit, schema and starter."""

from __future__ import annotations

import json
import math
import re
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from cam.ground.problem import Problem, ProblemError
from cam.ground.schema import reference, tables_in
from cam.ground.source import Table, parse_source, read_source
from cam.lengths import part_of, read_part
from cam.part import Part
from cam.part.checks import CHECKS
from cam.part.features import ROLES
from cam.part.read import _read
from cam.part.read_spans import read_measuring
from cam.part.starter import starter_text
from cam.plan.job import plan_job
from cam.shop import read_shop
from cam.shop.schema import shop_schema
from tests.schemas import KEPT
from tests.specimens import drum_arbor

HERE = Path(__file__).parent
FOLDER = HERE.parent / "samples"
SAMPLES = [p for p in sorted(FOLDER.glob("*.toml")) if p.name != "shop.toml"]
GOOD = [p for p in SAMPLES if p.name != "contradictory-arbor.toml"]
BAD = sorted((HERE / "bad" / "part").glob("*.toml"))
SCHEMA = json.loads((HERE.parent / "cam" / "part" / "part.schema.json").read_text(encoding="utf-8"))


def read_text(text: str) -> Part:
    return part_of(parse_source(text.encode(), "x.toml"))


# The samples ------------------------------------------------------------------------------------------


def test_the_drum_arbor():
    """With 46.22 mm recorded between the plates, less 0.22 mm of end shake; 32.20 less 0.20 inside the drum."""
    part, _ = drum_arbor()
    rows = [(s.name, float(s.diameter_a), s.length.text) for s in part.sections]
    assert rows == [
        ("winding square", 5.2, "20 mm"),
        ("front pivot", 6.0, "6 mm"),
        ("front seat", 8.0, "7.5 mm"),
        ("drum body", 14.0, "32 mm (solved)"),
        ("back seat", 8.0, "6.5 mm (solved)"),
        ("back pivot", 4.0, "6 mm (solved)"),
    ]
    assert [s.end for s in part.sections] == pytest.approx([20.0, 26.0, 33.5, 65.5, 72.0, 78.0], abs=1e-9)
    assert (part.length, part.thickest, part.unit, part.shop) == (78.0, 3, "mm", "shop.toml")
    square, pivot, _, body, back, last = part.sections
    assert square.bearing == 6.03
    assert (square.edge_a.kind, square.edge_a.size, square.edge_b) == ("chamfer", 0.5, None)
    assert (square.corner_a, square.corner_b.kind, square.corner_b.radius) == (None, "nose", 0.2)
    assert pivot.tolerance.middle == pytest.approx(-0.02)
    assert pivot.finish.route == ("turn", "stone", "burnish")
    assert (pivot.finish.on_diameter, pivot.finish.on_face) == (0.03, 0.0)
    assert (body.corner_a, body.corner_b, body.edge_a.size, body.edge_b.size) == (None, None, 0.2, 0.2)
    assert (back.corner_a.kind, back.corner_a.width, back.corner_a.depth) == ("undercut", 1.0, 0.2)
    assert (last.edge_b.kind, last.edge_b.size) == ("radius", 0.4)
    assert part.holding.end_b.grip == "winding square"
    assert part.holding.end_a.centre_hole == "A 1/2.12"


def test_the_spindle_is_solved_in_inches():
    part = read_part(FOLDER / "moon-carriage-spindle.toml")
    inch = 25.4
    ends = [3 / 16, 1 / 2, 2 + 1 / 4, 2 + 5 / 8, 2 + 13 / 16]
    assert [s.end for s in part.sections] == pytest.approx([e * inch for e in ends], rel=1e-15)
    assert part.unit == "in"
    body, lower = part.sections[2], part.sections[4]
    assert body.length == pytest.approx(1.75 * inch, rel=1e-15)
    assert body.length.text == "1.75 in (solved)"
    # like: everything that is not written, each with the line where it stands
    upper = part.sections[0]
    assert (lower.diameter_a, lower.tolerance, lower.finish) == (upper.diameter_a, upper.tolerance, upper.finish)
    assert lower.tolerance.lower == pytest.approx(-0.0381)
    assert lower.diameter_a.where.line < upper.where.line + 5 < lower.where.line
    assert (lower.edge_b.kind, lower.edge_b.size) == ("radius", pytest.approx(0.254))
    assert body.finish.where.line < 12


def test_the_crank_pin_has_one_free_end():
    part = read_part(FOLDER / "crank-pin.toml")
    assert part.holding.method == "collet"
    assert (part.holding.first, part.holding.end_b) == ("A", None)
    assert (part.holding.chuck, part.holding.stick_out, part.holding.facing) == ("6 mm collet", 17.0, 0.5)
    head = part.sections[-1]
    assert head.as_stock
    assert (head.edge_a.kind, head.edge_b.kind, head.edge_b.text) == ("chamfer", "sharp", "not turned")


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.name)
def test_every_sample_is_whole(path):
    part = read_part(path)
    assert part.path == str(path)
    for near, far in pairwise(part.sections):
        assert near.end == far.start or math.isnan(near.end + far.start)
        assert (near.corner_b is None) or (far.corner_a is None)
        assert (near.corner_b is None) == (far.edge_a is None)
        assert (near.edge_b is None) == (far.corner_a is None)
    assert part.sections[0].edge_a is not None
    assert part.sections[-1].edge_b is not None


# Small parts ------------------------------------------------------------------------------------------

HEAD = """\
name = "x"
corners = "fillet up to 0.05 mm"
edges = "sharp"
finish = "turn"
[stock]
material = "silver steel"
diameter = "60 mm"
length = "2.9 m"
[holding]
method = "between centres"
end_a = { tail_centre = "dead centre", extra_length = "0 mm" }
end_b = { tail_centre = "dead centre", extra_length = "0 mm" }
"""


def section(name: str, size: str, length: str, more: str = "") -> str:
    return f'[[section]]\nname = "{name}"\nrole = "plain"\ndiameter = "{size}"\nlength = "{length}"\n{more}'


def test_tapers_and_grooves():
    part = read_text(
        HEAD
        + '[[section]]\nname = "cone"\nrole = "seat"\ndiameter_a = "4 mm"\ndiameter_b = "5 mm"\nlength = "10 mm"\n'
        + section("body", "8 mm", "10 mm")
        + section("groove", "6 mm", "2 mm").replace('"plain"', '"undercut"')
        + section("ring", "7 mm", "5 mm", 'corner_a = "fillet 0.05 mm"\n').replace('corner_a = "fillet 0.05 mm"\n', "")
    )
    cone, body, groove, ring = part.sections
    assert (cone.diameter_a, cone.diameter_b, cone.thickest) == (4.0, 5.0, 5.0)
    assert (cone.corner_b.radius, body.corner_b, groove.corner_a.radius, groove.corner_b.radius) == (
        0.05,
        None,
        0.05,
        0.05,
    )
    assert (ring.edge_a.kind, ring.edge_b.kind) == ("sharp", "sharp")


def test_neighbours_of_one_size_have_neither_edge_nor_corner():
    part = read_text(HEAD + section("a", "8 mm", "10 mm") + section("b", "8 mm", "10 mm"))
    a, b = part.sections
    assert (a.edge_b, a.corner_b, b.edge_a, b.corner_a) == (None, None, None, None)


def test_what_a_section_writes_itself_goes_before_like():
    part = read_text(
        HEAD
        + section("a", "8 mm", "10 mm", 'finish = "turn, file"\non_diameter = "0.1 mm"\non_face = "0 mm"\n')
        + '[[section]]\nname = "b"\nlike = "a"\nfinish = "turn"\ndiameter_a = "9 mm"\ndiameter_b = "10 mm"\n'
        + '[[section]]\nname = "c"\nlike = "b"\ndiameter = "12 mm"\n'
        + '[[section]]\nname = "d"\nlike = "a"\non_diameter = "0.2 mm"\n'
    )
    _, b, c, d = part.sections
    assert (b.finish.route, b.finish.on_diameter, b.diameter_b, b.length) == (("turn",), 0.0, 10.0, 10.0)
    assert (c.finish.route, c.diameter_a, c.diameter_b) == (("turn",), 12.0, 12.0)
    assert (d.finish.route, d.finish.on_diameter, d.finish.on_face) == (("turn", "file"), 0.2, 0.0)


TEXTS = [  # key, text, kind, sizes
    ("corner_b", "fillet up to 8 thou", "nose", (0.2032, 0.0, 0.0)),
    ("corner_b", "Fillet 0.25mm", "fillet", (0.25, 0.0, 0.0)),
    ("corner_b", "fillet 1/64 in", "fillet", (0.396875, 0.0, 0.0)),
    ("corner_b", "undercut 1 mm wide, 0.2 mm deep", "undercut", (0.0, 1.0, 0.2)),
    ("corner_b", 'undercut 1/32" wide  4 thou deep', "undercut", (0.0, 0.79375, 0.1016)),
    ("edge_a", "sharp", "sharp", (0.0,)),
    ("edge_a", "chamfer 0.3 mm", "chamfer", (0.3,)),
    ("edge_a", "chamfer 1/64 in x 45°", "chamfer", (0.396875,)),
    ("edge_a", "radius 10 thou", "radius", (0.254,)),
]


@pytest.mark.parametrize(("key", "text", "kind", "sizes"), TEXTS, ids=[row[1] for row in TEXTS])
def test_corner_and_edge_texts(key, text, kind, sizes):
    part = read_text(HEAD + section("a", "8 mm", "10 mm", f"{key} = '{text}'\n") + section("b", "20 mm", "10 mm"))
    found = part.sections[0].corner_b if key == "corner_b" else part.sections[0].edge_a
    assert (found.kind, found.text) == (kind, " ".join(text.split()))
    got = (found.radius, found.width, found.depth) if key == "corner_b" else (found.size,)
    assert got == pytest.approx(sizes, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "size"),
    [("0.5 mm copper", 0.5), ("0.5mm brass, soft", 0.5), ("1/64 in copper", 0.396875), ("20 thou", 0.508)],
)
def test_protection_texts(text, size):
    grip = f'end_b = {{ tail_centre = "x", extra_length = "0 mm", grip = "a", protection = "{text}" }}'
    body = section("a", "8 mm", "10 mm").replace('"plain"', '"journal"') + section("b", "20 mm", "10 mm")
    part = read_text(HEAD.replace('end_b = { tail_centre = "dead centre", extra_length = "0 mm" }', grip) + body)
    assert part.holding.end_b.protection == pytest.approx(size)
    assert part.holding.end_b.protection.text == text


# Laws -------------------------------------------------------------------------------------------------

STEPS = st.lists(st.tuples(st.integers(1, 40), st.integers(1, 200)), min_size=1, max_size=8, unique_by=lambda s: s[0])
UNITS = {
    "sixty-fourths": lambda n: f"{n}/64 in",
    "mixed": lambda n: f"{n // 64} {n % 64}/64 in",
    "inches": lambda n: f"{n / 64!r} in",
    "thou": lambda n: f"{n * 1000 / 64!r} thou",
    "mm": lambda n: f"{n * 25.4 / 64:.7f} mm",
    "cm": lambda n: f"{n * 2.54 / 64:.8f} cm",
    "m": lambda n: f"{n * 0.0254 / 64:.10f} m",
}
"""A whole number of 1/64 in is 0.396875 mm, so every one of these is exact."""


@settings(deadline=None)
@given(STEPS, STEPS, st.data())
def test_one_part_in_any_units_has_one_geometry(left, right, data):
    steps = [*sorted(left), (50, 64), *sorted(right, reverse=True)]

    def write(units) -> str:
        rows = zip(steps, units, strict=True)
        return HEAD + "".join(section(f"s{i}", UNITS[u](16 + d), UNITS[u](n)) for i, ((d, n), u) in enumerate(rows))

    mixed = [data.draw(st.sampled_from(sorted(UNITS))) for _ in steps]
    metric, other = read_text(write(["mm"] * len(steps))), read_text(write(mixed))
    for a, b in zip(metric.sections, other.sections, strict=True):
        assert (a.start, a.end, a.diameter_a, a.length) == (b.start, b.end, b.diameter_a, b.length)
    assert metric.thickest == other.thickest == len(left)
    assert metric.length == pytest.approx(sum(n for _, n in steps) * 25.4 / 64, rel=1e-15)


@settings(deadline=None)
@given(STEPS, STEPS)
def test_turned_end_for_end_a_part_is_its_own_mirror(left, right):
    steps = [*sorted(left), (50, 64), *sorted(right, reverse=True)]
    rows = [section(f"s{i}", f"{d} mm", f"{n} mm") for i, (d, n) in enumerate(steps)]
    part, mirror = read_text(HEAD + "".join(rows)), read_text(HEAD + "".join(reversed(rows)))
    for a, b in zip(part.sections, reversed(mirror.sections), strict=True):
        assert (a.name, a.start, a.end) == (b.name, part.length - b.end, part.length - b.start)
        assert (a.corner_a, a.corner_b, a.edge_a, a.edge_b) == (b.corner_b, b.corner_a, b.edge_b, b.edge_a)


@settings(deadline=None)
@given(STEPS, STEPS, st.data())
def test_a_length_left_out_is_found_again(left, right, data):
    steps = [*sorted(left), (50, 64), *sorted(right, reverse=True)]
    total = sum(n for _, n in steps)
    out = data.draw(st.integers(0, len(steps) - 1))
    rows = [section(f"s{i}", f"{d} mm", f"{n} mm") for i, (d, n) in enumerate(steps)]
    rows[out] = "\n".join(row for row in rows[out].split("\n") if not row.startswith("length"))
    part = read_text(f'length = "{total} mm"\n' + HEAD + "".join(rows))
    assert part.length == total
    assert part.sections[out].length == steps[out][1]


@settings(deadline=None)
@given(st.permutations([(d, 10) for d in (10, 20, 30, 40)]))
def test_only_a_part_that_grows_to_its_thickest_can_be_turned(steps):
    sizes = [d for d, _ in steps]
    peak = sizes.index(40)
    fine = sizes[: peak + 1] == sorted(sizes[: peak + 1]) and sizes[peak:] == sorted(sizes[peak:], reverse=True)
    text = HEAD + "".join(section(f"s{i}", f"{d} mm", f"{n} mm") for i, (d, n) in enumerate(steps))
    if fine:
        assert len(read_text(text).sections) == 4
        return
    with pytest.raises(ProblemError) as caught:
        read_text(text)
    assert all("no turning tool reaches" in problem.what for problem in caught.value.problems)
    hidden = {problem.where.line for problem in caught.value.problems}
    lines = {d: 13 + 5 * i for i, d in enumerate(sizes)}
    assert hidden == {
        lines[d]
        for i, d in enumerate(sizes)
        if (i < peak and max(sizes[: i + 1]) > d) or (i > peak and max(sizes[i:]) > d)
    }


def test_every_check_can_fail():
    fired = set()
    for path in BAD:
        try:
            source = read_source(path)
        except ProblemError:
            continue
        part = _read(Table(source, []))
        fired |= {check.__name__ for check in CHECKS if part is not None and any(check(part))}
    assert fired == {check.__name__ for check in CHECKS}


# Schema -----------------------------------------------------------------------------------------------


def test_the_schema_is_one():
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", [*SAMPLES, HERE.parent / "templates" / "new-part.toml"], ids=lambda path: path.name)
def test_the_schema_takes_the_samples(path):
    errors = Draft202012Validator(SCHEMA).iter_errors(tomllib.loads(path.read_text(encoding="utf-8")))
    assert [error.message for error in errors] == []


SEEN_BY_SCHEMA = [
    *("bare_number", "centre_at_a_free_end", "collet_named_between_centres", "corner_sharp"),
    *("edge_unreadable", "end_missing", "facing_missing", "finish_in_the_wrong_order"),
    *("half_a_taper", "holding_missing", "key_in_the_wrong_table", "limits_without_unit"),
    *("method_misspelt", "no_sections", "not_a_number", "role_misspelt"),
    *("section_called_stock", "section_without_name", "extra_length_missing", "tail_centre_missing"),
    *("taper_and_cylinder", "unknown_key", "unknown_table"),
    *("end_shake_missing", "end_shake_without_aim", "loose_part_without_uncertainty", "measurement_taken_too_late"),
    *("measurement_twice_given", "measurement_without_uncertainty", "symbol_of_a_hole"),
    *("square_of_five_flats", "square_without_taper", "square_without_tolerance", "square_said_twice"),
    *("square_taper_of_nothing_said", "square_broken_without_size", "square_round_with_broken"),
    *("cross_hole_of_thread_and_diameter", "cross_hole_through_with_depth", "cross_hole_plain_with_lead"),
    *("cross_hole_of_no_kind",),
]


@pytest.mark.parametrize("name", SEEN_BY_SCHEMA)
def test_the_schema_sees_faults_of_form(name):
    text = (HERE / "bad" / "part" / f"{name}.toml").read_text(encoding="utf-8")
    assert list(Draft202012Validator(SCHEMA).iter_errors(tomllib.loads(text)))


def keys_read() -> dict[str, set[str]]:
    """Every key that the reader knows, by the table's place in the schema."""
    found: dict[str, set[str]] = {}
    for path in SAMPLES:
        problems: list[Problem] = []
        root = Table(read_source(path), problems)
        read_measuring(root, _read(root).sections)
        for table in root._family():
            name = ".".join(str(key) for key in table.path if isinstance(key, str))
            found.setdefault(name, set()).update(table.asked)
    return found


def test_reader_and_schema_know_the_same_keys():
    read, known = keys_read(), {place: set(node["properties"]) for place, node in tables_in(SCHEMA)}
    assert read == {place: known[place] for place in read}


def test_every_key_is_described():
    for make in KEPT.values():
        for place, table in tables_in(make()):
            assert not [f"{place}.{key}" for key, node in table["properties"].items() if not node.get("description")]


def test_the_reference_has_every_key_of_both_files():
    for make in KEPT.values():
        text = reference(make())
        for place, table in tables_in(make()):
            own = text.partition(f"[{place}]" if place else "at the top of the file")[2].partition("\n\n")[0]
            plain = [key for key, node in table["properties"].items() if "properties" not in str(node)]
            assert [key for key in plain if f"\n  {key}  " not in own] == []


def test_the_reference_says_the_bounds_of_every_key():
    bare = [
        f"{place}.{key}"
        for make in KEPT.values()
        for place, table in tables_in(make())
        for key, node in table["properties"].items()
        if re.search(r"/(quantity|size|pair|angle|force|torque|power|time|stress)$", node.get("$ref", ""))
        and not node.get("bounds")
    ]
    assert bare == ["mill.vice.jaws_beyond_block"]  # of either sign, and no size is too much for it
    said = " ".join(reference(shop_schema()).split())
    for words in (
        "nose_radius Of the tip; of each corner of a grooving tool. Turning: more than 0 mm, at most 10 mm; "
        "grooving, threading: at least 0 mm, at most 10 mm. For example",
        "at most 130 deg; threading: at least 30 deg, at most 90 deg. For example",
        "it can face outward. At least 45 deg, at most 150 deg. For example",
        "a threading tool's blade above its vee. More than 0 mm, at most 50 mm. For example",
        'At most 40 characters. For example "right-hand knife".',
        "number T word, 1 to 9; one tool each. name",
    ):
        assert words in said


# Starter ----------------------------------------------------------------------------------------------


def test_the_starter_is_a_part_as_it_stands():
    part = read_text(starter_text("moon arm"))
    assert (part.name, part.length, len(part.sections)) == ("moon arm", 60.0, 5)
    text = starter_text("moon arm")
    assert text.startswith("#:schema file://")
    assert text.isascii() or "±" in text
    words = [role for role in ROLES if role in text]
    assert words == list(ROLES)


def test_the_starter_plans_as_it_stands():
    plan = plan_job(read_text(starter_text("moon arm")), read_shop(FOLDER / "shop.toml"))
    assert [setting.setting.end for setting in plan.settings] == ["A", "B"]
    assert plan.warnings == ()


def test_the_starter_tells_of_every_key():
    text = starter_text("x")
    for keys in keys_read().values():
        assert [key for key in sorted(keys) if key not in text] == []


@pytest.mark.slow
@settings(deadline=None)
@given(st.text())
def test_the_starter_takes_any_name(name):
    wanted = " ".join(name.split())[:200].strip() or "new part"
    assert read_text(starter_text(name)).name == wanted


@pytest.mark.parametrize("name", ['x) M3 S9000 ("', "a\n[[section]]", "NAME", "\\", "\ud800", "\x00\x7f", "x" * 500])
def test_a_hostile_name_stays_a_name(name):
    part = read_text(starter_text(name))
    assert part.name == name.replace("\ud800", "?").replace("\n", " ")[:200]
    assert len(part.sections) == 5
