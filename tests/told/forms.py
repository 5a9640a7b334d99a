"""Readings of slides of every kind, and both forms of a page, line by line: what a reader makes of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import product

from cam.ground.quantity import Quantity
from cam.sheet.dials import ReadingError, Unit, figure_of, read_scale
from cam.sheet.either_form import all_lines, is_sheet, lines_of_setting
from cam.sheet.lines import PageLine, whole_titles
from cam.shop.machine import Slide
from tests.sheet_case import slide, z_slide
from tests.specimens import HERE


def inched(own: Slide, division: float) -> Slide:
    """Return a slide whose divisions are inches, a hundred a turn."""
    return replace(
        own, division=Quantity(25.4 * division, f"{division} in", HERE), turn=Quantity(2540 * division, "", HERE)
    )


SCALES: tuple[tuple[str, Slide], ...] = (
    (
        "X DIAL  a division is 0.05 a side, 60 a turn, rises going in; 0+00 is diameter 16.00",
        slide(habit="radius", division=0.05, turn=3.0),
    ),
    (
        "X DIAL  a division is 0.05 a side, 60 a turn, falls going in; 1+30 is diameter 16.00",
        slide(habit="radius", division=0.05, turn=3.0, counts="down"),
    ),
    (
        "X DIAL  a division is 0.04 on the diameter, 120 a turn, rises going in; 0+00 is diameter 16",
        slide(division=0.04, turn=4.8),
    ),
    (
        "X DIAL  a division is 0.025 on the diameter, 8 a turn, rises going in; 0+0 is diameter 16",
        slide(division=0.025, turn=0.2),
    ),
    (
        "X DIAL  a division is 1 thou on the diameter, 100 a turn, rises going in; 0+00 is diameter 16",
        inched(slide(), 0.001),
    ),
    (
        "X DIAL  a division is 0.001 in on the diameter, 100 a turn, rises going in; 0+00 is diameter 16",
        inched(slide(), 0.001),
    ),
    (
        "X DIAL  a division is 0.0014 in on the diameter, 100 a turn, rises going in; 0+00 is diameter 16",
        inched(slide(), 0.001),
    ),
    ("X DIAL  a division is 0.02 on the diameter, 1 a turn, rises going in; 0+0 is diameter 16", slide(turn=0.005)),
    ("X READS  the radius, falls going in", slide(reading="readout", habit="radius", counts="down", division=0.005)),
    (
        "X READS  the radius, falls going in, in inches",
        inched(slide(reading="readout", habit="radius", counts="down"), 0.0005),
    ),
    (
        "X READS  depth a side, rises going in; 0.10 is diameter 16.00",
        slide(reading="readout", habit="radius", division=0.01),
    ),
    (
        "X READS  depth on the diameter, rises going in, in inches; 0.1 is diameter 16",
        inched(slide(reading="readout"), 0.001),
    ),
    ("X READS  the diameter", slide(reading="readout", counts="down", division=0.01)),
    ("X READS  the diameter", slide(reading="readout", counts="up", division=0.01)),
    ("X READS  the diameter, rises going in", slide(reading="readout", division=0.01)),
    ("X IN  a side from diameter 16.00", slide(reading="none", division=0.01)),
    ("X IN  a side from diameter 16.00", slide(reading="none", habit="radius", division=0.01)),
    ("X IN  a side from diameter 16.00", inched(slide(reading="none", habit="radius"), 0.0005)),
    ("X IN  a side from diameter 15.999", slide(reading="none", division=0.01)),
    ("Z DIAL  a division is 0.02, 100 a turn, rises toward the headstock; 0+00 is Z 0.00", z_slide()),
    ("Z DIAL  a division is 0.02, 100 a turn, falls toward the headstock; 1+00.5 is Z 0.00", z_slide(counts="down")),
    ("Z READS  Z from Z 0, rises toward the headstock; 1.00 is Z 0.00", z_slide(reading="readout", division=0.01)),
    (
        "Z READS  Z from Z 0, falls toward the headstock, in inches; 1.00 is Z 0",
        inched(z_slide(reading="readout", counts="down"), 0.0005),
    ),
    ("Z SLIPS  25.00 is Z 0.00", z_slide(reading="none", division=0.01)),
    ("Z SLIPS  1.00 is Z 0.00", inched(z_slide(reading="none"), 0.0005)),
)
UNITS_READ: tuple[Unit, ...] = ("mm", "in")
READINGS = (
    "0+00",
    "1+07",
    "1-07",
    "0+59",
    "0+60",
    "2+7",
    "1+119",
    "1+120",
    "1+007",
    "1+07.5",
    "1+07.4",
    "12345+00",
    "0+7",
    "0+8",
    "0",
    "0.01",
    "0.015",
    "0.0145",
    "0.0049",
    "0.005",
    "0.0005",
    "1.5",
    "1.51",
    "0.1",
    "-1.50",
    "1.5049",
    "1.50501",
    "100000.0",
    "x",
)


def of_scales() -> Iterator[str]:
    """Yield the places that readings give on slides of every kind."""
    for line, own in SCALES:
        try:
            scale = read_scale(line, own, "mm", (16.004, 0.003))
        except ReadingError as found:
            yield f"{line} by {own.division.text}: {found} ({found.allowed})"
            continue
        yield f"{line} by {own.division.text}: {scale}"
        for reading in READINGS:
            try:
                yield f"  {reading}: {scale.place(reading):.7f}"
            except ReadingError as found:
                yield f"  {reading}: {found} ({found.allowed})"
    for text, unit in product(("1", "1.5", "-0.250", "1.", "123456", "1.1234567"), UNITS_READ):
        try:
            yield f"{text} {unit}: {tuple(figure_of(text, unit))}"
        except ReadingError as found:
            yield f"{text} {unit}: {found}"


# Forms ----------------------------------------------------------------------------------------------------------

LONG = "x" * 1990
HEAD = "<header><h1>ARBOR</h1><b>SETTING 1 of 2, A END</b></header>"
FORMS = (
    f"{HEAD}<p>one</p><p>two</p>",
    f"\n\n<div>\n<p>\n\none <b>bold</b>  word</p>\n</div>{HEAD}\n<p>two</p>",
    f"<p>0½ &amp; more</p>{HEAD}<table><tr><th>pass</th><th>cut</th></tr><tr><td>1 </td><td></td><td> a<br>b</td></tr>",
    "<header><h1>ARBOR</h1><p>TOOLS</p></header><p>one</p>",
    "<header><h1>ARBOR</h1></header>one<br/>two<hr/>three<p>four",
    "<head><p>unseen</p></head><style>p</style><title>t</title><p>seen</p></svg><p>seen</p><svg><p>not</p></svg>after",
    "<svg><style>a</style>b</svg><p>one</p>",
    '<p>is <span class="blank"></span>here <span class="other"></span>end</p><p class="blank">x</p>',
    f"<p>{LONG}</p><p>{LONG}1234567890</p><p>{LONG}1234567890<b>kept</b><b>lost</b></p><p>{LONG}12345678901<b>lost</b></p>",
    "<p>one</p>\n\n   \n<p>\n two</p>tail",
    "plain\n          joined\n         not joined\n\n          after nothing",
    "[ ]  1  a\n          b  c  d  e\n          f  g  h",
    "DIAL COARSER THAN LIMITS  one,\ntwo: half\nthree\nDIAL COARSER THAN  x\n\ny",
    f"a\fb\n{LONG}1234567890\n          c\n{LONG}12345\n          c\n          d\n{LONG}\n{LONG}{LONG}",
    "\ufeff \n<p>one</p>",
    "ARBOR: SETTING 1 of 2,  page 1 of 2\n A END\n==========\n====================\nbody\nARBOR: NEXT  page 2 of 2",
)
TITLED = "\n".join(
    (
        "ARBOR: SETTING 1 of 2, A END",
        "one",
        "OTHER",
        "=" * 20,
        "two",
        "ARBOR: SETTING 1 of 2, A END, continued",
        "three",
        "ARBOR: SETTING 2 of 2, B END",
        "four",
    )
)


def of_forms() -> Iterator[str]:
    """Yield the lines of small texts in either form, and of one setting's page among them."""

    def shown(lines: Iterable[PageLine]) -> str:
        return " | ".join(
            f"{line.number} {line.text!r}"
            if len(line.text) < 300
            else f"{line.number} {len(line.text)} {line.text[-20:]!r}"
            for line in lines
        )

    for text in (*FORMS, TITLED):
        lines = all_lines(text)
        yield f"{text[:60]!r} {is_sheet(text)}: {shown(lines)}"
        yield f"  titles: {shown(whole_titles(lines))}; setting 1: {shown(lines_of_setting(text, 1))}"
        yield f"  cells: {[line.cells for line in lines if len(line.text) < 300]}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {"scales": of_scales, "forms": of_forms}
