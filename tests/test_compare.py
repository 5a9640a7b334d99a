"""Two plans or programs side by side: what differs is said and drawn, what is alike is not."""

from __future__ import annotations

import json
import math
import operator
import random
import re
import shutil
from collections.abc import Iterator
from functools import reduce
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import cam.job.record
from cam.compare import read_side, sides
from cam.compare.sides import read_outline
from cam.geometry.differ import SEEN, find_zones, radius_at
from cam.geometry.path import Arc, Chain, Line, Point, flatten, shift
from cam.ground.files import seal_record
from cam.ground.problem import ProblemError
from cam.job import choose_dialect, judge_plan
from cam.job.record import outline_data
from cam.plan import plan_job
from cam.setting.finished import half_profile
from tests.specimens import drum_arbor, part_from, part_texts, record_samples
from tests.test_cli import run

ROOT = Path(__file__).parent.parent
PIN = "samples/crank-pin.toml"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    record_samples(tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def changed(*edits: tuple[str, str], name: str = "samples/other.toml") -> str:
    """The crank pin with edits, each of which must have its place."""
    text = Path(PIN).read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    Path(name).write_text(text, encoding="utf-8")
    return name


def rows_of(a: str, b: str, *more: str) -> list[tuple[str, str, str | None, str | None]]:
    answer = run("compare", a, b, *more, "--json")
    assert answer.status == 0, answer.err
    data = json.loads(answer.out)
    assert data["alike"] is (not data["changes"])
    return [(c["topic"], c["what"], c["a"], c["b"]) for c in data["changes"]]


# Alike ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["crank-pin", "moon-carriage-spindle", "orrery-drum-arbor"])
def test_a_folder_is_like_the_part_that_made_it(name: str, here: Path) -> None:
    part = f"samples/{name}.toml"
    assert run("make", part, "--out", "made").status == 0
    answer = run("compare", "made", part)
    assert (answer.status, answer.out) == (0, f"alike: made and {part}\n")


def test_what_changes_nothing_is_not_said(here: Path) -> None:
    other = changed(("# The pin that", "# That pin which"), ('"3 mm"', '"3000 um"'))
    assert rows_of(PIN, other) == []


# Different --------------------------------------------------------------------------------------------


def test_a_name_alone_is_one_row(here: Path) -> None:
    assert rows_of(PIN, changed(('"crank pin"', '"handle pin"'))) == [("part", "name", "crank pin", "handle pin")]


def test_a_size_is_said_with_all_that_follows_and_nothing_else(here: Path) -> None:
    rows = rows_of(PIN, changed(('diameter = "3 mm"', 'diameter = "3.1 mm"')))
    assert ("part", "handle pivot: diameter", "3 mm", "3.1 mm") in rows
    assert (
        "setting 1, passes",
        "pass 10, finish handle pivot: stop, diameter of handle pivot",
        "2.99 mm",
        "3.09 mm",
    ) in rows
    metal = [row for row in rows if row[0] == "setting 1, metal"]
    assert metal == [("setting 1, metal", "handle pivot, 0 mm to 5 mm from the A end: diameter", "2.99 mm", "3.09 mm")]
    assert not [row for row in rows if "arm seat" in row[1] or "head" in row[1]]


EDITS = {
    "limits": (('"-0.01 / -0.03 mm"', '"-0.02 / -0.04 mm"'), ("part", "handle pivot: limits", "-0.01 mm / -0.03 mm",
                                                              "-0.02 mm / -0.04 mm")),
    "role": (('role = "seat"', 'role = "plain"'), ("part", "arm seat: role", "seat", "plain")),
    "edge": (('edge_a = "radius 0.3 mm"', 'edge_a = "chamfer 0.3 mm"'),
             ("part", "handle pivot: edge at its A end", "radius 0.3 mm", "chamfer 0.3 mm")),
    "corner": (('corners = "fillet up to 0.2 mm"', 'corners = "fillet up to 0.3 mm"'),
               ("part", "arm seat: corner at its B end", "fillet up to 0.2 mm", "fillet up to 0.3 mm")),
    "finish": (('"turn, burnish"', '"turn, stone"'), ("part", "handle pivot: finish", "turn, burnish", "turn, stone")),
    "material": (('"silver steel"', '"brass"'), ("part", "material", "silver steel", "brass")),
    "stock": (('length = "36 mm"', 'length = "37 mm"'), ("part", "stock: length", "36 mm", "37 mm")),
    "a shoulder": (('length = "8 mm"', 'length = "8.005 mm"'),
                   ("setting 1, metal", "shoulder between arm seat and head: face from the A end", "13 mm",
                    "13.005 mm")),
}  # fmt: skip


@pytest.mark.parametrize("name", EDITS)
def test_each_thing_that_differs_has_its_row(name: str, here: Path) -> None:
    edit, row = EDITS[name]
    assert row in rows_of(PIN, changed(edit))


def test_every_key_of_a_record_has_its_rows(here: Path) -> None:
    """What has no rows of its own is compared leaf by leaf: a new key cannot be forgotten."""
    assert run("make", "samples/drum-hook.toml", "--out", "made").status == 0
    record = json.loads(Path("made/plan.json").read_text())
    apart = {
        "format",
        "format_version",
        "endshake",
        "part",
        "shop",
        "programs",
        "closest",
        "settings",
        "warnings",
        "files",
    }
    for key in {*record} - apart:
        other = {**record, key: "something else"}
        Path("other").mkdir(exist_ok=True)
        Path("other/plan.json").write_bytes(seal_record(other, {}))
        assert key in {row[0] for row in rows_of("made", "other")}
    record["settings"][0]["times"]["belt_changes"] += 1
    Path("other/plan.json").write_bytes(seal_record(record, {}))
    assert [row[:2] for row in rows_of("made", "other")] == [("setting 1", "belt changes")]


def test_a_section_more_is_said_on_its_side(here: Path) -> None:
    ring = '[[section]]\nname = "ring"\nrole = "seat"\ndiameter = "4 mm"\nlength = "1 mm"\nfinish = "turn"\n\n'
    seat = '[[section]]\nname = "arm seat"'
    other = changed((seat, ring + seat), ('"17 mm"', '"18 mm"'), ('"36 mm"', '"37 mm"'))
    rows = rows_of(PIN, other)
    assert ("part", "section ring", None, "seat, 4 mm, 1 mm long") in rows
    assert any(topic == "setting 1, passes" and what == "how many" for topic, what, _, _ in rows)
    text = run("compare", PIN, other).out
    assert "\n  only B: section ring: seat, 4 mm, 1 mm long\n" in text


def test_another_way_round_says_the_same_the_other_way(here: Path) -> None:
    other = changed(('diameter = "3 mm"', 'diameter = "2.9 mm"'), ('length = "8 mm"', 'length = "8.2 mm"'))
    there = {(topic, what, a, b) for topic, what, a, b in rows_of(PIN, other)}
    back = {(topic, what, b, a) for topic, what, a, b in rows_of(other, PIN)}
    assert {row for row in there if "->" not in row[1]} == {row for row in back if "->" not in row[1]}


def test_a_setting_that_waited_is_said_to_be_planned_now(here: Path) -> None:
    Path("samples/orrery-drum-arbor.log").unlink()
    assert run("make", "samples/orrery-drum-arbor.toml", "--out", "made").status == 0
    record_samples(Path("samples"))
    rows = rows_of("made", "samples/orrery-drum-arbor.toml")
    assert ("setting 2", "planned", "no", "yes") in rows
    assert ("part", "back seat: length", "to be measured", "6.5 mm") in rows
    assert not [row for row in rows if row[0].startswith("setting 1")]


# Programs ---------------------------------------------------------------------------------------------


def test_a_program_edited_by_hand_is_compared_by_what_it_does(here: Path) -> None:
    run("make", PIN, "--out", "made")
    text = Path("made/setting-1.ngc").read_text()
    found = list(re.finditer(r"X1\.495\b", text))
    assert found
    Path("edited.ngc").write_text(text.replace("X1.495", "X1.395"))
    rows = rows_of("made/setting-1.ngc", "edited.ngc", "--part", PIN, "--setting", "1")
    by_topic = {row[0] for row in rows}
    assert {"setting 1, findings", "setting 1, metal", "text"} <= by_topic
    assert any(row[1].startswith("handle pivot, ") and row[2] == "2.99 mm" and row[3] == "2.79 mm" for row in rows)
    assert all(b is not None and a is None for topic, _, a, b in rows if topic == "setting 1, findings")
    assert ("text", "lines that differ") in {row[:2] for row in rows}


def test_a_program_is_like_itself(here: Path) -> None:
    run("make", PIN, "--out", "made")
    shutil.copy("made/setting-1.ngc", "same.ngc")
    assert rows_of("made/setting-1.ngc", "same.ngc", "--part", PIN, "--setting", "1") == []


def test_programs_of_the_mill_are_compared_too(here: Path) -> None:
    run("make", "samples/orrery-drum-arbor.toml", "--out", "made")
    text = Path("made/square.ngc").read_text()
    feeds = re.findall(r"F\d[\d.]*", text)
    Path("edited.ngc").write_text(text.replace(feeds[-1], "F9"))
    rows = rows_of("made/square.ngc", "edited.ngc", "--part", "samples/orrery-drum-arbor.toml", "--mill", "square")
    assert any((topic, what) == ("mill", "square checked cutting") and a.endswith(" s") for topic, what, a, _ in rows)


def test_what_differs_on_the_mill_is_said_in_words_and_never_twice_alike(here: Path) -> None:
    """A longer square: its sentences of setting up follow from its size, its readings across are rows of numbers."""
    drum = Path("samples/orrery-drum-arbor.toml")
    longer = drum.with_name("longer.toml")
    longer.write_text(drum.read_text().replace('length = "20 mm"', 'length = "20.5 mm"', 1))
    shutil.copy(drum.with_suffix(".log"), longer.with_suffix(".log"))
    rows = rows_of(str(drum), str(longer))
    assert ("mill", "square length", "20 mm", "20.5 mm") in rows
    assert all(a != b for _, _, a, b in rows)
    mill = "; ".join(what for topic, what, _, _ in rows if topic == "mill")
    assert not re.search(r"works|square square|setting up| (mm|n|s)(;|$)", mill)



def test_metal_past_what_is_to_be_measured_is_not_said_to_be_off_the_part(here: Path) -> None:
    drum = Path("samples/orrery-drum-arbor.toml")
    drum.with_suffix(".log").unlink()
    longer = drum.with_name("longer.toml")
    longer.write_text(drum.read_text().replace('length = "7.5 mm"', 'length = "8 mm"', 1))
    told = [what for topic, what, _, _ in rows_of(str(drum), str(longer)) if topic.endswith("metal")]
    assert "past drum body: face from the A end" in told


# What cannot be compared --------------------------------------------------------------------------------


def test_both_sides_problems_come_at_once(here: Path) -> None:
    Path("empty").mkdir()
    Path("other").mkdir()
    Path("other/plan.json").write_bytes(seal_record({"format": "another"}, {}))
    answer = run("compare", "empty", "other")
    assert (answer.status, answer.out) == (1, "")
    assert "empty/plan.json: there is no such file" in answer.err
    assert "other/plan.json: is the record of another version" in answer.err


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": "endshake plan", "settings": [{"number": 1, "left": 3}]}'])
def test_a_damaged_record_is_a_problem(text: str, here: Path) -> None:
    Path("other").mkdir()
    Path("other/plan.json").write_text(text)
    answer = run("compare", "other", PIN)
    assert answer.status == 1
    assert "plan.json: is not a whole record of ours" in answer.err


def places(value: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in a record."""
    yield at
    if isinstance(value, dict | list):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from places(inner, (*at, key))


WRONG = (None, True, 0, -1, 1e308, "x", "", [], {}, [1], [[1, 2]], {"name": "x"}, [{}], [{"name": "x"}], math.nan)


def check_damaged(seed: int, count: int) -> None:
    """A record with a value changed or taken out, its text cut short or a byte of it changed: told, every time."""
    run("make", PIN, "--out", "made")
    whole = Path("made/plan.json").read_bytes()
    record, chance = json.loads(whole), random.Random(seed)
    there = [place for place in places(record) if place]
    Path("other").mkdir()
    for turn in range(count):
        text, data = whole, json.loads(whole)
        *above, last = chance.choice(there)
        table = reduce(operator.getitem, above, data)
        if turn % 4 == 0:
            text = whole[: chance.randrange(len(whole))]
        elif turn % 4 == 1:
            at = chance.randrange(len(whole))
            text = whole[:at] + bytes([whole[at] ^ chance.randrange(1, 256)]) + whole[at + 1 :]
        elif turn % 4 == 2:
            del table[last]
            text = json.dumps(data, indent=2, ensure_ascii=False).encode()
        else:
            table[last] = chance.choice(WRONG)
            text = json.dumps(data, indent=2, ensure_ascii=False).encode()
        Path("other/plan.json").write_bytes(text)
        with pytest.raises(ProblemError, match="is not a whole record of ours"):
            read_side("other")


def test_a_record_damaged_anywhere_is_told(here: Path) -> None:
    check_damaged(1, 200)


def test_the_version_that_is_read_is_the_one_that_is_written() -> None:
    assert (sides.FORMAT, sides.FORMAT_VERSION) == (cam.job.record.FORMAT, cam.job.record.FORMAT_VERSION)


def test_a_part_that_is_refused_says_why(here: Path) -> None:
    answer = run("compare", PIN, "samples/contradictory-arbor.toml", "--json")
    assert answer.status == 1
    assert json.loads(answer.out)["ok"] is False


@pytest.mark.parametrize("words", [("--setting", "1"), ("--mill", "square"), ("--part", PIN), ("--dialect", "eia274d")])
def test_a_program_needs_its_part_and_setting(words: tuple[str, str], here: Path) -> None:
    assert run("compare", PIN, PIN, *words).status == 2


# Zones ------------------------------------------------------------------------------------------------


def raised(chain: Chain, start: float, end: float, by: float) -> Chain:
    """The chain with everything between two places moved outward, by square steps; for outlines without faces there."""
    inner, out = [], list[Line | Arc]()
    for piece in chain:
        (inner if start <= min(piece.start.z, piece.end.z) and max(piece.start.z, piece.end.z) <= end else out).append(
            piece
        )
    assert inner
    moved = shift(tuple(inner), 0.0, by)
    at = chain.index(inner[0])
    steps = Line(inner[0].start, moved[0].start), Line(moved[-1].end, inner[-1].end)
    return (*chain[:at], steps[0], *moved, steps[1], *chain[at + len(inner) :])


@given(part_texts(), st.floats(-0.3, 0.3), st.integers(0, 8))
@settings(max_examples=8, deadline=None)
def test_a_raised_stretch_is_the_one_zone(text: str, by: float, which: int) -> None:
    chain = half_profile(part_from(text))
    flats = [p for p in chain if isinstance(p, Line) and p.start.x == p.end.x]
    flat = flats[which % len(flats)]
    other = raised(chain, flat.start.z, flat.end.z, by)
    zones = find_zones(chain, other)
    if abs(by) <= SEEN or flat.end.z - flat.start.z <= SEEN:
        assert zones == ()
        return
    assert len(zones) == 1
    assert zones[0].most == pytest.approx(by, abs=1e-9)
    assert (zones[0].start, zones[0].end) == pytest.approx((flat.start.z, flat.end.z), abs=1e-6)


@given(part_texts(), part_texts())
@settings(max_examples=8, deadline=None)
def test_zones_are_where_radii_differ_and_nowhere_else(one: str, other: str) -> None:
    a, b = (half_profile(part_from(text)) for text in (one, other))
    zones = find_zones(a, b)
    for before, after in pairwise(zones):
        assert before.end <= after.start + 1e-9
    end = max(chain[-1].end.z for chain in (a, b))
    corners = [p.z for chain in (a, b) for piece in chain for p in piece[:2] if isinstance(p, Point)]
    for k in range(400):
        z = end * (k + 0.37) / 400
        differs = radius_at(b, z) - radius_at(a, z)
        inside = any(zone.start <= z <= zone.end for zone in zones)
        if abs(abs(differs) - SEEN) > 2e-4 and min(abs(z - c) for c in corners) > 0.05:
            assert inside == (abs(differs) > SEEN)


def test_the_outline_kept_in_the_record_is_the_simulations() -> None:
    """Through the part's axes and the nanometre, held against shapely's area of what the simulation left."""
    part, shop = drum_arbor()
    for work in judge_plan(plan_job(part, shop), choose_dialect(None, shop)).works:
        kept = read_outline(json.loads(json.dumps(outline_data(work.simulation.result, work.setting))))
        assert all(a.end == b.start for a, b in pairwise(kept))
        assert all(a.start.z <= a.end.z + 1e-6 for a in kept)
        areas = [
            shapely.Polygon([p for piece in chain for p in flatten(piece, 1e-5)]).area
            for chain in (kept, work.simulation.result)
        ]
        assert areas[0] == pytest.approx(areas[1], rel=1e-6)


# The picture ------------------------------------------------------------------------------------------


def test_the_picture_shows_both_and_marks_what_differs(here: Path) -> None:
    other = changed(('diameter = "3 mm"', 'diameter = "3.1 mm"'), ('length = "8 mm"', 'length = "8.005 mm"'))
    answer = run("compare", PIN, other, "--out", "both.svg")
    assert answer.status == 0
    assert answer.out.endswith("both.svg: written\n")
    root = ElementTree.fromstring(Path("both.svg").read_text(encoding="utf-8"))
    words = [t.text or "" for t in root.iter(f"{SVG}text")]
    assert f"A {PIN}" in [" ".join(w.split()) for w in words]
    assert any("handle pivot, 0 mm to 5 mm from the A end: diameter 2.99 mm -> 3.09 mm" in w for w in words)
    assert any("shoulder between arm seat and head: face from the A end 13 mm -> 13.005 mm" in w for w in words)
    styles = [p.get("class") for p in root.iter(f"{SVG}path")]
    assert styles.count("first") == styles.count("second") == 1 + 1 + 2  # the window, the legend, two details
    assert "differs" in styles
    style = root.findtext(f"{SVG}style") or ""
    assert "stroke-dasharray" in re.search(r"\.second\{(.*?)\}", style)[1]  # type: ignore[index]


def test_a_picture_of_two_that_are_alike_says_so(here: Path) -> None:
    assert run("compare", PIN, PIN, "--out", "both.svg").status == 0
    assert "no radius differs by more than 0.001 mm" in Path("both.svg").read_text()


def test_there_is_one_sheet_for_each_setting(here: Path) -> None:
    sample = "samples/orrery-drum-arbor.toml"
    assert run("compare", sample, sample, "--out", "both.svg").status == 0
    root = ElementTree.fromstring(Path("both.svg").read_text(encoding="utf-8"))
    assert [g.get("id") for g in root.findall(f"{SVG}g")] == ["compare-1", "compare-2"]
    assert float((root.get("height") or "").removesuffix("mm")) == 2 * 210


def test_every_number_of_the_picture_is_on_its_sheets(here: Path) -> None:
    other = changed(*[(f'length = "{n} mm"', f'length = "{n + 0.3} mm"') for n in (5, 8, 20)], ('"17 mm"', '"18 mm"'))
    assert run("compare", PIN, other, "--out", "both.svg").status == 0
    root = ElementTree.fromstring(Path("both.svg").read_text(encoding="utf-8"))
    for text in root.iter(f"{SVG}text"):
        place = [int(n) for n in re.findall(r"-?\d+", (text.get("transform") or "").partition("rotate")[0])]
        assert 0 <= place[0] <= 29_700
        assert 0 <= place[1] <= 21_000
    assert not math.isnan(sum(place))
