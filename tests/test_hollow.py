"""Tapers that run into cylinders: no cut runs on into the neighbour, and what a nose leaves in a hollow is allowed."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from cam.geometry.path import Line, Point
from cam.job import make_job
from cam.setting.profiles import draw_most
from tests.search.laws import hold
from tests.search.spec import Corner, Edge, Part, Section
from tests.simulate_case import chain, turned
from tests.specimens import one_in
from tests.test_search import shop_of_belts

CASES = Path(__file__).parent / "cases"
MADE = ("pivot_without_shoulder", "span_to_a_vanished_shoulder", "taper_into_its_own_cylinder")


@pytest.mark.parametrize("name", MADE)
def test_what_was_once_got_wrong_is_made(name: str) -> None:
    job = make_job(str(CASES / f"{name}.toml"))
    assert job.problems == ()
    assert len(job.works) == 2


def section(name: str, da: float, db: float, length: float, role: str = "plain") -> Section:
    edges, corners = (dict.fromkeys("ab", kind) for kind in (Edge("sharp"), Corner("nose", 0.2)))
    return Section(name, role, da, db, length, (-0.05, 0.0), None, edges, corners)


def bent(first: float, second: float) -> Part:
    """A thin stretch, one that goes on from it at one size, a body, and a seat; angles to the axis, degrees."""
    sizes = [4.0]
    for angle in (first, second):
        sizes.append(round(sizes[-1] + 2 * 3.0 * math.tan(math.radians(angle)), 2))
    sections = [
        section("s1", sizes[0], sizes[1], 3.0),
        section("s2", sizes[1], sizes[2], 3.0),
        section("s3", sizes[2] + 2.0, sizes[2] + 2.0, 16.0, "body"),
        section("s4", 6.0, 6.0, 8.0, "seat"),
    ]
    return Part("mm", sections, "brass", sizes[2] + 3.0, 42.0, extra={"a": 0.0, "b": 12.0})


def made(part: Part, folder: Path) -> None:
    """Make a part in a shop with belts, and hold it by the search's laws."""
    shop = shop_of_belts()
    (folder / "part.toml").write_text(part.text(), encoding="utf-8")
    (folder / "shop.toml").write_text(shop.text, encoding="utf-8")
    job = make_job(str(folder / "part.toml"), str(folder / "shop.toml"))
    assert job.problems == ()
    hold(part, shop.shop, [work.text for work in job.works])


def test_a_groove_at_the_thick_end_of_a_taper_is_as_deep_as_drawn(tmp_path: Path) -> None:
    """It was shallower by what the taper rises over it."""
    part = bent(0, 14)
    neck = section("neck", part.sections[1].db - 0.3, part.sections[1].db - 0.3, 1.2, "undercut")
    neck.limits, neck.corners = None, dict.fromkeys("ab", Corner("nose", 0.12))
    part.sections.insert(2, neck)
    part.stock_length += 1.2
    made(part, tmp_path)


@pytest.mark.parametrize(
    ("first", "second"), one_in(4, [(0, 10), (0, 30), (0, 50), (10, 0), (30, 0), (50, 0), (5, 25), (25, 5), (40, 44)])
)
def test_two_stretches_that_meet_at_one_size_come_out_as_drawn(first: float, second: float, tmp_path: Path) -> None:
    """By the search's own reader and sweep, backlash and all: a hollow is as round as the nose, a ridge is sharp."""
    made(bent(first, second), tmp_path)


def test_a_taper_let_out_above_the_section_before_it_is_let_out_alike_from_end_to_end() -> None:
    """It was drawn from that section's radius up to its own far end: half of it was gone."""
    bar = chain((0, 0), (0, 8), (-60, 8), (-60, 0))
    own = turned("own", 0, -6, 4, 4, far_kind="level")
    taper = turned("taper", -6, -16, 4.1, 8, corner=None)
    most = draw_most((own, replace(taper, radius_far=5.1)), bar, -49, hollow=0.2)
    assert Line(Point(-6, 4.1), Point(-16, 5.1)) in most
    fitting = draw_most((own, replace(taper, radius_near=4.0, radius_far=5.0)), bar, -49, hollow=0.2)
    assert sum(not isinstance(piece, Line) for piece in fitting) == 1, "the round of the nose in the hollow"
