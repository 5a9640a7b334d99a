"""A program begun at a pass: its N block must say enough, and what a tool set anew can touch must stand there."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from cam.ground.problem import ProblemError
from cam.job import judge_mill_program, judge_program, make_job
from cam.moves import make_moves
from cam.moves.model import ChangeTool
from cam.plan import plan_job
from cam.plan.model import Plan
from posts.dialect import dialect_names, load_dialect
from posts.summary import write_summary
from tests.search.screws import draw as draw_screw
from tests.search.screws import make as make_screw
from tests.specimens import SAMPLES, arbor_text, but_waits, part_from, sample

PART = SAMPLES / "orrery-drum-arbor.toml"
DIALECTS = dialect_names()
SWITCH = 'started = "switch"\n'


@cache
def texts(dialect: str, line: str, folder: Path) -> dict[str, str]:
    """Programs of the drum arbor; line: one more in the spindle's table."""
    shop = (SAMPLES / "shop.toml").read_text().replace("feeds_per_revolution", f"{line}feeds_per_revolution", 1)
    (folder / "shop.toml").write_text(shop)
    job = make_job(str(PART), str(folder / "shop.toml"), dialect=dialect, mill_dialect=dialect)
    assert job.problems == ()
    return {str(w.setting.number): w.text for w in job.works} | {w.name: w.text for w in job.mill.works}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("begun")


def judged(name: str, text: str, number: int, folder: Path, dialect: str, line: str = "", reground: bool = False):
    texts(dialect, line, folder)
    (folder / "x.ngc").write_text(text)
    given = (str(folder / "x.ngc"), str(PART))
    if name.isdigit():
        return judge_program(*given, int(name), str(folder / "shop.toml"), dialect=dialect, from_pass=number,
                             reground=reground)  # fmt: skip
    return judge_mill_program(*given, name, str(folder / "shop.toml"), dialect=dialect, from_pass=number)


def passes(text: str) -> int:
    return len(re.findall(r"(?i)^\(---- pass", text, re.M))


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_few_passes_are_places_to_begin(dialect: str, folder: Path) -> None:
    for name, text in texts(dialect, "", folder).items():
        for number in {2, passes(text)}:
            verdict = judged(name, text, number, folder, dialect, reground=name.isdigit())
            assert verdict.problems == ()
            assert not but_waits(verdict.warnings, dialect)
            assert verdict.begun.rest.motions[0].line >= verdict.begun.line


@pytest.mark.slow
@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("line", ["", SWITCH])
def test_every_pass_is_a_place_to_begin(dialect: str, line: str, tmp_path: Path) -> None:
    for name, text in texts(dialect, line, tmp_path).items():
        for number in range(1, passes(text) + 1):
            verdict = judged(name, text, number, tmp_path, dialect, line, reground=name.isdigit())
            assert verdict.problems == (), (name, number)
            assert not but_waits(verdict.warnings, dialect), (name, number)


def out_of(number: int, pattern: str, new: str = "") -> Callable[[str], str]:
    """The text with something in one N block otherwise."""

    def damage(text: str) -> str:
        head, rest = re.split(rf"(?=^N{number * 100}\b)", text, maxsplit=1, flags=re.M)
        block, tail = re.split(r"(?=^\(---- )", rest, maxsplit=1, flags=re.M | re.I)
        block = re.sub(r"\)\n\(\.\. ", " ", block)  # a comment that runs on, on one line
        found = re.sub(pattern, new, block, flags=re.M | re.I)
        assert found != block
        return head + found + tail

    return damage


LACKING = {  # name -> pass, damage of its N block, what is said
    "belt": (12, out_of(12, r", belt on A2"), "no stop says to set the belt"),
    "other belt": (12, out_of(12, r"belt on A2", "belt on B1"), "the last one named puts it on B1"),
    "spindle": (12, out_of(12, r".*\bM3\n"), "spindle stopped"),
    "absolute": (12, out_of(12, r"\bG90 "), "G90"),
    "units": (12, out_of(12, r"G71\b|G21\b"), "units"),
    "plane": (12, out_of(12, r"\bG18 "), "plane"),
    "compensation": (12, out_of(12, r"\bG40 "), "compensation is off"),
    "cycle": (12, out_of(12, r"\bG80 "), "no cycle is in force"),
    "feed mode": (12, out_of(12, r" ?\bG94"), "G94"),
}


@pytest.mark.parametrize(
    ("name", "dialect"),
    [(n, d) for n in LACKING for d in DIALECTS if n != "units" or load_dialect(d).text("UNITS_MM")],
)
def test_what_only_the_passes_before_said_is_not_enough(name: str, dialect: str, folder: Path) -> None:
    number, damage, says = LACKING[name]
    text = damage(texts(dialect, "", folder)["1"])
    verdict = judged("1", text, number, folder, dialect)
    assert verdict.problems
    assert any(says in p.what for p in verdict.problems), [p.what for p in verdict.problems]


def test_tool_work_system_and_wait_are_said_in_the_block(folder: Path) -> None:
    text = texts("rs274ngc", "", folder)["1"]
    found = "no tool is called: T1 only chooses it, M6 is missing"
    said = [p.what for p in judged("1", out_of(12, " and called")(text), 12, folder, "rs274ngc").problems]
    assert any(what.startswith(found) for what in said)
    said = [p.what for p in judged("1", out_of(12, r" G54\b")(text), 12, folder, "rs274ngc").problems]
    assert any("the work system (G54)" in what for what in said)
    verdict = judged("1", out_of(12, r"^G4 .*\n")(text), 12, folder, "rs274ngc")
    assert [p.what[:7] for p in verdict.warnings] == ["moves 0"]


def test_a_tool_that_is_not_the_one_in_the_post(folder: Path) -> None:
    text = texts("eia274d", "", folder)["1"]
    said = [p.what for p in judged("1", out_of(12, "TOOL 1 IN", "TOOL 2 IN")(text), 12, folder, "eia274d").problems]
    assert any("begins with tool 1, and the words below the N line have tool 2" in what for what in said)


def test_a_switched_spindle_is_started_only_where_it_stands(tmp_path: Path) -> None:
    """Between one start and the next some stop more than that of the start itself has stilled it."""
    text = texts(DIALECTS[0], SWITCH, tmp_path)["1"]
    starts = [m.start() for m in re.finditer("START THE SPINDLE", text)]
    assert len(starts) > 3
    assert all(len(re.findall(r"^(?:N\d+ )?M0$", text[a:b], re.M)) > 1 for a, b in pairwise(starts))


def test_a_switched_spindle_is_said_to_be_on(tmp_path: Path) -> None:
    text = texts("rs274ngc", SWITCH, tmp_path)["1"]
    assert judged("1", text, 11, tmp_path, "rs274ngc", SWITCH).problems == ()
    off = out_of(11, ", the spindle switched on")(text)
    said = [p.what for p in judged("1", off, 11, tmp_path, "rs274ngc", SWITCH).problems]
    assert any("no stop since it stood asks a person to start it" in what for what in said)


TOUCH = r"\(or set anew: X \S+ on [^)]*\)(\n\(\.\. [^)]*\))*\n"
SET_ANEW = {
    "nothing": (TOUCH, "", "is finished"),
    "a diameter that is not there": (r"X 2\.59 on (.+), diameter 5\.18", r"X 2.6 on \1, diameter 5.2", "not stand"),
    "X as a diameter": (r"X 2\.59 on", "X 5.18 on", "by radius"),
    "another section": (r"on winding square, diameter", "on drum body, diameter", "does not stand there"),
    "no face": (r"Z -20 on", "Z -19.5 on", "no face stands there"),
}  # fmt: skip


@pytest.mark.parametrize("name", SET_ANEW)
def test_what_a_tool_set_anew_touches_must_stand(name: str, folder: Path) -> None:
    pattern, new, says = SET_ANEW[name]
    text = texts("rs274ngc", "", folder)["1"]
    damaged = out_of(20, pattern, new)(text)
    assert any(says in p.what for p in judged("1", damaged, 20, folder, "rs274ngc", reground=True).problems)
    assert judged("1", damaged, 20, folder, "rs274ngc").problems == ()


def test_a_threading_tool_is_set_anew_by_its_side(tmp_path: Path) -> None:
    """Its point is its middle: of a blade of 1 mm it stands half of that off the end face."""
    job = make_screw(draw_screw(Random("s23")), tmp_path)
    (work,) = job.works
    number = next(p.number for p in work.planned.passes if p.kind == "thread") + 2
    program, part = tmp_path / "x.ngc", str(tmp_path / "part.toml")
    for pattern, new, says in (
        ("", "", ""),
        (r"Z 0.0197 ON", "Z 0.0100 ON", "with its side on the end face; it stands at"),
        (r"END\W+FACE, SIDE ON AND ITS TIP AT X 0", "SHOULDER PAST SHANK", "its point is the middle of its nose"),
    ):
        text = re.sub(pattern, new, work.text) if says else work.text
        assert (text != work.text) is bool(says)
        program.write_text(text)
        verdict = judge_program(str(program), part, 1, from_pass=number, reground=True)
        touch = [f.what for f in verdict.simulation.findings if f.kind == "touch"]
        assert [says in what for what in touch] == ([True] if says else []), touch


def test_the_work_on_the_mill_stands_as_the_block_says(folder: Path) -> None:
    text = texts("rs274ngc", "", folder)["square"]
    silent = out_of(5, ", flat 2 up, the work stands at 90 DEG")(text)
    assert any("how the work must stand" in p.what for p in judged("square", silent, 5, folder, "rs274ngc").problems)
    other = out_of(5, r"at 90 DEG", "at 45 DEG")(text)
    assert judged("square", other, 5, folder, "rs274ngc").problems


def test_a_pass_that_is_not_there_or_has_no_number(folder: Path) -> None:
    text = texts("rs274ngc", "", folder)["1"]
    with pytest.raises(ProblemError, match="names no such pass"):
        judged("1", text, 99, folder, "rs274ngc")
    with pytest.raises(ProblemError, match="without an N word"):
        judged("1", out_of(12, r"\AN1200 ")(text), 12, folder, "rs274ngc")


def test_sheet_and_program_name_the_same_surfaces_to_a_tool_set_late(tmp_path: Path) -> None:
    """And no finished pivot where anything else is: the arbor's blade is set on the seat that it cuts beside."""
    plan = plan_job(part_from(arbor_text()), sample("orrery-drum-arbor")[1])
    assert touching(plan) == [("back seat", "shoulder past back seat")]
    screw = make_screw(draw_screw(Random("s23")), tmp_path).plan
    assert touching(screw) == [("shank", "shoulder past shank"), ("shank", "end face, side on and its tip at X 0")]


def touching(plan: Plan) -> list[tuple[str, str]]:
    """What is named for X and for Z at each change of tool after the first, where sheet and program say the same."""
    moves = [m for planned in plan.settings for m in make_moves(planned, plan.shop) if isinstance(m, ChangeTool)]
    said = [re.findall(r"^X \S+ on (.+?), diameter \S+, Z \S+ on the (.+)$", m.touch)[0] for m in moves if m.touch]
    page = write_summary(plan, width=240)
    assert re.findall(r"touch it on (.+?), [\d.]+: X [^\s,]+, the (.+?): Z [^\s;]+", page) == said
    return said


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("diameter 7.98, Z -26 on", "diameter 7.98, Z -25.5 on", "no face stands there"),
        ("X 3.99 on front seat, diameter 7.98, Z -26", "X 3.49 on front seat, diameter 6.98, Z -26", "not stand there"),
        ("X 3.99 on front seat, diameter 7.98, Z -26", "X 3.49 on front seat, diameter 7.98, Z -26", "X set to 3.49"),
    ],
)
def test_what_a_tool_set_late_touches_is_checked_wherever_it_is_said(
    old: str, new: str, says: str, folder: Path
) -> None:
    """Without --from-pass too: a person who begins there, or mounts a tool there, does as the text says."""
    text = texts("rs274ngc", "", folder)["1"]
    assert old in text
    (folder / "x.ngc").write_text(text.replace(old, new, 1))
    verdict = judge_program(str(folder / "x.ngc"), str(PART), 1, str(folder / "shop.toml"), dialect="rs274ngc")
    assert [says in f.what for f in verdict.simulation.findings if f.kind == "touch"] == [True]
