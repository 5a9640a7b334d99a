"""The law of pages: by its page a hand reaches every size of any part on any lathe within its limits.

Where the page says that the dial is coarser than they are, a size may be full by what lies between two readings, and
never under. One job serves all that is asked of it. Ten thousand jobs: `python -m tests.sheets --count 10000 --seed 1`.
"""

from __future__ import annotations

import random
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings

from cam.job import make_job, write_job_summary
from cam.job.logbook import record_value
from cam.judge.envelope import Metal
from cam.sheet import judge_sheet
from cam.sheet.anvils import check_reached
from cam.sheet.model import Figure, MeasureLine, Sheet
from cam.sheet.standing import diameters_at
from tests.plan_specimens import sample_plan
from tests.sheets.damages import damages_of
from tests.sheets.jobs import Written, jobs, write_job
from tests.sheets.law import judge_pages, past_limits, worst_residue
from tests.sheets.shares import Form, What, damage_pages, lathe_cases
from tests.simulate_case import turned
from tests.specimens import one_in
from tests.told.lathe import corner

PATIENT = settings(
    deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.reuse, Phase.generate]
)
"""A job takes a quarter of a second; one that fails is not made smaller, which would take minutes."""


def check_every_size(texts: tuple[str, str]) -> None:
    job = write_job(*texts)
    assume(job is not None)
    assert job is not None
    found = judge_pages(job)
    problems = [p for v in found.verdicts for p in v.problems]
    assert not problems, "\n".join(str(p) for p in problems[:5])
    assert not found.outside
    assert not found.drawn
    assert worst_residue(found) <= 1.0 + 1e-9  # a last cut on the mark that leaves metal, at most


@pytest.mark.told
@pytest.mark.slow
@settings(PATIENT, max_examples=80)  # a quarter of them in the default run
@given(jobs())
def test_every_size_comes_within_its_limits_by_the_page(texts: tuple[str, str]) -> None:
    check_every_size(texts)


@pytest.mark.slow
@settings(PATIENT, max_examples=100)
@given(jobs())
def test_every_size_of_a_hundred_jobs_comes_within_its_limits_by_the_page(texts: tuple[str, str]) -> None:
    check_every_size(texts)


def test_a_low_shoulder_that_only_the_nose_has_rounded_is_a_shoulder() -> None:
    """A taper beside a seat a little larger: its face is all in the round of the nose, until the seat's own end."""
    part = (Path(__file__).parent / "sheets" / "year-arbor.toml").read_text(encoding="utf-8")
    shop = (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8")
    job = write_job(part, shop)
    assert job is not None
    assert "shoulder past hand cone: 12.88 ____" in job.text
    found = judge_pages(job)
    assert [str(p) for v in found.verdicts for p in v.problems] == []
    assert found.outside == []


def test_a_taper_that_is_not_measured_before_its_last_cut_is_found() -> None:
    part = (Path(__file__).parent / "sheets" / "year-arbor.toml").read_text(encoding="utf-8")
    shop = (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8")
    job = write_job(part, shop)
    assert job is not None
    lost, count = re.subn(r"(?m)^MEASURE  hand cone: .*\n(?: {10,}.*\n)*", "", job.text)
    assert count == 1
    found = judge_pages(Written(job.part, job.shop, job.plan, lost))
    assert [p.what for v in found.verdicts for p in v.problems] == ["does not measure hand cone before its last cut"]


def test_a_fillet_hardly_larger_than_a_large_nose_is_set_by_its_points() -> None:
    """What the nose leaves in the corner stands there, so that points take something off."""
    part = (Path(__file__).parent / "sheets" / "fillet-arbor.toml").read_text(encoding="utf-8")
    shop = (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8")
    before, kind, after = shop.partition('kind = "turning"')
    large = re.sub(r'nose_radius = "[^"]*"', 'nose_radius = "0.4 mm"', after, count=1)
    job = write_job(part, before + kind + large)
    assert job is not None
    assert "skip by hand" not in job.text
    found = judge_pages(job)
    assert [str(p) for v in found.verdicts for p in v.problems] == []
    assert found.outside == []


@pytest.mark.parametrize(
    ("name", "nose"), [("slim-arbor", "0.1"), ("taper-run-on", "0.1"), ("taper-below-stair", "0.2")]
)
def test_was_is_what_a_corner_or_the_cut_of_a_taper_has_left(name: str, nose: str) -> None:
    """A nose's round in a corner is no diameter that a cut meets; behind its nose a trailing edge takes off a stair."""
    part = (Path(__file__).parent / "sheets" / f"{name}.toml").read_text(encoding="utf-8")
    shop = (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8")
    before, kind, after = shop.partition('kind = "turning"')
    after = re.sub(r'nose_radius = "[^"]*"', f'nose_radius = "{nose} mm"', after, count=1)
    job = write_job(part, before + kind + re.sub(r'minimum_cut = "[^"]*"', 'minimum_cut = "0.05 mm"', after, count=1))
    assert job is not None
    assert [str(p) for v in judge_pages(job).verdicts for p in v.problems] == []


@pytest.mark.parametrize("met", ["+0.01", "+0.05", "+0.08"])
def test_a_section_is_not_set_below_the_limits_of_the_taper_that_goes_on_from_it(met: str) -> None:
    """The nose that stops at its end reaches into the taper. Where no mark suits both, the page says so."""
    part = (Path(__file__).parent / "sheets" / "taper-run-on.toml").read_text(encoding="utf-8")
    shop = (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8")
    for limits in (f"{met} / -0.1 mm", "+0.05 / -0.05 mm"):
        part = part.replace("+0 / -0.05 mm", limits, 1)
    for limits in (f"+0.2 / {met} mm", "+0.06 / -0.06 mm"):
        part = part.replace("-0.01 / -0.03 mm", limits, 1)
    for key, was, now in (("reading", "dial", "readout"), ("division", "0.02 mm", "0.08 mm")):
        shop = shop.replace(f'{key} = "{was}"', f'{key} = "{now}"', 1)
    job = write_job(part, re.sub(r'turn = "2 mm".*\n', "", shop, count=1))
    assert job is not None
    assert re.search(r"coarser than the limits of diameter of s\d, diameter of s\d:", job.text)
    found = judge_pages(job)
    assert [str(p) for v in found.verdicts for p in v.problems] == []
    assert found.outside == []


@pytest.mark.parametrize(("reading", "between"), [("dial", 0.01), ("readout", 0.02), ("none", 0.02)])
def test_only_metal_may_be_over_where_the_page_says_that_the_dial_is_coarse(reading: str, between: float) -> None:
    """As the grammar in DEVELOPERS.md has it; a division of either slide is 0.02, and a dial is set to half of one."""
    part = (Path(__file__).parent / "sheets" / "year-arbor.toml").read_text(encoding="utf-8")
    job = write_job(part, (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8"))
    assert job is not None
    verdict, lathe = judge_pages(job).verdicts[0], job.shop.lathe
    names = tuple(r.name if r.of == "diameter" else f"shoulder past {r.name}" for r in verdict.reached)
    page = replace(verdict, sheet=replace(verdict.sheet, coarse=names))
    set_by = replace(lathe, x=replace(lathe.x, reading=reading), z=replace(lathe.z, reading=reading))
    told = Written(job.part, replace(job.shop, lathe=set_by), job.plan, job.text)
    turned_to = {t.section.name: t for t in job.plan.settings[0].setting.turned}
    sizes = [(r, side) for r in verdict.reached if r.given for side in (-1, 1)]
    assert {r.of for r, _ in sizes} == {"diameter", "shoulder"}
    for size, side in sizes:
        of = replace(turned_to[size.name], far=side * abs(turned_to[size.name].far))
        limits, outward = (of.section.turned_limits, 1) if size.of == "diameter" else (of.far_limits, side)
        assert limits is not None
        under, full = limits[::outward]
        most = outward * max(outward * full, outward * size.wanted + between)
        tried = ((under, -0.001), (under, 0.0), (most, 0.0), (most, 0.002))
        made = [replace(size, size=at + off * outward) for at, off in tried]
        assert [not [*past_limits(m, of, page, told)] for m in made] == [False, True, True, False]


def test_a_last_cut_of_two_coarse_divisions_on_a_shoulder_meets_what_the_cut_before_left() -> None:
    """The face it takes back is no diameter; a groove beside a shoulder that stands out is none of its edge."""
    part = (Path(__file__).parent / "sheets" / "coarse-z-arbor.toml").read_text(encoding="utf-8")
    shop = (Path(__file__).parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8")
    before, x_head, rest = shop.partition("[lathe.x]")
    x_part, z_head, z_part = rest.partition("[lathe.z]")
    z_part, end, after = z_part.partition("[lathe.control]")
    x_part = re.sub(
        r'division = "[^"]*"', 'division = "0.01 mm"', re.sub(r'backlash = "[^"]*"', 'backlash = "0.02 mm"', x_part)
    )
    z_part = re.sub(
        r'turn = "[^"]*"', 'turn = "0.625 in"', re.sub(r'division = "[^"]*"', 'division = "0.005 in"', z_part)
    )
    job = write_job(part, before + x_head + x_part + z_head + z_part + end + after)
    assert job is not None
    assert re.search(r"(?m)^.* back pivot, last +1\.6[0-9]+ ", job.text)  # and not the seat's 3.165
    assert [str(p) for v in judge_pages(job).verdicts for p in v.problems] == []


@pytest.mark.parametrize(
    ("name", "large", "right", "wrong"),
    [
        ("face-at-the-foot-of-a-taper", ("5.63", "6.5"), "6.501", ("6.446", "7.000", "9.830")),
        ("taper-begins-low", ("", ""), "5.771", ("6.500", "11.440")),
    ],
)
def test_was_of_a_face_past_a_taper_is_the_greatest_that_comes_off(
    name: str, large: tuple[str, str], right: str, wrong: tuple[str, ...]
) -> None:
    """The row along the taper has faced its shoulder on the way out: what stands behind that is not met again."""
    job = kept_job(name, *large)
    row = re.search(rf"(?m)^.* face past \S+ +{re.escape(right)} .*$", job.text)
    assert row is not None
    for was in (right, *wrong):
        spoilt = Written(job.part, job.shop, job.plan, job.text.replace(row[0], row[0].replace(right, was, 1)))
        said = [p.what for v in judge_pages(spoilt).verdicts for p in v.problems]
        assert bool(said) == (was != right), (was, said)
        assert all(f"says that {was} stands there" in what for what in said)


KEPT = Path(__file__).parent / "sheets" / "kept"


def kept_job(name: str, old: str = "", new: str = "") -> Written:
    """A job that the search has found, something in its part replaced, and its pages."""
    part, shop = ((KEPT / f"{name}.{kind}.toml").read_text(encoding="utf-8") for kind in ("part", "shop"))
    job = write_job(part.replace(old, new), shop)
    assert job is not None
    return job


FOUND = sorted(path.name.partition(".")[0] for path in KEPT.glob("*.part.toml"))


@pytest.mark.parametrize("part", one_in(4, FOUND))
def test_what_the_search_has_found_once_is_worked_by(part: str) -> None:
    """wedged-taper: a taper between a limited length and a face that stays; coarse-names: names of several words that
    the page says the dial is too coarse for; fillet-of-the-nose: a fillet that the nose has left is
    skipped by hand; face-of-a-low-step: so is a face past a step that the nose has taken;
    edge-by-stone: what an edge left to a stone leaves may stand; shoulder-skipped: no shoulder stands before the last
    cut of a section that the one beside it has brought to size; face-too-low-to-measure: nor where the face is lower
    than what the cut leaves; two-of-one-size: a last cut that the one before it has made is skipped by hand;
    ridge-of-half-a-digit: ridges lower than half a digit are told; edge-above-a-fillet: the places of an edge begin at
    what the fillet beside it has left; undercut-of-half-a-division: an undercut finer than a coarse mark is cut at half
    of one; fillet-fills-its-step: the last place of a fillet without a face stands at the shoulder.
    rounds-on-a-coarse-stair: a cut may say the foot of each round that it meets; taper-begins-low:
    a taper's first place lies within the limits of the section before it; edge-larger-than-its-section: the rows of
    the next section's edge are not held against it; undercut-wider-than-its-tool: a narrow grooving tool goes down to
    the floor where its corner may be left round; face-at-the-foot-of-a-taper: a last cut on a face is skipped by hand
    where only the slope of the taper behind it stands; face-in-the-round: a face that lies in the nose's round before
    its last cut is not measured then; face-all-in-the-round: nor one that does after it;
    fillet-between-marks: the last place of a fillet that fills its
    step goes in to a mark within its head; no-play-beside-a-centre: a start by dial leaves room for Z to come to it
    from the tailstock side, past a centre's wide body; edge-past-a-stub: a section beside it shorter than the backlash
    of Z does not hide of which face an edge is, which is corrected with both of its measures; film-beside-a-face:
    a film of 2 am, by the rounding of sums, is no metal that a face cut meets; taper-as-high-as-its-shoulder: no
    shoulder past a taper is asked for before its last cut where that leaves the taper as high, whose face's last cut is
    skipped by hand; taper-cuts-a-round: nor where the taper beyond it has been cut through the nose's round before it;
    tooth-at-the-rim: nor where the tooth before a face that its fillet's cuts take off stands nearly as high;
    seat-that-its-neighbour-made: a section that the last cut of one as thick has brought to size is measured after its
    own last cut alone; taper-over-an-undercut: what an undercut takes of a taper is no place to measure it at;
    taper-all-before-its-face: nor is one of which the face left for the last cut leaves nothing plain;
    undercut-takes-a-round: a face in the nose's round that an undercut squares later is measured at the end;
    taper-cut-outward: its last cuts take nothing off the long thin section before it.
    bar-thinner-than-a-cut: over a bar thinner than it leaves, the cut before the last is skipped by hand;
    taper-runs-on-over-a-pivot: a taper's last cut goes lower than what is left on the section before it;
    tooth-near-the-rim: a tooth may leave a ring of 0.05 mm of a face, which nobody is asked to measure;
    slip-past-a-short-taper: its cut runs on further than it is long;
    taper-before-a-groove: its sizes end at the groove's wall; first-cut-would-rub: little stands for two cuts;
    taper-beside-a-centre: a taper at the end is measured off the end face, past which the centre stands;
    run-out-over-a-short-section: anvils find what is left on it up to the face that is full yet;
    step-of-a-dial-lower: a section that its neighbour has made but for a step of the dial has no measure before that.
    """
    found = judge_pages(kept_job(part))
    assert [str(p) for v in found.verdicts for p in v.problems] == []
    assert found.outside == []


@pytest.mark.parametrize(
    ("name", "stood"),
    [
        ("taper-as-high-as-its-shoulder", []),
        ("taper-cuts-a-round", ["s1", "s2", "s4", "s5"]),
        ("tooth-at-the-rim", ["s1", "s2", "s4"]),
        ("tooth-of-the-plunge", ["s1", "s2", "s4", "s5"]),
    ],
)
def test_page_and_program_ask_before_a_last_cut_for_the_shoulders_that_stand(name: str, stood: list[str]) -> None:
    job = kept_job(name)
    passes = (p for s in job.plan.settings for p in s.passes)
    asked = {n for p in passes for m in p.measure if m.kind == "length" and m.cut_left for n in m.sections}
    assert sorted(asked) == stood
    assert sorted(re.findall(r"(?m)^MEASURE  shoulder past (\S+): [\d.]+ _+ \(then ", job.text)) == stood


def test_a_section_that_one_as_thick_has_made_is_measured_after_its_last_cut_alone() -> None:
    job = kept_job("seat-that-its-neighbour-made")
    asked = {m.sections: [] for s in job.plan.settings for p in s.passes for m in p.measure}
    for m in (m for s in job.plan.settings for p in s.passes for m in p.measure if m.kind == "diameter"):
        asked[m.sections].append(m.when)
    assert asked["s5",] == ["after last cut"]
    assert asked["s3",] == ["before last cut", "after last cut"]
    assert re.findall(r"(?m)^MEASURE  (s3|s5): [\d.]+ _+ \((then )?", job.text) == [
        ("s3", "then "),
        ("s3", ""),
        ("s5", ""),
    ]


@pytest.mark.parametrize(("length", "asked"), [("0.35 mm", False), ("0.36 mm", True)])  # 0.16 left, nose 0.1, land 0.1
def test_a_taper_is_measured_only_where_the_face_left_before_it_leaves_some_of_it_plain(length, asked) -> None:
    job = kept_job("taper-all-before-its-face", '"0.35 mm"', f'"{length}"')
    measures = [m for s in job.plan.settings for p in s.passes for m in p.measure if m.sections == ("s5",)]
    assert ["diameter" in m.kind for m in measures] == [asked, False][not asked :]
    cautions = [c for s in job.plan.settings for p in s.passes for c in p.cautions]
    assert any(c.startswith("s5 cannot be measured before the end") for c in cautions) != asked


def test_a_face_that_stands_already_loses_nothing_by_its_row() -> None:
    """The last cut along the taper has faced it: the row is there for a correction, and says that nothing comes off."""
    rows = re.findall(r"(?m)^ *\d+  face past s1  +([\d.]+)  +([\d.]+)", kept_job("edge-larger-than-its-section").text)
    assert rows == [("7.560", "7.560")]  # not the 7.679 up to which the round in the corner could have stood


def test_a_section_hardly_thinner_than_the_bar_is_measured_after_its_last_cut_alone() -> None:
    job = kept_job("bar-thinner-than-a-cut")
    assert [m.when for s in job.plan.settings for p in s.passes for m in p.measure] == ["after last cut"]
    assert "s3 cannot be measured before its last cut: the bar is no thicker" in " ".join(job.text.split())


def test_a_taper_is_measured_where_the_centre_beside_it_leaves_room_for_anvils() -> None:
    """Its thin end is at the end face, past which the cone of the centre is thicker than it after a millimetre."""
    assert re.findall(r"(?m)^MEASURE  s1: .*at Z (\S+);.*$", kept_job("taper-beside-a-centre").text) == ["0.9600"]


def test_a_cylinder_shorter_than_an_anvil_takes_blades_where_the_centre_beside_it_is_thicker() -> None:
    """4 mm long: 2.4 mm and what stands in its corner past its end the cone is thicker than its 3.68 mm."""
    job = kept_job("taper-beside-a-centre", TAPERED, 'role = "pivot"\ndiameter = "0.145 in"')
    blades = "; blade anvils; "
    measures = re.findall(r"(?m)^MEASURE  s1: .*$", job.text)
    assert len(measures) == 2
    assert all(blades in line for line in measures)
    own = next(planned.setting for planned in job.plan.settings if planned.setting.end == "A")
    assert judge_sheet(job.text, own, job.shop, unit="in").problems == ()
    found = judge_sheet(job.text.replace(blades, "; "), own, job.shop, unit="in").problems
    assert {p.what for p in found} == {"measures where no anvil reaches"}


TAPERED = 'role = "plain"\ndiameter_a = "0.0665 in"\ndiameter_b = "0.145 in"'


def test_the_sizes_of_a_taper_before_a_groove_end_at_its_wall() -> None:
    text = " ".join(kept_job("taper-before-a-groove").text.split())
    assert "2 s2 0.2565 / 0.2685, Z" in text
    assert "s2 0.2565 / 0.2685 (0.2526 to 0.2566 at the thin end) ____" in text
    assert "0.2716" not in text  # of the taper carried on over the groove


def test_the_first_of_two_cuts_takes_no_less_than_the_tool_cuts() -> None:
    """0.1 mm stands on s4: two cuts of 0.05; a first one that left 0.075 would rub, as minimum_cut is 0.05 mm."""
    passes = [p for s in kept_job("first-cut-would-rub").plan.settings for p in s.passes if p.sections == ("s4",)]
    cuts = [p for p in passes if p.kind in ("semi-finish", "finish") and p.shape == "straight"]
    assert [p.depth for p in cuts] == pytest.approx([0.05, 0.05])


def test_an_edge_is_corrected_with_its_section_and_with_the_shoulder_at_which_it_is() -> None:
    job = kept_job("edge-past-a-stub")
    (row,) = re.findall(r"(?m)^ *(\d+) +s3: radius", job.text)
    corrected = re.findall(r"MEASURE  (?:s3|shoulder past s1): [\d.]+ _+ \(then[^;]*;[^;]*in ([\d,\s]+)", job.text)
    assert len(corrected) == 2
    assert all(row in re.findall(r"\d+", rows) for rows in corrected)


def test_a_row_set_over_says_how_far_the_top_slide_is_wound() -> None:
    """A hand cannot wind to the last place: the top slide moves neither dial. Its rows of 10 mm at 0.06 degrees."""
    job = kept_job("taper-begins-low")
    places = r"from Z / X (\d+)\+(\d\d) / \S+ to (\d+)\+(\d\d) / \S+; top slide (\d+\.\d\d);"
    said = re.findall(rf"set over 0\.06 degrees, {places}", job.text)
    assert len(said) == 2
    for turns, rest, far_turns, far_rest, travel in said:
        along = 0.02 * (100 * (int(far_turns) - int(turns)) + int(far_rest) - int(rest))
        assert float(travel) == pytest.approx(along, abs=1e-6)  # 1 / cos 0.06 degrees is 1 within 1e-6


def test_an_undercut_is_as_deep_at_each_of_its_places() -> None:
    """One place that goes in less leaves the corner that the undercut is for; one that goes in more thins the seat."""
    job = kept_job("shoulder-skipped")
    for reading, way in (("0.175", "above"), ("0.180", "below")):
        text, count = re.subn(r"(?m)^2 points, Z / X: 11\+87 / 0\.178", f"2 points, Z / X: 11+87 / {reading}", job.text)
        assert count == 1
        found = judge_pages(Written(job.part, job.shop, job.plan, text))
        assert any(f"{way} the floor of its undercut" in p.what for v in found.verdicts for p in v.problems)


@settings(PATIENT, max_examples=4)
@given(jobs())
def test_damaged_pages_are_found(texts: tuple[str, str]) -> None:
    """Whatever is wrong with a page and does harm; the share by kind: python -m tests.sheets --damages."""
    job = write_job(*texts)
    assume(job is not None)
    assert job is not None
    for case in lathe_cases(job, "text"):
        for bad in damages_of(case.page.blocks, case.makers, random.Random(1)):
            if bad.kind not in SELDOM_MISSED:
                found, harm = case.ask(replace(case.page, blocks=tuple(bad.blocks)))
                assert found or not harm, f"{bad.kind}: {bad.words}"


SELDOM_MISSED = ("place lost", "points", "MEASURE limit", "zero")
"""Kinds of which one of some hundreds is missed; they count in the shares."""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("form", "what", "count"),
    [("text", "lathe", 200), ("print", "lathe", 100), ("text", "mill", 100), ("text", "thread", 100)],
)
def test_995_of_1000_damaged_pages_that_do_harm_are_found(form: Form, what: What, count: int) -> None:
    shares = damage_pages(count, 1, form=form, what=what)
    assert shares.share >= 0.995, shares.table()


def test_a_taper_that_is_all_in_the_round_of_the_nose_is_measured_where_its_row_came_in() -> None:
    """The row of its first cut is 7; behind its stop a stair stands, on the way in the slope goes on."""
    growth = -0.01 / 0.95
    taper = replace(turned("cone", 25.95, 25.0, 2.49, 4.5), radius_far=2.5)
    stair, round_ = (25.0, 25.9, 0, 25.0, 2.93, 0.0, 3), (25.9, 25.96, -1, 25.96, 2.58, 0.06, 7)
    metal = Metal([stair, round_, (25.96, 26.2, 0, 25.95, 2.52, growth, 7), (26.2, 30.0, 0, 26.2, 2.35, 0.0, 2)])
    assert diameters_at(metal, taper) == [pytest.approx(5.04)]


@pytest.mark.parametrize(
    ("at", "rise", "blades", "reached"),
    [(-20.0, 0.2, False, False), (-20.4, 0.2, True, False), (-20.6, 0.2, False, True), (-20.8, 0.02, False, False),
     (-20.8, 0.02, True, True), (-20.7, 0.02, True, False)],
)  # fmt: skip
def test_a_taper_is_measured_where_nothing_before_it_stands_higher_under_an_anvil(
    at: float, rise: float, *, blades: bool, reached: bool
) -> None:
    """A seat of radius 2.6 still stands before a taper from 2.5; a blade is 0.75 wide."""
    taper = replace(turned("cone", -20.0, -24.0, 2.5, 4.5), radius_far=2.5 + 4 * rise)
    metal = Metal([(-24.0, -20.0, 0, -20.0, 2.5, -rise, 7), (-20.0, 0.0, 0, -20.0, 2.6, 0.0, 3)])
    size = 2 * (2.5 + rise * (-20.0 - at))
    line = MeasureLine(line=1, of="diameter", name="cone", expected=Figure(size, 0.005, f"{size:.2f}"), then=True,
                       least=None, most=None, at=Figure(at, 0.005, f"{at:.2f}"), blades=blades)  # fmt: skip
    sheet = Sheet(path="page", number=1, unit="mm", tool=1, steps=(), coarse=(), problems=(), lines=0)
    collet = sample_plan("crank-pin").settings[0].setting  # no centre stands beside the work
    found = list(check_reached(sheet, collet, line, [taper], metal, 0.0))
    assert (found == []) is reached
    assert all("anvil reaches" in p.what and p.allowed == "a place past the 5.20 that stands beside it" for p in found)


def test_anvils_are_held_off_the_round_in_a_corner_and_over_a_trench() -> None:
    """Before the last cut the round of a nose of 0.4 reaches beyond the fillet to come; a taper's nose dipped in."""
    neck = turned("neck", 19.0, 17.0, 1.17, 3.0, corner=corner("fillet", 0.4))
    round_, level = (17.12, 17.52, -1, 17.52, 1.605, 0.4, 9), 1.205
    trench = (17.9, 18.4, 0, 17.9, 1.18, 0.0, 5)
    metal = Metal([round_, (17.52, 17.9, 0, 17.52, level, 0.0, 9), trench, (18.4, 19.0, 0, 17.52, level, 0.0, 9)])
    assert 2.0 * level in diameters_at(metal, neck)
    assert max(diameters_at(metal, neck)) == 2.0 * level


def test_a_row_that_a_record_corrects_is_true_of_the_metal(tmp_path: Path) -> None:
    """The seat stood 0.04 over and its shoulder 0.03: X and Z are set further in, and leave what the part wants."""
    for name in ("orrery-drum-arbor.toml", "shop.toml"):
        text = (Path(__file__).parent.parent / "samples" / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text, encoding="utf-8")
    path = str(tmp_path / "orrery-drum-arbor.toml")
    record_value(path, "front seat stop diameter", "8.08 mm")
    record_value(path, "front seat stop shoulder", "33.41 mm")
    job = make_job(path)
    page = re.sub(r"\n {10,}", " ", write_job_summary(job, 80))
    assert "MEASURE  front seat: 8.04 is 8.08 (then 7.97 to 8.00); corrected in 15, 21\n" in page
    assert "MEASURE  shoulder past front seat: 33.38 is 33.41 (then 33.48 to 33.52); corrected in 15, 20" in page
    off = "-- X leaves 0.04 more than it reads; Z stops 0.03 nearer the headstock than it reads\n"
    row = r"15  front seat, last +8\.08 +7\.98 +4\+03 +-25\.21 +-33\.49 +16\+73"  # set to 7.94 and to -33.46
    assert re.search(re.escape(off) + row, page)
    setting, shop = job.plan.settings[0].setting, job.plan.shop
    assert judge_sheet(page, setting, shop).problems == ()
    lies = (off, ""), ("0.04 more", "0.04 less"), ("0.03 nearer", "0.02 nearer"), ("8.08    7.98", "8.04    7.94")
    for old, new in lies:
        assert old in page
        found = judge_sheet(page.replace(old, new, 1), setting, shop).problems
        assert found
        assert all("15  front seat" in str(p) for p in found)
