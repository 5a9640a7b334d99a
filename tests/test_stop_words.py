"""What a program says at its stops: one line within the display, and corrections that are numbers to set."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from cam.geometry.path import Point
from cam.job import make_job
from cam.moves.model import Stop
from cam.plan.model import Measure
from cam.shop.machine import WIDTH
from posts.shown import correct_at, shown_at, tapers_in
from posts.wording import number
from tests.plan_specimens import sample_plan
from tests.specimens import SAMPLES

DIAMETER = Measure(
    what="diameter of front seat", kind="diameter", target=7.98, least=7.97, most=8.0, expected=8.04,
    cut_left=0.03, sections=("front seat",),
)  # fmt: skip
SHOULDER = replace(DIAMETER, what="Z zero to shoulder past front seat", kind="length", expected=33.46, scrap="over")


def two(mm: float) -> str:
    return number(mm, 3)


def test_the_line_shown_has_what_and_how_much() -> None:
    pause = Stop(reason="measure", lines=(), measure=(DIAMETER, SHOULDER))
    assert shown_at(pause, two, 19.0, WIDTH) == "FRONT SEAT 8.04 NOW, SHOULDER 33.46"
    assert shown_at(replace(pause, measure=(DIAMETER,)), two, 19.0, WIDTH) == "FRONT SEAT 8.04 NOW"


def test_the_example_after_a_last_cut_is_one_that_can_still_be_faced() -> None:
    """A shoulder that is scrap when over: 0.03 under says that the tool stands 0.03 further out than Z reads."""
    last = replace(SHOULDER, scrap="over", cut_left=0.0, least=33.44)
    said = correct_at(last, Point(0.55, 19.0), two, 1, step=0.01)
    assert f"what it is under, as 0.58 for {SHOULDER.expected - 0.03:.2f}" in said


def test_the_example_after_a_last_cut_is_no_reading_that_is_allowed() -> None:
    """Wires over a thread: limits of 0.037 either way, and 0.03 over was the example of a size to be cut again."""
    wires = replace(DIAMETER, expected=3.051, target=3.051, least=3.014, most=3.089, cut_left=0.0)
    assert "as 19.024 for 3.099" in correct_at(wires, Point(0.55, 19.0), two, 1, step=0.01)


@pytest.mark.parametrize(("factor", "share"), [(1, "half of "), (2, "")])
def test_what_is_under_before_a_last_cut_is_set_the_other_way(factor: int, share: str) -> None:
    said = correct_at(DIAMETER, Point(0.55, 19.0), two, factor, step=0.01)
    assert f"set it up by {share}what it is over" in said
    assert said.endswith(f", down by {share}what it is under")
    further = correct_at(SHOULDER, Point(0.55, 19.0), two, factor, step=0.01)
    assert "set it down by what it is over" in further
    assert further.endswith(", up by what it is under")
    last = correct_at(replace(DIAMETER, cut_left=0.0), Point(0.55, 19.0), two, factor, step=0.01)
    assert "what it is under" not in last  # no metal comes back


@pytest.mark.parametrize(
    ("scrap", "says"),
    [
        ("over", "X: to what front cone is over add 0.30 of what the shoulder is over, then correct by that."),
        ("under", "X: from what front cone is over take 0.30 of what the shoulder is over, then correct by that."),
    ],
)
def test_a_steep_taper_says_whose_reading_has_part_of_the_shoulders(scrap: str, says: str) -> None:
    """Before: "what it is over", and a machinist asked which "it"."""
    setting = sample_plan("orrery-drum-arbor").settings[0].setting
    cone = replace(
        setting.turned[0], radius_near=2.0, radius_far=2.0 + 0.15 * (setting.turned[0].near - setting.turned[0].far)
    )
    cone = replace(cone, section=replace(cone.section, name="front cone"))
    diameter = replace(DIAMETER, sections=("front cone",))
    shoulder = replace(SHOULDER, sections=("front cone",), scrap=scrap)
    said = tapers_in(replace(setting, turned=(cone,)), (diameter, shoulder), two)
    assert said[1:] == [f"{says} under is minus."]
    assert len(tapers_in(replace(setting, turned=(cone,)), (diameter,), two)) == 1


@pytest.mark.parametrize("width", [24, 32, 40])
def test_a_long_name_is_cut_and_never_a_figure(width: int) -> None:
    named = replace(DIAMETER, sections=("the front seat of the second wheel of the train",))
    line = shown_at(Stop(reason="measure", lines=(), measure=(named,)), two, 19.0, width)
    assert len(line) <= width
    assert line.endswith((" 8.04 NOW", " 8.04"))


NAMES = ("front pivot", "front seat", "drum body", "back seat", "back pivot")


@pytest.mark.parametrize(("measure", "width", "line"), [
    ((DIAMETER, SHOULDER), 32, "FRONT SEAT 8.04, SHOULDER 33.46"),
    ((DIAMETER, SHOULDER), 24, "FRONT SEAT 8.04, Z 33.46"),
    ((replace(DIAMETER, sections=("front pivot",)), SHOULDER), 24, "F PIVOT 8.04, Z 33.46"),
    ((replace(DIAMETER, sections=("back pivot",)),), 24, "BACK PIVOT 8.04 NOW"),
])  # fmt: skip
def test_a_narrow_display_tells_sections_apart(measure: tuple[Measure, ...], width: int, line: str) -> None:
    """Before: "FRONT 8.04 NOW", of front seat and front pivot, and no shoulder."""
    assert shown_at(Stop(reason="measure", lines=(), measure=measure), two, 19.0, width, NAMES) == line


@pytest.mark.parametrize("names", [("arm seat", "arc seat"), ("the long seat of wheel 1", "the long seat of wheel 2"),
                                   ("a" * 30 + "1", "a" * 30 + "2"), ("seat 10", "seat 11")])  # fmt: skip
def test_no_two_sections_are_shown_alike_however_alike_their_names(names: tuple[str, str]) -> None:
    pauses = [Stop(reason="measure", lines=(), measure=(replace(DIAMETER, sections=(n,)), SHOULDER)) for n in names]
    shown = [shown_at(pause, two, 19.0, 24, names) for pause in pauses]
    assert len({*shown}) == 2
    assert all(len(line) <= 24 and re.search(r" 8\.04, (SHLDR|Z) 33\.46$", line) for line in shown), shown


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("name", ["crank-pin", "moon-carriage-spindle", "orrery-drum-arbor", "drum-hook"])
def test_the_narrowest_display_shows_every_figure_of_a_wide_one(name: str, unit: str, tmp_path: Path) -> None:
    shop = (SAMPLES / "shop.toml").read_text().replace('units = "mm" ', f'units = "{unit}" ', 1)
    wide, narrow = (tmp_path / "wide.toml", tmp_path / "narrow.toml")
    wide.write_text(shop.replace("# message_width = 40", "message_width = 60"))
    narrow.write_text(shop.replace("# message_width = 40", "message_width = 24"))
    told = []
    for path in (wide, narrow):
        job = make_job(str(SAMPLES / f"{name}.toml"), str(path))
        assert job.problems == ()
        told.append([line for work in job.works for line in re.findall(r"^\(MSG, (.*)\)$", work.text, re.M)])
    called: dict[str, str] = {}
    for long, short in zip(*told, strict=True):
        if re.search("NOW|SLIP|PROVE [XZ]", long):
            assert re.findall(r"[\d.]+", short) == re.findall(r"[\d.]+", long)
            assert ("OUTSIDE" in long) == ("OUTSIDE" in short)
        if "NOW" in long or "SLIP" in long:
            assert ("SHOULDER" in long) == bool(re.search(r"\b(SHOULDER|SHLDR|Z)\b", short)), (long, short)
            words = r"SLIPS?|SHOULDER|SHLDR|NOW|\bZ\b|\bON\b|[\d.,:/]"
            whole, cut = (re.sub(words, "", line).strip() for line in (long, short))
            assert called.setdefault(cut, whole) == whole
    assert len(called) >= 2


@pytest.mark.parametrize("factor", [1, 2])
@pytest.mark.parametrize("over", [-0.03, 0.03])
def test_what_is_set_makes_the_next_cut_come_to_size(factor: int, over: float) -> None:
    """A tool that stands truly outward of what the control takes it to by e leaves 2 e more on diameter."""
    said = correct_at(DIAMETER, Point(0.55, 19.0), two, factor, step=abs(over) / 3)
    here, told, read = (float(v) for v in re.findall(r"-?\d+\.\d+", said))
    assert here == 19.0 * factor
    off = (read - DIAMETER.expected) / 2  # of the radius: where the tip truly is, less where it is said to be
    assert told / factor == pytest.approx(19.0 + off)


@pytest.mark.parametrize(("scrap", "sign"), [("over", -1), ("under", 1)])
def test_a_shoulder_that_reads_too_far_is_set_the_way_it_lies(scrap: str, sign: int) -> None:
    """Z zero at the tailstock: a distance of 33.49 for 33.46 is 0.03 nearer the headstock, Z less; else Z more."""
    said = correct_at(replace(SHOULDER, scrap=scrap), Point(0.55, 19.0), two, 1, step=0.01)  # type: ignore[arg-type]
    here, told, read = (float(v) for v in re.findall(r"-?\d+\.\d+", said))
    assert here == 0.55
    assert told - here == pytest.approx(sign * (read - SHOULDER.expected))


@pytest.mark.parametrize("name", ["crank-pin", "moon-carriage-spindle", "orrery-drum-arbor"])
def test_every_program_proves_x_and_z_in_air_before_any_feed_and_shows_one_line_a_stop(name: str) -> None:
    for work in make_job(str(SAMPLES / f"{name}.toml")).works:
        head = work.text[: work.text.index("G1 ")].upper()
        assert head.index("PROVE X: TIP AT DIAMETER") < head.index("PROVE Z: TIP ")
        assert head.index("PROVE Z: TIP ") < head.index("M3")
        assert "CUTTING SUMMARY" not in work.text.upper()
        messages = re.findall(r"^\(MSG, (.*)\)$", work.text, re.M)
        assert messages
        assert all(len(line) <= WIDTH for line in messages)


@pytest.mark.parametrize("name", ["crank-pin", "moon-carriage-spindle", "orrery-drum-arbor"])
def test_callipers_find_the_tip_as_far_in_as_its_slide_is_behind_once_it_has_come_out(name: str) -> None:
    job = make_job(str(SAMPLES / f"{name}.toml"))
    play, count = float(job.shop.lathe.x.backlash), 0
    assert play > 0.03, "no more than callipers are allowed to differ by"
    for work in job.works:
        xs = [0.0]
        for row in work.text.replace(")\n(..", "").splitlines():
            if row.startswith("("):
                for size, reads in re.findall(r"far side of .*?, ([\d.]+) *there, is *([\d.]+) by", row):
                    assert xs[-1] > xs[-2], "the last move of X was inward"
                    assert float(reads) == pytest.approx(xs[-1] - play + float(size) / 2, abs=0.006)
                    count += 1
            elif found := re.search(r"\bX([-\d.]+)", row):
                xs += [float(found[1])] if float(found[1]) != xs[-1] else []
    assert count > 3


def test_a_program_asks_for_no_record_of_a_taper_which_none_takes(tmp_path: Path) -> None:
    pin = (SAMPLES / "crank-pin.toml").read_text().replace("shop.toml", str(SAMPLES / "shop.toml"))
    seat = 'role = "seat"\ndiameter = "5 mm"\ntolerance = "+0 / -0.03 mm"\nlength = "8 mm"'
    cone = 'role = "plain"\ndiameter_a = "4.6 mm"\ndiameter_b = "5 mm"\ntolerance = "+0 / -0.03 mm"\nlength = "8 mm"'
    assert seat in pin
    (tmp_path / "pin.toml").write_text(pin.replace(seat, cone))
    (work,) = make_job(str(tmp_path / "pin.toml")).works
    stops = [row for row in work.text.split("M0") if "STOP to measure" in row and "the last cut aims" in row]
    assert ["is a taper" in row for row in stops] == [True, False]
    assert ["endshake record" in row for row in stops] == [False, True]
