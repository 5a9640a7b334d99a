"""Programs at a control: each sense wrong once, zeros off, corrections both ways, begun again anywhere.

The control, the operator and the metal are the tests' own (tests/control); the whole table: `python -m tests.control`.
"""

from __future__ import annotations

import ast
import math
import re
from dataclasses import replace
from functools import lru_cache
from itertools import chain, islice
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest

from cam.job import make_job
from tests.control.__main__ import begin_again, files_of, random_jobs, sample
from tests.control.machine import Senses
from tests.control.mill import Miller
from tests.control.mill_plays import milled, outcome, play_mill, until
from tests.control.operator import Operator
from tests.control.plays import (
    Case,
    Outcome,
    Table,
    bump_at,
    cases,
    drop_outs,
    judge,
    play,
    play_later_tools,
    play_senses,
    reground,
    restarts,
)
from tests.control.recorded import play_recorded
from tests.control.thread import Groove, Vee, over_wires
from tests.search.laws import BrokenLawError
from tests.search.screws import draw as draw_screw
from tests.search.screws import make as make_screw
from tests.search.words import hold_words
from tests.specimens import one_in

HERE = Path(__file__).parent / "control"
KEPT = Path(__file__).parent / "sheets" / "kept"
CONTROLS = [("rs274ngc", "radius"), ("eia274d", "diameter")]
SILENT = ("isongc", "radius")


@lru_cache(maxsize=4)
def pin(dialect: str, x_words: str) -> Case:
    return next(cases(sample("crank-pin", dialect, x_words), "crank pin"))


PEG = """
name = "tapered peg"
corners = "fillet up to 0.2 mm"
edges = "sharp"
[stock]
material = "free-cutting steel"
diameter = "6 mm"
length = "50 mm"
[holding]
method = "collet"
chuck = "6 mm collet"
free_end = "B"
stick_out = "25 mm"
facing = "0.2 mm"
[[section]]
name = "head"
role = "body"
diameter = "6 mm"
length = "20 mm"
finish = "as stock"
[[section]]
name = "taper"
role = "plain"
diameter_a = "4.14 mm"
diameter_b = "2.14 mm"
length = "10 mm"
tolerance = "0 / -0.02 mm"
corner_a = "undercut 2 mm wide 0.3 mm deep"
finish = "turn"
"""
"""Its end is a taper, behind whose shoulder another tool cuts an undercut."""


def made_of(part: str, nose: str) -> Case:
    """The first program of a part, turned by a knife with such a nose."""
    shop = files_of("crank-pin", *CONTROLS[0])[1].replace('nose_radius = "0.1 mm"', f'nose_radius = "{nose}"', 1)
    with TemporaryDirectory() as folder:
        paths = [Path(folder) / name for name in ("part.toml", "shop.toml")]
        for path, text in zip(paths, (part, shop), strict=True):
            path.write_text(text, encoding="utf-8")
        return next(cases(make_job(*map(str, paths)), "peg"))


@lru_cache(maxsize=1)
def peg() -> Case:
    return made_of(PEG, "0.1 mm")


ARBOR = """
name = "stepped arbor"
corners = "fillet up to 0.2 mm"
edges = "sharp"
[stock]
material = "mild steel"
diameter = "16 mm"
length = "46 mm"
[holding]
method = "between centres"
first = "A"
[holding.end_a]
tail_centre = "half centre"
extra_length = "0 mm"
[holding.end_b]
tail_centre = "half centre"
extra_length = "0 mm"
[[section]]
name = "front seat"
role = "seat"
diameter = "8.2 mm"
length = "14 mm"
finish = "turn"
[[section]]
name = "drum"
role = "body"
diameter = "13.2 mm"
length = "14 mm"
tolerance = "0 / -0.05 mm"
finish = "turn"
[[section]]
name = "rim"
role = "body"
diameter = "13.2 mm"
length = "12 mm"
tolerance = "0 / -0.05 mm"
finish = "turn, stone"
on_diameter = "0.02 mm"
on_face = "0.02 mm"
[[section]]
name = "back pivot"
role = "pivot"
diameter = "6.4 mm"
length = "6 mm"
finish = "turn"
"""
"""Drum and rim are turned in setting 2; the cut runs out over their end, beyond which the front seat stands lower."""


def test_where_a_cut_runs_out_over_a_low_neighbour_the_slip_is_laid_on_its_own_section() -> None:
    with TemporaryDirectory() as folder:
        paths = [Path(folder) / name for name in ("part.toml", "shop.toml")]
        for path, text in zip(paths, (ARBOR, files_of("crank-pin", *CONTROLS[0])[1]), strict=True):
            path.write_text(text, encoding="utf-8")
        second = list(cases(make_job(*map(str, paths)), "arbor"))[1]
    tried = float(re.findall(r"HERE AND Z (-?[\d.]+)\.", " ".join(second.work.text.upper().split()))[0])
    assert 0.2 < tried < 13.8  # the drum lies from 0 to 14
    assert play(second) == Outcome("within limits", "")


def test_what_is_no_program_is_not_played() -> None:
    """The text by which the moves of a lathe without a control are judged proves no arcs: nobody runs it."""
    job = sample("crank-pin", *CONTROLS[0])
    lathe = job.shop.lathe
    by_hand = replace(job.shop, lathe=replace(lathe, control=replace(lathe.control, kind="hand")))
    assert list(cases(job, ""))
    assert not list(cases(replace(job, shop=by_hand), ""))


@pytest.mark.parametrize("by", [0.02, -0.02])
def test_a_taper_is_measured_at_the_end_that_its_stop_names(by: float) -> None:
    assert play(peg(), zeros=(0.0, by)).end == "within limits"


def test_without_its_thin_end_named_nobody_measures_a_taper() -> None:
    """The model can fail: the operator is not told where."""
    case = peg()
    bare = replace(case, work=replace(case.work, text=case.work.text.replace("at its thin end", "somewhere")))
    with pytest.raises(AssertionError, match="not told at which end"):
        play(bare)


SHIFTED = PEG.replace("corners = ", 'finish = "turn"\ncorners = ').replace("25 mm", "30 mm") + """
[[section]]
name = "end seat"
role = "seat"
diameter = "2.14 mm"
length = "5 mm"
tolerance = "0 / -0.02 mm"
"""


@pytest.mark.parametrize("large", ["4.14", "2.5", "2.24"])
@pytest.mark.parametrize("by", one_in(2, [0.02, -0.02, 0.1]))
def test_a_taper_measured_past_what_stands_higher_before_it_comes_to_size(large: str, by: float) -> None:
    """The seat at its thin end is of its size, and finished after it: anvils over that would find the seat."""
    case = made_of(SHIFTED.replace("4.14", large), "0.1 mm")
    words = " ".join(case.work.text.split())
    assert re.search(r"taper is a taper: measured at Z (?!-?15\D)", words)
    outcome = play(case, zeros=(0.0, by))
    assert outcome.end == "within limits", outcome


def test_where_a_taper_is_said_to_be_measured_at_its_thin_end_though_a_seat_stands_higher_it_is_spoilt() -> None:
    """The model can fail: the anvils lie on the seat."""
    case = made_of(SHIFTED, "0.1 mm")
    thin = re.sub(r"(taper is a taper: measured at) Z -[0-9.]*[0-9]", r"\1 Z -5", case.work.text)
    assert thin != case.work.text
    assert play(replace(case, work=replace(case.work, text=thin))).end != "within limits"


@pytest.mark.parametrize("by", [0.1, -0.1])
def test_a_later_tool_is_brought_to_the_shoulder_past_a_taper(by: float) -> None:
    case = peg()
    lathe = case.lathe()
    lathe.zeros[case.work.planned.passes[-1].tool.number][0] = by
    operator = Operator(lathe)
    assert judge(case, operator, operator.work()) == Outcome("within limits", "Z touched off again")


def test_a_very_small_nose_leaves_as_much_on_a_shoulder_as_a_zero_may_be_out() -> None:
    case = made_of(files_of("crank-pin", *CONTROLS[0])[0], "0.03 mm")
    for by in (0.1, -0.1):
        assert play(case, bump=bump_at(7, 0, by)).end == "within limits"


CORNERS = {
    "taper": 'diameter_a = "4.14 mm"\ndiameter_b = "3.14 mm"\nlength = "10 mm"',
    "steep taper": 'diameter_a = "5.0 mm"\ndiameter_b = "2.14 mm"\nlength = "4 mm"',
    "fillet": 'diameter = "4 mm"\nlength = "10 mm"\ncorner_a = "fillet 0.4 mm"',
    "small fillet": 'diameter = "4 mm"\nlength = "10 mm"\ncorner_a = "fillet 0.15 mm"',
}


@pytest.mark.parametrize("corner", CORNERS)
def test_beside_a_fillet_or_a_taper_one_slip_tells_x_and_z(corner: str) -> None:
    """Where a plunge leaves the face: what moves there, or at the stop before, is told and corrected before the cut."""
    begins, ends = PEG.index('diameter_a = "4.14'), PEG.index("tolerance =")
    part = PEG[:begins] + CORNERS[corner] + '\nlength_tolerance = "+0.02 / -0.02 mm"\n' + PEG[ends:]
    case = made_of(re.sub("corner_a = .undercut.*\n", "", part), "0.1 mm")
    texts = re.split(r"^M0$", case.work.text, flags=re.M)
    assert "measure it at its rim" in case.work.text  # the plunge leaves a tooth beside its face
    (tried,) = [k for k, text in enumerate(texts) if "try a slip" in text]
    for axis, by in ((0, 0.1), (0, -0.02), (1, -0.1), (1, 0.02)):
        for at in (tried - 1, tried):
            outcome = play(case, bump=bump_at(at, axis, by), paused=by > 0)
            assert outcome.end == "within limits", (axis, by, at, outcome)
            assert "by a slip" in outcome.why or axis == 1, outcome


@lru_cache(maxsize=1)
def screw() -> Case:
    """A screw in a collet, its thread cut by program in step with the spindle."""
    with TemporaryDirectory() as folder:
        return next(cases(make_screw(draw_screw(Random("s23")), Path(folder)), "screw"))


def test_three_wires_lie_where_the_standard_has_them() -> None:
    """A vee without a nose: M = E + w (1 + 1 / sin(a / 2)) - P / 2 / tan(a / 2), exact without the lead angle."""
    vee = Vee(1e-6, math.radians(30.0), 1.0)
    groove = Groove(1.0, -5.0, 1.5, 0.5, vee)
    pitch_diameter = 2 * 1.5 + 0.25 / math.tan(math.radians(30.0))  # where groove and ridge are as wide
    wires = 0.289
    wanted = pitch_diameter + wires * (1 + 1 / 0.5) - 0.25 / math.tan(math.radians(30.0))
    assert over_wires([groove], 1.9, wires) == pytest.approx(wanted, abs=2e-3)
    beside = replace(groove, start=1.05)  # a pass beside the groove lets the wires sink
    assert over_wires([groove, beside], 1.9, wires) < wanted - 0.05


def test_a_thread_comes_to_size_over_wires_and_begins_again_in_its_groove() -> None:
    case = screw()
    threads = [p for p in case.work.planned.passes if p.kind == "thread"]
    assert len(threads) > 3
    assert play(case, zeros=(0.05, 0.05)).end == "within limits"
    stop = next(k for k, text in enumerate(re.split(r"(?m)^N\d+ M0", case.work.text)) if "THREE WIRES" in text)
    for by in (0.05, -0.05):
        outcome = play(case, bump=bump_at(stop, 0, by), paused=by > 0)
        assert outcome.end == "within limits"
        assert "Z touched off again" in outcome.why
        assert play(case, bump=bump_at(stop, 1, by), paused=by > 0).end == "within limits"
    lathe = case.lathe()  # where its zero is set late, on the end face by its side
    operator = Operator(lathe, residual=0.01, late=frozenset({threads[0].tool.number}))
    assert judge(case, operator, operator.work()).end == "within limits"


def test_a_lead_that_the_control_takes_otherwise_is_found_in_air() -> None:
    case = screw()
    inches = Senses(diameters=case.diameters, leads=25.4)
    assert play(case, senses=inches) == Outcome(
        "told in time", "the thread in air took another time: its lead is taken otherwise"
    )
    blind = replace(case, work=replace(case.work, text=case.work.text.replace("WENT IN STEP", "WELL")))
    assert play(blind, senses=inches).end == "SPOILT"  # the model can fail: nobody looks at the time


def test_without_the_end_face_named_a_thread_tool_that_moved_spoils_the_thread() -> None:
    """The model can fail: nobody looks whether the last passes fall in the groove, or touches by the wrong side."""
    case = screw()
    stop = next(k for k, text in enumerate(re.split(r"(?m)^N\d+ M0", case.work.text)) if "THREE WIRES" in text)
    bare = replace(case, work=replace(case.work, text=case.work.text.replace("MUST FALL IN THIS GROOVE. BRING", "X.")))
    assert play(bare, bump=bump_at(stop, 0, -0.1)).end == "told too late"


@pytest.mark.slow
def test_a_thread_begins_again_at_every_line() -> None:
    case = screw()
    assert restarts(case) == (len(case.work.planned.passes), [])


def test_a_control_that_shows_no_words_is_worked_by_the_page_of_its_stops() -> None:
    case = pin(*SILENT)
    table = Table()
    play_senses(table, case)
    assert {name: [k for k, v in ends.items() if v] for name, ends in table.rows.items()} == {
        name: ["within limits" if name == "nothing is wrong" else "told in time"] for name in table.rows
    }, table.text()
    for by in (0.05, -0.05):
        assert play(case, zeros=(by, by), paused=by > 0).end == "within limits"
        assert play(case, bump=bump_at(7, 1, by), paused=by > 0).end == "within limits"


@pytest.mark.slow
def test_a_page_says_what_must_stand_at_every_pass() -> None:
    case = pin(*SILENT)
    assert restarts(case) == (len(case.work.planned.passes), [])


def test_without_its_page_nobody_knows_what_to_do_there() -> None:
    """The model can fail: a stop is not on the page."""
    case = pin(*SILENT)
    assert case.page is not None
    with pytest.raises(KeyError):
        play(replace(case, page=replace(case.page, stops=dict(list(case.page.stops.items())[:-1]))))


def test_control_and_operator_know_neither_reader_nor_writer() -> None:
    for name in ("machine", "operator", "mill", "silent", "thread"):
        for node in ast.walk(ast.parse((HERE / f"{name}.py").read_text(encoding="utf-8"))):
            modules = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            modules += [a.name for a in node.names] if isinstance(node, ast.Import) else []
            ours = ("posts", "cam.plan", "cam.moves", "cam.rs274", "cam.judge")
            assert not [m for m in modules if m.startswith(ours)]


@pytest.mark.parametrize("control", CONTROLS, ids="-".join)
def test_each_sense_is_found_in_air(control: tuple[str, str]) -> None:
    table = Table()
    play_senses(table, pin(*control))
    for name, ends in table.rows.items():
        assert len(ends["within limits" if name == "nothing is wrong" else "told in time"]) == 1, table.text()


@pytest.mark.parametrize(("control", "by"), [(CONTROLS[0], 0.05), (CONTROLS[1], -0.05)])
def test_a_zero_that_is_off_is_corrected_in_either_way(control: tuple[str, str], by: float) -> None:
    for paused in (True, False):
        for zeros in ((by, 0.0), (by, by)):
            outcome = play(pin(*control), zeros=zeros, paused=paused)
            assert outcome.end == "within limits", outcome


@pytest.mark.parametrize("by", [0.01, -0.01, 0.1, -0.1])
@pytest.mark.parametrize("stop", [4, 5, 7])
def test_a_tool_that_moved_is_found_before_it_cuts(by: float, stop: int) -> None:
    """By callipers at the belt, by a slip before a last cut; what callipers do not see, the next stop corrects."""
    outcome = play(pin(*CONTROLS[by < 0]), bump=bump_at(stop, 1, by), paused=by > 0)
    assert outcome.end == "within limits", outcome
    assert stop == 4 or "by a slip" in outcome.why or abs(by) > 0.05, outcome


@pytest.mark.parametrize("by", [0.05, -0.05])
def test_a_number_keyed_amiss_and_a_shoulder_that_moved_are_found_before_a_last_cut(by: float) -> None:
    for bump in (bump_at(5, 0, by), bump_at(5, 1, by, keyed=True), bump_at(7, 0, by), bump_at(7, 0, by, keyed=True)):
        outcome = play(pin(*CONTROLS[by < 0]), bump=bump, paused=by > 0)
        assert outcome.end == "within limits", outcome


@pytest.mark.parametrize("control", CONTROLS, ids="-".join)
def test_every_last_cut_that_is_measured_for_has_its_slip_tried_and_where_nothing_moved_it_just_passes(
    control: tuple[str, str],
) -> None:
    """By the gaps that the operator feels in the model's metal."""
    case = pin(*control)
    passes = case.work.planned.passes
    words = Operator(case.lathe()).all_words
    tried = {int(n) for n in re.findall(r"IF THIS CONTROL TAKES NO OFFSET HERE.*?AGAIN AT N(\d+)", words)}
    assert tried == {100 * (p.number + 1) for p in passes if any(m.cut_left for m in p.measure)}
    assert play(case) == Outcome("within limits", "")


def test_without_the_slip_a_tool_that_moved_spoils_the_work() -> None:
    """The model can fail: nobody tries the gap."""
    case = pin(*CONTROLS[0])
    bare = replace(case, work=replace(case.work, text=case.work.text.replace("try a slip", "stand back")))
    assert play(bare, bump=bump_at(5, 1, -0.02)).end == "told too late"


def test_without_the_callipers_a_tool_that_moved_spoils_the_work() -> None:
    """The model can fail: what nobody measures is cut where the tool stands."""
    case = pin(*CONTROLS[0])
    bare = re.sub(r"^\(before going on(.|\n)*?\)\n(?=\()", "", case.work.text, flags=re.M)
    assert bare != case.work.text
    assert play(replace(case, work=replace(case.work, text=bare)), bump=bump_at(4, 1, -0.1)).end == "told too late"


@pytest.mark.parametrize("by", [0.1, -0.1])
def test_a_tenth_along_z_is_read_while_metal_is_there(by: float) -> None:
    """At the start, which a rule does not show, and at a stop: the first cut on a shoulder leaves more than that."""
    case = pin(*CONTROLS[by < 0])
    assert play(case, zeros=(by, 0.0)).end == play(case, bump=bump_at(4, 0, by)).end == "within limits"


@pytest.mark.parametrize("control", CONTROLS, ids="-".join)
def test_a_pass_is_a_place_to_begin(control: tuple[str, str]) -> None:
    case, rng = pin(*control), Random(3)
    assert restarts(case) == (len(case.work.planned.passes), [])
    assert {o.end for o in (*drop_outs(case, rng, 2), *reground(case, rng, 1))} == {"within limits"}


def test_a_last_cut_begun_again_after_it_was_made_is_not_set_deeper() -> None:
    """The gap is wide by what that cut took: its stop says so."""
    case = pin(*CONTROLS[0])
    lathe = case.lathe()
    operator = Operator(lathe)
    operator.take_off()
    made = max(k for k, row in enumerate(lathe.lines) if "STOP to measure" in row)
    for stop in lathe.run(0, made):
        operator.answer(stop)
    assert judge(case, operator, operator.work("N1000")) == Outcome("within limits", "")


def test_without_its_proof_an_arc_taken_the_other_way_spoils_the_work() -> None:
    """The model can fail: nobody looks, and the arc cuts into the pivot."""
    case = pin(*CONTROLS[0])
    bare = re.sub(r"\(MSG, (ARC NEXT|SWUNG)[^)]*\)", "", case.work.text)
    senses = Senses(diameters=False, arcs=-1)
    assert play(case, senses=senses).end == "told in time"
    assert play(replace(case, work=replace(case.work, text=bare)), senses=senses).end == "SPOILT"


def test_what_a_stop_read_is_recorded_and_the_program_made_again() -> None:
    """Beside the number set at the control, and in turns with it."""
    case, files = pin(*CONTROLS[0]), files_of("crank-pin", *CONTROLS[0])
    for turns in (False, True):
        outcome = play_recorded(case, files, (-0.05, 0.02), turns=turns)
        assert outcome.end == "within limits", outcome
        assert ("recorded" in outcome.why) is not turns  # the first number set at the control puts right all the rest


def test_a_square_is_corrected_by_what_was_cut_since_z_was_set_and_touched_where_it_still_stands_rough() -> None:
    square = next(case for case in milled(sample("orrery-drum-arbor", *CONTROLS[0]), "arbor") if case.wanted is None)
    mill = square.mill(zeros={1: [0.0, 0.0, -0.04]})  # no slip finds it, and it is nearly all that is left to finish
    miller = Miller(mill)
    assert outcome(square, miller, miller.work()).end == "within limits"
    assert [text.partition(",")[0] for text in miller.sets] == ["Z by what is missing at flat 1 to round"]
    mill, miller = until(square, "N300", 12, zeros={1: [0.0, 0.0, -0.04]})  # ground anew while the next flat is cut
    miller.anew = 0.004
    assert outcome(square, miller, miller.work("N300")).end == "within limits"
    finish = re.search(r"flat 1, finish\)\n(N\d+)", square.text)
    assert finish is not None
    mill, miller = until(square, finish[1], 17)  # the current fails as the cutter has left the tip
    assert mill.flats[0.0] < mill.flats[180.0] - 0.04
    miller.anew = 0.004
    assert outcome(square, miller, miller.work(finish[1])).end == "within limits"


def test_wires_read_what_a_stop_expects_at_depths_that_a_dial_shows() -> None:
    with TemporaryDirectory() as folder:
        case = next(cases(make_screw(draw_screw(Random("6002-10-screw")), Path(folder)), "screw"))
    assert case.lathe().setting.threads
    assert play(case, sees=0.003).why == ""


@pytest.mark.slow
@pytest.mark.parametrize("control", CONTROLS, ids="-".join)
def test_square_and_hole_come_to_size_or_the_miller_is_told(control: tuple[str, str]) -> None:
    programs = list(milled(sample("orrery-drum-arbor", *control), "drum arbor"))
    assert len(programs) == 2
    for case in programs:
        ends = {name: found.end for name, found in play_mill(case)}
        assert {name for name, end in ends.items() if end != "within limits"} == {
            name for name in ends if name.endswith(("Z counts the other way", "X and Y not entered for a tool"))
        }
        assert "SPOILT" not in ends.values()
        assert any(name.endswith("not entered for a tool") for name in ends) == (
            case.wanted is not None and control[0] != "isongc")
    for case in milled(sample("orrery-drum-arbor", *control, rotary=True), "drum arbor"):
        miller = Miller(case.mill(turns=-1))
        assert miller.work() == "the rotary axis turned the other way"
    square = next(case for case in programs if case.wanted is None)
    blind = replace(square, text=re.sub("TRY THE GAP", "LOOK", square.text))  # the model can fail: nobody tries the gap
    mill = blind.mill()
    mill.zeros[1][2] = -0.1
    miller = Miller(mill)
    assert outcome(blind, miller, miller.work()).end == "told too late"


@pytest.mark.slow
def test_a_later_tool_that_is_off_or_set_late_is_found_before_it_cuts() -> None:
    table = Table()
    every = (c for _, job in random_jobs(1) for c in cases(job, ""))
    case = next(c for c in every if len({p.tool.number for p in c.work.planned.passes}) > 1)
    play_later_tools(table, case, (0.02, 0.1))
    assert len(table.rows) == 9
    assert all({k for k, v in ends.items() if v} == {"within limits"} for ends in table.rows.values()), table.text()


@pytest.mark.slow
def test_the_words_of_random_programs_find_nothing_where_nothing_is_wrong() -> None:
    for name, job in chain(islice(random_jobs(8), 12), islice(random_jobs(7), 3)):
        try:
            hold_words(job)
        except BrokenLawError as broken:
            pytest.fail(f"{name}: {broken}")


@pytest.mark.parametrize(
    ("name", "old", "new"),
    one_in(2, [
        ("bar-thinner-than-a-cut", "", ""),
        ("taper-all-before-its-face", "0.35 mm", "0.36 mm"),
        ("taper-runs-on-over-a-pivot", "", ""),
        ("slip-past-a-short-taper", "", ""),
    ]),
)
def test_the_words_of_what_the_search_has_found_find_nothing(name: str, old: str, new: str, tmp_path: Path) -> None:
    """What stands is the bar, where it is thinner than the cut before the last leaves; a short taper bears an edge.

    What a slip would be laid on, a taper behind may have cut lower.
    """
    part, shop = (KEPT / f"{name}.{kind}.toml" for kind in ("part", "shop"))
    (tmp_path / "part.toml").write_text(part.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    hold_words(make_job(tmp_path / "part.toml", shop))


@pytest.mark.slow
def test_random_programs_begin_again_at_every_line() -> None:
    programs, lines, wrong = begin_again(random_jobs(5), 20)
    assert (programs, wrong) == (20, [])
    assert lines > 250


@pytest.mark.slow
def test_where_all_stands_as_in_the_unbroken_program_what_follows_is_the_same() -> None:
    """Each begun again is run to its end, as a sample of those that are run until all stands so."""
    tried = list(islice((c for _, job in random_jobs(5) for c in cases(job, "")), 3))
    for case in (*tried, pin(*CONTROLS[0])):
        assert restarts(case, whole_way=True) == restarts(case)


def test_a_program_that_does_not_call_its_tool_where_it_is_begun_again_comes_out_otherwise() -> None:
    """The model can fail: a pass does not say its tool again."""
    case = pin(*CONTROLS[1])
    lacks = re.sub(r"(?m)^N502 .*\n", "", case.work.text)
    assert lacks != case.work.text
    (wrong,) = restarts(replace(case, work=replace(case.work, text=lacks)))[1]
    assert "N500" in wrong
