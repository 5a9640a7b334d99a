"""Random parts on mills with dials of every kind, planned."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import strategies as st

from cam.ground.frozen import Row
from cam.ground.problem import ProblemError
from cam.job import read_given
from cam.job.milling import MillJob
from cam.part.model import Part
from cam.shop.model import Shop
from tests.mill_case import make_mill_job
from tests.mill_parts import WAYS, MillCase, mill_cases

TURNS = {"0.01 mm": "1 mm", "0.02 mm": "2 mm", "0.05 mm": "4 mm", "0.001 in": "0.1 in"}
"""Divisions of a dial and what a turn of it is."""
DIALS = st.builds(
    lambda reading, counts, step, lost: (
        f'\nreading = "{reading}"\ncounts = "{counts}"\ndivision = "{step}"\n'
        + (f'turn = "{TURNS[step]}"\n' if reading == "dial" else "") + f'backlash = "{lost} mm"\n'
    ),
    st.sampled_from(["dial", "readout"]), st.sampled_from(["up", "down"]), st.sampled_from(sorted(TURNS)),
    st.sampled_from(["0", "0.05", "0.3"]),
)  # fmt: skip
Slides = tuple[str, str, str] | None
MILL_JOBS = st.tuples(
    mill_cases(), st.sampled_from(sorted(WAYS)), st.one_of(st.none(), st.tuples(DIALS, DIALS, DIALS)),
    st.sampled_from(("mm", "in")),
)  # fmt: skip


class Milled(Row):
    """A part and what the mill does to it."""

    part: Part
    shop: Shop
    job: MillJob


def slides_of(drawn: Slides) -> str:
    """Return the mill's slides in a shop file; none for a mill without dials."""
    return "" if drawn is None else "".join(f"\n[mill.{a}]{said}" for a, said in zip("xyz", drawn, strict=True))


def plan_milled(case: MillCase, way: str, slides: Slides, units: str) -> Milled | None:
    """Plan a random work; None where it is refused."""
    shop = case.shops[way].replace("{units}", units) + slides_of(slides)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "shop.toml").write_text(shop, "utf-8")
        (Path(folder) / "part.toml").write_text(f'shop = "shop.toml"\n{case.part}', "utf-8")
        try:
            part, read = read_given(str(Path(folder) / "part.toml"))
            job = make_mill_job(part, read)
        except ProblemError:
            return None
    assert job is not None
    return None if job.problems else Milled(part, read, job)
