"""Every drawn shoulder is there as turned: aims moved apart within limits, or refused with what would part them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.lengths import read_part
from cam.lengths.solved import Solved
from cam.setting import settle
from cam.setting.aims import aim_diameters, finest_diameter, step_on_diameter, thicken
from cam.setting.apart import LEAST_STEP, Joint, Lacking, Level, find_lacking, move_apart
from cam.shop import read_shop
from tests.specimens import SAMPLES, part_from, shop_from
from tests.test_setting_bad import PLAIN, changed

CASES = Path(__file__).parent / "cases"
SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")


def level(at: int, low: float, high: float, offset: float) -> Level:
    return Level(members=(at,), low=low, high=high, offset=offset)


def joint(small: int, large: int, step: float, need: float) -> Joint:
    return Joint(
        thin=small, thick=large, small=small, large=large, thin_size=8.0, thick_size=8.0 + step,
        need=need, edge=0.0, edge_text="", more=0.0,
    )  # fmt: skip


@st.composite
def ladders(draw: st.DrawFn) -> tuple[list[Level], list[Joint]]:
    """Sections in a row, rising and then falling, near one another beside their limits."""
    count = draw(st.integers(2, 6))
    peak = draw(st.integers(0, count - 1))
    share = st.integers(0, 10).map(lambda n: n / 10)
    levels = []
    for at in range(count):
        low, width = draw(st.integers(-40, 0)) / 100, draw(st.integers(0, 40)) / 100
        levels.append(level(at, low, low + width, low + draw(share) * width))
    joints = []
    for at in range(count - 1):
        small, large = (at, at + 1) if at < peak else (at + 1, at)
        joints.append(joint(small, large, draw(st.integers(1, 60)) / 100, draw(st.integers(1, 15)) / 100))
    return levels, joints


def longest_row(levels: list[Level], joints: list[Joint]) -> float:
    """By how much the worst row of shoulders is too high for the limits at its two ends, mm: an oracle of its own.

    Sizes rise by what each shoulder needs from the lowest limit of the one that a row starts at.
    """
    worst = max((v.low - v.high for v in levels), default=0.0)
    for start in range(len(levels)):
        for order in (joints, joints[::-1]):
            reach = {start: levels[start].low}
            for j in order:
                if j.small in reach:
                    reach[j.large] = max(reach.get(j.large, -9.0), reach[j.small] + j.apart)
                    worst = max(worst, reach[j.large] - levels[j.large].high)
    return worst


@given(ladders())
def test_aims_are_moved_apart_exactly_where_that_keeps_every_shoulder(ladder):
    levels, joints = ladder
    moved = move_apart(levels, joints)
    if moved is None:
        assert longest_row(levels, joints) > 1e-9
        assert find_lacking(levels, joints)
        return
    assert longest_row(levels, joints) <= 1e-6
    for v, offset in zip(levels, moved, strict=True):
        assert v.low - 1e-6 <= offset <= v.high + 1e-6
    for j in joints:
        assert moved[j.large] - moved[j.small] >= j.apart - 1e-6


def said_of(lost: Lacking, found: Sequence[Lacking]) -> bool:
    return any((f.joint.small, f.joint.large) == (lost.joint.small, lost.joint.large) for f in found)


def resized(levels: list[Level], joints: list[Joint], at: int, by: float) -> list[Joint]:
    """The joints when one section is drawn so much thicker."""
    return [
        j._replace(
            thin_size=j.thin_size + (by if j.small == at else 0.0),
            thick_size=j.thick_size + (by if j.large == at else 0.0),
        )
        for j in joints
    ]


@given(ladders())
def test_the_sizes_that_are_named_are_what_lacks(ladder):
    """Of a section so much thicker, or thinner, that shoulder is no longer said to be lost; of a little less it is."""
    levels, joints = ladder
    for lost in find_lacking(levels, joints) if move_apart(levels, joints) is None else ():
        for at, by in ((lost.joint.large, lost.by), (lost.joint.small, -lost.thinner)):
            if not by:
                continue
            assert not said_of(lost, find_lacking(levels, resized(levels, joints, at, by * (1 + 1e-9))))
            assert said_of(lost, find_lacking(levels, resized(levels, joints, at, by * 0.99)))


@pytest.mark.parametrize("name", ["pivot_without_shoulder", "span_to_a_vanished_shoulder"])
def test_a_shoulder_is_kept_by_aims_off_the_middle_and_the_page_says_so(name):
    part, shop = read_part(str(CASES / f"{name}.toml")), read_shop(str(SAMPLES / "shop.toml"))
    aims, problems = aim_diameters(part, shop)
    assert problems == []
    for section, (size, _) in zip(part.sections, aims.diameters, strict=True):
        limits = section.tolerance
        assert section.diameter_a + limits.lower <= size <= section.diameter_a + limits.upper
    for (one, two), (size, then) in zip(pairwise(part.sections), pairwise(aims.diameters), strict=True):
        step = (then[0] - size[1]) / 2
        assert step * (two.diameter_a - one.diameter_b) > 0, "the shoulder faces as it is drawn"
        assert abs(step) >= 0.1 - 1e-9, "as high as the nose is round"
    moved = [r for r in aims.reasons if "off the middle of the limits" in r]
    assert len(moved) == 2
    assert all("to keep its shoulder beside" in r for r in moved)
    assert any(r in settle(part, shop)[0].reasons for r in moved)


CLOSE = changed(
    PLAIN,
    ('corners = "fillet up to 0.2 mm"', 'corners = "fillet up to 0.1 mm"'),
    ('diameter = "8 mm"\nlength = "12 mm"', 'diameter = "11.7 mm"\ntolerance = "±0.1 mm"\nlength = "12 mm"'),
    ('diameter = "12 mm"\n', 'diameter = "12 mm"\ntolerance = "±0.1 mm"\n'),
)


def test_what_is_left_for_stoning_counts():
    """Finished 0.3 mm apart; with 0.15 mm left on the thinner only 0.15 mm as turned, less than the nose needs."""
    sizes = aim_diameters(part_from(CLOSE), shop_from(SHOP))[0].diameters
    assert [size for size, _ in sizes[1:3]] == [pytest.approx(11.7), pytest.approx(12.0)]
    stoned = changed(
        CLOSE,
        ('\nlength = "12 mm"', '\nlength = "12 mm"\nfinish = "turn, stone"\non_diameter = "0.15 mm"\non_face = "0 mm"'),
    )
    part = part_from(stoned)
    aims, problems = aim_diameters(part, shop_from(SHOP))
    assert problems == []
    assert aims.diameters[2][0] - aims.diameters[1][1] == pytest.approx(0.2, abs=0.002)
    other = changed(
        CLOSE,
        ('length = "20 mm"', 'length = "20 mm"\nfinish = "turn, stone"\non_diameter = "0.15 mm"\non_face = "0 mm"'),
    )
    part = part_from(other)
    (_, thin), (thick, _) = aim_diameters(part, shop_from(SHOP))[0].diameters[1:3]
    assert thick - thin >= 0.2 + 0.15 - 1e-9, "and once that is stoned off, the shoulder is still there"


@pytest.mark.parametrize("limits", ["", 'tolerance = "+0 / -0.05 mm"', 'tolerance = "±0.03 mm"'])
def test_a_section_made_thicker_as_said_is_aimed_at_so_much_more(limits):
    """Though X goes by the divisions of its dial, so that a little thicker is often no thicker as turned."""
    shop, jumps = shop_from(changed(SHOP, ('division = "0.02 mm"', 'division = "0.05 mm"'))), 0
    step = step_on_diameter(shop.lathe.x)

    def drawn(size: float) -> Solved:
        return part_from(changed(PLAIN, ('diameter = "12 mm"', f'diameter = "{size:.4f} mm"\n{limits}')))

    def aimed(size: float) -> float:
        return aim_diameters(drawn(size), shop)[0].diameters[2][0]

    for size in (12.0, 12.011, 12.024, 12.026, 12.04):
        section, now = drawn(size).sections[2], aimed(size)
        for lacking in (0.001, 0.02, 0.05, 0.07):
            more = thicken(section, now, lacking, shop.lathe)
            assert now + lacking - 1e-9 <= aimed(size + more) <= now + lacking + step + 0.001
            jumps += aimed(size + lacking) < now + lacking - 1e-9
    assert jumps > 0, "what lacks alone does not always help"


@pytest.mark.parametrize(("side", "name"), [("or more", "thick"), ("or less", "thin")])
def test_a_size_that_is_named_parts_them(side, name):
    near = changed(
        CLOSE,
        ("±0.1 mm", "±0.01 mm"),
        ("±0.1 mm", "±0.01 mm"),
        ('"11.7 mm"', '"11.92 mm"\ncorner_b = "undercut 1 mm wide 0.1 mm deep"'),
    )
    with pytest.raises(ProblemError) as caught:
        settle(part_from(near), shop_from(SHOP))
    (problem,) = caught.value.problems
    assert '"front seat" and "body"' in problem.what
    size = re.search(rf"([0-9.]+ mm) {side}", problem.fix)[1]
    old = '"12 mm"\ntol' if name == "thick" else '"11.92 mm"\ncor'
    settle(part_from(changed(near, (old, f'"{size}"{old[-4:]}'))), shop_from(SHOP))
    short = f"{float(size[:-3]) + (-0.003 if name == 'thick' else 0.003):.3f} mm"
    with pytest.raises(ProblemError):
        settle(part_from(changed(near, (old, f'"{short}"{old[-4:]}'))), shop_from(SHOP))


def test_beside_an_undercut_a_shoulder_is_at_least_the_least_step():
    """No nose makes that corner, so what counts is that something is there to bear: with half of what X can miss by."""
    corner = 'length = "12 mm"\ncorner_b = "undercut 1 mm wide 0.2 mm deep"'
    shop = shop_from(SHOP)
    least = 2 * LEAST_STEP + finest_diameter(shop.lathe)
    for step, wrong in ((least + 0.002, False), (least - 0.002, True)):
        text = changed(
            PLAIN,
            (
                'diameter = "8 mm"\nlength = "12 mm"',
                f'diameter = "{12 - step:.4f} mm"\ntolerance = "±0.005 mm"\n{corner}',
            ),
            ('diameter = "12 mm"\n', 'diameter = "12 mm"\ntolerance = "±0.005 mm"\n'),
        )
        assert bool(aim_diameters(part_from(text), shop)[1]) == wrong


def test_a_taper_that_meets_a_cylinder_of_its_size_is_aimed_as_one_with_it():
    """Otherwise a step of half of what their limits differ by would stand between them, which nobody drew."""
    text = changed(
        PLAIN,
        ('role = "seat"\ndiameter = "8 mm"', 'role = "plain"\ndiameter_a = "6 mm"\ndiameter_b = "8 mm"'),
        ('\nlength = "12 mm"', '\nlength = "12 mm"\ntolerance = "±0.05 mm"\n[[section]]\nname = "waist"\n'
         'role = "plain"\ndiameter = "8 mm"\nlength = "5 mm"\ntolerance = "+0 / -0.04 mm"'),
    )  # fmt: skip
    sizes = aim_diameters(part_from(text), shop_from(SHOP))[0].diameters
    assert sizes[1][1] == sizes[2][0] == pytest.approx(7.98)
    apart = changed(text, ("+0 / -0.04 mm", "-0.06 / -0.1 mm"))
    with pytest.raises(ProblemError, match='"front seat" and "waist" have one diameter, but no size'):
        settle(part_from(apart), shop_from(SHOP))


SLIGHT = """
name = "slight"
corners = "fillet up to 0.2 mm"
edges = "sharp"
finish = "turn"
stock = { material = "brass", diameter = "9 mm", length = "52 mm" }
[holding]
method = "between centres"
end_a = { tail_centre = "half centre", extra_length = "12 mm" }
end_b = { tail_centre = "half centre", extra_length = "12 mm" }
[[section]]
name = "body"
role = "body"
diameter = "8 mm"
length = "8 mm"
tolerance = "+0 / -0.06 mm"
[[section]]
name = "taper"
role = "plain"
diameter_a = "8 mm"
diameter_b = "7.98 mm"
length = "10 mm"
tolerance = "±0.2 mm"
[[section]]
name = "end"
role = "plain"
diameter = "7.98 mm"
length = "10 mm"
tolerance = "±0.1 mm"
"""


def test_a_slight_taper_between_two_cylinders_keeps_its_direction():
    """Each end is aimed with its neighbour, at the middle of other limits: it came out the wrong way round."""
    body, taper, end = aim_diameters(part_from(SLIGHT), shop_from(SHOP))[0].diameters
    assert taper == (body[1], end[0])
    assert taper[0] - taper[1] >= 0.01 - 1e-9
    apart = changed(SLIGHT, ("+0 / -0.06 mm", "-0.1 / -0.2 mm"), ("±0.1 mm", "+0.2 / +0.1 mm"))
    with pytest.raises(ProblemError) as refused:
        settle(part_from(apart), shop_from(SHOP))
    (problem,) = refused.value.problems
    assert problem.what.startswith('the taper "taper" would not grow as it is drawn')
    size = re.search(r'the A end of "taper" ([0-9.]+) mm or more', problem.fix)
    assert size, problem.fix
    settle(part_from(changed(apart, ('"8 mm"\nlength = "8', f'"{size[1]} mm"\nlength = "8'),
                             ('diameter_a = "8 mm"', f'diameter_a = "{size[1]} mm"'))), shop_from(SHOP))  # fmt: skip
