"""What cannot be held or turned so is refused with numbers; and the choices of order, grip and aim."""

from __future__ import annotations

import re

import pytest

from cam.ground.problem import Problem, ProblemError
from cam.part.model import Part
from cam.setting import settle
from cam.setting.outline import outline_radius
from cam.setting.profiles import radius_at
from cam.shop.model import Shop
from tests.specimens import SAMPLES, arbor_text, part_from, shop_from

ARBOR = arbor_text()
PIN = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")

PLAIN = """
name = "plain arbor"
corners = "fillet up to 0.2 mm"
edges = "sharp"
finish = "turn"
[stock]
material = "brass"
diameter = "16 mm"
length = "120 mm"
[holding]
method = "between centres"
[holding.end_a]
tail_centre = "dead centre"
extra_length = "12 mm"
[holding.end_b]
tail_centre = "dead centre"
extra_length = "12 mm"
[[section]]
name = "front pivot"
role = "pivot"
diameter = "3 mm"
length = "6 mm"
[[section]]
name = "front seat"
role = "seat"
diameter = "8 mm"
length = "12 mm"
[[section]]
name = "body"
role = "body"
diameter = "12 mm"
length = "20 mm"
[[section]]
name = "back seat"
role = "journal"
diameter = "8 mm"
length = "10 mm"
[[section]]
name = "back pivot"
role = "pivot"
diameter = "4 mm"
length = "6 mm"
"""


def changed(text: str, *changes: tuple[str, str]) -> str:
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def pair(part: str, shop: str = SHOP) -> tuple[Part, Shop]:
    return part_from(part), shop_from(shop)


def problems_of(part: str, shop: str = SHOP) -> tuple[Problem, ...]:
    with pytest.raises(ProblemError) as caught:
        settle(*pair(part, shop))
    return caught.value.problems


# Which change to the arbor, which to the shop, what is said, and what else is in the message.
FAULTS = [
    ([('material = "silver steel"', 'material = "sliver steel"')], [], 'no material called "sliver steel"',
     ['did you mean "silver steel"?']),
    ([('tail_centre = "dead centre"', 'tail_centre = "dad centre"')], [], 'no centre called "dad centre"',
     ['did you mean "dead centre"?', '"half centre"']),
    ([('carrier = "middle carrier"', 'carrier = "large carrier"')], [], 'no carrier called "large carrier"', []),
    ([('centre_hole = "A 1/2.12"', 'centre_hole = "A 1/2.5"')], [], "no centre hole of ISO 866", ["A 1/2.12"]),
    ([('carrier = "middle carrier"', 'carrier = "small carrier"')], [], '"small carrier" does not grip 16 mm',
     ["the stock", "3 mm to 9 mm"]),
    ([('carrier = "small carrier"', 'carrier = "middle carrier"')], [], '"middle carrier" does not grip 5.18 mm', []),
    ([("20 mm", "7 mm")], [], '"small carrier" is wider than the length that it would sit on',
     ["7 mm wide", '"winding square" has 6.3 mm']),
    ([], [('width = "9 mm"', 'width = "12.3 mm"')], '"middle carrier" is wider than the length', ["11.89 mm"]),
    ([], [('width = "9 mm"', 'width = "11.85 mm"')],
     'the carrier "middle carrier" at the B end is in the way of the last cut on "drum body"',
     ["Z -66.11 mm", "0.1 mm", "0.092 mm more extra length at the B end"]),
    ([], [('"25 mm"], ["30 mm", "25 mm"]', '"12 mm"], ["30 mm", "12 mm"]')], "is in the way of the last cut",
     ['"right-hand knife" stands 12 mm further over']),
    ([], [('swing_over_slide = "80 mm"', 'swing_over_slide = "40 mm"')], "does not swing over the cross", ["46 mm"]),
    ([], [('between_centres = "250 mm"', 'between_centres = "70 mm"')], "the work is too long", ["75.021 mm"]),
    ([], [('centre_projection = "30 mm"', 'centre_projection = "1 mm"')], "would stand in the catch plate",
     ["middle carrier"]),
    ([], [('cone_angle = "60 deg"', 'cone_angle = "75 deg"')], "does not fit the centre hole", ["60 deg"]),
    ([], [('division = "0.02 mm"', 'division = "0.2 mm"')], "are finer than backlash and dial allow",
     ["0.02 mm between them", "at least 0.1 mm", "burnishing, or name a finer division if you can set it"]),
    ([], [('backlash = "0.04 mm"', 'backlash = "0.2 mm"')], "are finer than backlash and dial allow",
     ["at least 0.04 mm", "a backlash of 0.2 mm", "burnishing, or adjust the slide's nut and say what"]),
    ([('length = "7.5 mm"', 'length = "7.5 mm"\nlength_tolerance = "+0 / -0.004 mm"')], [],
     'the limits of the length of "front seat" are finer',
     ["0.01 mm", "a finer division if you can set it and adjust the slide's nut"]),
    ([('tolerance = "±0.02 mm"\nhole_a', 'tolerance = "±0.002 mm"\nhole_a')], [],
     'the limits of span "frame" are finer', ["±0.002 mm: 0.004 mm between them", "0.01 mm"]),
    ([], [('nose_radius = "0.1 mm"', 'nose_radius = "0.9 mm"')], "is too low for what is to be made on it",
     ["below the chamfer 0.2 mm", "at least 0.9 mm"]),
]  # fmt: skip


@pytest.mark.parametrize(("part", "shop", "what", "pieces"), FAULTS, ids=[f[2][:60] for f in FAULTS])
def test_the_fault_is_found(part, shop, what, pieces):
    problems = problems_of(changed(ARBOR, *part), changed(SHOP, *shop))
    found = [p for p in problems if what in p.what]
    assert found, [str(p) for p in problems]
    for piece in pieces:
        assert any(piece in str(p) for p in found), (piece, [str(p) for p in found])
    for p in problems:
        assert p.where.line > 0
        assert p.given
        assert p.allowed or p.fix


def test_all_wrong_names_come_in_one_report():
    text = changed(ARBOR, ("silver steel", "cheese"), ("dead centre", "no centre"), ("middle carrier", "no carrier"))
    whats = [p.what for p in problems_of(text)]
    assert len(whats) == 3
    assert all(what.startswith("there is no") for what in whats)


NO_SPARE = changed(
    PLAIN,
    ('extra_length = "12 mm"\n[[', 'extra_length = "0 mm"\n[['),
    ('extra_length = "12 mm"', 'extra_length = "0 mm"'),
    ('length = "10 mm"', 'length = "2 mm"'),
    ("[holding]\n", '[holding]\nfirst = "A"\n'),
)


def test_thickest_sections_go_with_the_last_end_where_the_carrier_has_no_room():
    first, second = settle(*pair(NO_SPARE))
    assert [t.section.name for t in first.turned] == ["front pivot", "front seat"]
    assert [t.section.name for t in second.turned] == ["back pivot", "back seat", "body"]
    assert first.turned[-1].far_radius == 8.0  # a face against the bar
    assert second.turned[-1].far_kind == "open"
    assert any("do not go with the end that usually takes them: no carrier fits the stock" in r for r in first.reasons)


def test_nor_can_they_if_their_edge_faces_the_first_end():
    edged = changed(NO_SPARE, ('length = "20 mm"', 'length = "20 mm"\nedge_a = "chamfer 0.3 mm"'))
    problem = next(p for p in problems_of(edged) if "no carrier fits the stock" in p.what)
    assert "16 mm, 7.39 mm long" in problem.given  # 2 + 6 mm less nose and overrun
    assert "more extra length" in problem.fix


def test_end_too_thin_for_the_hole_that_is_named():
    hole = ('tail_centre = "dead centre"', 'tail_centre = "dead centre"\ncentre_hole = "A 0.5/1.06"')
    thin = changed(PLAIN, ('diameter = "3 mm"', 'diameter = "1.3 mm"'), hole)
    (problem,) = problems_of(thin)
    assert problem.what == '"front pivot" is too thin for the centre hole in the A end'
    assert problem.allowed == "a mouth of at most 1 mm, to leave a rim"


def test_an_end_kept_thin_by_a_shoulder_is_to_be_thicker_with_what_stands_beside_it():
    """Alone it is kept as thin: the two are aimed apart by what their limits give."""
    hole = ('tail_centre = "dead centre"', 'tail_centre = "dead centre"\ncentre_hole = "A 0.5/1.06"')

    def close(pivot: float, seat: float) -> str:
        corner = 'corner_b = "undercut 0.5 mm wide 0.1 mm deep"'
        thin = ('diameter = "3 mm"', f'diameter = "{pivot:.3f} mm"\n{corner}')
        return changed(PLAIN, hole, thin, ('diameter = "8 mm"', f'diameter = "{seat:.3f} mm"\ntolerance = "±0.06 mm"'))

    (problem,) = problems_of(close(1.3, 1.32))
    assert problem.what == '"front pivot" is too thin for the centre hole in the A end'
    found = re.search(r'make that end of "front pivot", and "front seat" beside it, ([0-9.]+) mm thicker', problem.fix)
    more = float(found[1])
    settle(*pair(close(1.3 + more, 1.32 + more)))
    assert "too thin" in problems_of(close(1.3 + more - 0.03, 1.32 + more - 0.03))[0].what


def test_an_end_kept_too_thin_for_any_hole_is_to_be_thicker_with_what_stands_beside_it():
    pivot = ('diameter = "3 mm"', 'diameter = "1.37 mm"\ncorner_b = "undercut 0.5 mm wide 0.1 mm deep"')
    seat = ('diameter = "8 mm"', 'diameter = "1.39 mm"\ntolerance = "±0.06 mm"')
    (problem,) = problems_of(changed(PLAIN, pivot, seat))
    assert problem.what == 'the end face of "front pivot" is too small for any centre hole of ISO 866 in the A end'
    assert problem.given.endswith("mm as turned")
    assert problem.fix.endswith('make it, and "front seat" beside it, thicker')


def test_a_fall_over_extra_length_is_that_of_the_taper_as_turned():
    """Its thin end is turned thinner than drawn; told how much extra length may be left, it takes the smallest hole."""
    taper = 'diameter_a = "2.54 mm"\ndiameter_b = "3.54 mm"\ncorner_b = "undercut 0.5 mm wide 0.1 mm deep"'

    def long(extra: float) -> str:
        role = ('role = "pivot"\ndiameter = "3 mm"', f'role = "plain"\n{taper}')
        seat = ('diameter = "8 mm"', 'diameter = "3.56 mm"\ntolerance = "±0.06 mm"')
        end = ('extra_length = "12 mm"\n[holding.end_b]', f'extra_length = "{extra:.3f} mm"\n[holding.end_b]')
        return changed(PLAIN, role, seat, end)

    found = next(p for p in problems_of(long(12)) if "too small for any centre hole" in p.what)
    assert "as turned, its taper carried on over the extra length" in found.given
    most = float(re.search(r"leave ([0-9.]+) mm of extra length there at most", found.fix)[1])

    def holes(extra: float) -> set[str]:
        return {s.hole.designation for s in settle(*pair(long(extra))) if s.end == "A"}

    assert holes(most) == {"A 0.5/1.06"}
    assert any("too small for any" in p.what for p in problems_of(long(most + 0.02)))
    found = [holes(most - 0.1 * n) for n in range(20)]  # each hole that is chosen by itself suits the end as turned
    assert found[-1] == {"A 0.63/1.32"}


@pytest.mark.parametrize("thin", ["4.83", "4.84", "4.98"])
def test_less_extra_length_is_enough_wherever_the_shoulder_past_a_taper_is_aimed(thin: str) -> None:
    """With its end face elsewhere, Z is set elsewhere within the limits of its length: it may be steeper."""
    taper = f'role = "plain"\ndiameter_a = "{thin} mm"\ndiameter_b = "6.9 mm"\nlength_tolerance = "±0.02 mm"'

    def long(extra: str) -> str:
        pivot = ('role = "pivot"\ndiameter = "3 mm"\nlength = "6 mm"', f'{taper}\nlength = "0.5 mm"')
        end = ('extra_length = "12 mm"\n[holding.end_b]', f'extra_length = "{extra} mm"\n[holding.end_b]')
        first = ('method = "between centres"', 'method = "between centres"\nfirst = "A"')
        return changed(PLAIN, pivot, end, first)

    found = next(p for p in problems_of(long("12")) if "too small for any centre hole" in p.what)
    most = re.search(r"leave ([0-9.]+) mm of extra length there at most", found.fix)[1]
    assert {s.hole.designation for s in settle(*pair(long(most))) if s.end == "A"} == {"A 0.5/1.06"}


def test_an_end_that_the_bar_keeps_thin_asks_for_thicker_bar():
    """Left as bought, or as thick as the bar allows, it cannot be made thicker by itself; a thick bar has room."""
    fix = "hold that end in a collet, or take thicker bar and make the end thicker"
    head, _, _ = PLAIN.partition('[[section]]\nname = "front seat"')
    size = 'diameter = "1.3 mm"\nlength = "60 mm"\nfinish = "as stock"\n'
    bar = f'{head}[[section]]\nname = "body"\nrole = "body"\n{size}'
    thin = changed(bar, ('diameter = "16 mm"', 'diameter = "1.3 mm"'), ('diameter = "3 mm"', 'diameter = "1 mm"'))
    found = problems_of(changed(thin, ("fillet up to 0.2 mm", "fillet up to 0.1 mm")))
    assert [p.fix for p in found if "too thin for any centre hole" in p.what] == [fix, fix]
    thin = changed(PLAIN, ('diameter = "3 mm"', 'diameter = "1.2 mm"'))
    assert any(p.fix == fix.replace("take thicker bar and ", "") for p in problems_of(thin))


def test_a_pivot_is_never_gripped_and_a_journal_only_with_protection():
    bare = changed(
        PLAIN, ("[holding]\n", '[holding]\nfirst = "B"\n'), ('extra_length = "12 mm"\n[[', 'extra_length = "0 mm"\n[[')
    )
    first, second = settle(*pair(bare))
    assert second.grip == '"body"'  # not the pivot, nor the bare journal
    thin = changed(bare, ('length = "20 mm"', 'length = "7 mm"'))
    problems = problems_of(changed(thin, ('"front seat"\nrole = "seat"', '"front seat"\nrole = "journal"')))
    assert any("no carrier fits" in p.what or "nothing that a carrier may grip" in p.what for p in problems)
    padded = changed(
        thin,
        ('extra_length = "12 mm"\n[holding.end_b]', 'extra_length = "12 mm"\nprotection = "0.5 mm"\n[holding.end_b]'),
    )
    first, second = settle(*pair(padded))
    assert second.grip == '"back seat"'
    assert second.protection == 0.5
    assert first.end == "B"


def test_extra_length_is_gripped_before_anything_finished():
    first, second = settle(*pair(PLAIN))
    assert (first.end, second.end) == ("B", "A")  # the 3 mm pivot comes last
    assert second.grip == 'the extra length beyond "back pivot"'
    assert second.grip_diameter == pytest.approx(4.0)
    assert second.grip_far == second.head_z
    assert any("so that the weaker end comes last" in r and "3 mm" in r for r in first.reasons)


def test_the_order_can_be_forced():
    first, second = settle(*pair(changed(PLAIN, ("[holding]\n", '[holding]\nfirst = "A"\n'))))
    assert (first.end, second.end) == ("A", "B")
    assert not any("turned first" in r for r in first.reasons)


def test_smallest_swing_that_grips_is_chosen():
    extra = '\n[[carrier]]\nname = "neat carrier"\nswing = "20 mm"\nwidth = "6 mm"\n'
    extra += 'grip = ["3 mm", "6 mm"]\nfastest = "600 rpm"\n'
    second = settle(*pair(PLAIN, SHOP + extra))[1]
    assert second.carrier.name == "neat carrier"
    assert second.carrier.swing < min(c.swing for c in shop_from(SHOP).carriers)


def test_neighbours_of_one_diameter_are_turned_as_one_within_the_limits_of_both():
    text = changed(
        PLAIN,
        ('\nlength = "12 mm"', '\nlength = "12 mm"\ntolerance = "+0 / -0.1 mm"'),
        ('[[section]]\nname = "body"', '[[section]]\nname = "next seat"\nrole = "seat"\ndiameter = "8 mm"\n'
         'length = "5 mm"\ntolerance = "+0.02 / -0.04 mm"\n[[section]]\nname = "body"'),
    )  # fmt: skip
    settings = settle(*pair(text))
    turned = [t for s in settings for t in s.turned if t.section.name in ("front seat", "next seat")]
    assert [t.radius_near for t in turned] == pytest.approx([3.99, 3.99])  # the middle of -0.04 and 0
    assert turned[0].far_kind == "level"
    assert any("turned as one to 7.98 mm" in r for r in settings[0].reasons)
    apart = changed(text, ("+0.02 / -0.04 mm", "+0.05 / +0.02 mm"))
    assert "no size is within the limits of all" in problems_of(apart)[0].what
    free = changed(text, ('\ntolerance = "+0 / -0.1 mm"', ""), ("+0.02 / -0.04 mm", "+0.2 / +0.1 mm"))
    (problem,) = problems_of(free)  # without limits it may be up to 0.1 mm thicker, which no mark may be
    assert "their limits hardly overlap" in problem.what
    least = float(re.search(r"overlap by ([0-9.]+) mm", problem.allowed)[1])
    settle(*pair(changed(free, ("+0.2 / +0.1 mm", f"+0.2 / {0.1 - least:+.3f} mm"))))


def test_as_bought_body_needs_one_shoulder_at_each_side_and_keeps_the_bar():
    text = changed(
        PLAIN, ('diameter = "12 mm"\nlength = "20 mm"', 'diameter = "16 mm"\nlength = "20 mm"\nfinish = "as stock"')
    )
    settings = settle(*pair(text))
    assert len(settings) == 2
    assert all(t.section.name != "body" for s in settings for t in s.turned)
    assert [s.turned[-1].far_kind for s in settings] == ["shoulder", "shoulder"]
    gripped = changed(
        text, ('tail_centre = "dead centre"\nextra_length', 'tail_centre = "dead centre"\ngrip = "body"\nextra_length')
    )
    by_end = {s.end: s for s in settle(*pair(gripped))}
    assert by_end["A"].grip_diameter == 16.0


def test_headed_part_is_turned_with_its_head_last_or_in_one_setting():
    """The thickest section is the B end: its edge toward A can be cut only while the A end is turned."""
    head = PLAIN[: PLAIN.index('[[section]]\nname = "back seat"')]
    one_end = changed(
        head,
        ("[holding]\n", '[holding]\nfirst = "A"\n'),
        ('length = "20 mm"', 'length = "20 mm"\nedge_a = "chamfer 0.3 mm"'),
    )
    (single,) = settle(*pair(one_end))
    assert [t.section.name for t in single.turned] == ["front pivot", "front seat", "body"]
    assert any("runs on into the stock" in r for r in single.reasons)
    assert any("the edge" in r and "cannot be cut" in r for r in single.reasons)


def test_pin_in_a_collet_that_does_not_take_the_bar():
    text = changed(PIN, ('diameter = "6 mm"\nlength = "36 mm"', 'diameter = "8 mm"\nlength = "36 mm"'),
                   ('diameter = "6 mm"\nlength = "20 mm"', 'diameter = "8 mm"\nlength = "20 mm"'))  # fmt: skip
    problem = next(p for p in problems_of(text) if "does not take the stock" in p.what)
    assert problem.allowed == "5.9 mm to 6.0 mm"


def test_pin_with_too_little_inside_or_too_little_out():
    short = changed(PIN, ('length = "36 mm"', 'length = "33.5 mm"'), ('facing = "0.5 mm"', 'facing = "0.5 mm"'))
    short = changed(short, ('stick_out = "17 mm"', 'stick_out = "18.5 mm"'))
    assert any("too little of the stock is inside" in p.what for p in problems_of(short))
    close = changed(PIN, ('stick_out = "17 mm"', 'stick_out = "13.5 mm"'))
    problem = next(p for p in problems_of(close) if "in the way of the last cut" in p.what)
    assert "the collet is in the way" in problem.what
    assert problem.fix == "make stick_out 13.912 mm or more, or something narrower to hold it"
    settle(*pair(changed(PIN, ('stick_out = "17 mm"', 'stick_out = "13.912 mm"'))))


def test_edge_at_a_groove_that_faces_away_must_be_sharp():
    groove = '[[section]]\nname = "neck"\nrole = "undercut"\ndiameter = "7.5 mm"\nlength = "1.2 mm"\n'
    text = changed(PLAIN, ('[[section]]\nname = "body"', f'{groove}[[section]]\nname = "body"'))
    assert settle(*pair(text))
    edged = changed(text, ('\nlength = "12 mm"', '\nlength = "12 mm"\nedge_b = "chamfer 0.05 mm"'))
    assert any('the edge of "front seat" at the groove "neck" faces away' in p.what for p in problems_of(edged))


def test_tapers_that_meet_at_one_diameter_in_different_settings_are_refused():
    body = 'name = "body"\nrole = "body"\ndiameter = "12 mm"\nlength = "20 mm"\n'
    cones = (
        'name = "one"\nrole = "body"\ndiameter_a = "11 mm"\ndiameter_b = "12 mm"\nlength = "10 mm"\n'
        '[[section]]\nname = "two"\nrole = "body"\ndiameter_a = "12 mm"\ndiameter_b = "11 mm"\nlength = "10 mm"\n'
    )
    (problem,) = problems_of(changed(PLAIN, (body, cones)))
    assert problem.what == '"one" and "two" meet at one diameter, but are turned in different settings'
    assert "12.2 mm" in problem.fix


def test_too_thin_for_any_centre_hole():
    thin = changed(PLAIN, ('diameter = "3 mm"', 'diameter = "1.2 mm"'))
    assert "too thin for any centre hole of ISO 866 in the A end" in problems_of(thin)[0].what


def test_an_undercut_is_as_deep_as_its_taper_falls_as_turned():
    """Its limits have a taper turned shorter than its length, and so steeper: over 2 mm it falls 4 um more."""

    def taper(deep: str) -> str:
        size = 'diameter_a = "8 mm"\ndiameter_b = "6 mm"\n'
        length = 'length = "5 mm"\nlength_tolerance = "+0 / -0.1 mm"\n'
        corner = f'corner_a = "undercut 2 mm wide {deep} mm deep"'
        return changed(PLAIN, ('"journal"\ndiameter = "8 mm"\nlength = "10 mm"', f'"seat"\n{size}{length}{corner}'))

    (problem,) = problems_of(taper("0.401"))
    assert problem.what == 'the undercut of section "back seat" is shallower than its taper falls as turned'
    least = problem.allowed.removeprefix("at least ").removesuffix(" mm deep")
    assert 0.402 < float(least) < 0.41
    settle(*pair(taper(least)))


def test_nothing_may_be_left_above_a_taper_beside_its_undercut():
    """Over 2 mm the taper falls 0.4 mm, so that the groove is 0.02 mm deep at its wall and 0.42 mm at the shoulder."""
    size = 'diameter_a = "8 mm"\ndiameter_b = "6 mm"\nlength = "5 mm"\ncorner_a = "undercut 2 mm wide 0.42 mm deep"'
    part = changed(PLAIN, ('"journal"\ndiameter = "8 mm"\nlength = "10 mm"', f'"seat"\n{size}'))
    (setting,) = (s for s in settle(*pair(part)) if s.end == "B")
    taper = next(t for t in setting.turned if t.is_taper)
    for k in range(1, 41):
        z = taper.far + 0.1 * k
        assert outline_radius(setting.most, z) <= radius_at(taper, z) + 1e-9


def test_a_face_left_full_is_as_high_as_the_taper_behind_it_is_there():
    """0.05 mm before its drawn end a taper from 3.4 to 8 mm, 2 mm long, is 0.115 mm smaller."""
    pivot = 'diameter = "3 mm"\nlength = "6 mm"'
    stoned = f'{pivot}\nfinish = "turn, stone"\non_diameter = "0.01 mm"\non_face = "0.05 mm"'
    cone = 'diameter_a = "3.4 mm"\ndiameter_b = "8 mm"\nlength = "2 mm"'
    text = changed(PLAIN, (pivot, stoned), ('diameter = "8 mm"\nlength = "12 mm"', cone))
    (setting,) = (s for s in settle(*pair(text)) if s.end == "A")
    front, taper = setting.turned[:2]
    assert 2 * taper.radius_near == pytest.approx(3.4 - 0.115, abs=0.02)
    assert front.far_radius == pytest.approx(taper.radius_near)
