"""No pass of a plan takes nothing off, on a lathe without backlash, whose program is cut as it is written."""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from random import Random

import pytest

from cam.ground.problem import ProblemError
from cam.job.make import rules_of
from cam.judge import simulate
from cam.judge.envelope import Piece, Removed, height, lower
from cam.judge.model import Moment
from cam.plan import plan_job
from cam.plan.levels import Stretch, leave_out_idle
from cam.plan.model import Pass, Plan
from cam.rs274 import Program, read_program
from posts.dialect import load_dialect
from tests.plan_specimens import program_of
from tests.search.draw import draw_part, draw_shop
from tests.specimens import part_from, shop_from

THIN = 1e-3
"""Metal that is thinner, mm, is none."""


def drawn(seed: int, number: int) -> Plan | None:
    """The plan of a job of the search, as it is first drawn, on such a lathe; None where it is refused."""
    rng = Random(f"{seed}-{number}")
    shop = draw_shop(rng)
    part = draw_part(rng, shop.shop)
    shop_text = re.sub("backlash = .*", 'backlash = "0 mm"', shop.text)
    try:
        return plan_job(part_from(part.text()), shop_from(shop_text))
    except ProblemError:
        return None


def idle(plan: Plan) -> Iterator[Pass]:
    """Passes that take nothing off."""
    control = plan.shop.lathe.control
    dialect = load_dialect(control.dialect)
    for planned in plan.settings:
        text = program_of(plan, dialect.name, number=planned.setting.number, units=control.units, x=control.x_words)
        program = read_program(text, rules_of(dialect, plan.shop), "idle.ngc")
        assert not program.problems
        begins = [n for n, line in enumerate(text.splitlines(), 1) if re.match(r"N\d+ G(2[01]|7[01])", line)]
        begins = begins[-len(planned.passes) :]  # before them may stand the head's own
        metals: list[Sequence[Piece]] = [()] * (len(begins) + 1)

        def watch(
            moment: Moment, lines: Sequence[int] = begins, all_of: Program = program,
            metals: list[Sequence[Piece]] = metals,
        ) -> None:  # fmt: skip
            if moment.number < len(all_of.motions):
                line = all_of.motions[moment.number].line if moment.number >= 0 else 0
                metals[bisect_right(lines, line)] = moment.metal

        simulate(program, planned.setting, plan.shop, watch=watch)
        for cut, before, after in zip(planned.passes, metals, metals[1:], strict=False):
            if max((_depth(r) for r in lower(before, after)[1]), default=0.0) < THIN:
                yield cut


def _depth(removed: Removed) -> float:
    z0, z1, old, new = removed
    return max(height(old, z) - max(height(new, z), 0.0) for z in (z0, (z0 + z1) / 2, z1))


def check(plan: Plan) -> None:
    """By the program a face past a taper is there already, as that cut begins on it; a hand that swings the top slide
    cuts it by its own pass."""
    tapers = {t.section.name for s in plan.settings for t in s.setting.turned if t.radius_near != t.radius_far}
    assert [p for p in idle(plan) if p.shape != "plunge" or not tapers & set(p.sections)] == []


@pytest.mark.parametrize(
    ("seed", "number"),
    [(5, 126), (5, 310)],
    ids=str,
)
def test_no_pass_of_a_plan_takes_nothing_off(seed: int, number: int) -> None:
    plan = drawn(seed, number)
    assert plan is not None
    check(plan)


@pytest.mark.slow
def test_no_pass_of_many_plans_takes_nothing_off() -> None:
    plans = [plan for number in range(150) if (plan := drawn(6, number)) is not None]
    assert len(plans) > 20
    for plan in plans:
        check(plan)


def test_a_step_lower_than_the_nose_has_rounded_is_left_out() -> None:
    first = Stretch(("a",), 1.67, 1.72, 26.0, 8.32, beside=False)
    film = Stretch(("a",), 1.70, 1.72, 8.32, 8.31, beside=True)  # its nose, 0.4 round, stands off by more than 0.01
    assert list(leave_out_idle([first, film], 0.4, math.radians(3))) == [first]
    assert list(leave_out_idle([first, film], 0.0, math.radians(3))) == [first, film]
    further = Stretch(("a",), 1.70, 1.72, 8.32, 8.0, beside=True)
    assert list(leave_out_idle([first, further], 0.4, math.radians(3))) == [first, further]
