"""What a machinist who has the printed pages alone would do by them: the order of work, and what each figure is of."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from cam.ground.problem import ProblemError
from cam.job import make_job, write_job_notebook
from cam.job.logbook import record_value
from cam.job.outputs import write_job_summary
from tests.specimens import SAMPLES

STUD = """name = "planet arm stud"
shop = "shop.toml"
edges = "chamfer 0.2 mm"
finish = "turn"
[stock]
material = "silver steel"
diameter = "6 mm"
length = "60 mm"
[holding]
method = "collet"
chuck = "6 mm collet"
free_end = "A"
stick_out = "22 mm"
facing = "0.5 mm"
part_off = "saw"
[[section]]
name = "nut end"
role = "plain"
thread = "M3"
thread_by = "die"
length = "6 mm"
corner_b = "undercut 1 mm wide 0.4 mm deep"
[[section]]
name = "collar"
role = "body"
diameter = "5 mm"
tolerance = "+0 / -0.05 mm"
length = "12 mm"
corner_b = "fillet up to 0.2 mm"
[[section]]
name = "head"
role = "plain"
diameter = "6 mm"
length = "20 mm"
finish = "as stock"
[[cross_hole]]
name = "pin hole"
section = "collar"
face = "A"
distance = "4 mm"
angle = "any"
diameter = "2.6 mm"
through = true
flat_depth = "0 mm"
grip = "head"
grip_length = "18 mm"
"""
"""A stud of the orrery's planet arm: threaded in its first hold, drilled across, its head left as bought."""


def flat(text: str) -> str:
    """A text, white space made one."""
    return " ".join(text.split())



@pytest.fixture
def bench(tmp_path: Path) -> Path:
    for path in SAMPLES.glob("*.toml"):
        shutil.copy(path, tmp_path)
    return tmp_path


def summary(path: Path) -> str:
    return flat(write_job_summary(make_job(str(path))))


def write(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def in_order(text: str, *words: str) -> bool:
    """Whether each of some words first stands after the one before it."""
    places = [text.index(w) for w in words]
    return places == sorted(places)


def test_a_thread_is_cut_in_its_hold_before_the_mill(bench: Path) -> None:
    text = summary(write(bench, "stud.toml", STUD))
    assert in_order(text, "THEN", "M3 x 0.5 on nut end, by die", "off its bar", "on the mill: pin hole")
    after = text[text.index("AFTERWARDS") :]
    assert in_order(after, "Cut the thread now, in this same hold", "OFF THE BAR", "the mill: pin hole")


def test_the_head_that_is_faced_is_the_last_section_though_it_is_as_bought(bench: Path) -> None:
    text = summary(write(bench, "stud.toml", STUD))
    assert "38.00 long over all (head 20 mm), is" in text


def test_a_taper_is_left_straight_out_which_faces_its_shoulder(bench: Path) -> None:
    """Its MEASURE expects the shoulder faced; the top slide wound back first, it would read what is uncut over."""
    pin = (bench / "crank-pin.toml").read_text(encoding="utf-8")
    tapered = pin.replace('diameter = "5 mm"', 'diameter_a = "4.6 mm"\ndiameter_b = "5 mm"')
    assert tapered != pin
    text = summary(write(bench, "pin.toml", tapered))
    assert "set over" in text
    assert "to the last; then X straight out, which faces its shoulder, before it is wound back." in text
    assert re.search(r"MEASURE arm seat: 4.\d\d ________ \(then [^)]*\); at Z -5.00; ", text)


def test_the_frame_is_measured_before_the_second_setting(bench: Path) -> None:
    part = bench / "orrery-drum-arbor.toml"
    record_value(str(part), "between plates", "46.22; 46.23; 46.21 mm")
    book = flat(write_job_notebook(make_job(str(part))))
    assert in_order(book, "Setting 1, the A end", 'After setting 1: measure "between plates"', "Setting 2, the B end")


def test_what_is_finished_is_measured_by_its_aim_within_its_limits(bench: Path) -> None:
    book = flat(write_job_notebook(make_job(str(bench / "orrery-drum-arbor.toml"))))
    assert "MEASURE front pivot: 5.98 ________ (5.97 to 5.99); at root and tip" in book


@pytest.mark.slow
def test_what_is_plus_or_less_is_said_before_it_is_read_and_after(bench: Path) -> None:
    part = bench / "orrery-drum-arbor.toml"
    told = part.read_text(encoding="utf-8")
    slip = '\n[[measurement.less]]\nname = "slip"\nvalue = "2.00 mm"\nuncertainty = "±0.005 mm"\n'
    part.write_text(told.replace("\n[[span]] ", f"{slip}\n[[span]] ", 1), encoding="utf-8")
    before = summary(part)
    assert '"between plates" down as it reads: "slip", 2 mm, is measured along with it, and is subtracted' in before
    record_value(str(part), "between plates", "48.22; 48.23; 48.21 mm")
    book = flat(write_job_notebook(make_job(str(part))))
    assert "48.22; 48.23; 48.21 mm; mean of 3: 48.22; in all 46.22" in book


def test_a_lathe_by_hand_has_pages_and_no_programs_to_be_made_again(bench: Path) -> None:
    shop = (bench / "shop.toml").read_text(encoding="utf-8")
    control, after = shop.index("[lathe.control]"), shop.index("[lathe.spindle]")
    only_control = ("spin_up", "feeds_per_revolution", "constant_surface_speed")
    rest = "".join(x for x in shop[after:].splitlines(keepends=True) if not x.startswith(only_control))
    write(bench, "shop.toml", shop[:control] + '[lathe.control]\nkind = "hand"\n\n' + rest)
    text = summary(bench / "orrery-drum-arbor.toml")
    assert "Make again: the page of setting 1 stays as it was, that of setting 2 is added." in text


def test_a_diameter_recorded_under_its_least_is_called_scrap(bench: Path) -> None:
    """Its limits are 7.97 to 8.00."""
    part = str(bench / "orrery-drum-arbor.toml")
    *_, then = record_value(part, "front seat diameter", "7.90 mm")
    assert '"front seat" is under its least, 7.97 mm: scrap, unless its page says otherwise' in then
    *_, then = record_value(part, "front seat diameter", "7.97 mm")
    assert "scrap" not in then


def test_under_a_drawing_a_recorded_shoulder_stands_where_it_was_measured(bench: Path) -> None:
    part = bench / "orrery-drum-arbor.toml"
    for name, value in (("between plates", "46.22 mm"), ("front seat shoulder", "33.46 mm")):
        record_value(str(part), name, value)
    page = summary(part).partition("SETTING 2 of")[2]
    assert re.search(r"drum body [\d.]+, Z [\d.]+ to 0\.00; \d front seat [\d.]+, Z 0\.00 to", page)


def test_a_length_between_two_turned_shoulders_has_its_limits_where_the_second_is_measured(bench: Path) -> None:
    """Each shoulder's limits count from Z 0: both at their ends, the length between them would be past its own."""
    plain = (bench / "moon-carriage-spindle.toml").read_text(encoding="utf-8")
    text = plain.replace('length = "5/16 in"', 'length = "5/16 in"\nlength_tolerance = "+2 / -2 thou"', 1)
    assert text != plain
    part = write(bench, "spindle.toml", text)
    said = "arm seat 0.3105 to 0.3145 long; each"
    lines = re.findall(r"MEASURE shoulder past upper pivot: (?:(?!MEASURE).)*", summary(part))
    assert [said in line for line in lines] == ["(then" in line for line in lines]
    assert any(said in line for line in lines)
    program = re.sub(r"\s*\)\s*\(\.?\.?\s*", " ", make_job(str(part)).works[0].text)
    stops = re.findall(r"stop to measure, the spindle(?:(?!stop to measure).)*", program, re.IGNORECASE | re.DOTALL)
    before = [s for s in stops if "shoulder past upper pivot" in s and "the last cut aims at" in s]
    assert len(before) == 1
    assert [stop for stop in stops if "arm seat must be" in stop] == before


def test_no_diameter_of_a_taper_is_recorded_and_no_other_section_is_meant(bench: Path) -> None:
    pin = (bench / "crank-pin.toml").read_text(encoding="utf-8")
    tapered = pin.replace('diameter = "5 mm"', 'diameter_a = "4.6 mm"\ndiameter_b = "5 mm"')
    part = write(bench, "tapered.toml", tapered)
    with pytest.raises(ProblemError) as told:
        record_value(str(part), "arm seat stop diameter", "4.7 mm")
    assert "no diameter of a taper can be recorded" in str(told.value)
    assert "set X by what it reads" in str(told.value)


def test_a_taper_goes_along_with_what_the_seat_it_meets_read_and_expects_as_much_at_its_own_stop(bench: Path) -> None:
    """Its last cut is corrected by the seat's reading: its own stop expects that, and records nothing."""
    pin = (bench / "crank-pin.toml").read_text(encoding="utf-8").replace('"36 mm"', '"50 mm"')
    pin = pin.replace('length = "20 mm"', 'length = "22 mm"').replace('stick_out = "17 mm"', 'stick_out = "27 mm"')
    cone = '[[section]]\nname = "cone"\nrole = "seat"\ndiameter_a = "4 mm"\ndiameter_b = "5 mm"\nlength = "10 mm"\n'
    seat = '[[section]]\nname = "arm seat"'
    part = write(bench, "along.toml", pin.replace(seat, f'{cone}finish = "turn"\n{seat}'))
    stop = re.compile(r"\(diameter of cone: ([\d.]+) expected now\)(.*?)M0", re.S)
    before = stop.search(make_job(part).works[0].text)
    assert before is not None
    expected = float(re.findall(r"diameter of arm seat: ([\d.]+) expected now", make_job(part).works[0].text)[0])
    told = record_value(part, "arm seat stop diameter", f"{expected + 0.03:.3f} mm")[2]
    assert "this puts right the diameter of arm seat and cone alone" in " ".join(told.split())
    job = make_job(part)
    after = stop.search(job.works[0].text)
    assert after is not None
    assert float(after[1]) == pytest.approx(float(before[1]) + 0.03)
    assert "to correct: X reads" in after[2]
    assert "is recorded" not in after[2]
    assert "what this read is recorded" in job.works[0].text.split("diameter of arm seat")[1].split("M0")[0]
    page = summary(part)
    figures = re.search(r"MEASURE +cone: ([\d.]+) _+ ", page)
    assert figures is not None
    assert float(figures[1]) == pytest.approx(float(after[1]), abs=0.011)
    assert re.search(r"MEASURE +arm seat: [^;]*; corrected in", page)
