"""Part files with spans, read whole: laws of the chain, what waits, and the part as each setting is to cut it."""

from __future__ import annotations

import math
import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.ground.source import parse_source
from cam.lengths import part_of, read_part
from cam.lengths.journal import append_record
from cam.lengths.records import Records, read_records
from cam.lengths.solved import first_view, second_view
from cam.lengths.span_report import report_spans
from cam.part.model import Part
from cam.setting import settle
from tests.specimens import SAMPLES, arbor_text, drum_arbor, shop_from

SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
NAMES = ("front pivot", "front seat", "body", "back seat", "back pivot")
SIZES = (5, 8, 12, 8, 5)
ROLES = ("pivot", "seat", "body", "seat", "pivot")

HEAD = """
name = "drawn arbor"
corners = "fillet up to 0.2 mm"
edges = "chamfer 0.2 mm"
finish = "turn"

[stock]
material = "silver steel"
diameter = "14 mm"
length = "400 mm"

[holding]
method = "between centres"
{first}

[holding.end_a]
tail_centre = "dead centre"
extra_length = "0 mm"

[holding.end_b]
tail_centre = "dead centre"
extra_length = "0 mm"
"""


def file_text(
    lengths: dict[str, float], spans: dict[str, tuple[str, str, str]], *, total: float | None = None, first: str = "",
    allowance: float = 0.0,
) -> str:  # fmt: skip
    """A part file: lengths by section (others are left out), spans by name: (from, to, the measurement's line)."""
    rows = [f'length = "{total!r} mm"' if total is not None else "", HEAD.format(first=first)]
    for name, size, role in zip(NAMES, SIZES, ROLES, strict=True):
        rows += ["[[section]]", f'name = "{name}"', f'role = "{role}"', f'diameter = "{size} mm"']
        if name in lengths:
            rows.append(f'length = "{lengths[name]!r} mm"')
    for name, (start, end, line) in spans.items():
        rows += ["[[measurement]]", f'name = "of {name}"', line, 'uncertainty = "±0.02 mm"', 'taken_with = "gauge"']
        rows += ["[[span]]", f'name = "{name}"', f'from = "{start}"', f'to = "{end}"', f'measurement = "of {name}"']
        rows.append('end_shake = { least = "0.1 mm", aim = "0.2 mm", most = "0.3 mm" }\ntolerance = "±0.02 mm"')
        rows.append(f'stand_off_a = "0 mm"\nstand_off_b = "0 mm"\nfitting_allowance = "{allowance!r} mm"')
    return "\n".join(rows)


def read(text: str, log: Records | None = None) -> Part:
    return part_of(parse_source(text.encode(), "drawn.toml"), log)


def value(size: float) -> str:
    return f'value = "{size!r} mm"'


RUNS = (("front seat", "body"), ("front seat", "back seat"), ("body", "body"), ("body", "back seat"))
"""Runs that begin and end at a shoulder."""


@st.composite
def consistent(draw: st.DrawFn) -> tuple[dict[str, float], dict[str, tuple[str, str, str]], float | None]:
    """True lengths, and equations that fix them all: each span leaves one section of its run open."""
    true = {name: draw(st.integers(3000, 30000)) / 1000 for name in NAMES}
    given_lengths, spans = dict(true), {}
    for at, (start, end) in enumerate(draw(st.lists(st.sampled_from(RUNS), min_size=1, max_size=3, unique=True))):
        run = NAMES[NAMES.index(start) : NAMES.index(end) + 1]
        free = [name for name in run if name in given_lengths]
        if free:  # each span takes the place of one given length of its own run
            del given_lengths[draw(st.sampled_from(free))]
            spans[f"span {at}"] = (start, end, value(round(math.fsum(true[n] for n in run) + 0.2, 6)))
    total = math.fsum(true.values()) if draw(st.booleans()) else None
    if total is not None:
        del given_lengths["back pivot"]
    return true, {"given": given_lengths, "spans": spans}, total  # type: ignore[return-value]


def fixed(draw: tuple) -> Part | None:
    _, parts, total = draw
    try:
        return read(file_text(parts["given"], parts["spans"], total=total))
    except ProblemError as error:  # overlapping spans may leave a sum open: that is said, and no law is broken
        if all("nothing fixes the length" in p.what for p in error.problems):
            return None
        raise


# Laws ---------------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=60)
@given(consistent())
def test_a_consistent_chain_solved_back_reproduces_its_measurements(draw):
    part = fixed(draw)
    if part is None:
        return
    true = draw[0]
    assert {s.name: float(s.length) for s in part.sections} == pytest.approx(true, abs=1e-9)
    for report in report_spans(part, "B"):
        run = [s for s in part.sections if NAMES.index(report.span.first) <= NAMES.index(s.name)]
        run = [s for s in run if NAMES.index(s.name) <= NAMES.index(report.span.last)]
        assert math.fsum(s.length for s in run) + 0.2 == pytest.approx(report.measured.mean, abs=1e-9)
        assert report.limits is not None
        assert report.limits.shake == pytest.approx(0.2, abs=1e-9)


@settings(deadline=None, max_examples=40)
@given(consistent(), st.sampled_from(RUNS))
def test_a_redundant_measurement_that_agrees_changes_nothing(draw, run):
    part = fixed(draw)
    if part is None:
        return
    true, parts, total = draw
    names = NAMES[NAMES.index(run[0]) : NAMES.index(run[1]) + 1]
    more = {"once more": (*run, value(round(math.fsum(true[n] for n in names) + 0.2, 6)))}
    again = read(file_text(parts["given"], parts["spans"] | more, total=total))
    assert [s.end for s in again.sections] == pytest.approx([s.end for s in part.sections], abs=1e-9)
    before, after = report_spans(part, "B"), report_spans(again, "B")
    for one, two in zip(before, after, strict=False):
        assert (one.limits.worst, one.limits.chance) == (two.limits.worst, two.limits.chance)


@settings(deadline=None, max_examples=40)
@given(consistent(), st.floats(-1, 1), st.floats(-1, 1))
def test_errors_within_their_limits_never_leave_the_worst_case(draw, measuring, cutting):
    """The shoulders come out as far off as their tolerance allows, the frame is as far off as its uncertainty."""
    part = fixed(draw)
    if part is None:
        return
    for report in report_spans(part, "B"):
        limits = report.limits
        shake = (report.measured.mean + 0.02 * measuring) - (limits.length + 0.02 * cutting)
        assert limits.worst[0] - 1e-9 <= shake <= limits.worst[1] + 1e-9


@pytest.mark.parametrize(("aim", "shift"), [("0.12", 0.0), ("0.2", 0.0), ("0.29", 0.0), ("0.11", 0.0)])
def test_ten_thousand_draws_agree_with_the_printed_probability(aim, shift):
    """Each error drawn by its own law; the share within limits lies within four standard deviations of the chance."""
    text = file_text({n: 10.0 for n in NAMES if n != "body"}, {"frame": ("front seat", "back seat", value(30.2))})
    part = read(text.replace('aim = "0.2 mm"', f'aim = "{aim} mm"'))
    (report,) = report_spans(part, "B")
    limits, dice, count = report.limits, random.Random(3), 10_000
    inside = 0
    for _ in range(count):
        errors = (dice.gauss(0, c.standard) if c.normal else dice.uniform(-c.half, c.half) for c in limits.contributors)
        inside += 0.1 <= limits.shake + shift + math.fsum(errors) <= 0.3
    chance = limits.chance.inside
    assert inside / count == pytest.approx(chance, abs=4 * math.sqrt(max(chance * (1 - chance), 1 / count) / count))
    assert 0 < chance < 1 or aim == "0.2"


# What waits ---------------------------------------------------------------------------------------------

LATER = 'to_be_measured = "after setting 1"'


def waiting(start: str, end: str, given_lengths: dict[str, float], **more) -> str:
    return file_text(given_lengths, {"frame": (start, end, LATER)}, total=60.0, **more)


def test_the_end_that_waits_is_turned_last():
    """The weaker end would come last otherwise: here the stronger one waits."""
    back = waiting("front seat", "back seat", {"front pivot": 4.0, "front seat": 9.0, "body": 30.0})
    front = waiting("front seat", "back seat", {"back pivot": 4.0, "back seat": 9.0, "body": 30.0})
    for text, first in ((back, "A"), (front, "B")):
        (setting,) = settle(read(text), shop_from(SHOP))
        assert setting.end == first
        last = "B" if first == "A" else "A"
        assert f'the {last} end comes last: "of frame" is to be measured first' in setting.reasons[0]
        assert all(math.isfinite(t.near + t.far) for t in setting.turned)


def test_an_end_that_waits_cannot_be_forced_to_come_first():
    text = waiting("front seat", "back seat", LENGTHS, first='first = "B"')
    with pytest.raises(ProblemError) as caught:
        settle(read(text), shop_from(SHOP))
    said = str(caught.value)
    assert '"back seat" would be turned in setting 1, but "of frame" is to be measured first' in said
    assert "turn the A end first" in said


def test_the_length_of_the_bar_cannot_wait():
    lengths = {"front pivot": 4.0, "front seat": 9.0, "body": 30.0, "back pivot": 4.0}
    text = file_text(lengths, {"frame": ("front seat", "back seat", LATER)})
    with pytest.raises(ProblemError) as caught:
        settle(read(text), shop_from(SHOP))
    assert 'must be faced to length before setting 1, but "of frame" is to be measured first' in str(caught.value)


def test_the_thickest_section_goes_with_the_end_that_knows_where_it_ends():
    """The body's far face waits: setting 1 stops at its near shoulder, and it is turned with the back end."""
    lengths = {"front pivot": 4.0, "front seat": 9.0, "back seat": 9.0}
    text = waiting("front seat", "back seat", lengths).replace('role = "body"', 'role = "body"\nedge_a = "sharp"')
    (setting,) = settle(read(text), shop_from(SHOP))
    assert [t.section.name for t in setting.turned] == ["front pivot", "front seat"]


def test_what_the_waiting_setting_will_grip_is_checked_before_the_first_is_cut():
    text = (SAMPLES / "orrery-drum-arbor.toml").read_text(encoding="utf-8")
    part = read(text.replace('carrier = "small carrier"', 'carrier = "middle carrier"'))
    assert part.to_be_measured == ("between plates",)
    with pytest.raises(ProblemError) as caught:
        settle(part, shop_from(SHOP))
    assert '"middle carrier" does not grip 5.18 mm' in str(caught.value)


def test_a_check_to_be_measured_delays_nothing():
    lengths = {"front pivot": 4.0, "front seat": 9.0, "body": 30.0, "back seat": 9.0}
    part = read(waiting("front seat", "back seat", lengths))
    assert part.to_be_measured == ()
    assert part.measured.chain.expected == {"of frame": 48.0}
    assert len(settle(part, shop_from(SHOP))) == 2


def test_a_part_without_spans_has_nothing_of_it():
    part = read_part(SAMPLES / "crank-pin.toml")
    assert (part.measured, part.to_be_measured, part.warnings) == (None, (), ())


# What each setting cuts -----------------------------------------------------------------------------------


def with_log(tmp_path, text: str, *records: tuple[str, str, str]) -> Part:
    path = tmp_path / "drawn.toml"
    path.write_text(text, encoding="utf-8")
    for kind, name, size in records:
        append_record(str(tmp_path / "drawn.log"), kind=kind, name=name, value=size, who="test", clock=0)
    return read_part(str(path), read_records(str(path)))


LENGTHS = {"front pivot": 4.0, "front seat": 9.0, "body": 30.0}
MEASURED = ("measurement", "of frame", "47.9; 48.1; 48.0 mm")


def test_the_first_setting_stays_as_it_was_when_the_rest_is_recorded(tmp_path):
    text, shop = waiting("front seat", "back seat", LENGTHS), shop_from(SHOP)
    before = settle(with_log(tmp_path, text), shop)
    part = with_log(tmp_path, text, MEASURED, ("actual", "front seat length", "9.06 mm"))
    first, second = settle(part, shop)
    assert first.turned == before[0].turned
    assert (first.least, first.most, first.limit_z) == (before[0].least, before[0].most, before[0].limit_z)
    assert second.end == "B"


def test_an_actual_shoulder_moves_the_second_setting_by_as_much(tmp_path):
    """Front seat 9.06 for 9: the body's shoulder, the datum, lies 0.06 deeper, and the late shoulder 0.06 nearer it."""
    text, shop = waiting("front seat", "back seat", LENGTHS), shop_from(SHOP)
    planned = settle(with_log(tmp_path, text, MEASURED), shop)[1]
    real = settle(with_log(tmp_path, text, ("actual", "front seat length", "9.06 mm")), shop)[1]
    assert real.datum == pytest.approx(planned.datum + 0.06)
    far = {t.section.name: (t.near, t.far) for t in planned.turned}
    for t in real.turned:
        near, end = far[t.section.name]
        assert t.near == pytest.approx(near - 0.06)
        assert t.far == pytest.approx(end - (0.06 if t.section.name == "back pivot" else 0.0))
    assert "front seat length 9.06 mm" in " ".join(real.reasons)


def test_a_length_of_the_second_setting_is_aimed_within_its_own_limits_whatever_was_recorded_of_the_first(tmp_path):
    """The front shoulder lies 0.06 deeper; the body, which has no limits, gives way, and not the limited pivot."""
    text = file_text(LENGTHS | {"back seat": 12.0, "back pivot": 4.0}, {}, total=59.0, first='first = "A"')
    head, tail = text.rsplit('length = "4.0 mm"', 1)
    text = f'{head}length = "4.0 mm"\nlength_tolerance = "±0.02 mm"{tail}'
    part = with_log(tmp_path, text, ("actual", "front seat shoulder", "13.06 mm"))
    pivot = next(t for t in settle(part, shop_from(SHOP))[1].turned if t.section.name == "back pivot")
    assert pivot.near - pivot.far == pytest.approx(4.0, abs=0.0051)
    least, most = pivot.far_limits
    assert (pivot.near - most, pivot.near - least) == (pytest.approx(3.98), pytest.approx(4.02))


def test_a_shoulder_recorded_from_the_end_is_the_same_as_the_lengths_up_to_it(tmp_path):
    text, shop = waiting("front seat", "back seat", LENGTHS), shop_from(SHOP)
    (tmp_path / "one").mkdir(), (tmp_path / "two").mkdir()
    one = with_log(tmp_path / "one", text, MEASURED, ("actual", "front seat shoulder", "13.06 mm"))
    two = with_log(tmp_path / "two", text, MEASURED, ("actual", "front seat length", "9.06 mm"))
    for a, b in zip(settle(one, shop), settle(two, shop), strict=True):
        assert [(t.near, t.far) for t in a.turned] == [pytest.approx((t.near, t.far)) for t in b.turned]


def test_an_actual_of_the_second_setting_does_not_become_its_aim(tmp_path):
    """Back seat recorded 0.1 too long: the program still aims at what the frame wants, to be faced back."""
    text, shop = waiting("front seat", "back seat", LENGTHS), shop_from(SHOP)
    wanted = settle(with_log(tmp_path, text, MEASURED), shop)[1].turned
    part = with_log(tmp_path, text, ("actual", "frame span", "47.95 mm ± 0.01 mm"))
    assert [(t.near, t.far) for t in settle(part, shop)[1].turned] == [(t.near, t.far) for t in wanted]
    (report,) = report_spans(part, "B")
    assert report.verdict.state == "long"
    assert report.verdict.amount == pytest.approx(0.15)


def test_a_span_cut_short_is_scrap_unless_a_washer_saves_it(tmp_path):
    text = waiting("front seat", "back seat", LENGTHS)
    part = with_log(tmp_path, text, MEASURED, ("actual", "frame span", "47.3 mm"))
    (warning,) = part.warnings
    assert "too short: 0.700 mm end shake" in warning.what
    assert "a washer of 0.500 mm (0.400 to 0.600 mm)" in warning.what
    assert "[[span.loose]] of 0.500 mm" in warning.fix


def test_an_actual_diameter_is_what_the_second_setting_starts_from(tmp_path):
    text, shop = waiting("front seat", "back seat", LENGTHS), shop_from(SHOP)
    part = with_log(tmp_path, text, MEASURED, ("actual", "front seat diameter", "7.94 mm"))
    second = settle(part, shop)[1]
    assert any(abs(piece.start.x - 3.97) < 1e-9 for piece in second.stock)


def test_the_centre_holes_of_the_second_setting_are_those_that_the_bar_has(tmp_path):
    """A taper recorded shorter would fall too far over its extra length for the hole; but that is drilled."""
    text, shop = waiting("front seat", "back seat", LENGTHS), shop_from(SHOP)
    taper = 'diameter_a = "3 mm"\ndiameter_b = "4 mm"\ntolerance = "+0 / -0.1 mm"'
    text = re.sub(r'role = "pivot"\ndiameter = "[0-9.]+ mm"', f'role = "plain"\n{taper}', text, count=1)
    text = re.sub(r'(\[holding\.end_a\][^\[]*extra_length = )"[^"]*"', r'\1"5.05 mm"', text)
    first, second = settle(with_log(tmp_path, text, MEASURED, ("actual", "front pivot length", "3.9 mm")), shop)
    assert first.hole.designation == "A 0.63/1.32"
    assert (second.head_hole, second.hole) == (first.hole, first.head_hole)


@pytest.mark.parametrize(("late", "face", "sign"), [("", 4, 1), ('late = "B"', 4, 1), ('late = "A"', 1, -1)])
def test_the_fitting_allowance_makes_the_late_shoulder_stand_out(late, face, sign):
    lengths = LENGTHS | {"back pivot": 4.0}
    text = file_text(lengths, {"frame": ("front seat", "back seat", value(48.2))}, allowance=0.05)
    part = read(text.replace("fitting_allowance", f"{late}\nfitting_allowance"))
    view = first_view(part, "B")
    finished, cut = ([0.0, *(s.end for s in p.sections)] for p in (part, view))
    moved = {n: b - a for n, (a, b) in enumerate(zip(finished, cut, strict=True)) if abs(b - a) > 1e-9}
    assert moved == {face: pytest.approx(sign * 0.05)}
    assert second_view(part, "B", {0, 1, 2, 5}).sections == view.sections
    assert report_spans(part, "B")[0].limits.cut_length == pytest.approx(48.05)


def test_readings_of_the_log_go_before_those_of_the_file(tmp_path):
    text = file_text(LENGTHS | {"back pivot": 4.0}, {"frame": ("front seat", "back seat", value(48.2))})
    part = with_log(tmp_path, text, ("measurement", "of frame", "48.3 mm ± 0.005 mm"))
    assert part.sections[3].length == pytest.approx(9.1)
    (m,) = part.measured.measurements
    assert (m.mean, m.uncertainty.half) == (48.3, 0.005)


def test_a_record_of_what_the_part_no_longer_has_is_told_and_not_used(tmp_path):
    text = file_text(LENGTHS | {"back pivot": 4.0}, {"frame": ("front seat", "back seat", value(48.2))})
    part = with_log(tmp_path, text, ("measurement", "of the plates", "48.3 mm"), ("actual", "body length", "3 mm"))
    assert [w.what.partition(":")[0] for w in part.warnings] == ["this record is not used"] * 2
    assert part.measured.records == ()


def test_corners_that_take_more_than_a_third_of_the_end_shake_are_warned_of():
    part = read(
        file_text(LENGTHS | {"back pivot": 4.0}, {"frame": ("front seat", "back seat", value(48.2))}).replace(
            'stand_off_a = "0 mm"', 'stand_off_a = "0.08 mm"\nstand_off_a_uncertainty = "±0.01 mm"'
        )
    )
    assert any("by more than a third of the end shake" in w.what for w in part.warnings)
    assert part.sections[3].length == pytest.approx(8.92)


def test_symbols_of_iso_286_are_limits_of_a_section():
    """f7 over 3 to 6 mm: -10 to -22 um. Source: ISO 286-2:2010, shaft f; test_measure_fits holds it to pressfit."""
    text = arbor_text().replace('tolerance = "-0.01 / -0.03 mm"', 'tolerance = "f7"', 1)
    pivot = read(text).sections[1]
    assert (pivot.tolerance.lower, pivot.tolerance.upper) == pytest.approx((-0.022, -0.010))


def test_the_sample_comes_out_as_worked_by_hand():
    """46.22 - 0.22 = 46, less 7.5 and 32 (32.20 - 0.20): the back seat is 6.5, and 78 leaves 6 for the back pivot."""
    part, _ = drum_arbor()
    assert [float(s.length) for s in part.sections] == pytest.approx([20, 6, 7.5, 32, 6.5, 6], abs=1e-9)
    assert part.warnings == ()


# Spans in doubt -----------------------------------------------------------------------------------------


def doubts(old: str, new: str, allowance: float = 0.0) -> list[str]:
    """What a drawn arbor is warned of with some of its text exchanged; its worst case is 0.04 to either side."""
    lengths = {name: 20.0 for name in NAMES if name != "body"}
    text = file_text(lengths, {"frame": ("front seat", "back seat", value(60.2))}, allowance=allowance)
    assert old in text
    return [str(w) for w in read(text.replace(old, new)).warnings]


@pytest.mark.parametrize("least", ["0.1", "0.165"])
def test_a_span_that_mostly_comes_out_as_wanted_is_not_warned_of(least: str) -> None:
    assert not doubts('least = "0.1 mm"', f'least = "{least} mm"')


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [('least = "0.1 mm", aim = "0.2 mm"', 'least = "0 mm", aim = "0.035 mm"',
      ('span "frame" may bind', "0.035 mm predicted, -0.005 to 0.075 mm in the worst case", "99.2 %")),
     ('least = "0.1 mm"', 'least = "0.2 mm"',
      ("may well not come out with the end shake wanted", "0.160 to 0.240 mm", "50.0 %", "at least 90 % likely"))],
)  # fmt: skip
def test_a_span_that_may_bind_or_miss_is_warned_of(old: str, new: str, words: tuple[str, ...]) -> None:
    (told,) = doubts(old, new)
    assert all(word in told for word in words), told


def test_what_is_fitted_is_warned_of_for_what_cannot_be_faced_back_alone() -> None:
    """With a fitting allowance the late shoulder is faced back until it runs free; too much end shake stays."""
    tight = 'least = "0.1 mm", aim = "0.2 mm"', 'least = "0 mm", aim = "0.035 mm"'
    assert doubts(*tight)
    assert not doubts(*tight, allowance=0.05)
    assert doubts('most = "0.3 mm"', 'most = "0.2 mm"', allowance=0.05)
