"""Random parts on lathes with dials of every kind, planned and written as pages."""

from __future__ import annotations

import re

from hypothesis import strategies as st

from cam.frozen import Row
from cam.part.model import Part
from cam.plan import plan_job
from cam.plan.model import Plan
from cam.problem import ProblemError
from cam.shop.model import Shop
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


class Written(Row):
    """A job and its pages as text."""

    part: Part
    shop: Shop
    plan: Plan
    text: str


def _slide(draw: st.DrawFn, divisions: list[tuple[str, str]], *, across: bool) -> str:
    reading = draw(st.sampled_from(["dial", "dial", "dial", "readout", "none"]))
    division, turn = draw(st.sampled_from(divisions))
    if reading != "dial":
        division = draw(st.sampled_from(READOUTS))
    rows = [f'reading = "{reading}"', f'division = "{division}"', f'backlash = "{draw(st.sampled_from(BACKLASH))} mm"']
    if across:
        rows.append(f'habit = "{draw(st.sampled_from(["diameter", "depth on diameter", "radius"]))}"')
    if reading != "none":
        rows.append(f'counts = "{draw(st.sampled_from(["up", "down"]))}"')
    if reading == "dial":
        rows.append(f'turn = "{turn}"')
    return "\n".join(rows)


@st.composite
def dialled_shop_texts(draw: st.DrawFn) -> str:
    """Shop files of hand-worked and converted lathes with dials, readouts, indicators and slips of every kind."""
    text = draw(shop_texts())
    for axis, divisions in (("x", X_DIVISIONS), ("z", Z_DIVISIONS)):
        own = _slide(draw, divisions, across=axis == "x")
        text = re.sub(rf"\[lathe\.{axis}\]\n.*?\n\n", f"[lathe.{axis}]\n{own}\n\n", text, count=1, flags=re.S)
    return text


def jobs() -> st.SearchStrategy[tuple[str, str]]:
    """Texts of a part and of a shop; not every pair can be planned."""
    return st.tuples(part_texts(), dialled_shop_texts())


def write_job(part_text: str, shop_text: str) -> Written | None:
    """The job with its pages; None where it is refused."""
    try:
        part, shop = part_from(part_text), shop_from(shop_text)
        plan = plan_job(part, shop)
    except ProblemError:
        return None
    return Written(part, shop, plan, pages_of(plan))


def pages_of(plan: Plan) -> str:
    """The settings' pages as text."""
    from posts.pages.figures import figures_for  # noqa: PLC0415
    from posts.pages.setting import Said, setting_page  # noqa: PLC0415
    from posts.pages.text import write_pages  # noqa: PLC0415

    figures = figures_for(plan.part, plan.shop.lathe)
    pages = [setting_page(plan, at, figures, Said()) for at in range(len(plan.settings))]
    return write_pages(pages, plan.part, figures)
