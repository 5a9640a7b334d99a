"""What a hand that follows the printed rows does to the work: the text alone is read, and cut with naively."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from cam.plan import plan_job
from cam.plan.model import Plan
from cam.setting.model import Setting
from cam.sheet import read_sheet
from posts.pages.dial_words import z_turn
from posts.summary import write_summary
from tests.plan_specimens import SAMPLE_NAMES, sample_plan
from tests.specimens import SAMPLES, arbor_text, part_from, quantity, sample

FIGURE = r"(-?\d+\.\d+)"
ROW = re.compile(rf"^ *(\d+)  (.+?)  +{FIGURE}  +{FIGURE}  +\S+  +{FIGURE}  +{FIGURE}(?:  +\S+)*$")
"""A straight row: its number, what, was, leaves, what X is set to, from Z, to Z, and what Z is set to."""
NEAR = 0.05
"""What a row may leave below a finished size or run past a shoulder, mm: a coarse dial's division, no more."""


def rows_of(text: str, number: int) -> Iterator[tuple[int, float, float, float]]:
    """Pass, diameter left, and both ends along Z of every straight row of a setting, in the page's unit."""
    for page in text.split("\f"):
        if f"SETTING {number} of" not in page.partition("\n")[0]:
            continue
        for line in page.splitlines():
            found = ROW.match(line)
            if found:
                yield int(found[1]), float(found[4]), float(found[5]), float(found[6])


def cuts_into(setting: Setting, leaves: float, z_from: float, z_to: float) -> list[str]:
    """Sections, turned in this setting, that a cut to a diameter from z to z would leave too thin; mm."""
    low, high = sorted((z_from, z_to))
    return [
        t.section.name
        for t in setting.turned
        if min(high, t.near) - max(low, t.far) > 2 * NEAR and leaves < 2 * min(t.radius_near, t.radius_far) - NEAR
    ]


def gouges(plan: Plan, text: str) -> tuple[int, list[str]]:
    """How many straight rows there are, and those that cut into a finished section."""
    count, found = 0, []
    per = 25.4 if plan.part.unit == "in" else 1.0
    for planned in plan.settings:
        for number, *figures in rows_of(text, planned.setting.number):
            count += 1
            hit = cuts_into(planned.setting, *(per * figure for figure in figures))
            found += [f"setting {planned.setting.number}, row {number}: {name}" for name in hit]
    return count, found


def test_no_row_cuts_into_a_finished_section() -> None:
    counted, found = 0, []
    for name in SAMPLE_NAMES:
        plan = sample_plan(name)
        count, hits = gouges(plan, write_summary(plan))
        counted += count
        found += [f"{name}: {hit}" for hit in hits]
    assert counted > 60
    assert found == []


@pytest.mark.parametrize("seconds", [0.4, 1.05, 1.2, 1.4, 2.46, 2.76, 3.33, 7.2, 11.6])
def test_a_hand_is_told_no_seconds_that_feed_a_tenth_faster_than_meant(seconds: float) -> None:
    """2.46 s was said as 2 s, which feeds a quarter faster."""
    plan = sample_plan("orrery-drum-arbor")
    cut = next(p for p in plan.settings[0].passes if p.shape == "straight")
    slide = replace(plan.shop.lathe.z, turn=quantity(seconds * cut.feed * cut.rpm / 60))
    said = re.fullmatch(r"Z turn in (\d+(?:\.5)?) s", z_turn(slide, cut, f"{cut.feed} mm a turn"))
    assert said is not None
    assert max(seconds / 1.1, 1.0) - 1e-9 <= float(said[1]) <= max(seconds + 0.5, 1.0)


def test_the_seconds_of_a_turn_are_said_anew_where_the_belt_changes_and_the_feed_does_not() -> None:
    """They stood as for the belt before: on a slower one each turn of the work was fed so much more."""
    plan = sample_plan("orrery-drum-arbor")
    slow = plan.shop.lathe.spindle.positions[0]
    first = plan.settings[0]
    rough = first.operations[0]
    assert rough.passes[0].feed == rough.passes[-1].feed
    assert rough.passes[-1].speed_name != slow.name
    passes = (*rough.passes[:-1], replace(rough.passes[-1], speed_name=slow.name, rpm=float(slow.rpm)))
    first = replace(first, operations=(replace(rough, passes=passes), *first.operations[1:]))
    page = write_summary(replace(plan, settings=(first, *plan.settings[1:])))
    rows = list(read_sheet(page, first.setting, plan.shop).turned())
    assert len({feed for _, feed, _ in rows}) > 2
    for row, feed, seconds in rows:
        meant = 60 * float(plan.shop.lathe.z.turn) / feed
        assert max(meant / 1.1, 1.0) - 1e-9 <= seconds <= max(meant + 0.5, 1.0), row


SHAKE = 'side_shake = { least = "0.03 mm", aim = "0.05 mm", most = "0.08 mm" }'
STONED = "under 6.00: stone less, 5.97: "
UNDERSIZE = {
    # turned 6.00 to 6.02, finished 5.97 to 5.99: 6.03 - 5.97, and 6.03 - 0.08
    "as it is, with limits": ("front pivot", [], f"{STONED}side shake over 0.06 in its hole of 6.03, under 5.95 scrap"),
    "as it is, without": ("front pivot", [(SHAKE, "")], f"{STONED}scrap, or side shake over 0.06 in its hole of 6.03"),
    "as it is, to its limit": ("front pivot", [(SHAKE, SHAKE.replace("0.08", "0.06"))], f"{STONED}scrap"),
    # 3.5 + 0.005 smoothed - 0.06, rounded inward
    "opened from a smaller one": (
        "back pivot",
        [],
        "under 4.00: stone less, 3.97: open its hole to fit, down to 3.45",
    ),
    "opened from nothing": (
        "back pivot",
        [('now = "3.5 mm"', "")],
        "under 4.00: stone less, 3.97: open its hole to fit",
    ),
    "a seat": ("front seat", [], "under 7.97: scrap, or refit"),
    "a body": ("drum body", [], "under 13.95: scrap"),
}


@pytest.mark.parametrize("case", UNDERSIZE)
def test_what_is_done_with_a_pivot_too_thin_goes_by_its_hole(case: str) -> None:
    """At the MEASURE after its last cut alone: before it, what reads under is no size yet."""
    name, changes, wanted = UNDERSIZE[case]
    text = arbor_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    assert set(under(plan_job(part_from(text), sample("orrery-drum-arbor")[1]), name)) == {wanted}


def test_what_is_done_with_a_pivot_too_thin_whose_hole_is_not_given() -> None:
    said = under(sample_plan("crank-pin"), "handle pivot")
    assert set(said) == {"under 2.98: burnish less, 2.97: scrap"}
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    nothing_left = text.replace('on_diameter = "0.01 mm"', 'on_diameter = "0 mm"').replace("turn, burnish", "turn")
    said = under(plan_job(part_from(nothing_left), sample("crank-pin")[1]), "handle pivot")
    assert set(said) == {"under 2.97: scrap, or a hole made to it"}


def test_of_sections_turned_as_one_each_that_differs_says_what_is_done_with_it() -> None:
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    collar = 'name = "collar"\nrole = "body"\ndiameter = "3 mm"\ntolerance = "+0.02 / -0.03 mm"\nlength = "4 mm"\n'
    text = text.replace('name = "arm seat"', f'{collar}finish = "turn"\n\n[[section]]\nname = "arm seat"')
    text = text.replace('role = "pivot"', 'role = "seat"').replace('stick_out = "17 mm"', 'stick_out = "21 mm"')
    plan = plan_job(part_from(text.replace('length = "36 mm"', 'length = "40 mm"')), sample("crank-pin")[1])
    said = under(plan, "handle pivot and collar")
    assert set(said) == {"under 2.98: handle pivot burnish less, 2.97: scrap; collar scrap"}


def under(plan: Plan, name: str) -> list[str]:
    """What each line that measures a section's diameter says of one that is under its limits."""
    lines = (line.strip() for line in write_summary(plan, width=240).splitlines())
    said = (re.fullmatch(rf"MEASURE  {name}: .*?; (under [\d.]+: .*)", line) for line in lines)
    return [found[1] for found in said if found]


def test_a_correction_names_every_row_to_which_it_applies() -> None:
    """The last cut, and what is cut to the same diameter or face later: fillet, chamfer beyond it, face of a taper."""
    text = re.sub(r"\n {10,}", " ", write_summary(sample_plan("orrery-drum-arbor", control_kind="hand")))
    said = re.findall(r"MEASURE  (.*?): .*?\(then .*?; each \S+ over: (\S) \S+\s+in ([\d, ]+\d)", text)
    rows = dict(re.findall(r"(?m)^ *(\d+)  (\S.*?)(?:  |$)", text.partition("SETTING 2")[0].partition("SETTING 1")[2]))
    named = {(what, axis): [rows[n] for n in re.findall(r"\d+", ns)] for what, axis, ns in reversed(said)}
    assert named["front seat", "X"] == ["front seat, last", "front seat: chamfer 0.2 mm"]
    assert named["shoulder past front seat", "Z"] == ["front seat, last", "drum body: chamfer 0.2 mm"]


LENGTHS = [
    ("arm seat", "over 13.03: the shoulder past handle pivot as much further"),
    ("handle pivot", "over 5.03: scrap"),
]


@pytest.mark.parametrize(("name", "said"), LENGTHS)
def test_a_shoulder_cut_too_far_is_scrap_only_where_its_length_has_its_other_end(name: str, said: str) -> None:
    """The pivot's shoulder is cut after the seat's, so the seat can still come to its length; the end is faced."""
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    for long in ("5 mm", "8 mm"):
        text = text.replace(f'length = "{long}"', f'length = "{long}"\nlength_tolerance = "±0.03 mm"')
    page = " ".join(write_summary(plan_job(part_from(text), sample("crank-pin")[1])).split())
    lines = page.split("MEASURE ")
    after = [line for line in lines if line.startswith(f"shoulder past {name}:") and "(then" not in line]
    assert len(after) == 1
    assert f"under: face it again; {said} " in after[0]


def test_a_shoulder_cut_too_far_may_go_along_with_a_deeper_one_that_is() -> None:
    """Where it follows the collar's, which was cut first, that stays long enough; the pivot, without limits, gives."""
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    limited = 'length = "4 mm"\nlength_tolerance = "±0.03 mm"\n'
    head, tail = text.replace('length = "8 mm"\n', limited).replace('"5 mm"\ntol', '"4 mm"\ntol').split("# left as", 1)
    head, own = head.rsplit("[[section]]", 1)
    collar = f'[[section]]\nname = "collar"\nrole = "body"\ndiameter = "5 mm"\n{limited}finish = "turn"\n\n'
    plan = plan_job(part_from(f"{head}{collar}[[section]]{own}# left as{tail}"), sample("crank-pin")[1])
    lines = [line for line in " ".join(write_summary(plan).split()).split("MEASURE ") if "(then" not in line]
    said = {name: next(x for x in lines if x.startswith(f"shoulder past {name}:")) for name in ("collar", "arm seat")}
    assert "over 13.03: the shoulder past arm seat as much further" in said["collar"]
    one, other = "scrap if collar is under 3.97 long", "the shoulder past handle pivot as much further"
    assert f"over 9.03: {one}, else {other}" in said["arm seat"]
