"""Half-profiles as DXF drawings: exact, sound by ezdxf's own auditor, and the same part again when read."""

from __future__ import annotations

import contextlib
import io
import math
import random
import re
import tempfile
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from hypothesis import given, settings

from cam.begin import SaidOfPart, open_keys
from cam.begin.compose import compose
from cam.begin.draft import draft_text
from cam.dxf.faithful import strays
from cam.dxf.order import put_in_order
from cam.dxf.read import read_sketch
from cam.dxf.sections import Found, find_sections
from cam.dxf.write import AXIS, NAMES, OUTLINE, UP_TO, draw_dxf
from cam.geometry.path import Arc, Chain, flatten
from cam.ground.problem import ProblemError
from cam.lengths import read_part
from cam.part.model import Part
from cam.setting import settle
from cam.setting.finished import half_profile
from tests.specimens import crank_pin, drum_arbor, moon_carriage_spindle, part_from, part_texts

SAMPLES = [drum_arbor, moon_carriage_spindle, crank_pin]
SAME = 1e-6
"""What a round trip may move, mm."""


def open_dxf(data: bytes) -> Any:
    return ezdxf.read(io.StringIO(data.decode()))


def found_in(data: bytes, **how: Any) -> tuple[tuple[Found, ...], tuple[str, ...]]:
    """Sections and notes of a drawing's bytes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.dxf"
        path.write_bytes(data)
        sketch = read_sketch(str(path), **how)
    chain, notes = put_in_order(sketch)
    return find_sections(sketch, chain), (*sketch.notes, *notes)


def recognised(data: bytes) -> tuple[tuple[Found, ...], Any]:
    """Sections, and the strokes in order that they come from."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.dxf"
        path.write_bytes(data)
        sketch = read_sketch(str(path))
    chain, _ = put_in_order(sketch)
    return find_sections(sketch, chain), chain


def draw(build: Callable[[Any], object], units: int = 4) -> bytes:
    """A drawing made by ezdxf alone."""
    document = ezdxf.new("R2010", setup=["linetypes"])
    document.header["$INSUNITS"] = units
    document.layers.add("axis", linetype="CENTER")
    build(document.modelspace())
    stream = io.StringIO()
    document.write(stream)
    return document.encode(stream.getvalue())


def problems_of(data: bytes, **how: Any) -> str:
    with pytest.raises(ProblemError) as found:
        found_in(data, **how)
    return str(found.value)


def step(space: Any, *corners: tuple[float, float], **more: Any) -> None:
    """Lines through corners."""
    for a, b in pairwise(corners):
        space.add_line(a, b, more)


STEPPED = [(0, 0), (0, 2), (6, 2), (6, 4), (20, 4), (20, 0)]


def plain(space: Any) -> None:
    step(space, *STEPPED)


# Written ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sample", SAMPLES)
def test_a_drawing_is_sound_and_says_its_unit(sample: Callable[[], tuple[Part, object]]) -> None:
    part, _ = sample()
    document = open_dxf(draw_dxf(part))
    auditor = document.audit()
    assert (auditor.errors, auditor.fixes) == ([], [])
    assert document.header["$INSUNITS"] == (1 if part.unit == "in" else 4)
    on = {entity.dxf.layer for entity in document.modelspace()}
    assert on <= {OUTLINE, UP_TO, AXIS, NAMES}
    assert [t.dxf.text for t in document.modelspace().query("TEXT")] == [s.name for s in part.sections]


def test_the_same_part_gives_the_same_bytes() -> None:
    part, _ = drum_arbor()
    assert draw_dxf(part) == draw_dxf(part)
    assert not ezdxf.options.write_fixed_meta_data_for_testing


@pytest.mark.parametrize("sample", SAMPLES)
def test_ezdxf_and_shapely_see_the_outline_that_we_mean(sample: Callable[[], tuple[Part, object]]) -> None:
    """Area of the half-section: entities flattened by ezdxf, joined by shapely, against the outline flattened here."""
    part, _ = sample()
    scale = 25.4 if part.unit == "in" else 1.0
    space = open_dxf(draw_dxf(part)).modelspace()
    lines = []
    for entity in space.query("LINE ARC"):
        if entity.dxf.layer != AXIS:
            points = entity.flattening(1e-5) if entity.dxftype() == "ARC" else (entity.dxf.start, entity.dxf.end)
            lines.append(shapely.LineString([(round(p.x * scale, 7), round(p.y * scale, 7)) for p in points]))
    outline = shapely.line_merge(shapely.union_all(lines))
    assert outline.geom_type == "LineString"
    ours = [p for piece in half_profile(part) for p in flatten(piece, 1e-5)]
    assert shapely.Polygon(outline.coords).area == pytest.approx(shapely.Polygon(ours).area, abs=1e-3)


def test_what_waits_for_a_measurement_cannot_be_drawn() -> None:
    with pytest.raises(ProblemError, match=r"length of section .* is not known yet(.|\n)*between plates"):
        draw_dxf(read_part(Path(__file__).parent.parent / "samples" / "orrery-drum-arbor.toml"))


TURNED = """
name = "pin"
corners = "fillet 0.25 mm"
edges = "chamfer 0.3 mm"
finish = "turn"
stock = { material = "silver steel", diameter = "14 mm", length = "60 mm" }
[holding]
method = "between centres"
end_a = { tail_centre = "dead centre", extra_length = "0 mm" }
end_b = { tail_centre = "dead centre", extra_length = "0 mm" }
[[section]]
name = "front"
role = "seat"
diameter = "6 mm"
length = "9 mm"
edge_a = "radius 0.5 mm"
[[section]]
name = "cone"
role = "plain"
diameter_a = "8 mm"
diameter_b = "9 mm"
length = "8 mm"
[[section]]
name = "body"
role = "body"
diameter = "12 mm"
length = "20 mm"
[[section]]
name = "back"
role = "seat"
diameter = "7 mm"
length = "10 mm"
"""
"""A part whose turning leaves what is drawn: no limits, nothing left for hand work, exact fillets."""


def test_the_outline_is_what_the_settings_leave() -> None:
    """Two ways to one outline: the settings' own, in their axes and from stock, and the drawing of the part."""
    part = part_from(TURNED)
    _, shop = drum_arbor()
    last = settle(part, shop)[-1]
    left = [(last.to_part(p.z), p.x) for piece in last.most for p in flatten(piece, 1e-6)]
    drawn = [p for piece in half_profile(part) for p in flatten(piece, 1e-6)]
    assert shapely.Polygon(left).symmetric_difference(shapely.Polygon(drawn)).area < 1e-3


# There and back ---------------------------------------------------------------------------------------


def again(part: Part) -> Part:
    """The part drawn, read, begun anew from that with its own roles, and read as a part file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.dxf"
        path.write_bytes(draw_dxf(part))
        held = part.holding.method != "between centres"
        more = {"bearing": "400 mm"}
        said = SaidOfPart(
            name="again", drawing=str(path), shop="shop.toml", material=part.stock.material, stock_length="2900 mm",
            stock_diameter=f"{part.stock.diameter!r} mm", holding=part.holding.method, tail_centre="any",
            extra_length="0 mm",
            chuck="any", free_end=(part.holding.first or "A") if held else "", stick_out=f"{part.length!r} mm",
            facing="1 mm",
            sections=tuple(
                ", ".join([s.name, s.role, *(f"{k} {v}" for k, v in more.items() if s.role == "square blank"),
                           f"finish {'as stock' if s.as_stock else 'turn'}"])
                for s in part.sections
            ),
        )  # fmt: skip
        draft, _ = compose(said, None, "shop.toml")
    for section in draft.sections:
        section.pop("tolerance", None)
    assert not open_keys(draft)
    return part_from(draft_text(draft, "x"))


def assert_same_outline(one: Chain, other: Chain) -> None:
    assert len(one) == len(other)
    for a, b in zip(one, other, strict=True):
        assert type(a) is type(b)
        assert math.dist(a.start, b.start) < SAME
        assert math.dist(a.end, b.end) < SAME
        if isinstance(a, Arc) and isinstance(b, Arc):
            assert a.turn == b.turn
            assert math.dist(a.centre, b.centre) < 10 * SAME


@pytest.mark.parametrize("sample", SAMPLES)
def test_a_sample_comes_back_the_same(sample: Callable[[], tuple[Part, object]]) -> None:
    part, _ = sample()
    back = again(part)
    assert_same_outline(half_profile(part), half_profile(back))
    for one, other in zip(part.sections, back.sections, strict=True):
        assert one.name == other.name
        for a, b in ((one.corner_a, other.corner_a), (one.corner_b, other.corner_b)):
            assert (a and a.kind) == (b and b.kind)
    assert back.unit == part.unit


@given(part_texts())
@settings(max_examples=25, deadline=None)
def test_any_part_comes_back_the_same(text: str) -> None:
    part = part_from(text)
    assert_same_outline(half_profile(part), half_profile(again(part)))


@given(part_texts())
@settings(max_examples=10, deadline=None)
def test_sections_of_a_clean_drawing_stray_from_it_by_nothing(text: str) -> None:
    found, chain = recognised(draw_dxf(part_from(text)))
    assert strays(found, chain)[0] < SAME


def test_a_chamfer_that_is_not_quite_at_45_degrees_is_said_to_stray() -> None:
    corners = [(0, 0), (0, 1.5), (0.5, 2.00009), (6, 2.00009), (6, 4), (20, 4), (20, 0)]
    found, chain = recognised(draw(lambda s: step(s, *corners)))
    assert found[0].edge_a[0] == "chamfer"
    assert 2e-5 < strays(found, chain)[0] < 1e-4


# Drawn by others ----------------------------------------------------------------------------------------


def test_a_plain_outline_is_sections() -> None:
    found, notes = found_in(draw(plain))
    assert [(f.name, f.diameter_a, f.diameter_b, f.length) for f in found] == [
        ("section 1", 4, 4, 6),
        ("section 2", 8, 8, 14),
    ]
    assert [f.corner_b[0] for f in found] == ["sharp", ""]
    assert any("no centre line is drawn: turned about Y = 0" in note for note in notes)


def polyline(space: Any) -> None:
    """The same as one polyline with a bulge of a quarter turn for the fillet: tan of a quarter of its angle."""
    quarter = math.tan(math.pi / 8)
    rows = [(0, 0, 0), (0, 2, 0), (5.5, 2, quarter), (6, 2.5, 0), (6, 4, 0), (20, 4, 0), (20, 0, 0)]
    space.add_lwpolyline(rows, format="xyb")


def test_a_polyline_with_a_bulge_is_lines_and_a_fillet() -> None:
    found, _ = found_in(draw(polyline))
    assert found[0].corner_b == ("fillet", pytest.approx(0.5, abs=1e-9), 0.0)


def turned_about(space: Any) -> None:
    """Upright, far from the origin, below its centre line, in no order, half of it drawn backwards."""
    lines = [(STEPPED[k], STEPPED[k + 1]) for k in range(len(STEPPED) - 1)]
    for k, (a, b) in enumerate(reversed(lines)):
        ends = [(50 + x, 30 + z) for z, x in ((a, b) if k % 2 else (b, a))]
        space.add_line(*ends)
    space.add_line((50, 20), (50, 60), {"layer": "axis"})


def test_a_drawing_may_stand_anywhere() -> None:
    found, notes = found_in(draw(turned_about))
    assert [(round(f.diameter_a, 9), round(f.length, 9)) for f in found] == [(4, 6), (8, 14)]
    assert any("the A end is the lower one" in note for note in notes)


def test_inches_are_read_and_written_as_inches() -> None:
    found, notes = found_in(draw(plain, units=1))
    assert found[0].diameter_a == pytest.approx(4 * 25.4)
    assert "drawn in inches, as its header says ($INSUNITS 1)" in notes


def test_a_drawing_without_a_unit_is_asked_for_one() -> None:
    assert "does not say in which unit" in problems_of(draw(plain, units=0))
    assert found_in(draw(plain, units=0), units="in")[0][0].length == pytest.approx(6 * 25.4)


def test_what_you_say_of_the_unit_goes_before_the_header_and_is_noted() -> None:
    found, notes = found_in(draw(plain, units=1), units="mm")
    assert found[0].length == pytest.approx(6)
    assert any("read in mm as you say, though the drawing's header says otherwise" in note for note in notes)


def crowded(space: Any) -> None:
    plain(space)
    space.add_spline([(0, 9), (3, 10), (6, 9)])
    space.add_ellipse((10, 12), (2, 0), 0.5)
    space.add_circle((30, 12), 2)
    space.add_line((0, 0, 5), (1, 1, 6))
    space.add_text("scrap", dxfattribs={"insert": (1, 1)})


def test_all_that_cannot_be_used_is_named_at_once_with_handle_and_place() -> None:
    said = problems_of(draw(crowded))
    handles = {e.dxftype(): e.dxf.handle for e in open_dxf(draw(crowded)).modelspace()}
    for kind, place in (
        ("SPLINE", ""),
        ("ELLIPSE", " at (10, 12)"),
        ("CIRCLE", " at (30, 12)"),
        ("LINE", " at (0, 0)"),
    ):
        assert f"{kind} {handles[kind]}{place}" in said
    assert said.count("cannot be used") == 4
    assert "TEXT" not in said


def test_another_layer_is_left_out_when_one_is_named() -> None:
    def layered(space: Any) -> None:
        step(space, *STEPPED, layer="turned")
        space.add_spline([(0, 9), (3, 10), (6, 9)])

    found, notes = found_in(draw(layered), layer="TURNED")
    assert len(found) == 2
    assert any("1 entities on other layers left out" in note for note in notes)
    assert 'there is no line or arc on layer "bore"' in problems_of(draw(layered), layer="bore")


def axis(space: Any, *ends: tuple[float, float]) -> None:
    space.add_line(*ends, {"layer": "axis"})


def ball(space: Any) -> None:
    """A ball on a pin thinner than itself."""
    r = 5 * math.sin(math.pi / 3)
    space.add_arc((0, 0), 5, 120, 180)
    step(space, (-2.5, r), (20, r), (20, 0))


def barrel(space: Any) -> None:
    step(space, (0, 0), (0, 3))
    angles = [math.degrees(math.atan2(23, half)) for half in (10, -10)]
    space.add_arc((10, -20), math.hypot(10, 23), *angles)
    step(space, (20, 3), (20, 0))


BAD: dict[str, tuple[Callable[[Any], object], str]] = {
    "a gap": (lambda s: (step(s, *STEPPED[:3]), step(s, (6.02, 2), *STEPPED[3:])), "the outline has a gap of 0.02 mm"),
    "a branch": (lambda s: (plain(s), s.add_line((6, 2), (6, 0))), "3 strokes meet where an outline has two"),
    "a stray": (lambda s: (plain(s), step(s, (30, 1), (31, 2), (31, 4))), "2 strokes do not hang together"),
    "both halves": (
        lambda s: (plain(s), step(s, *[(z, -x) for z, x in STEPPED]), axis(s, (-1, 0), (21, 0))),
        "on both sides of the centre line",
    ),
    "a ring": (
        lambda s: (step(s, (0, 5), (0, 8), (9, 8), (9, 5), (0, 5)), axis(s, (0, 0), (9, 0))),
        "a bore cannot be turned here",
    ),
    "an undercut": (lambda s: step(s, (0, 0), (0, 3), (6, 3), (5, 4), (20, 4), (20, 0)), "runs back toward the A end"),
    "a ball": (ball, "neither a fillet nor a rounded edge"),
    "a point": (lambda s: step(s, (0, 0), (6, 2), (20, 2), (20, 0)), "comes to a point on the centre line"),
    "no axis": (lambda s: step(s, (0, 1), (0, 3), (9, 3), (9, 1)), "there is no centre line"),
    "two axes": (
        lambda s: (plain(s), axis(s, (0, 0), (9, 0)), axis(s, (3, -5), (3, 5))),
        "several centre lines do not lie on one line",
    ),
    "nothing": (lambda s: s.add_text("empty"), "there is no line or arc"),
    "a barrel": (barrel, "no cylinder and no taper"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_drawing_says_what_is_wrong_with_it(name: str) -> None:
    build, words = BAD[name]
    said = problems_of(draw(build))
    assert words in said


@pytest.mark.parametrize(
    "data", [b"", b"not a drawing", b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\nfar\n", b"\0" * 400]
)
def test_a_file_that_is_no_drawing_is_a_problem(data: bytes) -> None:
    said = problems_of(data)
    assert "is not a DXF drawing that can be read" in said or "no line or arc" in said


def test_a_number_that_is_none_is_refused_and_not_guessed_at() -> None:
    text = draw(plain).decode()
    assert text.count("\n20.0\n") > 1
    said = problems_of(text.replace("\n20.0\n", "\n2O.0\n", 1).encode())
    assert "is not a DXF drawing that can be read" in said


def test_what_the_auditor_fixes_is_said() -> None:
    def of_no_type(space: Any) -> None:
        plain(space)
        space.add_line((0, 0), (20, 0), {"linetype": "NOWHERE"})

    _, notes = found_in(draw(of_no_type))
    assert any("fixed on reading" in note for note in notes)


def of_every_kind(space: Any) -> None:
    """Entities of many kinds, most of which an outline does not have."""
    plain(space)
    block = space.doc.blocks.new("B")
    block.add_line((0, 0), (1, 1))
    space.add_blockref("B", (3, 3)).add_attrib("T", "x", (1, 1))
    space.add_lwpolyline([(0, 9), (3, 9, 0.2, 0.2, 0.4), (5, 9)], format="xyseb")
    space.add_polyline2d([(0, 9), (1, 9)])
    space.add_attdef("T", (0, 0), "x")
    space.add_text("pivot", dxfattribs={"layer": NAMES, "insert": (3, 3)})
    space.add_spline([(0, 9), (3, 10), (6, 9)])
    space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1)])


WRONG = (
    *("", "0", "-1", "x", "inf", "-inf", "nan", "1e308", "-1e308", "1e999", "9" * 20, "\u202e", "x" * 300),
    *("LINE", "ARC", "LWPOLYLINE", "POLYLINE", "TEXT", "INSERT", "LAYER", "ENTITIES", AXIS, NAMES, OUTLINE),
)
"""What stands in place of a value of a damaged drawing."""
CODES = [str(code) for code in (0, 1, 2, 5, 6, 8, 10, 20, 30, 40, 42, 62, 70, 100, 210, 230, 330, -1, 9999)]


def damage(rows: list[str], chance: random.Random) -> None:
    """Change, drop, double or add a pair of a drawing's lines, mostly where the layers and what is drawn stand."""
    layers, drawn = (next(i for i, row in enumerate(rows) if row.strip() == word) for word in ("LAYER", "ENTITIES"))
    low, high = chance.choice([(0, len(rows)), (layers, layers + 200), *[(drawn, len(rows))] * 3])
    at = min(chance.randrange(low // 2, high // 2), len(rows) // 2 - 1) * 2
    how = chance.randrange(5)
    if how == 0:
        del rows[at : at + 2]
    elif how == 1:
        rows[at] = chance.choice(CODES)
    elif how == 2:
        rows[at:at] = [chance.choice(CODES), chance.choice(WRONG)]
    elif how == 3:
        other = chance.randrange(drawn // 2, len(rows) // 2) * 2
        rows[at:at] = rows[other : other + chance.choice([2, 10, 40])]
    else:
        rows[at + 1] = chance.choice(WRONG)


def check_damaged(seed: int, count: int) -> None:
    """So many damaged drawings each come to sections or to problems, and to nothing else."""
    chance = random.Random(seed)
    parts = (crank_pin()[0], moon_carriage_spindle()[0])
    whole = [*(draw_dxf(part).decode() for part in parts), draw(of_every_kind).decode()]
    for _ in range(count):
        rows = chance.choice(whole).split("\n")
        for _ in range(chance.choice([1, 1, 2, 5])):
            damage(rows, chance)
        with contextlib.suppress(ProblemError):
            found_in("\n".join(rows).encode(), units=chance.choice([None, "mm", "in"]))


def test_a_damaged_drawing_never_falls_over() -> None:
    check_damaged(1, 60)


@pytest.mark.slow
def test_four_hundred_damaged_drawings_never_fall_over() -> None:
    check_damaged(2, 400)


@pytest.mark.parametrize("number", ["inf", "-inf", "1e308", "-1e308", "1e999", "nan"])
@pytest.mark.parametrize("code", ["10", "20", "11", "21"])
def test_a_place_that_is_no_number_or_far_away_is_named(code: str, number: str) -> None:
    rows = draw(plain).decode().split("\n")
    line = next(i for i, row in enumerate(rows) if row == "LINE" and AXIS not in rows[i : i + 20])
    at = next(i for i in range(line, len(rows)) if rows[i].strip() == code)
    rows[at + 1] = number
    said = problems_of("\n".join(rows).encode())
    assert re.search("LINE .*cannot be used|is not a DXF drawing|drawing is damaged", said)


def test_a_kind_without_a_layer_is_named_as_what_it_is() -> None:
    """An entity of a kind that nobody knows has no attributes that could be asked for."""
    text = draw(plain).decode().replace("\nLINE\n", "\nMYSTERY\n", 1)
    assert "MYSTERY" in problems_of(text.encode())


def test_a_crowded_drawing_is_refused_before_it_is_looked_at_for_minutes() -> None:
    def zigzag(space: Any) -> None:
        plain(space)
        for k in range(700):
            space.add_line((k, 5 + k % 2), (k + 1, 5 + (k + 1) % 2))

    assert "too crowded" in problems_of(draw(zigzag))
