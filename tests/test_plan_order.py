"""Edges beside their sections, where that saves changing the belt."""

from __future__ import annotations

from dataclasses import replace

from cam.job import choose_dialect, judge_plan
from cam.plan import plan_job
from cam.plan.times import count_belts
from tests.bench.roughing import PART, SHOP
from tests.plan_specimens import change_lathe
from tests.specimens import BELTS, RANGE, part_from, shop_from
from tests.test_whole import speaking

STEPS = ((5, 6, "radius 0.3 mm"), (10, 6, "sharp"), (14, 6, "radius 0.3 mm"))
FAST = SHOP.replace(RANGE.replace("2500", "30000"), BELTS).replace("surface_speed = true", "surface_speed = false")


def pin() -> str:
    """A pin whose sections each suit another belt position."""
    rows = [
        f'[[section]]\nname = "{d}"\nrole = "plain"\ndiameter = "{d} mm"\nlength = "{n} mm"\nedge_a = "{edge}"\n'
        for d, n, edge in STEPS
    ]
    rows.append('[[section]]\nname = "head"\nrole = "plain"\ndiameter = "19 mm"\nlength = "40 mm"\n')
    rows.append('finish = "as stock"\n')
    return PART.format(material="silver steel", stock=19, out=60) + "".join(rows)


def test_edges_are_cut_beside_their_sections_where_that_saves_a_belt_change() -> None:
    shop = speaking(shop_from(FAST), "rs274ngc")
    plan = plan_job(part_from(pin()), shop)
    (planned,) = plan.settings
    names = [o.name for o in planned.operations]
    assert "break the edges" not in names
    assert names.index("break the edges beside 10") == names.index("finish 10") + 1
    assert [p.number for p in planned.passes] == list(range(1, len(planned.passes) + 1))
    by_hand = replace(shop, lathe=change_lathe(shop.lathe, control_kind="hand"))
    (at_end,) = plan_job(part_from(pin()), by_hand).settings
    assert at_end.operations[-1].name == "break the edges"  # the tool is swung round once
    assert count_belts(planned.passes) < count_belts(at_end.passes)
    assert sorted(map(str, (p.path for p in planned.passes))) == sorted(map(str, (p.path for p in at_end.passes)))
    assert not judge_plan(plan, choose_dialect("rs274ngc", shop)).problems


def test_edges_come_last_where_nothing_is_saved() -> None:
    shop = speaking(shop_from(SHOP), "rs274ngc")  # any speed without a stop
    (planned,) = plan_job(part_from(pin()), shop).settings
    assert planned.operations[-1].name == "break the edges"
