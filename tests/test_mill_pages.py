"""The mill's pages: every figure against its closed form, dials that land, nothing needed that is not there."""

from __future__ import annotations

import math
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import ProblemError, Where
from cam.ground.quantity import Quantity
from cam.job import Job, make_job, read_given, write_job_notebook, write_job_summary
from cam.mill.plan_hole import CrossHolePlan
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.moves.model import Cycle, Feed, expand
from cam.shop.machine import Slide
from posts.layout import BREAK, HEIGHT
from posts.pages.figures import figures_for
from posts.pages.job import pages_of_mill
from posts.pages.mill_dials import Counter
from posts.pages.mill_hole import uses_of
from posts.pages.mill_passes import flat_passes
from posts.pages.mill_square import place_on
from posts.pages.text import write_pages
from posts.wording import plain
from tests.mill_variants import VARIANTS, changed, pages_of, variant, words
from tests.specimens import SAMPLES, arbor_text, one_in

ROOT = Path(__file__).parent.parent
HERE = Where(path="shop.toml", line=12)
FLAT_WAYS = ("tipped", "parallel", "hexagon", "broken", "undercut", "readouts", "inch page", "hidden", "no dials")
"""Variants whose square can be cut by hand."""
ROW = re.compile(
    r"(?m)^ *(\d+)  (flat \d\S* ?\S+(?: \S+)*?) {2,}(side \d up|turned \S+)  +(\S+)(?:  +(\S+))?(?:  +(\S+))?$"
)
"""Pass, cut, turn and up to three figures."""


def square_of(name: str) -> tuple[SquareTask, SquarePlan]:
    work = variant(name)[2].works[-1]
    assert isinstance(work.task, SquareTask)
    assert isinstance(work.plan, SquarePlan)
    return work.task, work.plan


def hole_of(name: str) -> CrossHolePlan:
    plan = variant(name)[2].works[0].plan
    assert isinstance(plan, CrossHolePlan)
    return plan


def square(name: str) -> str:
    """The words of the square's page."""
    return words(pages_of(name)["square"])


def hole(name: str) -> str:
    """The words of the cross hole's page."""
    return words(pages_of(name)["cross-hole"])


def fine(name: str, mm: float) -> str:
    """A size as the pages of a variant print it."""
    inch = name == "inch page"
    text = f"{mm / (25.4 if inch else 1.0):.{4 if inch else 3}f}"
    return text[:-1] if text.endswith("0") else text


def rows_of(name: str) -> list[tuple[str, ...]]:
    """The rows of a variant's square, in order."""
    return ROW.findall(pages_of(name, 132)["square"])


# Form


@pytest.mark.parametrize("name", VARIANTS)
@pytest.mark.parametrize("width", one_in(3, [40, 80, 132]))
def test_pages_are_ascii_within_their_width_and_height(name: str, width: int) -> None:
    for text in pages_of(name, width).values():
        assert text.isascii()
        assert BREAK not in text
        assert "nan" not in text
        assert "None" not in text
        for page in text.split("\f"):
            lines = page.rstrip("\n").split("\n")
            assert len(lines) <= HEIGHT
            assert max(map(len, lines)) <= width


@pytest.mark.parametrize("name", VARIANTS)
def test_any_width_keeps_every_word_and_figure(name: str) -> None:
    def said(text: str) -> set[str]:
        return set(re.findall(r"[\w.+/%]+", re.sub(r"page \d+ of \d+|, continued", "", words(text))))

    for short, wide in zip(pages_of(name, 80).values(), pages_of(name, 240).values(), strict=True):
        assert said(short) == said(wide)
        assert "..." not in short


def test_hostile_names_stay_words() -> None:
    part, shop, job = variant("tipped")
    evil = "{{ 7*7 }}\x1b[31m\n\f\x02head %s \u202e" + "w" * 500
    sections = tuple(replace(s, name=evil) if s.name == "drum body" else s for s in part.sections)
    works = []
    for work in job.works:
        asked = replace(work.asked.asked, hold=replace(work.asked.asked.hold, section=evil))
        if hasattr(asked, "lead"):
            asked = replace(asked, name=evil, section=evil)
        works.append(replace(work, asked=replace(work.asked, asked=asked)))
    evil_part, figures = replace(part, name=evil, sections=sections), figures_for(part, shop.lathe)
    pages = pages_of_mill(evil_part, replace(job, works=tuple(works)), figures, {})
    text = write_pages(pages, part, figures)
    assert text.isascii()
    assert "\x1b" not in text
    assert plain("{{ 7*7 }}") in words(text)
    assert max(len(line) for line in text.replace("\f", "").split("\n")) <= 80


@pytest.mark.parametrize("name", VARIANTS)
def test_a_work_is_at_most_two_sheets_of_text(name: str) -> None:
    for text in pages_of(name).values():
        assert text.count("\f") <= 1


def test_a_tap_that_the_shop_does_not_describe_is_told_how_far_it_must_reach() -> None:
    """5 mm of full thread and a bottoming lead of 2 x 0.5 below the round, 0.2 of flat off it."""
    assert "bottoming, edges at least 5.80 long or a shank under 2.60, tap wrench" in hole("no tap")
    assert "bottoming, tap wrench" in hole("tipped")


def test_it_passes_its_bearing_by_what_is_said() -> None:
    blank = square_of("tipped")[0].square.blank
    assert f"CORNERS round; {fine('tipped', blank)} over them at 10.00 as milled; pass" in square("tipped")  # and after
    assert f"pass their hole of 6.03 by {fine('tipped', 6.03 - blank)}" in square("tipped")
    # broken corners, legs b along both faces: (a/2)^2 + (a/2 - b)^2 = (d/2)^2
    half = (3.6 + 2 * math.tan(math.radians(0.15)) * 10) / 2
    finished = fine("broken", 2 * math.hypot(half, half - 0.2))
    assert f"as milled, {finished} finished at the shoulder; pass" in square("broken")


def test_the_key_stops_where_the_taper_says() -> None:
    # 4.24 = 4.2 + 2 tan 0.15 deg (10 - x) at x = 2.361 from the shoulder: 17.64 of 20 are covered.
    assert "4.24 across: goes on over 17.64 from the tip, stops on the flats, 0.092 loose" in square("tipped")
    assert "none is named; take the key in hand as the gauge" in square("hexagon")


def test_the_shim_is_spacing_times_slope_and_its_end_is_named() -> None:
    # Derived: height = spacing x tan t; 50 mm x tan 0.15 deg is 0.131: 0.13 lies at 0.13 / tan 0.15 deg.
    text = square("tipped")
    assert "0.13, 49.66 from the edge, under the end toward the tip of the square, as drawn" in text
    assert "it stays there when the block is turned. Knock both down" in text
    assert "[###] shim" in pages_of("tipped")["square"]


def test_level_ways_say_that_no_shim_is_wanted() -> None:
    for name in ("ramped", "rotary", "parallel"):
        assert "Level, no shim" in square(name)
        assert "[###] shim" not in square(name)
    assert "Rotary axis true to the table's X" in square("rotary")


# Depths by dial


def dial(text: str, division: float, per_turn: int) -> float:
    """Travel that a printed dial setting stands for, mm."""
    turns, divisions = text.split("+")
    assert 0 <= float(divisions) < per_turn
    assert (2 * float(divisions)).is_integer()
    return (int(turns) * per_turn + float(divisions)) * division


@pytest.mark.parametrize("name", FLAT_WAYS)
def test_rows_are_the_closed_form_within_half_a_division(name: str) -> None:
    _, plan = square_of(name)
    touch, cos = plan.touch_off[1], plan.work.frame.cos
    rows, passes = rows_of(name), flat_passes(plan.moves)
    unit = 25.4 if name == "inch page" else 1.0
    assert len(rows) == len(passes)
    for row, own in zip(rows, passes, strict=True):
        number, what, _, left, below, *z = row
        assert (int(number), what) == (own.number, own.name)
        landed = float(below) * unit
        assert landed == pytest.approx(touch - own.enter_z, abs=0.0051 + 0.0001 * unit)
        wanted = (touch - landed) / cos - plan.milled.across / 2
        none = 0.0051 if float(left) == 0 else 0.0
        assert float(left) * unit == pytest.approx(wanted, abs=none or 0.0011 * max(unit / 10, 1))
        if name == "readouts":
            assert float(z[0]) == pytest.approx(-landed, abs=1e-9)
        elif name == "no dials":
            assert not z[0]
        elif name != "parallel":
            assert dial(z[0], 0.01, 100) == pytest.approx(landed, abs=0.00005 * unit)


@pytest.mark.parametrize("name", ["ramped", "rotary"])
def test_a_ramp_is_refused_by_hand_and_says_what_would_do(name: str) -> None:
    text = square(name)
    assert "a hand cannot cut it so" in text
    assert 'say square_by = "tipped block" in the shop file' in text
    assert "path:" not in text
    assert all(not row[4] for row in rows_of(name))


def test_a_square_by_rotary_axis_has_one_row_a_pass() -> None:
    # Every pass turns the work anew, so that the program may be begun there: no row of its own for that.
    text = write_job_summary(make_job(str(ROOT / "tests" / "cases" / "flats_page_phantom_rows.toml")))
    page = text[text.index(": THE HEXAGON, ON THE MILL") :]
    rows = re.findall(r"(?m)^ *(\d+)  (flat \d.*?)  +turned (\d+)", page)
    assert [int(number) for number, _, _ in rows] == list(range(1, 31))
    assert all(int(turn) == 60 * (int(what[5]) - 1) for _, what, turn in rows)


def slide(**changes: object) -> Slide:
    given = {"reading": "dial", "habit": "radius", "counts": "up", "division": 0.02, "turn": 2.0, "backlash": 0.05}
    values = (given | changes).items()
    return Slide(**{k: Quantity(v, f"{v:g} mm", HERE) if isinstance(v, float) else v for k, v in values}, where=HERE)


@given(
    st.sampled_from(["up", "down"]), st.sampled_from([0.01, 0.02, 0.025, 0.05]),
    st.lists(st.floats(-60.0, 60.0), min_size=1, max_size=6), st.sampled_from(["X", "Y", "Z"]),
)  # fmt: skip
def test_every_reading_of_a_slide_is_on_its_dial_and_lands(counts, division, travels, axis) -> None:
    part, shop, _ = variant("tipped")
    of = slide(counts=counts, division=division, turn=100 * division)
    counter = Counter(axis, of, travels, figures_for(part, shop.lathe))
    sign = 1 if counts == "up" else -1
    for travel in travels:
        shown = dial(counter.text(travel), division, 100) - counter.scale.turns * 100 * division
        assert sign * shown == pytest.approx(counter.landed(travel), abs=1e-9)
        assert abs(counter.landed(travel) - travel) <= division / 2 + 1e-9


# Flats in order


@pytest.mark.parametrize("name", ["tipped", "ramped", "rotary", "broken", "hexagon", "parallel"])
def test_three_stations_have_the_size_that_the_taper_gives(name: str) -> None:
    task, plan = square_of(name)
    table = pages_of(name, 132)["square"].split("BEFORE IT IS TAKEN OUT")[1]
    rows = [(float(a), float(b)) for a, b in re.findall(r"(?m)^ +([\d.]+) +([\d.]+) +[\d.]+ to", table)]
    assert len(rows) == 3
    assert rows[0][0] < rows[1][0] < rows[2][0] < task.square.length
    crown = 2 * plan.crown if plan.tip is None else 0.0
    for at, across in rows:
        wanted = task.square.across + task.allowance + 2 * task.square.slope * (task.square.station - at) + crown
        assert across == pytest.approx(wanted, abs=0.00051)


def test_flats_come_in_pairs_with_a_measure_after_each_and_all_finish_alike() -> None:
    order = [(row[1], row[2]) for row in rows_of("tipped")]
    rough = [(f"flat {n}, layer {k} of 2", f"side {n} up") for n in "1324" for k in (1, 2)]
    assert order == [*rough, *((f"flat {n}, finish", f"side {n} up") for n in "1234")]
    assert len({row[5] for row in rows_of("tipped") if "finish" in row[1]}) == 1
    named = re.findall(r"(?m)^MEASURE  (.*?)(?: at|:)", pages_of("tipped")["square"])
    assert named == ["flat 1 to round", "across flats 1 and 3", "flat 2 to round", "across flats 2 and 4",
                     "mean of the pairs"]  # fmt: skip


def test_readings_expected_are_the_closed_form_where_z_lands() -> None:
    # After flat one alone, over flat and round: (D + a) / 2; over two flats: a. Exact.
    task, plan = square_of("tipped")
    depth = plan.depths_by_hand()[-2][1]
    off = depth - round(depth / 0.01) * 0.01
    across, blank = plan.milled.across + 2 * task.left + 2 * off, plan.milled.blank
    text = square("tipped")
    assert f"flat 1 to round at 10.00: {fine('tipped', (blank + across) / 2)} ____" in text
    assert f"across flats 1 and 3 at 10.00: {fine('tipped', across)} ____" in text
    # A division of 0.01 takes 0.02 off two flats.
    assert f"mean of the pairs: {fine('tipped', across)} ________; (________ + ________) / 2; each 0.02 over: 1" in text


def test_the_square_is_lined_up_with_a_hole_whose_angle_counts() -> None:
    assert "hook hole points straight up; a drill's shank in it shows" in square("tipped")
    assert "hook hole points 30 deg clockwise of straight up, seen from the tip" in square("rotary")
    assert "the collet hides it" in square("hidden")
    assert "before the nut is tightened" not in square("through")  # any angle
    # 8 from the A face of the drum body, that is 6 + 7.5 + 8 behind the square's shoulder
    assert place_on(square_of("tipped")[0], hole_of("tipped")) == pytest.approx(-21.5)


def test_a_grip_that_may_turn_is_named() -> None:
    assert "borne on" not in square("tipped")  # as long as it is gripped
    assert "borne on 12.00 (0.86 diameters; 1.5 hold a cut, common practice: cut lightly" in hole("tipped")


# The cross hole


def test_depths_of_a_blind_thread() -> None:
    # M3: pitch 0.5; 5 mm of full thread, a bottoming tap's lead 2 threads, 0.5 mm for chips; point of 118 degrees.
    text = hole("tipped")
    point = 6.5 + 1.3 / math.tan(math.radians(59))
    assert f"drill {point:.2f} 7+28" in text
    assert "its end then 6.00 below the top; the hole ends 0.50 below" in text
    assert "about 11.6 turns from the first bite" in text  # from the small flat, (6 - 0.2) / 0.5
    # spot of 90 degrees, 0.8 of the drill wide: 0.2 + 0.8 * 1.3
    assert "spot 1.24 1+24" in text


def test_pecks_are_those_of_the_cycle_written_long_hand() -> None:
    plan = hole_of("tipped")
    radius = plan.work.section_at(plan.hole.x).top
    cycle = next(m for m in plan.moves if isinstance(m, Cycle) and m.kind == "peck")
    bottoms = [radius - m.z for m in expand(cycle) if isinstance(m, Feed)]
    assert list(uses_of(plan, radius)[-1].bottoms) == pytest.approx(bottoms)
    shown = ", ".join(f"{int(b)}+{round(b % 1 * 100):02d}" for b in bottoms[:-1])
    assert f"drawn out to clear the chips at Z dial {shown}" in hole("tipped")


def test_the_screw_goes_in_as_far_as_the_thread_is_whole() -> None:
    assert "goes in by hand 9.6, is" in hole("tipped")  # the flat takes 0.2 of the 5 mm
    plan = hole_of("through")
    radius = plan.work.section_at(plan.hole.x).top
    sag = radius - math.sqrt(radius**2 - 1.5**2)  # where a round meets a hole 3 wide all round
    assert f"{(2 * radius - max(0.2, sag) - sag) / 3:.2f} diameters engaged" in hole("through")
    assert plan.percent is not None
    less = 3 - plan.percent.drill.diameter  # M3 x 0.5: of the basic height 1.0825 P, of 3/4 H 1.299 P
    basic, chart = (100 * less / (share * 0.5) for share in (1.08253, 1.29904))
    assert f"{basic:.0f} % of thread (5/8 H a side), {chart:.0f} % by common charts (3/4 H), " in hole("through")


def test_where_the_hole_is_and_what_stays_round_it() -> None:
    text, plan = hole("tipped"), hole_of("tipped")
    assert "its centre 8.00 from the A face of drum body, toward the collet" in text
    area, stiffness = (f"{100 * share:.0f} %" for share in (plan.net.area, plan.net.stiffness))
    assert f"{area} of the body's area and {stiffness} of its stiffness stay" in text


def test_through_holes_caution_where_the_drill_comes_out() -> None:
    text = hole("through")
    out = 0.5 + 1.3 / math.tan(math.radians(59))  # 0.5 beyond the far side, and the point; a second tap's lead, 4 x 0.5
    landed = round(out, 2)  # its dial is divided in 0.01 mm
    below = f"{fine('through', landed)}, the drill's point comes out; the tap's end 2.00: nothing may lie under"
    assert f"{below} the hole" in text
    assert "ease the feed as the point comes out: there a drill grabs" in text
    assert "ease the feed" not in hole("tipped")


def test_a_machine_tap_and_a_plain_hole_have_no_hand_tapping() -> None:
    assert "tap, in step with Z" in hole("machine tap")
    assert "by hand: second" not in hole("machine tap")
    assert "2.60 plain" in hole("plain")
    assert "tap" not in re.sub(r"\W", " ", hole("plain")).split()
    assert "small flat" not in hole("plain")


def test_the_middle_makes_up_for_backlash() -> None:
    # Touches from both sides with a slide that lags by half its play each way: the middle is half-way, and on by half.
    for page in pages_of("tipped").values():
        assert "come to as at the first touch, and on by 0.025 (half the backlash)" in words(page)
    assert "half the backlash" not in words("".join(pages_of("no dials").values()))


def test_what_can_hurt_here_stands_at_its_step() -> None:
    assert "Spindle off: cutter to its stop at the shoulder" in square("tipped")
    assert "never hold work by hand under a drill" in hole("tipped")
    assert "a small drill breaks without warning" in hole("tipped")
    assert "never force it: a broken tap is a scrapped arbor" in hole("tipped")


@pytest.fixture(scope="module")
def summary() -> str:
    """Of the sample as it comes: setting 2 waits for a measurement."""
    return write_job_summary(make_job(str(ROOT / "samples" / "orrery-drum-arbor.toml")))


def test_once_setting_2_is_planned_its_page_leads_to_the_mill() -> None:
    text = words(write_job_summary(make_job(str(SAMPLES / "orrery-drum-arbor.toml"))))
    assert "Now the mill: hook hole and the square, by the pages that follow." in text
    assert "see MEASURE NEXT" not in text


def test_the_pages_come_in_the_order_of_the_work(summary: str) -> None:
    titles = [page.split("\n")[0] for page in summary.split("\f")]
    names = ("FIRST, ON THE BENCH", "SETTING 1", "HOOK HOLE, ON THE MILL", "THE SQUARE, ON THE MILL", "MEASURE NEXT")
    at = [next(k for k, t in enumerate(titles) if name in t) for name in names]
    assert at == sorted(at)
    assert at[-1] == len(titles) - 1


def test_bench_and_setting_pages_say_what_the_mill_does_and_when(summary: str) -> None:
    text = words(summary)
    assert re.search(r"STOP HERE: .* is to be measured", text)
    assert "then on the mill: hook hole and the square, in this order, by their pages" in text
    assert "once hook hole and the square are cut, back between the same centres" in text
    assert "- Once: winding square 5." in text
    assert "After setting 2, before front pivot and back pivot are stoned or burnished" in text
    assert "Setting 2 is not planned yet, see MEASURE NEXT: do not cut this before it is made." in text


LONGER = ((r'extra_length = "0 mm" {9,}', 'extra_length = "3 mm" '), (r'"82 mm"', '"86 mm"'))
"""What gives the sample extra length at the end of its square."""
FITTED = ((r'# (fitting_allowance = "0.05 mm")', r'late = "B"\n\1'),)
PLAIN = ((r'finish = "turn, stone, burnish"', 'finish = "turn"'), (r"\non_(diameter|face) = .*", ""))


def job_of(folder: Path, *changes: tuple[str, str]) -> Job:
    """The sample, measured and changed."""
    shutil.copy(SAMPLES / "shop.toml", folder)
    (folder / "arbor.toml").write_text(changed(arbor_text(), changes), "utf-8")
    return make_job(str(folder / "arbor.toml"))


@pytest.fixture(scope="module")
def longer(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The sample with extra length at the end of its square, which is off before the mill."""
    return job_of(tmp_path_factory.mktemp("longer"), *LONGER)


@pytest.mark.parametrize(("longer", "held"), [((), "between the same centres"), (LONGER, "in a collet, running true,")])
def test_a_shoulder_is_faced_back_at_the_fitting_as_the_part_can_be_held(
    tmp_path: Path, longer: tuple[tuple[str, str], ...], held: str
) -> None:
    job = job_of(tmp_path, *FITTED, *longer)
    said = f"ace the late shoulder back {held} by what is missing"
    assert said in words(write_job_summary(job))
    assert said in words(write_job_notebook(job))


def test_nothing_goes_back_between_centres_for_which_nothing_is_left_to_do(tmp_path: Path) -> None:
    back = "Then back between the same centres; a carrier"
    assert back in square("tipped")
    said = words(write_job_summary(job_of(tmp_path, *PLAIN)))
    assert "Try key and bearing; wash." in said
    assert "back between the same centres" not in said


def test_extra_length_is_off_before_the_mill_and_all_that_wants_the_centres_before_that(longer: Job) -> None:
    text = words(write_job_summary(longer))
    in_order = (
        "- then the extra length off, centre hole and all; no work between centres after that - then on",
        "Front pivot: stone and burnish",
        "now, between the same centres, at the slowest speed",
        "- Before the mill, saw or part off the extra length, 3.00 at the A end, centre hole and all, and dress "
        "to 78.00 over both ends; no work between centres after that. - By hand the A end's edge of winding square",
        "Now the mill: hook hole and the square, by the pages that follow.",
        "After setting 2, once the extra length is off, front pivot and back pivot finished: no knock must meet them;",
        "Try key and bearing; wash.",
    )
    at = [text.index(part) for part in in_order]
    assert at == sorted(at)
    assert "back between the same centres" not in text
    assert text.count("no work between centres after that") == 2
    assert "Last of all" not in text
    assert "- Once: winding square 5." in text
    held = longer.mill.works[1].task.sections  # its own end and not that of the extra length
    assert f"{held[-1].end - held[0].start:.2f} stands out" in text


PIN_HOLE = """
[[cross_hole]]
name = "pin hole"
section = "arm seat"
face = "A"
distance = "4 mm"
angle = "any"
diameter = "2.6 mm"
depth = "2 mm"
flat_depth = "0 mm"
grip = "head"
grip_length = "12 mm"
"""


def test_a_part_in_a_collet_is_finished_and_off_its_bar_before_the_mill(tmp_path: Path) -> None:
    shutil.copy(SAMPLES / "shop.toml", tmp_path)
    (tmp_path / "pin.toml").write_text((SAMPLES / "crank-pin.toml").read_text("utf-8") + PIN_HOLE, "utf-8")
    job = make_job(str(tmp_path / "pin.toml"))
    text, book = words(write_job_summary(job)), words(write_job_notebook(job))
    in_order = (
        "- then off its bar - then on the mill: pin hole",
        "burnish 2.99 to 2.98 (2.97 to 2.99), now, in the same hold",
        "Saw or part it off last, 33.00 from the finished end", "Now the mill: pin hole, by the pages that follow.",
        "After setting 1, once it is off its bar, handle pivot finished: no knock must meet it; what goes",
    )  # fmt: skip
    for said, steps in ((text, in_order), (book, ('Finish "handle pivot"', "Saw or part it off", "On the mill:"))):
        at = [said.index(step) for step in steps]
        assert at == sorted(at)
        assert "between the same centres" not in said
        assert "still to be turned or stoned" not in said


def test_the_notebook_has_the_extra_length_off_before_the_mill(longer: Job) -> None:
    book = words(write_job_notebook(longer))
    steps = ('Finish "front pivot"', "Before the mill, saw or part off the extra length", "By hand the A end's edge",
             "On the mill: hook hole", "On the mill: the square", "Measure all that is finished")  # fmt: skip
    at = [book.index(step) for step in steps]
    assert at == sorted(at)
    assert "back between the same centres" not in book


def test_the_page_of_a_planned_square_says_why_it_waits_for_setting_2(tmp_path: Path) -> None:
    text = (SAMPLES / "orrery-drum-arbor.toml").read_text("utf-8")
    measured = changed(text, ((r'to_be_measured = "after setting 1".*', 'readings = ["46.22 mm"]'),))
    (tmp_path / "shop.toml").write_text((SAMPLES / "shop.toml").read_text("utf-8"), "utf-8")
    (tmp_path / "arbor.toml").write_text(measured, "utf-8")
    said = words(write_job_summary(make_job(str(tmp_path / "arbor.toml"))))
    assert "Never sooner: the carrier (dog) grips the round of winding square while the B end is turned." in said
    assert "not planned yet" not in said


def test_what_waits_for_a_length_is_named_on_the_bench_page(tmp_path: Path) -> None:
    text = (ROOT / "samples" / "orrery-drum-arbor.toml").read_text("utf-8")
    later = changed(text, (
        (r'section = "drum body"\nface = "A"', 'section = "back seat"\nface = "B"'),
        (r'distance = "8 mm"', 'distance = "3 mm"'),
        (r'angle = "0 deg"', 'angle = "any"'), (r'\ndepth = ".*?"', '\ndepth = "3 mm"'),
        (r'grip = "drum body"(.*)\ngrip_length = "21 mm"', r'grip = "back seat"\1\ngrip_length = "4 mm"'),
    ))  # fmt: skip
    (tmp_path / "shop.toml").write_text((SAMPLES / "shop.toml").read_text("utf-8"), "utf-8")
    (tmp_path / "arbor.toml").write_text(later, "utf-8")
    said = words(write_job_summary(make_job(str(tmp_path / "arbor.toml"))))
    assert 'of these the square and "hook hole" cannot be planned before a length is measured' in said
    assert "ON THE MILL" not in said


def test_a_dial_of_the_mill_that_does_not_divide_is_refused(tmp_path: Path) -> None:
    text = (SAMPLES / "shop.toml").read_text("utf-8")
    bad = changed(text, ((r'(\[mill\.z\](?:\n.*){3}\n)turn = "1 mm"', r'\1turn = "0.995 mm"'),))
    (tmp_path / "shop.toml").write_text(bad, "utf-8")
    part = tmp_path / "arbor.toml"
    part.write_text((SAMPLES / "orrery-drum-arbor.toml").read_text("utf-8"), "utf-8")
    with pytest.raises(ProblemError) as found:
        read_given(str(part))
    assert any("a turn of the mill's Z dial is not a whole number" in p.what for p in found.value.problems)


def test_a_shim_beyond_the_block_is_refused(tmp_path: Path) -> None:
    text = (SAMPLES / "shop.toml").read_text("utf-8")
    bad = changed(text, ((r'shim_distance = "50 mm"', 'shim_distance = "61 mm"'),))
    (tmp_path / "shop.toml").write_text(bad, "utf-8")
    part = tmp_path / "arbor.toml"
    part.write_text((SAMPLES / "orrery-drum-arbor.toml").read_text("utf-8"), "utf-8")
    with pytest.raises(ProblemError) as found:
        read_given(str(part))
    assert any("the shim does not lie under the block" in p.what for p in found.value.problems)


# Limits and corners -----------------------------------------------------------------------------------------------


INCH_MILL = ((r'(\[mill\].*(?:\n.*)*?\nunits = )"mm"', r'\1"in"'),)
UNEVEN = ((r'(\[section\.square\].*(?:\n.*)*?\ntolerance = )".*?"', r'\1"±0.0123 mm"'),)


@pytest.mark.parametrize("name", ["tipped", "hexagon", "inch page", "rotary", "uneven"])
def test_limits_of_a_flat_are_said_as_finely_as_its_aim_and_never_lie_outside(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(VARIANTS, "uneven", (UNEVEN, INCH_MILL))
    task, plan = square_of(name)
    unit, digit = (25.4, 0.0001) if name == "inch page" else (1.0, 0.001)
    table = pages_of(name, 132)["square"].split("BEFORE IT IS TAKEN OUT")[1]
    said = re.findall(r"(?m)^ +([\d.]+) +[\d.]+ +([\d.]+) to ([\d.]+)", table)
    rows = [[float(f) * unit for f in row] for row in said]
    assert len(rows) == 3
    for at, low, high in rows:
        aim = plan.milled.across + 2 * task.square.slope * (task.square.station - at)
        least, most = (aim + limit for limit in task.limits)
        off = 1e-6 + 2 * task.square.slope * 0.0005 * unit
        assert least - off <= low < least + digit * unit + off
        assert most - digit * unit - off < high <= most + off


@pytest.mark.parametrize("mill", [(), INCH_MILL])
def test_a_program_never_allows_a_flat_that_is_past_its_limits(mill, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(VARIANTS, f"uneven {len(mill)}", (UNEVEN, mill))
    task, plan = square_of(f"uneven {len(mill)}")
    text = variant(f"uneven {len(mill)}")[2].works[-1].text
    unit, digit = (25.4, 0.0001) if mill else (1.0, 0.001)
    said = re.findall(r"([\d.]+) (?:to|TO) ([\d.]+) (?i:allowed)", re.sub(r"\)\n\(\.\. ", " ", text))
    assert len(said) == 2
    for low, high in said:
        least, most = (plan.milled.across + limit for limit in task.limits)
        assert least - 1e-6 <= float(low) * unit < least + digit * unit
        assert most - digit * unit < float(high) * unit <= most + 1e-6


def test_over_the_corners_it_says_what_the_mill_leaves_and_what_is_finished() -> None:
    """As milled the corners are whole, across the flats by the root of two; the file breaks them afterwards."""
    _, plan = square_of("broken")
    milled = plan.milled.across * math.sqrt(2)
    assert f"{fine('broken', milled)} over them at 10.00 as milled, " in square("broken")
    text = re.sub(r"\)\n\(\.\. ", " ", variant("broken")[2].works[-1].text)
    assert re.search(rf"(?i)then over the corners at the station: {milled:.3f} expected", text)


CORNERS = {
    "sharp to the tip": ('across = "3.67 mm"', 'corners = "round"'),
    "whole": ('across = "3.6 mm"', 'corners = "whole"'),
    "broken at the tip": ('across = "3.67 mm"', 'corners = "broken"\nbroken = "0.1 mm"'),
}


@pytest.mark.parametrize("name", CORNERS)
def test_of_corners_it_says_what_file_and_stone_meet(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The round is 5.18: faces meet on it where they are 3.663 across, which is 1.4 mm beyond the station here."""
    across, corners = CORNERS[name]
    changes = ((r'across = "4.2 mm"', across), (r'corners = "round"', corners), (r'key = "4.24 mm"', ""))
    monkeypatch.setitem(VARIANTS, name, (changes, ()))
    said = square(name)
    to = 10 + (3.67 - 5.18 / math.sqrt(2)) / (2 * math.tan(math.radians(0.15)))
    wanted = {
        "sharp to the tip": [
            f"CORNERS round to {to:.2f} from the shoulder, sharp from there to the tip; 5.18 over them",
            f"Corners stay round as the blank left them, to {to:.2f} from the shoulder: only their burrs come off. "
            "From there to the tip they are sharp: take the edges off with a stone.",
        ],
        "whole": ["CORNERS whole; 5.119 over them at 10.00", "Corners stay whole: only their burr comes off."],
        "broken at the tip": [
            "Corners: break each by 0.10 along both faces, from where they would meet, all alike, "
            "to 5.051 over them at 10.00",
        ],
    }
    assert all(words in said for words in wanted[name]), said


@pytest.mark.parametrize("name", ["tipped", "hexagon", "broken", "undercut", "inch page", "hidden"])
def test_a_finish_is_set_to_half_a_division_where_no_mark_is_as_near(name: str) -> None:
    """Z 0+50 left 4.23 across, the upper limit, where 0+50.5 leaves 4.22."""
    plan = square_of(name)[1]
    wanted = plan.depths_by_hand()[-1][1]
    for _, what, _, _, _, reading in rows_of(name):
        if "finish" in what:
            assert dial(reading, 0.01, 100) == pytest.approx(wanted, abs=0.0025 + 1e-6)
        else:
            assert ".5" not in reading
