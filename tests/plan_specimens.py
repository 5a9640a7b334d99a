"""Plans of the samples, with the shop changed as a test wants it; each is planned once."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import lru_cache
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.moves import make_moves
from cam.moves.model import Move
from cam.part.model import Part
from cam.plan import plan_job
from cam.plan.model import Plan
from cam.shop.model import Lathe, Shop
from posts.dialect import load_dialect
from posts.program import emit_program
from tests.specimens import parts_and_shops, sample

SAMPLE_NAMES = ("orrery-drum-arbor", "moon-carriage-spindle", "crank-pin")


@lru_cache(maxsize=32)
def sample_plan(name: str, **changes: Any) -> Plan:
    """Return the plan of a sample; changes go to the lathe, "x_", "z_", "spindle_" and "control_" to its parts."""
    part, shop = sample(name)
    return plan_job(part, replace(shop, lathe=change_lathe(shop.lathe, **changes)))


def change_lathe(lathe: Lathe, **changes: Any) -> Lathe:
    """Return the same lathe with some things changed, as in sample_plan."""
    own: dict[str, Any] = {}
    inner: dict[str, dict[str, Any]] = {}
    names = {f.name for f in fields(lathe)}
    for key, value in changes.items():
        head, _, tail = key.partition("_")
        if key in names:
            own[key] = value
        else:
            inner.setdefault(head, {})[tail] = value
    return replace(lathe, **own, **{head: replace(getattr(lathe, head), **more) for head, more in inner.items()})


def encoder_plan(name: str = "orrery-drum-arbor", *, css: bool = True) -> Plan:
    """Return a plan for a spindle with an encoder and any speed, holding surface speed if asked."""
    return sample_plan(
        name,
        spindle_positions=(),
        spindle_slowest=100.0,
        spindle_fastest=2500.0,
        spindle_feeds_per_revolution=True,
        spindle_constant_surface_speed=css,
    )


def plan_of(pair: tuple[Part, Shop]) -> Plan:
    """Return the plan of a drawn part and shop; draws that cannot be made are passed over."""
    try:
        return plan_job(*pair)
    except ProblemError:
        assume(condition=False)
        raise


def random_plans() -> st.SearchStrategy[Plan]:
    """Draw plans of random valid parts and shops, with as much room beside the centre as can be had."""
    return parts_and_shops(extra_length=True, centre="half centre").map(plan_of)


def moves_of(plan: Plan, number: int = 1) -> tuple[Move, ...]:
    """Return the moves of one setting."""
    return make_moves(plan.settings[number - 1], plan.shop)


def program_of(plan: Plan, dialect: str = "rs274ngc", *, number: int = 1, units: str = "mm", x: str = "radius") -> str:
    """Return the program of one setting."""
    return emit_program(
        moves_of(plan, number),
        plan=plan,
        setting_plan=plan.settings[number - 1],
        dialect=load_dialect(dialect),
        units=units,  # type: ignore[arg-type]
        x_words=x,  # type: ignore[arg-type]
    )
