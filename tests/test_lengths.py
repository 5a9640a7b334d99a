"""Shoulders are aimed at the middle of the limits of lengths, as the Z slide can be set, whatever else there is."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from random import Random

import pytest

from cam.ground.problem import ProblemError
from cam.job import make_job
from cam.part.model import Part
from cam.setting import settle
from cam.setting.model import Setting
from tests.search.draw import draw_part, draw_shop
from tests.specimens import moon_carriage_spindle, part_from, shop_from

SHARE = 0.25
"""Of the width of its limits, how far from their middle a length may be aimed, as diameters are."""
FINE = 1e-6
ONE_SIDED = [(-0.03, 0.0), (0.0, 0.03), (-0.1, 0.0), (0.0, 0.05), (-0.02, 0.02), (-0.06, -0.02)]


def faces_of(part: Part, settings: Sequence[Setting]) -> dict[int, float]:
    """Where each shoulder, and each end, will stand: by its number from the A end, mm from that end."""
    names = [s.name for s in part.sections]
    first = settings[0]
    found = {0: 0.0}
    for setting in settings:
        way = 1 if setting.end == "A" else -1
        for t in setting.turned:
            if t.far_kind != "shoulder":
                continue
            at = names.index(t.section.name)
            beyond = at + way
            if 0 <= beyond < len(names) and part.sections[beyond].role == "undercut":
                size, after = part.sections[beyond].thickest, beyond + way
                at = beyond if t.section.thickest > size < part.sections[after].thickest else at
            found[at + (way > 0)] = setting.to_part(t.far - part.sections[at].finish.on_face)
    holding = part.holding
    extras = [float(e.extra_length) for e in (holding.end_a, holding.end_b) if e is not None]
    if holding.method == "between centres":
        found[len(names)] = first.end_z - first.head_z - sum(extras)
    return found


def drawn(seed: int, *, span: bool) -> tuple[Part, tuple[Setting, ...], float] | None:
    """A random part with limits on most lengths, its settings and the division of Z; None where it is refused."""
    rng = Random(f"{seed} lengths")
    shop = draw_shop(rng)
    part = draw_part(rng, shop.shop)
    if span != (part.span >= 0):
        return None
    for i, s in enumerate(part.sections):
        s.length_limits = rng.choice(ONE_SIDED) if rng.random() < 0.7 and i != part.span else None
    try:
        read, lathe = part_from(part.text()), shop_from(shop.text)
        return read, settle(read, lathe), float(lathe.lathe.z.division)
    except ProblemError:
        return None


def test_every_shoulder_is_aimed_well_within_the_limits_of_lengths() -> None:
    one_sided = between = longer = 0
    for seed in range(90):
        if (found := drawn(seed, span=False)) is None:
            continue
        part, settings, division = found
        faces, reasons = faces_of(part, settings), " ".join(r for s in settings for r in s.reasons)
        moved = faces.get(len(part.sections), part.length) - part.length
        assert (settings[0].longer != 0) == ("The part is made" in reasons), seed
        assert abs(moved - settings[0].longer) < FINE or settings[0].chuck, seed
        if "the bar is too short for the middle" in reasons:
            continue
        longer += settings[0].longer != 0
        for at, s in enumerate(part.sections):
            if s.length_tolerance is None or not {at, at + 1} <= set(faces):
                continue
            low, high = s.length + s.length_tolerance.lower, s.length + s.length_tolerance.upper
            off = abs(faces[at + 1] - faces[at] - (low + high) / 2) / (high - low)
            assert off <= SHARE + FINE, (seed, s.name)
            one_sided += low + high != 2 * s.length
        for t in (t for s in settings for t in s.turned if t.spare is not None):
            if abs(t.far / division - round(t.far / division)) > FINE:
                assert f'"{t.section.name}"' in reasons
                assert "between two settings of the Z slide" in reasons
                between += 1
    assert one_sided > 50, one_sided
    assert between
    assert longer


def test_what_a_span_counts_from_is_not_aimed_twice() -> None:
    tried = 0
    for seed in range(120):
        if (found := drawn(seed, span=True)) is None:
            continue
        part, settings, _ = found
        at = next(i for i, s in enumerate(part.sections) if "solved" in s.length.text)
        faces = faces_of(part, settings)
        if {at, at + 1} <= set(faces):
            wanted = part.sections[at].end - part.sections[at].start
            assert faces[at + 1] - faces[at] == pytest.approx(wanted, abs=1e-9), seed
            tried += 1
    assert tried > 3


ARBOR = """
name = "arbor"
corners = "fillet up to 0.2 mm"
edges = "sharp"
[stock]
material = "brass"
diameter = "10 mm"
length = "70 mm"
[holding]
method = "between centres"
first = "A"
[holding.end_a]
tail_centre = "half centre"
extra_length = "0 mm"
[holding.end_b]
tail_centre = "half centre"
extra_length = "0 mm"
"""
PLAIN = '[[section]]\nname = "{}"\nrole = "plain"\ndiameter = "{} mm"\nlength = "{} mm"\nfinish = "turn"\n{}'


def shoulders(*limits: str) -> tuple[dict[str, tuple[float, tuple[float, float] | None]], Sequence[Setting]]:
    """Of an arbor of five steps with these limits of lengths: where each shoulder is aimed, and may stand."""
    sizes = ((5, 10), (6, 6), (9, 14), (7, 20), (5, 8))
    rows = [f'length_tolerance = "{v}"\n' if v else "" for v in limits]
    tables = [PLAIN.format(f"s{i}", *size, row) for i, (size, row) in enumerate(zip(sizes, rows, strict=True))]
    settings = settle(part_from(ARBOR + "".join(tables)), moon_carriage_spindle()[1])
    found = {t.section.name: (t.far, t.far_limits) for s in settings for t in s.turned if t.far_kind == "shoulder"}
    return found, settings


def near(found: tuple[float, tuple[float, float] | None], far: float, *limits: float) -> bool:
    """Whether a shoulder is aimed at and limited so."""
    return found[0] == pytest.approx(far) and found[1] == (pytest.approx(limits) if limits else None)


def test_a_length_without_limits_takes_up_what_its_neighbour_is_aimed_off() -> None:
    """Z of the first setting counts from the A end, of the second from the shoulder past s1; its dial has 0.02."""
    found, settings = shoulders("", "+0 / -0.04 mm", "", "+0 / -0.04 mm", "")
    assert near(found["s0"], -10)
    assert near(found["s1"], -15.98, 15.96, 16.0)
    assert near(found["s4"], 34.02)
    assert near(found["s3"], 14.04, 14.02, 14.06)
    assert settings[0].head_z == pytest.approx(-58)


def test_neighbours_with_limits_are_aimed_from_one_another() -> None:
    found, settings = shoulders("+0 / -0.04 mm", "+0 / -0.04 mm", "+0 / -0.04 mm", "", "")
    assert near(found["s0"], -9.98, 9.96, 10.0)
    assert near(found["s1"], -15.96, 15.94, 15.98)
    assert near(found["s3"], 13.98, 13.96, 14.0)  # the collar, whose other face the first setting made
    assert settings[0].head_z == pytest.approx(-58)
    found, settings = shoulders(*["+0 / -0.04 mm"] * 5)  # nothing is free: the whole part is shorter
    assert near(found["s3"], 13.98, 13.96, 14.0)
    assert near(found["s4"], 33.96, 33.94, 33.98)
    assert settings[0].head_z == pytest.approx(-57.9)
    assert "The part is made 57.9 mm long, 58 mm drawn" in " ".join(settings[0].reasons)


def test_a_bar_too_short_for_limits_is_refused_with_how_long_it_must_be() -> None:
    """Aimed as drawn, every length would lie at its very limit; where the drawing lies within them, that will do."""
    sizes = ((5, 10), (6, 6), (9, 14), (7, 20), (5, 8))

    def settled(bar: str, limits: str) -> Sequence[Setting]:
        rows = (PLAIN.format(f"s{i}", *size, f'length_tolerance = "{limits}"\n') for i, size in enumerate(sizes))
        text = ARBOR.replace('length = "70 mm"', f'length = "{bar}"') + "".join(rows)
        return settle(part_from(text), moon_carriage_spindle()[1])

    with pytest.raises(ProblemError) as caught:
        settled("58 mm", "+0.04 / -0 mm")
    (problem,) = caught.value.problems
    assert problem.what.startswith("the stock is too short for the limits of the length of")
    assert problem.allowed.startswith("at least 58.12 mm: the part is made 58.1 mm long")
    settled("58.1 mm", "+0.04 / -0 mm")
    settled("58 mm", "+0.04 / -0.01 mm")


def test_a_middle_between_two_marks_is_said() -> None:
    found, settings = shoulders("", "+0 / -0.018 mm", "", "", "")
    assert near(found["s1"], -15.991, 15.982, 16.0)
    assert 'shoulder past "s1" is aimed between two settings of the Z slide' in " ".join(settings[0].reasons)


@pytest.mark.parametrize("first", ["A", "B"])
def test_a_groove_keeps_its_width_where_its_shoulder_is_aimed_off(first: str) -> None:
    close = 'length_tolerance = "+0 / -0.04 mm"\n'
    groove = PLAIN.format("neck", 6, 1, "").replace("plain", "undercut")
    rows = (PLAIN.format("s0", 7, 10, close), groove, PLAIN.format("s1", 9, 14, ""), groove.replace("neck", "other"),
            PLAIN.format("s2", 7, 20, close), PLAIN.format("s3", 5, 8, ""))  # fmt: skip
    text = ARBOR.replace('first = "A"', f'first = "{first}"')
    settings = settle(part_from(text + "".join(rows)), moon_carriage_spindle()[1])
    turned = {t.section.name: t for s in settings for t in s.turned}
    assert [t.corner and t.corner.width for t in (turned["s0"], turned["s2"])] == [pytest.approx(1)] * 2
    lengths = {name: t.near - t.far for name, t in turned.items()}
    assert lengths["s0"] == pytest.approx(10.98)
    assert lengths["s2"] == pytest.approx(20.98)


def test_a_groove_keeps_its_width_where_a_span_moves_it_with_all_behind() -> None:
    kept = Path(__file__).parent / "sheets" / "kept"
    works = make_job(*(str(kept / f"groove-behind-a-span.{kind}.toml") for kind in ("part", "shop"))).works
    (width,) = (t.corner.width for w in works for t in w.setting.turned if t.corner and t.section.name == "s3")
    assert width == pytest.approx(1.0)


FRAME = """
[[measurement]]
name = "plates"
value = "34.2 mm"
uncertainty = "±0.02 mm"
taken_with = "micrometer"
[[span]]
name = "frame"
from = "s2"
to = "s2"
measurement = "plates"
end_shake = { least = "0.1 mm", aim = "0.2 mm", most = "0.3 mm" }
tolerance = "±0.02 mm"
stand_off_a = "0 mm"
stand_off_b = "0 mm"
"""
SEAT = FRAME.replace('"plates"', '"seat to plate"').replace("34.2", "50.2").replace('"frame"', '"whole"').replace(
    'from = "s2"', 'from = "s0"'
)  # fmt: skip


def framed(first: str, *limits: str) -> Part:
    """A part whose spans settle both ends of s0 and s1, which have these limits of lengths."""
    s0, s1 = (f'length_tolerance = "{v}"\n' if v else "" for v in limits)
    rows = [
        PLAIN.format("end", 4, 4, ""),
        PLAIN.format("s0", 5, 10, s0),
        PLAIN.format("s1", 6, 6, s1),
        PLAIN.format("s2", 9, 34, "").replace('length = "34 mm"\n', ""),
        PLAIN.format("s3", 5, 8, ""),
    ]
    head = ARBOR.replace('first = "A"', f'first = "{first}"').replace("[stock]", 'length = "62 mm"\n[stock]', 1)
    return part_from(head + "".join(rows).replace('length = "10 mm"\n', "") + FRAME + SEAT)


@pytest.mark.parametrize("first", ["A", "B"])
def test_lengths_that_all_have_limits_between_faces_that_stay_share_what_they_are_aimed_off(first: str) -> None:
    """One of 0.04 and one of 0.1, whose middles together are 0.05 more than there is."""
    part = framed(first, "±0.02 mm", "+0.1 / +0 mm")
    settings = settle(part, moon_carriage_spindle()[1])
    faces = faces_of(part, settings)
    assert (faces[1], faces[3]) == (pytest.approx(4), pytest.approx(20))
    assert faces[2] == pytest.approx(14 - 0.05 * 0.04 / 0.14, abs=0.002)
    said = " ".join(reason for s in settings for reason in s.reasons)
    assert '"s0" and' in said or 'and "s0"' in said
    assert "are aimed off the middle of the limits of their lengths, by the same share of each" in said


@pytest.mark.parametrize("first", ["A", "B"])
def test_limits_that_cannot_all_be_kept_between_faces_that_stay_are_refused(first: str) -> None:
    with pytest.raises(ProblemError) as refused:
        settle(framed(first, "±0.02 mm", "+0.1 / +0.03 mm"), moon_carriage_spindle()[1])
    (problem,) = refused.value.problems
    assert "cannot all be kept" in problem.what
    assert (problem.given[:5], problem.allowed[:16]) == ("16 mm", "16.012 mm to 16.")
    names = '"s0" and "s1"' if first == "A" else '"s1" and "s0"'
    assert problem.fix == (
        f"limits that let {names} be 0.012 mm shorter together, or one of these lengths without any"
    )  # fmt: skip
    settle(framed(first, "±0.02 mm", "+0.1 / +0.018 mm"), moon_carriage_spindle()[1])
    settle(framed(first, "+0.02 / -0.02 mm", ""), moon_carriage_spindle()[1])


@pytest.mark.parametrize("first", ["A", "B"])
def test_no_shoulder_is_aimed_at_the_very_limit_of_a_length_before_or_behind_a_span(first: str) -> None:
    """What a span counts from goes with it; behind it the end of the part does."""
    limits = 'length_tolerance = "+0 / -0.1 mm"\n'
    rows = (PLAIN.format("s0", 5, 10, limits), PLAIN.format("s2", 9, 34, "").replace('length = "34 mm"\n', ""),
            PLAIN.format("s3", 5, 8, limits))  # fmt: skip
    part = part_from(ARBOR.replace('first = "A"', f'first = "{first}"') + "".join(rows) + FRAME)
    settings = settle(part, moon_carriage_spindle()[1])
    faces = faces_of(part, settings)
    assert faces[2] - faces[1] == pytest.approx(34)
    assert faces[1] == pytest.approx(9.95, abs=0.011)
    spare = [t.spare for s in settings for t in s.turned if t.spare is not None]
    assert len(spare) == 2
    assert min(min(v) for v in spare) > 0.039


def test_limits_beside_a_length_without_any_are_told_how_much_to_give() -> None:
    """What the other one may give is not enough, and it has no limits that could be taken away."""
    with pytest.raises(ProblemError) as refused:
        settle(framed("A", "", "+0.3 / +0.2 mm"), moon_carriage_spindle()[1])
    (problem,) = refused.value.problems
    assert problem.fix == 'limits that let "s1" be 0.102 mm shorter'
    settle(framed("A", "", "+0.2 / +0.098 mm"), moon_carriage_spindle()[1])
