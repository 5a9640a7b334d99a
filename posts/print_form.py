"""The print form: one self-contained HTML file, black on white, one page for each setting, bench pages on their own.

Every word and line is placed here, in mm of paper, so that what the browser prints is what was laid out: nothing
is left to its own breaking of lines, and a setting that fits one page here fits it there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from cam.frozen import Row
from cam.plan.model import Plan
from posts.environment import find_template
from posts.flow import Sheet, mono_size, set_section
from posts.ink import move
from posts.layout import item
from posts.print_setting import MARGIN, PAPERS, Paper, print_setting
from posts.summary import milled_of
from posts.wording import plain

if TYPE_CHECKING:
    from cam.mill.done import MillDone

BENCH_TYPE = 11.0
"""Type of the pages for the bench, pt."""
COLUMNS = 80
"""Of their tables."""
Sections = Sequence[tuple[str, str]]
"""Title and text of each section; see posts.summary.summary_sections."""


class Printed(Row):
    """A print form.

    Attributes:
        html: the file. sizes: setting number -> its type, pt. pages: setting number -> how many pages it takes.
    """

    html: str
    sizes: dict[int, float]
    pages: dict[int, int]


def print_summary(
    plan: Plan,
    sections: Sections,
    paper: Paper,
    *,
    closest: Mapping[int, str] | None = None,
    mill: MillDone | None = None,
) -> Printed:
    """The cutting summary as pages to print.

    Args:
        sections: of the summary, COLUMNS wide. closest, mill: as of posts.summary.summary_sections.
    """
    near, milled = closest or {}, milled_of(plan, mill)
    numbers = {p.setting.number: n for n, p in enumerate(plan.settings)}
    sheets: list[Sheet] = []
    sizes, pages = {}, {}
    whys: list[str] = []
    for title, text in sections:
        number = next((n for n in numbers if f": SETTING {n} of " in title), None)
        if number is None:
            sheets += section_sheets(title, text, paper)
            continue
        found = print_setting(plan, numbers[number], paper, near.get(number, ""), milled)
        sizes[number], pages[number] = found.size, len(found.sheets)
        sheets += found.sheets
        whys += [item(words) for words in _reasons(plan, numbers[number])]
    if whys:
        sheets += section_sheets(f"{plain(plan.part.name).upper()}: WHY SO", "\n".join(whys), paper)
    return Printed(to_html(f"{plain(plan.part.name)}: cutting summary", sheets, paper), sizes, pages)


def _reasons(plan: Plan, index: int) -> list[str]:
    """What was chosen for a setting, and why: not wanted at the lathe, so on a page by itself."""
    planned = plan.settings[index]
    return [f"setting {planned.setting.number}: {words}" for words in (*planned.setting.reasons, *planned.reasons)]


def print_notebook(plan: Plan, sections: Sections, paper: Paper) -> str:
    """The bench notebook as pages to print.

    Args:
        sections: of the notebook, COLUMNS wide.
    """
    sheets = [sheet for title, text in sections for sheet in section_sheets(title, text, paper)]
    return to_html(f"{plain(plan.part.name)}: bench notebook", sheets, paper)


def section_sheets(title: str, text: str, paper: Paper) -> list[Sheet]:
    """The pages of one section that belongs to no setting."""
    width, height = paper.width - 2 * MARGIN, paper.height - 2 * MARGIN
    size = mono_size(width, COLUMNS, BENCH_TYPE)
    pages = set_section(title, text, width, height, size)
    return [Sheet(title, tuple(move(marks, MARGIN, MARGIN)), size) for marks in pages]


def to_html(title: str, sheets: Sequence[Sheet], paper: Paper) -> str:
    """The pages as one file that wants nothing from anywhere else."""
    return find_template("print.html.j2").render(title=title, sheets=sheets, paper=paper)


__all__ = ["BENCH_TYPE", "PAPERS", "Printed", "print_summary", "section_sheets", "to_html"]
