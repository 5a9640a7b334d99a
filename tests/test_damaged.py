"""Damaged programs: real ones, written by the posts, with one thing wrong. Each must be found, with its line."""

from __future__ import annotations

import math
import random
import re
from dataclasses import dataclass
from functools import cache

import pytest
import shapely
from shapely.geometry import Polygon

from cam.geometry.path import Arc, Chain, Line, Point, flatten
from cam.job import Work, make_job, move_outline, rules_of
from cam.judge import simulate
from cam.judge.envelope import Metal, from_chain
from cam.judge.model import Finding, Simulation
from cam.judge.play import Play
from cam.judge.sweep import find_underside
from cam.rs274 import read_program
from cam.rs274.model import Motion, Program, Rules
from cam.shop.model import Shop
from cam.shop.tool_shape import tool_bodies
from tests.play_case import with_play
from tests.specimens import SAMPLES
from tests.test_envelope import outline_polygon, swept

SAMPLE = str(SAMPLES / "orrery-drum-arbor.toml")
DIALECTS = ("rs274ngc", "eia274d")


@dataclass(frozen=True)
class Case:
    """One setting's program as made, and the means to read and judge it when it has been changed."""

    work: Work
    before: Work | None
    shop: Shop
    rules: Rules

    @property
    def lines(self) -> list[str]:
        return self.work.text.splitlines()

    def read(self, lines: list[str], rules: Rules | None = None) -> Program:
        return read_program("\n".join(lines) + "\n", rules or self.rules, "damaged.ngc")

    def judge(self, lines: list[str], rules: Rules | None = None) -> tuple[Program, Simulation]:
        program = self.read(lines, rules)
        return program, simulate(program, self.work.setting, self.shop, stock=self.stock, stops=True)

    @property
    def stock(self) -> Chain | None:
        """What the setting before may have left, cut as deep as it was allowed to; None for the first."""
        if self.before is None:
            return None
        return move_outline(self.before.setting.least, self.before.setting, self.work.setting)

    def motions(self, kind: str) -> list[Motion]:
        return [m for m in self.work.program.motions if m.kind == kind and m.start != m.end]


@cache
def cases(dialect: str) -> tuple[Case, ...]:
    job = make_job(SAMPLE, dialect=dialect)
    rules = rules_of(job.dialect, job.shop)
    befores = (None, *job.works)
    return tuple(Case(w, b, job.shop, rules) for w, b in zip(job.works, befores, strict=False))


@pytest.fixture(params=DIALECTS)
def first(request) -> Case:
    return cases(request.param)[0]


@pytest.fixture(params=DIALECTS)
def second(request) -> Case:
    """The back pivot's setting: the smaller, beside a centre, with a rounded edge and an undercut."""
    return cases(request.param)[1]


def reword(line: str, letter: str, value: float) -> str:
    """The line with one word's number replaced."""
    changed, count = re.subn(rf"(?<![A-Z]){letter}-?[\d.]+", f"{letter}{value:.4f}", line)
    assert count == 1, line
    return changed


def with_word(case: Case, line: int, letter: str, value: float) -> list[str]:
    lines = case.lines
    lines[line - 1] = reword(lines[line - 1], letter, value)
    return lines


def on_line(simulation: Simulation, kind: str, line: int) -> Finding:
    """The finding of that kind on that line, which must be there."""
    some = [f for f in simulation.findings if (f.kind, f.line) == (kind, line)]
    assert some, [(f.line, f.kind, f.what) for f in simulation.findings]
    return some[0]


def pivot_cut(case: Case) -> Motion:
    """The turning tool's last cut along Z toward the headstock: the one that sizes the pivot."""
    return [m for m in case.motions("line") if m.tool == 1 and m.start.x == m.end.x and m.end.z < m.start.z][-1]


def test_the_programs_as_made_are_found_good(first, second):
    for case in (first, second):
        program, simulation = case.judge(case.lines)
        assert program.problems == ()
        assert simulation.findings == ()
        assert max(simulation.gouge, simulation.uncut) < 1e-3
        assert simulation.closest.distance > 0


def test_a_shoulder_a_tenth_too_deep(second):
    cut = pivot_cut(second)
    _, simulation = second.judge(with_word(second, cut.line, "Z", cut.end.z - 0.1))
    f = on_line(simulation, "gouge", cut.line)
    assert f.amount == pytest.approx(0.1, abs=1e-4)
    assert 'shoulder at the headstock end of "back pivot"' in f.what
    assert simulation.gouge == f.amount


def test_a_diameter_two_hundredths_too_small(second):
    cut = pivot_cut(second)
    inward = [m for m in second.motions("rapid") + second.motions("line") if m.line < cut.line and m.end.x < m.start.x]
    setting_line = max(m.line for m in inward)
    _, simulation = second.judge(with_word(second, setting_line, "X", cut.end.x - 0.01))
    f = on_line(simulation, "gouge", cut.line)
    assert f.amount == pytest.approx(0.01, abs=1e-4)
    assert '"back pivot"' in f.what


def test_a_rapid_into_the_pivot(second):
    """The last approach straight in over a turned section, 1 mm too far."""
    end_z = second.work.setting.end_z
    approach = [m for m in second.motions("rapid") if m.end.x < m.start.x and m.end.z < end_z][-1]
    _, simulation = second.judge(with_word(second, approach.line, "X", approach.end.x - 1.0))
    on_line(simulation, "rapid in metal", approach.line)


def test_a_rapid_along_z_that_has_not_come_out_first(second):
    """The retreat straight out after the pivot's shoulder is left out: the tool runs back through the work."""
    cut = pivot_cut(second)
    outs = [m.line for m in second.motions("rapid") if m.line > cut.line][:2]
    lines = second.lines
    for line in outs:
        lines[line - 1] = "(LEFT OUT)"
    face = next(m for m in second.motions("line") if m.line > cut.line)
    lines[face.line - 1] = reword(lines[face.line - 1], "X", cut.end.x - 0.5)
    _, simulation = second.judge(lines)
    back = next(m for m in second.motions("rapid") if m.line > outs[-1])
    on_line(simulation, "rapid in metal", back.line)
    on_line(simulation, "gouge", face.line)


def test_a_start_two_millimetres_further_off_the_end_is_in_the_cone(second):
    cut = pivot_cut(second)
    inward = max(m.line for m in second.motions("rapid") if m.line < cut.line and m.end.x < m.start.x)
    lines = second.lines
    along = next(k for k in range(inward, 0, -1) if re.search(r"G0 Z", lines[k - 1]))
    lines[along - 1] = reword(lines[along - 1], "Z", cut.start.z + 2.0)
    _, simulation = second.judge(lines)
    f = on_line(simulation, "contact", inward)
    assert f.obstacle == "centre cone"
    assert f.amount > 0


def test_radii_read_as_diameters(first):
    """The control is set to diameters, the text says radii: everything is cut at half its size."""
    rules = Rules(standard=first.rules.standard, x_words="diameter")
    program, simulation = first.judge(first.lines, rules)
    assert program.problems == ()
    deep = first.motions("line")[1].line  # the first is still in air
    assert min(f.line for f in simulation.findings if f.line) <= deep
    on_line(simulation, "too deep", deep)
    assert any(f.kind == "gouge" for f in simulation.findings)


def test_diameters_read_as_radii(first):
    """The other way round nothing is touched, so nothing is right: found as what is uncut."""
    lines = [re.sub(r"X(-?[\d.]+)", lambda m: f"X{2 * float(m[1]):.4f}", row) if "(" not in row else row
             for row in first.lines]  # fmt: skip
    _, simulation = first.judge(lines)
    assert {f.kind for f in simulation.findings} >= {"uncut"}
    assert simulation.uncut > 2


def test_a_missing_plane(second):
    """Without G18 no arc may run: NISTIR 6556 starts in G17 and has no K there; EIA-274-D has said no plane."""
    lines = [re.sub(r"G18 ?", "", row) if "(" not in row else row for row in second.lines]
    program, simulation = second.judge(lines)
    arc = second.motions("arc")[0]
    named = {p.where.line for p in program.problems} | {f.line for f in simulation.findings if f.kind == "wrong plane"}
    assert arc.line in named
    assert not simulation.ok


def test_a_spindle_that_is_never_started(first):
    lines = [re.sub(r" ?M3\b", "", row) for row in first.lines]
    _, simulation = first.judge(lines)
    cuts = first.motions("line")
    on_line(simulation, "spindle off", cuts[1].line)  # the first is still in air


def test_a_feed_ten_times_too_fast(second):
    cut = pivot_cut(second)
    _, simulation = second.judge(with_word(second, cut.line, "F", 10 * cut.feed))
    on_line(simulation, "feed", cut.line)


def test_another_tools_zero(first):
    """Work system or offset of tool 2 with tool 1."""
    lines = [row.replace("G54", "G55").replace("T0101", "T0102") if "(" not in row else row for row in first.lines]
    _, simulation = first.judge(lines)
    assert [f.kind for f in simulation.findings if f.kind == "tool offset"]


def test_a_shoulder_left_at_rapid(second):
    cut = pivot_cut(second)
    face = next(m for m in second.motions("line") if m.line > cut.line)
    lines = second.lines
    lines[face.line - 1] = lines[face.line - 1].replace("G1", "G0")
    _, simulation = second.judge(lines)
    on_line(simulation, "unfaced shoulder", cut.line)
    on_line(simulation, "rapid in metal", face.line)


def test_a_cut_reached_by_moving_outward(second):
    cut = pivot_cut(second)
    lines = second.lines
    lines.insert(cut.line - 1, f"G1 X{cut.end.x - 0.01:.4f} F{cut.feed}\nG1 X{cut.end.x:.4f}")
    _, simulation = second.judge(lines)
    f = on_line(simulation, "backlash", cut.line + 2)
    assert '"back pivot"' in f.what


def test_two_rapids_in_one(second):
    cut = pivot_cut(second)
    rapids = [m for m in second.motions("rapid") if m.line < cut.line and m.start.z != m.end.z]
    along = rapids[-1]
    inward = next(m for m in second.motions("rapid") if m.line > along.line)
    lines = second.lines
    lines[along.line - 1] = "(LEFT OUT)"
    lines[inward.line - 1] += f" Z{along.end.z}"
    _, simulation = second.judge(lines)
    on_line(simulation, "diagonal rapid", inward.line)


def test_no_stop_after_the_first_motion(first):
    lines = first.lines
    stop = next(m.line for m in first.work.program.motions if m.kind == "stop")
    lines[stop - 1] = "(LEFT OUT)"
    _, simulation = first.judge(lines)
    assert [f.kind for f in simulation.findings] == ["no proof"]


# --- many at once -------------------------------------------------------------------------------------------------


def numbers(case: Case) -> list[tuple[int, str, float]]:
    """Every X and Z word of a motion: line, letter, value."""
    found = []
    for m in case.work.program.motions:
        if m.kind in ("rapid", "line", "arc"):
            row = case.lines[m.line - 1]
            found += [(m.line, w[0], float(w[1])) for w in re.findall(r"\b([XZ])(-?[\d.]+)", row)]
    return found


def oracle(case: Case, program: Program) -> Polygon:
    """What is left on slides with the shop's backlash, by polygon differences with a nose of 200 points."""
    x, z = (float(slide.backlash) for slide in (case.shop.lathe.x, case.shop.lathe.z))
    shapes = {t.number: tool_bodies(t)[0] for t in case.shop.tools}
    metal = outline_polygon(Metal(from_chain(case.stock or case.work.setting.stock)), 1e-4)
    for m in with_play(program, Play(x, z, loose=True)).motions:
        if m.kind not in ("rapid", "line", "arc") or m.tool not in shapes:
            continue
        start, end = Point(m.start.z, m.start.x), Point(m.end.z, m.end.x)
        if any(math.isnan(v) for v in (*start, *end)):
            continue
        body = shapes[m.tool]
        path = Line(start, end)
        if m.kind == "arc":
            path = Arc(start, end, Point(m.centre.z, m.centre.x), m.turn)
        metal = metal.difference(swept(find_underside(body.polygon, body.round), path, 200, chord=1e-4))
    return metal


@pytest.mark.slow
def test_changed_words_never_pass_unseen():
    """One coordinate moved by up to 2 mm: what is left agrees with shapely, and a part that is not right is not ok.

    The words are those of the second half of the program, where the last cuts are.
    """
    pick = random.Random(6)
    case = cases("rs274ngc")[1]
    words = numbers(case)[len(numbers(case)) // 2 :]
    wanted = [outline_polygon(Metal(from_chain(c)), 1e-5) for c in (case.work.setting.least, case.work.setting.most)]
    turned = case.work.setting.turned
    zone = shapely.box(turned[-1].far, 0, turned[0].near, 99)
    spoilt = 0
    for _ in range(10):
        line, letter, value = pick.choice(words)
        lines = with_word(case, line, letter, value + pick.uniform(-2, 2))
        program, simulation = case.judge(lines)
        if program.problems:
            continue
        slow = oracle(case, program)
        points = [p for s in simulation.result for p in flatten(s, 1e-4)]
        ours = Polygon([(p.z, p.x) for p in points])
        assert shapely.symmetric_difference(ours, slow).area < 2e-3, (line, lines[line - 1])
        gouged = wanted[0].intersection(zone).difference(slow.buffer(2e-3)).area > 0
        left = slow.intersection(zone).difference(wanted[1].buffer(2e-3)).area > 0
        spoilt += gouged or left
        if gouged or left:
            assert not simulation.ok, (line, lines[line - 1])
    assert spoilt > 1
