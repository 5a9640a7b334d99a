"""The cutting summary: dials that land on the aim, the sketch the right way round, nothing left unsaid."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.plan import plan_job
from cam.plan.model import Plan
from cam.plan.rough import TURNING_CAUTION
from cam.shop.machine import GAUGED, Slide, bare_length
from posts.dials import decimals_for
from posts.layout import HEIGHT, WIDTH
from posts.pages.after import finishing
from posts.pages.bench import EMERY, IN_LINE
from posts.pages.figures import figures_for, written
from posts.pages.job import job_pages
from posts.pages.setting import REAR
from posts.sketch import draw_sketch
from posts.summary import write_summary
from tests.plan_specimens import SAMPLE_NAMES, encoder_plan, random_plans, sample_plan
from tests.sheets.jobs import write_job
from tests.specimens import SAMPLES, arbor_text, drum_arbor, part_from, sample, some

HERE = Where(path="shop.toml", line=12)
BESIDE = "passed it, a whole turn out and in again; beside the centre X first, or Z may touch it."
SLOW = settings(
    deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def slide(**changes: Any) -> Slide:
    given = {
        "reading": "dial", "habit": "diameter", "counts": "up", "division": (0.02, "0.02 mm"), "turn": (2.0, "2 mm"),
        "backlash": (0.04, "0.04 mm"),
    } | changes  # fmt: skip
    return Slide(**{k: Quantity(*v, HERE) if isinstance(v, tuple) else v for k, v in given.items()}, where=HERE)


INCH = {"division": (0.0254, "1 thou"), "turn": (2.54, "100 thou")}


# Whatever a name holds


def test_no_name_brings_signs_to_the_page_that_a_printer_or_terminal_would_obey() -> None:
    """Escapes, bells and what turns a line round, in every name that a part file gives, headings too."""
    text = arbor_text()
    for at, name in enumerate(re.findall(r'^name = "(.*?)"', text, re.M)):
        text = text.replace(f'"{name}"', f'"{at}\\u001b[2J\\u0007\\u202e\\u009b\\u00e9"')
    page = write_summary(plan_job(part_from(text), drum_arbor()[1]))
    assert re.fullmatch(r"[ -~\n\f]*", page), sorted(set(re.findall(r"[^ -~\n\f]", page)))


# Decimals


@pytest.mark.parametrize(
    ("text", "mm", "unit", "decimals"),
    [("0.02 mm", 0.02, "mm", 2), ("0.01 mm", 0.01, "mm", 2), ("0.05 mm", 0.05, "mm", 2), ("1 thou", 0.0254, "in", 3),
     ("0.005 mm", 0.005, "mm", 3), ("0.025 mm", 0.025, "mm", 3), ("0.1 mm", 0.1, "mm", 1), ("0.02 mm", 0.02, "in", 4)],
)  # fmt: skip
def test_decimals_are_as_fine_as_the_dial(text: str, mm: float, unit: str, decimals: int) -> None:
    assert decimals_for(slide(division=(mm, text)), unit) == decimals


# Limits and the user's own words


def test_the_users_own_text_stands_beside_a_converted_value() -> None:
    plan = sample_plan("moon-carriage-spindle")
    assert written(Quantity(3.175, "1/8 in", HERE), "0.1250", "in") == " (1/8 in)"
    assert written(Quantity(3.175, "0.125 in", HERE), "0.1250", "in") == ""
    assert written(Quantity(0.1, "0.1 mm", HERE), "0.0039", "in") == " (0.1 mm)"
    text = write_summary(plan)
    for words in ("3/32 in diameter", "5/16 in long", "3/16 in", "0.1 mm"):
        assert words in text


def test_holes_for_the_pivots_come_after_all_that_their_pivots_need() -> None:
    titles = [page.title for page in job_pages(sample_plan("orrery-drum-arbor"))]
    at = [next(n for n, title in enumerate(titles) if words in title) for words in ("SPANS", "SETTING 1", "HOLES FOR")]
    assert at == sorted(at)
    bench = " ".join(write_summary(sample_plan("orrery-drum-arbor")).split("\f")[0].split())
    assert "then the plates' holes and the trial between them: HOLES FOR THE PIVOTS" in bench
    assert "HOLES FOR THE PIVOTS" not in write_summary(sample_plan("crank-pin"))


def test_spans_and_holes_of_a_part_in_inches_are_in_inches() -> None:
    text = arbor_text()
    inches = re.sub(r'"(\d+(?:\.\d+)?) mm"', lambda m: f'"{float(m[1]) / 25.4:.6f} in"', text)
    part, shop = part_from(inches), drum_arbor()[1]
    pages = write_summary(plan_job(part, shop))
    own = [" ".join(p.split()) for p in pages.split("\f") if ": SPANS" in p[:90] or ": HOLES" in p[:90]]
    assert len(own) == 2
    joined = " ".join(own)
    assert joined.count("All figures of this page are inches.") == 2
    assert '1.8197 measured, "between plates"' in joined  # 46.22 mm
    outside, inside = 4.015 / 25.4, 4.04 / 25.4
    assert f"until the outside is {outside:.4f} in (the inside then {inside:.4f} in)" in joined
    assert "0.05 in farther in opens the hole by 0.0005 in" in joined  # 1:100
    figures = set(re.findall(r"[\d.]+ mm", joined))
    assert figures <= {"3.8 mm", "0.02 mm", "0.01 mm"}  # drills by their names, uncertainties as they were written


# The pages


def check_form(text: str) -> list[list[str]]:
    """Every page of a summary, its form checked: lines."""
    assert text.isascii()
    pages = [page.splitlines() for page in text.split("\f")]
    for n, page in enumerate(pages, start=1):
        assert len(page) <= HEIGHT
        assert max(map(len, page)) <= WIDTH
        assert all(line.isprintable() for line in page)
        assert page[0].endswith(f"page {n} of {len(pages)}")
        assert all(line == line.rstrip() for line in page)
    return pages


VARIANTS: list[dict[str, Any]] = [
    {}, {"control_kind": "hand"}, {"x_habit": "radius", "x_counts": "down"}, {"x_habit": "depth on diameter"},
    {"x_reading": "none", "z_reading": "none"}, {"x_reading": "readout", "z_reading": "readout", "z_counts": "down"},
    {"spindle_positions": (), "spindle_slowest": 100.0, "spindle_fastest": 2000.0}, {"tool_post": "rear"},
]  # fmt: skip


@pytest.mark.parametrize("variant", some(range(len(VARIANTS)), 0, 3))
@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_every_page_fits_the_paper_and_every_pass_has_its_row(name: str, variant: int) -> None:
    plan = sample_plan(name, **VARIANTS[variant])
    text = write_summary(plan, closest={1: "0.42 mm, tool 1 nose to the centre cone"})
    check_form(text)
    assert "None" not in text
    assert "nan" not in text.split()
    for planned in plan.settings:
        check_setting(plan, planned.setting.number, text)


def setting_text(text: str, number: int) -> str:
    """One setting's pages without their heads."""
    pages = [p for p in text.split("\f") if f": SETTING {number} of " in p.splitlines()[0]]
    return "\n".join("\n".join(p.splitlines()[2:]) for p in pages)


def check_setting(plan: Plan, number: int, text: str) -> None:
    planned = plan.settings[number - 1]
    body = setting_text(text, number)
    rows = re.findall(r"^ *(\d+)  [a-z]", body, re.M)
    assert [int(r) for r in rows] == [c.number for c in planned.passes]
    joined = " ".join(body.split())
    measures = re.findall(r"MEASURE .+? ________ \((?:then )?\S+ to \S+\)", joined)
    assert len(measures) == sum(len(c.measure) for c in planned.passes)
    for cut in planned.passes:
        for caution in cut.cautions:
            assert caution == TURNING_CAUTION or " ".join(caution.split()) in joined
    assert " ".join(planned.setting.datum_words.split()).removeprefix("Z zero is ").partition(".")[0] in joined


def test_the_bench_comes_first_with_holes_and_cautions() -> None:
    text = write_summary(sample_plan("orrery-drum-arbor"))
    first = " ".join(text.split("\f")[0].split())
    for words in (
        "FIRST, ON THE BENCH", "Saw 82", "ISO 6411 - A 1/2.12", "pilot 1 mm", "at least 1.9 mm deep",
        "78.00 over both ends",
        "silver steel (drill rod), 16.00 diameter", "right-hand knife", "middle carrier", "Glasses on, always",
        "No gloves", "chuck key", "never by hand", "machine's manual", "burnisher",
    ):  # fmt: skip
        assert words in first  # ISO 866:1975, form A, row d = 1: mouth 2.12, depth at least 1.9 (recalled)


def test_reversal_names_carrier_grip_and_protection() -> None:
    plan = sample_plan("orrery-drum-arbor")
    second = plan.settings[1]
    packed = replace(second, setting=replace(second.setting, protection=0.5))
    text = " ".join(write_summary(replace(plan, settings=(plan.settings[0], packed))).split())
    assert f"Turn end for end: {second.setting.carrier.name} on {second.setting.grip}" in text  # type: ignore[union-attr]
    assert "0.5 of soft copper or aluminium (aluminum), or a split brass sleeve, under its screw" in text


def test_belts_are_told_where_they_change_and_nowhere_else() -> None:
    plan = sample_plan("orrery-drum-arbor")
    body = setting_text(write_summary(plan), 1)
    told = re.findall(r"belt (\w+), about (\d+) rpm", body)
    speeds = [(c.speed_name, f"{c.rpm:.0f}") for c in plan.settings[0].passes]
    assert told == [s for n, s in enumerate(speeds) if n == 0 or s != speeds[n - 1]]


LIGHTLY = "stone lightly, only until the turning marks go, as it is 3.00 already (2.97"


@pytest.mark.parametrize(("division", "said"), [("0.02", "stone 3.02 to 3.00 (2.97"), ("0.05", LIGHTLY)])
def test_nothing_is_stoned_to_a_size_that_it_has_already(division: str, said: str) -> None:
    """A readout too coarse for what was to be left for the stone leaves none."""
    part = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8").replace('shop = "shop.toml"\n', "")
    part = part.replace("-0.01 / -0.03", "+0.03 / -0.03").replace("turn, burnish", "turn, stone")
    shop = (SAMPLES / "shop.toml").read_text(encoding="utf-8").replace('reading = "dial"', 'reading = "readout"', 1)
    shop = re.sub(r'turn = "2 mm".*\n', "", shop.replace('division = "0.02', f'division = "{division}', 1), count=1)
    job = write_job(part, shop)
    assert job is not None
    assert f"Handle pivot: {said}" in " ".join(job.text.split())


def test_finishing_says_how_much_is_left_and_how_it_comes_off() -> None:
    text = " ".join(write_summary(sample_plan("orrery-drum-arbor")).split())
    assert re.search(r"Front pivot: stone and burnish 6\.0\d+ to 5\.98 \(5\.97 to 5\.99\)", text)
    assert "once winding square is cut, back between the same centres" in text
    assert EMERY in text
    assert "Laid flat on the pivot" in text
    assert IN_LINE in text


def test_filing_is_told_with_its_cautions() -> None:
    plan = sample_plan("crank-pin")
    route = ("turn", "file", "burnish")
    sections = tuple(replace(s, finish=replace(s.finish, route=route)) for s in plan.part.sections)
    changed = replace(plan, part=replace(plan.part, sections=sections))
    text = " ".join(write_summary(changed).split())
    assert "a tight handle" in text
    assert "do not reach over them" in text
    assert "Never a strip held or wrapped by hand" in text


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_what_is_measured_once_is_asked_for_before_all_that_it_is_done_before(name: str) -> None:
    """Sizes are measured before they are stoned, and before the work is turned end for end or comes off its bar."""
    plan = sample_plan(name)
    pages = [setting_text(write_summary(plan), planned.setting.number) for planned in plan.settings]
    after = [" ".join(page.partition("AFTERWARDS")[2].split()) for page in pages]
    first = ["- Burrs off. Let it cool before a length is measured. - ",
             "- Burrs off. Let it cool, then first the table below. - "]  # fmt: skip
    once = ["- Once: " in said for said in after]
    assert any(once)
    told = [said.replace(" Record: see SPANS.", "", 1) for said in after]
    assert all(said.startswith(first[table]) for said, table in zip(told, once, strict=True))


def test_what_is_stoned_is_said_at_both_ends_of_a_taper_and_as_it_stands_where_nothing_is_to_come_off() -> None:
    plan = sample_plan("orrery-drum-arbor")
    figures, turned = figures_for(plan.part, plan.shop.lathe), plan.settings[0].setting.turned
    pivot = next(t for t in turned if t.section.name == "front pivot")
    assert finishing(pivot, "A", figures) == "stone and burnish 6.01 to 5.98 (5.97 to 5.99)"
    thin = replace(pivot, radius_near=2.985, radius_far=2.985)
    only = "stone and burnish lightly, only until the turning marks go, as it is 5.97 already (5.97 to 5.99)"
    assert finishing(thin, "A", figures) == only
    wide = Quantity(6.3, "6.3 mm", pivot.section.where)
    section = replace(pivot.section, diameter_b=wide, tolerance=None)
    cone = replace(pivot, section=section, radius_near=3.015, radius_far=3.165)
    assert finishing(cone, "A", figures) == "stone and burnish 6.03 / 6.33 to 6.00 / 6.30"
    assert finishing(cone, "B", figures).endswith("already")  # from the B end the thick one is first


def test_extra_length_comes_off_last_of_all() -> None:
    """Both ends have some here, so both centre holes come off: the length of the one is found from its shoulder."""
    extra = "0.1250 at each end, centre holes and all"
    pages = " ".join(write_summary(sample_plan("moon-carriage-spindle")).split())
    dress = "dress to 0.1875 from the A end's shoulder, then 2.8125 over both ends"
    assert f"Last of all, saw or part off the extra length, {extra}, and {dress}" in pages
    assert pages.index("Last of all") > pages.index("SETTING 2 of 2")


def test_limits_that_the_drawing_does_not_give_are_said_once_to_be_the_sheets() -> None:
    """The arbor's first shoulders have none; every diameter of it has."""
    plan = sample_plan("orrery-drum-arbor")
    own = "Limits not drawn: this sheet's."
    assert " ".join(write_summary(plan).split()).count(own) == 1
    first = plan.settings[0]
    operations = tuple(
        replace(o, passes=tuple(replace(c, measure=tuple(replace(m, given=True) for m in c.measure)) for c in o.passes))
        for o in first.operations
    )
    drawn = replace(plan, settings=(replace(first, operations=operations), *plan.settings[1:]))
    assert own not in write_summary(drawn)


def test_a_collets_part_is_faced_first_and_cut_off_last() -> None:
    pages = write_summary(sample_plan("crank-pin"))
    assert "centre hole" not in pages.lower()
    assert pages.index("face the end, last") < pages.index("  rough")
    last = " ".join(pages.split())
    assert "Saw or part it off last, 33.00 from the finished end" in last
    assert "carrier" not in pages.replace("carrier and jaws", "")


def test_a_stepper_is_told_its_file_and_stops_and_a_hand_lathe_is_not() -> None:
    plan = sample_plan("orrery-drum-arbor")
    text = " ".join(setting_text(write_summary(plan), 2).split())
    assert "PROGRAM setting-2.ngc, X in radii; from any N." in text
    assert [f"N{100 * c.number}" for c in plan.settings[1].passes] == re.findall(r"\bN\d+00\b", text)
    assert ".ngc" not in write_summary(sample_plan("orrery-drum-arbor", control_kind="hand"))


def test_limits_at_a_stop_that_the_part_file_does_not_give_are_said_with_where_they_come_from() -> None:
    plan = sample_plan("drum-hook")
    words = " ".join(plan.settings[0].reasons)
    stops = {m.what: m for cut in plan.settings[0].passes for m in cut.measure if m.cut_left > 0}
    head, shoulder = stops["diameter of head"], stops["Z zero to shoulder past shank"]
    depth, division = head.most - head.target, shoulder.most - shoulder.target
    assert f'diameter of "head": the stops take what a last cut takes off a side, {depth:.2f} mm' in words
    assert f'past "shank": the stops take one division of the Z slide, {division:.2f} mm' in words
    assert 'of "shank"' not in words  # its thread gives it limits


def test_the_edge_of_what_is_left_as_stock_is_said_too() -> None:
    text = " ".join(setting_text(write_summary(sample_plan("crank-pin")), 1).split())
    assert "11 head: chamfer 0.2 mm N1100" in text


def test_a_rear_post_is_told_how_its_tools_stand_and_which_way_the_work_turns() -> None:
    plan = sample_plan("orrery-drum-arbor", tool_post="rear")
    for number in (1, 2):
        assert REAR in " ".join(setting_text(write_summary(plan), number).split())
    assert "upside down" not in write_summary(sample_plan("orrery-drum-arbor"))


def words_of(text: str) -> Counter[str]:
    """Words of a summary but those of page heads and sketches; what is long may be cut in pieces and is left out."""
    kept = Counter[str]()
    for page in text.split("\f"):
        lines = page.splitlines()
        first = next(n for n, line in enumerate(lines) if line and set(line) == {"="})
        first = next((n for n, line in enumerate(lines) if line.strip() in ("^ Z 0", "Z 0 ^")), first)
        words = (w.strip(";:,|+=") for line in lines[first + 1 :] for w in line.split())
        kept.update(w for w in words if w and len(w) < 20)
    return kept


@pytest.mark.parametrize("width", some([40, 44, 52, 61, 72, 96, 132, 240], 40, 132))
@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_any_width_keeps_every_word_and_every_figure(name: str, width: int) -> None:
    whole, text = (write_summary(sample_plan(name), closest={1: "0.42 mm, nose to cone"}, width=w) for w in (80, width))
    whole, narrow = words_of(whole), words_of(text)
    assert max(len(line) for page in text.split("\f") for line in page.splitlines()) <= width
    short = {w: (n, narrow[w]) for w, n in whole.items() if any(c.isdigit() for c in w) and narrow[w] < n}
    assert not short
    assert {w for w in whole if w.isalpha()} - set(narrow) <= {"section", "what", "measure", "once", "at"}


@given(random_plans())
@SLOW
def test_random_summaries_keep_their_form(plan: Plan) -> None:
    text = write_summary(plan)
    check_form(text)
    for planned in plan.settings:
        check_setting(plan, planned.setting.number, text)


@given(st.text(max_size=80), st.text(max_size=40))
@settings(deadline=None, max_examples=25)
def test_any_name_keeps_the_form(name: str, section: str) -> None:
    plan = sample_plan("crank-pin")
    first = plan.settings[0]
    renamed = replace(plan.part.sections[0], name=section)
    turned = tuple(
        replace(t, section=renamed) if t.section is plan.part.sections[0] else t for t in first.setting.turned
    )
    changed = replace(
        plan,
        part=replace(plan.part, name=name, path=name, sections=(renamed, *plan.part.sections[1:])),
        settings=(replace(first, setting=replace(first.setting, turned=turned, datum_words=name)),),
    )
    check_form(write_summary(changed))


def test_surface_speed_has_a_row_too() -> None:
    check_form(write_summary(encoder_plan()))


# The sketch


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_the_sketch_has_the_turned_end_at_the_right(name: str) -> None:
    plan = sample_plan(name)
    for planned in plan.settings:
        lines = draw_sketch(planned.setting, plan.part.sections, range(1, len(plan.part.sections) + 1))
        foot = next(line for line in lines if "END" in line)
        assert foot.split() == [("A" if planned.setting.end == "B" else "B"), "END", planned.setting.end, "END"]
        assert max(map(len, lines)) <= WIDTH
        axis = lines[len(lines) // 2 - 1]
        numbers = [int(n) for n in re.findall(r"\d+", axis)]
        sections = list(range(1, len(plan.part.sections) + 1))
        assert numbers == (sections if planned.setting.end == "B" else sections[::-1])


def test_the_sketch_is_to_scale_lengthwise() -> None:
    plan = sample_plan("orrery-drum-arbor")
    setting = plan.settings[1].setting
    lines = draw_sketch(setting, plan.part.sections, range(1, 7))
    left, right = next((line.index("|"), line.rindex("|")) for line in lines if "=======>" in line)
    column = next(line.index("^") for line in lines if "^" in line)
    span = setting.end_z - setting.head_z
    assert column == pytest.approx(left + (0 - setting.head_z) / span * (right - left), abs=1)


def test_neighbours_of_different_diameter_are_drawn_differently() -> None:
    plan = sample_plan("orrery-drum-arbor")
    for planned in plan.settings:
        lines = draw_sketch(planned.setting, plan.part.sections, range(1, 7))
        middle = next(n for n, line in enumerate(lines) if "=======>" in line)
        heights = []
        for section in plan.part.sections:
            z = planned.setting.to_setting((section.start + section.end) / 2)
            span = planned.setting.end_z - planned.setting.head_z
            column = 12 + round((z - planned.setting.head_z) / span * 54)
            over = [n for n in range(middle) if lines[n].ljust(WIDTH)[column] in "-+"]
            heights.append(middle - max(over))
        sizes = [s.diameter_a for s in plan.part.sections]
        turned = {t.section.name for t in planned.setting.turned}
        for i in range(len(sizes) - 1):
            pair = {plan.part.sections[i].name, plan.part.sections[i + 1].name}
            if pair <= turned:
                assert (heights[i] < heights[i + 1]) == (sizes[i] < sizes[i + 1])
                assert heights[i] != heights[i + 1]


def test_a_shoulder_without_limits_is_held_no_closer_than_a_gauge_tells() -> None:
    """A readout of a micrometre is no reason to scrap a shoulder that nobody asked to be so exact."""
    assert bare_length(slide(division=Quantity(0.001, "0.001 mm", HERE))) == GAUGED
    assert bare_length(slide(division=Quantity(0.127, "0.005 in", HERE))) == 0.127


def test_a_caution_of_a_pass_stands_once_on_its_page() -> None:
    part = (Path(__file__).parent / "sheets" / "two-grooves.toml").read_text(encoding="utf-8")
    job = write_job(part, (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8"))
    assert job is not None
    pages = job.text.split("page ")
    assert [p.count("A grooving tool digs in") for p in pages if "undercut se" in p] == [1]


def test_a_whole_turn_out_has_its_caution_where_the_tool_would_meet_the_centre() -> None:
    """The arbor's centre is as wide as its bar, so 2 mm further out the tool stands in it."""
    for turn, said in ((2.0, True), (0.2, False)):
        bench = write_summary(sample_plan("orrery-drum-arbor", z_turn=Quantity(turn, f"{turn} mm", HERE))).split("\f")[
            0
        ]
        assert (BESIDE in " ".join(bench.split())) is said
    assert BESIDE not in " ".join(write_summary(sample_plan("moon-carriage-spindle")).split())


BY_HAND = re.compile(
    r'with "([^"]+)"; it is cut off after turning, by hand, and the edge \((.+?)\) is made then'
    r'|"([^"]+)" runs on into the stock beyond it, to be cut off after turning; its edge there \((.+?)\) is made by'
    r" hand"
    r'|end edge of "([^"]+)", which stays as stock, is broken by hand \((.+?)\)'
    r'|end edge of "([^"]+)", which its finish takes off, is made by hand \((.+?)\)'
)
"""What the reasons of a setting say of an edge that nothing cuts."""


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_plans())
def test_every_edge_that_a_reason_leaves_to_the_hand_is_listed_afterwards(plan: Plan) -> None:
    reasons = " ".join(reason for planned in plan.settings for reason in planned.setting.reasons)
    left = {tuple(filter(None, found)) for found in BY_HAND.findall(reasons)}
    text = write_summary(plan)
    after = " ".join(text[text.rindex("AFTERWARDS") :].split())  # on the next sheet too, where it goes on there
    if plan.part.to_be_measured:
        return
    listed = set(re.findall(r"By hand the [AB] end's edge of (.+?)(?:, once to size)?: (.+?)\. ", after))
    assert listed == left


def test_an_edge_that_the_stone_takes_off_is_made_by_hand_after_it() -> None:
    """No row cuts it, in air or to be stoned off again; setting 2 draws the section as it is stoned by then."""
    text = (SAMPLES / "moon-carriage-spindle.toml").read_text(encoding="utf-8")
    body = 'role = "body"\n'
    assert body in text

    def pages(left: str) -> list[str]:
        finish = f'finish = "turn, stone"\non_diameter = "{left}"\non_face = "0 in"\n'
        plan = plan_job(part_from(text.replace(body, body + finish)), sample("moon-carriage-spindle")[1])
        return [" ".join(setting_text(write_summary(plan), number).split()) for number in (1, 2)]

    for page in pages("7 thou"):  # half of it leaves some of the edge
        assert " spindle: chamfer 4 thou" in page
        assert "edge of spindle" not in page
    first, second = pages("8 thou")
    assert "spindle: chamfer" not in f"{first}{second}"
    assert "edge of spindle" not in first
    for end in "AB":
        assert f"By hand the {end} end's edge of spindle, once to size: chamfer 4 thou" in second
    stoned = re.search(r"Spindle: stone [\d.]+ to ([\d.]+) \(", first)
    assert stoned is not None
    assert f"spindle {stoned[1]}, Z" in second


@pytest.mark.parametrize(("length", "behind"), [("177.5 mm", ""), ("178 mm", "120.5"), ("3000 mm", "2942.5")])
def test_a_bar_that_may_whip_behind_the_spindle_is_warned_of(length: str, behind: str) -> None:
    """The collet's nose is 40 mm long, 17.5 mm of the bar are in front of it, and 20 diameters of it are 120 mm."""
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    plan = plan_job(part_from(text.replace('length = "36 mm"', f'length = "{length}"')), sample("crank-pin")[1])
    page = " ".join(setting_text(write_summary(plan), 1).split())
    assert (f"! The bar stands out {behind}0 behind the collet and may whip" in page) == bool(behind)
    told = [f"{w.given}; {w.allowed}; {w.fix}" for w in plan.warnings]
    wanted = f"{behind} mm, of {length}; 120 mm, 20 diameters (common practice, no source); support it to its end, "
    assert told == ([f"{wanted}or saw it to 177.5 mm or less"] if behind else [])
