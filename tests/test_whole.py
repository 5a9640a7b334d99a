"""The whole way for random parts in random shops: plan, write in every dialect, read back, simulate."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.job import choose_dialect, judge_plan
from cam.plan import plan_job
from cam.shop.model import Shop
from posts.dialect import dialect_names, load_dialect
from tests.specimens import part_from, part_texts, shop_from, shop_texts

DIALECTS = dialect_names()
MOST_UM = 1e-3
"""Gouge and uncut metal, mm."""


def speaking(shop: Shop, dialect: str) -> Shop:
    """The shop with a control of that dialect, and nothing that the dialect cannot say."""
    lathe = shop.lathe
    plain = dialect == "rs274ngc"
    control = replace(
        lathe.control, kind="stepper", dialect=dialect, x_words="radius" if plain else lathe.control.x_words
    )
    held = lathe.spindle.constant_surface_speed and bool(load_dialect(dialect).text("SPEED_SURFACE"))
    return replace(
        shop, lathe=replace(lathe, control=control, spindle=replace(lathe.spindle, constant_surface_speed=held))
    )


def check_cut_exactly(part_text: str, shop_text: str) -> bool:
    """Every dialect's programs cut the part exactly and touch nothing; False for want of room beside the centre."""
    part = part_from(part_text)
    for dialect in DIALECTS:
        shop = speaking(shop_from(shop_text), dialect)
        try:
            plan = plan_job(part, shop)
        except ProblemError as error:
            others = [p for p in error.problems if not p.what.startswith("no room to start on")]
            if others:
                raise
            return False
        job = judge_plan(plan, choose_dialect(dialect, shop))
        assert not job.problems, "\n".join(str(p) for p in job.problems)
        for work in job.works:
            assert work.simulation.gouge <= MOST_UM
            assert work.simulation.uncut <= MOST_UM
            assert work.simulation.closest is not None
            assert work.simulation.closest.distance > 0
            fixed = work.simulation.closest_fixed
            assert fixed is None or fixed.distance >= shop.lathe.contact_clearance - 1e-3
    return True


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(part_texts(), shop_texts())
def test_random_parts_are_cut_exactly_or_refused_for_want_of_room(part_text: str, shop_text: str) -> None:
    check_cut_exactly(part_text, shop_text)


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(part_texts(extra_length=True, centre="half centre"), shop_texts())
def test_a_half_centre_and_extra_length_leave_room_for_all(part_text: str, shop_text: str) -> None:
    assert check_cut_exactly(part_text, shop_text)


@pytest.mark.slow
@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
@given(part_texts(), shop_texts())
def test_many_random_parts_are_cut_exactly_or_refused_for_want_of_room(part_text: str, shop_text: str) -> None:
    check_cut_exactly(part_text, shop_text)


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data(), shop_texts())
def test_every_unit_gives_the_same_geometry(data: st.DataObject, shop_text: str) -> None:
    in_mm = [4.7625, 3.96875, 9.525, 20.32]  # exact in every unit below
    ways = {"mm": 1.0, "in": 25.4, "thou": 0.0254}

    def text(units: list[str]) -> str:
        pivot, length, body, body_length = (f"{v / ways[u]:.10g} {u}" for v, u in zip(in_mm, units, strict=True))
        return PLAIN.format(pivot=pivot, length=length, body=body, body_length=body_length)

    units = st.lists(st.sampled_from(sorted(ways)), min_size=4, max_size=4)
    one, other = part_from(text(["mm"] * 4)), part_from(text(data.draw(units)))
    shop = speaking(shop_from(shop_text), "rs274ngc")
    try:
        first, second = plan_job(one, shop), plan_job(other, shop)
    except ProblemError:
        return
    for a, b in zip(first.settings, second.settings, strict=True):
        assert [p.path for p in a.passes] == [p.path for p in b.passes]


PLAIN = """
name = "plain arbor"
corners = "fillet up to 0.3 mm"
edges = "chamfer 0.2 mm"
[stock]
material = "brass"
diameter = "10 mm"
length = "60 mm"
[holding]
method = "between centres"
[holding.end_a]
tail_centre = "half centre"
extra_length = "0 mm"
[holding.end_b]
tail_centre = "half centre"
extra_length = "12 mm"
[[section]]
name = "pivot"
role = "pivot"
diameter = "{pivot}"
length = "{length}"
finish = "turn"
[[section]]
name = "body"
role = "body"
diameter = "{body}"
length = "{body_length}"
finish = "turn"
"""
