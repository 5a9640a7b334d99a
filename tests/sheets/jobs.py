"""Random parts on lathes with dials of every kind, planned and written as pages."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from random import Random
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from cam.ground.frozen import Row
from cam.ground.problem import ProblemError
from cam.part.model import Part
from cam.plan import plan_job
from cam.plan.model import Plan
from cam.shop.model import Shop
from tests.search.draw import draw_part, draw_shop
from tests.specimens import part_from, part_texts, shop_from, shop_texts

X_DIVISIONS = [  # of the habit's own measure; a turn of the screw: 2 mm, 1 mm, 8 or 10 threads an inch
    ("0.01 mm", "1 mm"),
    ("0.02 mm", "2 mm"),
    ("0.05 mm", "2 mm"),
    ("0.001 in", "0.1 in"),
    ("0.001 in", "0.125 in"),
    ("1 thou", "100 thou"),
]
Z_DIVISIONS = [("0.01 mm", "1 mm"), ("0.02 mm", "2 mm"), ("0.05 mm", "2 mm"), ("0.001 in", "0.1 in"),
               ("0.001 in", "0.125 in")]  # fmt: skip
READOUTS = ["0.005 mm", "0.01 mm", "0.0005 in"]
BACKLASH = [0.0, 0.02, 0.05, 0.1, 0.2, 0.3]


class Enough(BaseException):
    """Ends the drawing of examples; it is no failure."""


def draw_until(strategy: st.SearchStrategy[Any], number: int, take: Callable[[Any], bool]) -> None:
    """Draw examples by a seed until one is taken as the last; an example that the library draws again is left out.

    Args:
        take: is given each example, and says whether there is to be another.
    """
    seen: set[str] = set()

    @seed(number)
    @settings(max_examples=10**7, database=None, deadline=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(strategy)
    def draw(drawn: Any) -> None:
        if repr(drawn) not in seen:
            seen.add(repr(drawn))
            if not take(drawn):
                raise Enough

    with suppress(Enough):
        draw()


def nth_of(strategy: st.SearchStrategy[Any], rng: Random) -> Any:
    """Draw one example, always the same for the same state of a generator; a library's first ones are the simplest."""
    found: list[Any] = []

    def take(drawn: Any) -> bool:
        found.append(drawn)
        return len(found) < LATER

    draw_until(strategy, rng.randrange(2**31), take)
    return found[-1]


LATER = 4


class Written(Row):
    """A job and its pages as text."""

    part: Part
    shop: Shop
    plan: Plan
    text: str


def _slide(rng: Random, divisions: list[tuple[str, str]], *, across: bool) -> str:
    reading = rng.choice(["dial", "dial", "dial", "readout", "none"])
    division, turn = rng.choice(divisions)
    if reading != "dial":
        division = rng.choice(READOUTS)
    rows = [f'reading = "{reading}"', f'division = "{division}"', f'backlash = "{rng.choice(BACKLASH)} mm"']
    if across:
        rows.append(f'habit = "{rng.choice(["diameter", "depth on diameter", "radius"])}"')
    if reading != "none":
        rows.append(f'counts = "{rng.choice(["up", "down"])}"')
    if reading == "dial":
        rows.append(f'turn = "{turn}"')
    return "\n".join(rows)


def _dialled(rng: Random, text: str) -> str:
    """Return a shop file with dials, readouts, indicators and slips of every kind."""
    for axis, divisions in (("x", X_DIVISIONS), ("z", Z_DIVISIONS)):
        own = _slide(rng, divisions, across=axis == "x")
        text = re.sub(rf"\[lathe\.{axis}\]\n.*?\n\n", f"[lathe.{axis}]\n{own}\n\n", text, count=1, flags=re.S)
    return text


def odd_texts(rng: Random) -> tuple[str, str]:
    """Draw a part and a shop as the search does, with slides as here: low steps, tapers beside anything, undercuts."""
    shop = draw_shop(rng)
    return draw_part(rng, shop.shop).text(), _dialled(rng, shop.text)


@st.composite
def jobs(draw: st.DrawFn) -> tuple[str, str]:
    """Draw texts of a part and of a shop; not every pair can be planned."""
    rng = Random(draw(st.integers(0, 2**48)))
    if draw(st.integers(0, 2)):
        return odd_texts(rng)
    return draw(part_texts()), _dialled(rng, draw(shop_texts()))


def write_job(part_text: str, shop_text: str) -> Written | None:
    """Write the job with its pages; None where it is refused."""
    try:
        part, shop = part_from(part_text), shop_from(shop_text)
        plan = plan_job(part, shop)
    except ProblemError:
        return None
    return Written(part, shop, plan, pages_of(plan))


def pages_of(plan: Plan) -> str:
    """Return the settings' pages as text."""
    from posts.pages.figures import figures_for  # noqa: PLC0415
    from posts.pages.setting import SettingKnown, setting_page  # noqa: PLC0415
    from posts.pages.text import write_pages  # noqa: PLC0415

    figures = figures_for(plan.part, plan.shop.lathe)
    pages = [setting_page(plan, at, figures, SettingKnown()) for at in range(len(plan.settings))]
    return write_pages(pages, plan.part, figures)
