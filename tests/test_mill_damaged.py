"""Programs of the mill damaged in every way that the judge knows: each is found, by the line where it is."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.job import judge_mill_program
from cam.job.milling import judge_text
from posts.dialect import load_dialect
from tests.specimens import one_in, shop_from
from tests.test_cli import run
from tests.test_mill_job import (
    ARBOR,
    DIALECTS,
    SHOP,
    WAY_SHOPS,
    by_name,
    changed,
    drum_arbor,
    here,  # noqa: F401 - a fixture
    mill_job,
)

N = r"^((?:N\d+ )?)"
Damage = Callable[[str], tuple[str, int]]


def swap(pattern: str, new: str, nth: int = 1, *, then: int = 0, until: str = "") -> Damage:
    """The nth line that matches, otherwise; the finding is due so many lines further on, or where until matches."""

    def damage(text: str) -> tuple[str, int]:
        found = list(re.finditer(N + pattern, text, re.M))[nth - 1]
        at = found.start()
        text = text[:at] + found.expand(r"\1" + new) + text[found.end() :]
        if until:
            due = re.compile(N + until, re.M).search(text, at)
            assert due
            at = due.start()
        return text, text[:at].count("\n") + 1 + then

    return damage


def both(one: Damage, other: Damage) -> Damage:
    """Two damages; the finding is due where the second is."""
    return lambda text: other(one(text)[0])


def every(pattern: str, new: str, until: str) -> Damage:
    """All lines that match; the finding is due at the first line that matches until."""

    def damage(text: str) -> tuple[str, int]:
        text = re.sub(N + pattern, r"\1" + new, text, flags=re.M)
        found = re.search(N + until, text, re.M)
        assert found
        return text, text[: found.start()].count("\n") + 1

    return damage


CUT = r"G1 X23\.4945 Y0\.0 "
LAYER, FINISH = CUT + r"Z2\.3881 F63\.2$", CUT + r"Z2\.11 F63\.2$"
DOWN, IN = r"G0 Z2\.3881$", r"G1 X3\.0944 Y1\.5381 Z2\.3881 F63\.2$"
SQUARE_DAMAGES = {
    "gouge": swap(FINISH, "G1 X23.4945 Y0.0 Z2.09 F63.2"),
    "gouge at the wall": swap(r"G0 X3\.0944$", "G0 X2.5", 2, then=3),
    "uncut": both(swap(r"G0 Z2\.11$", "G0 Z2.15"), both(swap(FINISH, "G1 X23.4945 Y0.0 Z2.15 F63.2"),
                     swap(r"G1 X3\.0944 Y1\.5381 Z2\.11 F63\.2$", "G1 X3.0944 Y1.5381 Z2.15 F63.2"))),
    "rapid in metal": swap(LAYER, "G0 X23.4945"),
    "diagonal rapid": swap(r"G0 X3\.0944$", "G0 X3.0944 Z7.6"),
    "contact": swap(r"G0 X3\.0944$", "G0 X-30.0", until=DOWN),
    "too near": swap(r"G0 X3\.0944$", "G0 X-21.2", until=DOWN),
    "plunge": both(swap(r"G0 Y-6\.09$", "G0 Y0.0"), swap(DOWN, "G1 Z2.3881 F20.0")),
    "too deep": both(swap(DOWN, "G0 Z2.16"), swap(IN, "G1 X3.0944 Y1.5381 Z2.16 F63.2")),
    "spindle off": every(r"(.*)S1580 M3$", r"\2S1580", IN),
    "spindle on": swap(r"M5$", "M9", 2, until=r"M0$"),
    "not checked": swap(LAYER, "G2 X23.4945 Y0.0 I10.2001 J0.0 F63.2"),
    "unreadable": swap(LAYER, "G77 X23.4945"),
    "nothing is said of a flat": swap(r"M0$", "M1", 3),
}  # fmt: skip


def verdict_of(text: str, name: str, folder: Path, dialect: str, shop: str = SHOP):
    """A text judged as the command line would, from files."""
    files = {"part.toml": ARBOR, "shop.toml": shop, f"{name}.ngc": text}
    for file, content in files.items():
        (folder / file).write_text(content)
    paths = [str(folder / file) for file in (f"{name}.ngc", "part.toml")]
    return judge_mill_program(paths[0], paths[1], name, dialect=dialect)


@pytest.mark.parametrize("kind", one_in(2, SQUARE_DAMAGES))
@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_damaged_square_is_found_by_line(dialect: str, kind: str, tmp_path: Path) -> None:
    good = by_name(mill_job(dialect=dialect))["square"].text
    text, line = SQUARE_DAMAGES[kind](good)
    assert text != good
    verdict = verdict_of(text, "square", tmp_path, dialect)
    assert verdict.problems
    if kind == "nothing is said of a flat":  # the words of the turn are followed by no stop
        assert any("no stop follows" in p.what for p in verdict.problems)
        return
    assert line in {p.where.line for p in verdict.problems}, [str(p) for p in verdict.problems]
    wanted = {"gouge at the wall": "gouge"}.get(kind, kind)
    assert wanted in {f.kind for f in verdict.simulation.findings if f.line == line}
    for problem in verdict.problems:
        assert problem.where.path.endswith("square.ngc")
        assert kind == "unreadable" or problem.allowed or problem.fix


HOLE_DAMAGES = {
    "hole: elsewhere": swap(r"G83 X-8\.0 ", "G83 X-8.2 "),
    "hole: too deep": swap(r"G83 X-8\.0 Y0\.0 Z-0\.2\d+ ", "G83 X-8.0 Y0.0 Z-1.2 "),
    "hole: spotted too deep": swap(r"G81 X-8\.0 Y0\.0 Z5\.\d+ ", "G81 X-8.0 Y0.0 Z5.3 "),
    "uncut": swap(r"G1 X-8\.0 Y10\.49 Z6\.\d+ ", "G1 X-8.0 Y10.49 Z6.8 "),
    "hole: too soon": swap(r"G83 X-8\.0 Y0\.0 Z-0\.2\d+ ", "G83 X-8.0 Y0.0 Z0.7 "),
    "unknown place": both(swap(r"G0 Y0\.0$", "M9"), swap(r"G0 Y-10\.49$", "M9", then=2)),
    "dragged drill": swap(r"G83 X-8\.0.*$", "G1 Z6.0 F30.0\nG1 X-9.0 F30.0", then=1),
    "rapid in metal": swap(r"G83 X-8\.0.*$", "G0 Z1.0"),
}


@pytest.mark.parametrize("kind", HOLE_DAMAGES)
@pytest.mark.parametrize("dialect", one_in(2, [d for d in DIALECTS if load_dialect(d).text("CYCLE_DRILL")]))
def test_a_damaged_hole_is_found_by_line(dialect: str, kind: str, tmp_path: Path) -> None:
    good = by_name(mill_job(dialect=dialect))["cross-hole"].text
    text, line = HOLE_DAMAGES[kind](good)
    verdict = verdict_of(text, "cross-hole", tmp_path, dialect)
    found = {f.kind for f in verdict.simulation.findings if f.line == line}
    assert kind.partition(":")[0] in found, [str(p) for p in verdict.problems]


def test_a_small_flat_that_is_left_out_or_not_milled_across_is_found(tmp_path: Path) -> None:
    """The head of the hook seats on it."""
    good = by_name(mill_job())["cross-hole"].text
    for new in ("", "G1 X-8.0 Y-4.0 Z6.69 F63.2"):
        text, count = re.subn(r"(?m)^G1 X-8\.0 Y10\.49 Z6\.69 F63\.2$", new, good)
        assert count == 1
        found = verdict_of(text, "cross-hole", tmp_path, "rs274ngc").simulation.findings
        assert any('the flat round "hook hole" has' in f.what for f in found)


def test_a_drill_on_the_bare_round_that_nothing_leads_is_found() -> None:
    part = changed(ARBOR, ('flat_depth = "0.3 mm"', 'flat_depth = "0 mm"'))
    work = by_name(mill_job(part=part))["cross-hole"]
    assert work.problems == ()
    text, count = re.subn(r"(?m)^G81 X-8\.0 Y0\.0 .*$", "", work.text)
    assert count == 1
    _, simulation, problems = judge_text(text, work.file, work.task, shop_from(SHOP), load_dialect("rs274ngc"))
    (found,) = [f for f in simulation.findings if "neither flat nor spot" in f.what]
    assert found.line == 1 + text[: text.index("G83 X-8.0")].count("\n")
    assert problems


OVER_THE_WORK = swap(r"G0 X53\.5$", "G0 X-22.0", 4, until=r"G0 A270")
MORE_DAMAGES: list[tuple[str, str, str, str, Damage, str]] = [
    ("square", "rotary axis", "rs274ngc", "", swap(r"G0 A180\.0$", "G0 A170.0", 3), "gouge"),
    ("square", "rotary axis", "eia274d", "", OVER_THE_WORK, "turned in the cutter"),
    ("square", "rotary axis", "rs274ngc", "", OVER_THE_WORK, "turned in the cutter"),
    ("square", "tipped block", "rs274ngc", "", swap(r"T1 M6$", "T7 M6", until=r"G0 Z19\.4$"), "unknown tool"),
    ("square", "tipped block", "eia274d", "", swap(r"T0101$", "T0707", until=r"G0 Z19\.4$"), "unknown tool"),
    ("square", "tipped block", "rs274ngc", "", swap(r"G54$", "G55", until=r"G0 Z19\.4$"), "tool offset"),
    ("square", "tipped block", "eia274d", "", swap(r"T0101$", "T0102", until=r"G0 Z19\.4$"), "tool offset"),
    ("cross-hole", "tipped block", "rs274ngc", "tap", swap(r"G84 (.*) F150\.0$", r"G84 \2 F140.0"), "tap"),
    ("cross-hole", "tipped block", "rs274ngc", "tap", swap(r"G84 X-8\.0 Y0\.0 Z\S+", "G84 X-8.0 Y0.0 Z0.1"), "tap"),
]


@pytest.mark.parametrize(("name", "way", "dialect", "tap", "damage", "kind"), MORE_DAMAGES)
def test_other_damages_are_found_by_line(
    name: str, way: str, dialect: str, tap: str, damage: Damage, kind: str, tmp_path: Path
) -> None:
    shop = changed(WAY_SHOPS[way], ("tap_cycle = false", "tap_cycle = true")) if tap else WAY_SHOPS[way]
    good = by_name(mill_job(shop=shop, dialect=dialect))[name].text
    text, line = damage(good)
    verdict = verdict_of(text, name, tmp_path, dialect, shop)
    found = verdict.simulation.findings
    if kind == "gouge":  # at the wrong angle each of its cuts goes into the round
        assert any(f.kind == kind and f.line > line for f in found)
        return
    assert kind in {f.kind for f in found if f.line == line}, [(f.line, f.kind, f.what) for f in found]


WORDS = ["G0", "G1", "Z", "X-30", "Y0.0", "A90", "M3", "M0", "F1", "T2 M6", "\n", "(TURN THE WORK TO 90 DEG)",
         "G83 R3 Q1", "G91", "%", "#1=2", "\x00", "é"]  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(WORDS)), st.booleans())
def test_any_text_is_judged_and_never_a_fault_of_ours(words: list[str], eia: bool) -> None:
    task = by_name(drum_arbor().mill)["square"].task
    dialect = load_dialect("eia274d" if eia else "rs274ngc")
    _, simulation, problems = judge_text(" ".join(words), "x.ngc", task, drum_arbor().shop, dialect)
    assert problems  # it mills no square
    assert simulation.findings


def test_a_program_edited_by_hand_is_judged(here: Path) -> None:  # noqa: F811 - the fixture
    part = "samples/orrery-drum-arbor.toml"
    assert run("make", part, "--out", "x").status == 0
    for name in ("square", "cross-hole"):
        answer = run("simulate", f"x/{name}.ngc", "--part", part, "--mill", name)
        assert (answer.status, answer.err) == (0, "")
        assert "may be cut" in answer.out
    text, line = SQUARE_DAMAGES["gouge"](Path("x/square.ngc").read_text())
    Path("x/square.ngc").write_text(text)
    answer = run("simulate", "x/square.ngc", "--part", part, "--mill", "square")
    assert answer.status == 1
    assert "may NOT be cut" in answer.out
    assert re.search(rf"x/square\.ngc:{line}: flat 1 is (19|20) um too low", answer.err)  # 19.5, told whole
    data = run("simulate", "x/square.ngc", "--part", part, "--mill", "square", "--json").data
    assert data["ok"] is False
    assert data["findings"][0]["line"] == line
