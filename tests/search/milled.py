"""Jobs of the search that the mill takes part in: a square and a cross hole, milled in one of three ways.

Sizes are checked by plain arithmetic from what was drawn; the pages are read back from text and from print.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

from cam.job import make_job
from cam.job.mill import judge_mill_page
from cam.job.milling import MillJob
from cam.job.model import Job
from cam.job.reread import form_of
from cam.part.model import Part
from cam.shop.model import Shop
from posts.dialect import load_dialect
from posts.pages.figures import figures_for
from posts.pages.job import pages_of_mill
from posts.pages.paper import PAPERS
from posts.pages.print import print_pages
from posts.pages.text import write_pages
from tests.mill_parts import MillCase
from tests.search.laws import BrokenLawError
from tests.sheets.jobs import nth_of
from tests.sheets.mills import MILL_JOBS, slides_of

DIALECTS = ("rs274ngc", "eia274d", "isongc")
CLEARANCE = 0.3
"""The clearance that the mill of the drawn shop asks for, mm."""


def draw(rng: Random) -> tuple[MillCase, str, dict[str, str]]:
    """Draw a case, the way in which it is milled, and its files; in one of the dialects and of two units."""
    case, way, slides, units = nth_of(MILL_JOBS, rng)
    shop = case.shops[way].replace("{units}", units) + slides_of(slides)
    head, mill, rest = shop.partition("[mill]")
    rest = rest.replace('dialect = "rs274ngc"', f'dialect = "{rng.choice(DIALECTS)}"', 1)
    return case, way, {"part.toml": f'shop = "shop.toml"\n{case.part}', "shop.toml": head + mill + rest}


def make(files: dict[str, str], folder: Path) -> Job:
    """Make the whole job, lathe and mill."""
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return make_job(str(folder / "part.toml"))


def hold(case: MillCase, way: str, job: Job) -> None:
    """Check what the mill leaves by arithmetic, and its pages by their reader.

    Raises:
        BrokenLawError: with the first law that is broken.
    """
    assert job.mill is not None
    hold_sizes(case, way, job.mill, job.shop)
    hold_pages(job.part, job.shop, job.mill)


def hold_sizes(case: MillCase, way: str, milled: MillJob, shop: Shop) -> None:
    """Check sizes across flats at every station, the hole's place and depth, and what anything stays clear by."""
    mill = shop.milling.mill
    assert mill is not None
    digit = form_of(load_dialect(mill.dialect), mill).digit
    crown = 0.0 if way == "tipped block" else case.crown
    works = {work.name: work for work in milled.works}
    for work in milled.works:
        nearest = work.simulation.closest
        _hold(nearest is not None and nearest.distance >= CLEARANCE - 1e-6, f"{work.name} comes too near: {nearest}")
    across = works["square"].simulation.across
    stations = {a.x for a in across}
    _hold(min(stations) < case.wall + 0.01 and max(stations) > case.length - 0.01, "flats are not as long as drawn")
    _hold({a.flat for a in across} == set(range(1, case.flats // 2 + 1)), "not every pair of flats is there")
    for a in across:
        off = abs(a.reading - case.across_at(a.x))
        _hold(off <= 2 * (crown + digit) + 1e-9, f"flat {a.flat} is {1000 * off:.2f} um off at {a.x:.2f}")
    (drilled,) = [b for b in works["cross-hole"].simulation.bores if b.tool == 3]
    _hold(abs(drilled.x - case.hole_x) <= digit + 1e-9, f"the hole is at {drilled.x:.4f}, {case.hole_x:.4f} wanted")
    _hold((drilled.tip < -7) is case.through, f"the hole goes to {drilled.tip:.3f}")


def hold_pages(part: Part, shop: Shop, milled: MillJob) -> None:
    """Check every page of the mill, in text and in print."""
    figures = figures_for(part, shop.lathe)
    pages = pages_of_mill(part, milled, figures, {})
    texts = (
        write_pages(pages, part, figures),
        print_pages("pages", pages, part, PAPERS["A4"], figures.size, figures.place),
    )
    for work in milled.works:
        for form, text in zip(("text", "print"), texts, strict=True):
            for problem in judge_mill_page(text, "pages", part, shop, work.task).problems:
                _hold(right=False, words=f"by its page in {form}: {work.name}: {problem.what}")


def _hold(right: bool, words: str) -> None:
    if not right:
        raise BrokenLawError(words)
