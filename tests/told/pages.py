"""Printed pages with one thing wrong in each, and all that their readers say of each.

Every figure of a page is moved by one in its last place, every row is lost, and every two rows change places: what a
slip of the pen does. The pages are of small parts, so that a person can follow them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache, partial

from cam.ground.problem import Problem
from cam.job.mill import judge_mill_page
from cam.setting.model import Setting
from cam.sheet import judge_sheet, read_sheet
from cam.sheet.dials import Unit
from cam.sheet.model import BandRead, CutRead, MeasureLine, PointsRow, Step
from cam.sheet.read import diameters_standing
from cam.sheet.thread import judge_thread_pages
from cam.shop.model import Shop
from posts.pages.figures import figures_for
from posts.pages.text import write_pages
from posts.screw_pages import screw_pages
from tests.mill_variants import pages_of, variant
from tests.sheet_case import arbor_setting, as_print, slide, with_slides, write_sheet, z_slide
from tests.sheets.jobs import Written, write_job
from tests.sheets.threads import plan_screw, screw_texts
from tests.specimens import SAMPLES

FIGURE = re.compile(r"(?<![\w.])-?\d[\d+.]*(?<!\.)(?![\w.])")
ROW = re.compile(
    r" *\d+  .*?  +[\d.]+  +(?P<leaves>[\d.]+)  +(?P<x>\d+\+\d\d)  +\S+  +(?P<stop>-[\d.]+)  +(?P<z>\d+\+\d\d) .*"
)
MILLED = re.compile(r"(.*  flat \d.*?  side \d up +)([\d.]+) +([\d.]+) +0\+(\d\d)")
Damaged = tuple[str, str]
ARBOR = """
name = "arbor"
corners = "fillet up to 0.2 mm"
edges = "chamfer 0.2 mm"
[stock]
material = "brass"
diameter = "12 mm"
length = "60 mm"
[holding]
method = "between centres"
[holding.end_a]
tail_centre = "half centre"
extra_length = "6 mm"
[holding.end_b]
tail_centre = "half centre"
extra_length = "6 mm"
[[section]]
name = "pivot"
role = "pivot"
diameter = "6 mm"
tolerance = "+0 / -0.05 mm"
length = "12 mm"
corner_b = "fillet 0.5 mm"
finish = "turn"
[[section]]
name = "body"
role = "body"
diameter = "11 mm"
length = "24 mm"
finish = "turn"
[[section]]
name = "cone"
role = "plain"
diameter_a = "9 mm"
diameter_b = "8 mm"
length = "12 mm"
finish = "turn"
"""


def moved(text: str, lines: range | None = None) -> Iterator[Damaged]:
    """Yield a text with each of its figures moved by one in its last place."""
    rows = text.splitlines()
    for n in lines or range(len(rows)):
        for found in FIGURE.finditer(rows[n]):
            at = max(k for k, sign in enumerate(found[0]) if sign.isdigit())
            new = f"{found[0][:at]}{(int(found[0][at]) + 1) % 10}{found[0][at + 1 :]}"
            row = f"{rows[n][: found.start()]}{new}{rows[n][found.end() :]}"
            yield f"{n + 1}: {found[0]} -> {new}", "\n".join([*rows[:n], row, *rows[n + 1 :]])


def deeper(text: str, lines: range, by: int) -> Iterator[Damaged]:
    """Yield a text with each straight row set deeper, and run on, by so many divisions of 0.02: dial and figure."""
    rows = text.splitlines()
    for n in lines:
        if (found := ROW.fullmatch(rows[n])) is None:
            continue
        for figure, dial in (("leaves", "x"), ("stop", "z")):
            (a, b), (c, d) = found.span(figure), found.span(dial)
            turns, on = found[dial].split("+")
            off = f"{float(found[figure]) - 0.02 * by:.2f}"
            read = f"{int(turns) + (int(on) + by) // 100}+{(int(on) + by) % 100:02d}"
            row = f"{rows[n][:a]}{off}{rows[n][b:c]}{read}{rows[n][d:]}"
            yield (
                f"{n + 1}: {found[figure]} by {found[dial]} -> {off} by {read}",
                "\n".join([*rows[:n], row, *rows[n + 1 :]]),
            )


def lower(text: str, lines: range, by: int) -> Iterator[Damaged]:
    """Yield a page of the mill with each row set lower by so many divisions of 0.01: left, below and dial."""
    rows = text.splitlines()
    for n in lines:
        if (found := MILLED.fullmatch(rows[n])) is not None:
            left, below, on = float(found[2]) - 0.01 * by, float(found[3]) + 0.01 * by, int(found[4]) + by
            row = f"{found[1]}{left:.3f}   {below:.2f}    0+{on:02d}"
            yield f"{n + 1} lower by {by}", "\n".join([*rows[:n], row, *rows[n + 1 :]])


def lost(text: str, lines: range) -> Iterator[Damaged]:
    """Yield a text with each of some lines lost."""
    rows = text.splitlines()
    for n in lines:
        yield f"{n + 1} lost", "\n".join([*rows[:n], *rows[n + 1 :]])


def told(problems: tuple[Problem, ...]) -> str:
    """Return what is said, in one line; of more than three problems how many there are."""
    said = [f"{p.where.line} {p.what}{f' ({p.allowed})' if p.allowed else ''}" for p in problems]
    return "; ".join([*said[:3], *([f"{len(said)} in all"] if said[3:] else [])]) or "nothing"


def table_of(text: str) -> range:
    """Return the lines of a page's table, its heads among them."""
    rows = text.splitlines()
    first = next(n for n, row in enumerate(rows) if re.match(r" *pass  cut", row))
    return range(
        first, next((n for n in range(first, len(rows)) if re.fullmatch(r"[A-Z][A-Z ,']+", rows[n])), len(rows))
    )


@cache
def arbor() -> Written:
    """Return the small arbor with its pages."""
    job = write_job(ARBOR, (SAMPLES / "shop.toml").read_text(encoding="utf-8"))
    assert job is not None
    return job


def of_setting(at: int, most: int) -> Iterator[str]:
    """Yield what is said of one setting's page, the last so many lines of its table with something wrong."""
    job = arbor()
    setting: Setting = job.plan.settings[at].setting
    text = next(page for page in job.text.split("\f") if f"SETTING {at + 1} of" in page.partition("\n")[0])
    material = job.shop.materials[job.part.stock.material]

    def said(words: str) -> str:
        return told(judge_sheet(words, setting, job.shop, unit=job.part.unit, material=material).problems)

    yield from text.splitlines()
    yield f"as it is: {said(text)}"
    table = table_of(text)[-most:]
    for name, damaged in (
        *moved(text, table),
        *deeper(text, table, 1),
        *deeper(text, table, 9),
        *lost(text, table[::2]),
    ):
        yield f"{name}: {said(damaged)}"


# How slides are set ---------------------------------------------------------------------------------------------

X_SLIDES = {
    "dial": slide(),
    "dial of the radius": slide(habit="radius", division=0.01, turn=1.0),
    "dial that falls": slide(counts="down"),
    "dial of the depth": slide(habit="depth on diameter", counts="down"),
    "readout": slide(reading="readout", division=0.01),
    "readout of the radius": slide(reading="readout", habit="radius"),
    "readout that falls": slide(reading="readout", counts="down", division=0.01),
    "readout of the depth": slide(reading="readout", habit="depth on diameter", counts="down"),
    "indicator": slide(reading="none", division=0.01),
    "indicator on a radius": slide(reading="none", habit="radius"),
}
Z_SLIDES = {
    "dial": None,
    "dial that falls": z_slide(counts="down"),
    "readout": z_slide(reading="readout", division=0.01),
    "readout that falls": z_slide(reading="readout", counts="down"),
    "slips": z_slide(reading="none", division=0.01),
}
EDITS = (
    ("0.50  -66.10", "0.50  -66.1"),
    ("    pass", "X DIAL  a division is 0.02\n    pass"),
    ("pass  cut", "pass  what"),
    ("from Z  to Z", "to Z  from Z"),
    ("  was  ", "  "),
    ("[ ]  3  rough", "[x]  3  rough"),
    ("[ ]  3  rough", "    3  rough"),
    ("[ ]  3  rough", "[ ]  rough"),
    ("[ ]  3  rough", "[ ]  3"),
    ("[ ]  3  rough", "[ ]  12345  rough"),
    ("[ ]  3  rough", "RULES OF THUMB\n[ ]  3  rough"),
    ("[ ]  3  rough", "AS IT WAS\n[ ]  3  rough"),
    ("[ ]  3  rough", "points, Z / X: 1+00 / 1+00\n[ ]  3  rough"),
    ("[ ]  3  rough", "-- belt\n[ ]  3  rough"),
    ("[ ]  3  rough", "-- spindle 600 rpm; then\n[ ]  3  rough"),
    ("[ ]  3  rough", "-- spindle 9000 rpm\n[ ]  3  rough"),
    ("[ ]  3  rough", "-- feed 2 thou a turn\n[ ]  3  rough"),
    ("[ ]  3  rough", "-- tool 9: other\n[ ]  3  rough"),
    ("[ ]  3  rough", "-- tool 2: undercut tool\n[ ]  3  rough"),
    ("[ ]  3  rough", "MEASURE  it\n[ ]  3  rough"),
    ("-33.50  16+75", "-33.50  16+75.5"),
    ("14.50  0+75", "14.50  0+75.5"),
    ("0+75  0.50", "1-25  0.50"),
    ("[ ] 20  edge of drum body, chamfer\n", ""),
    ("[ ] 20  edge of drum body, chamfer", "[ ] 20  edge  by stone"),
    ("[ ] 20  edge of drum body, chamfer", "[ ] 20  edge  by hand"),
    ("[ ] 20  edge of drum body, chamfer", "[ ] 20  edge  by foot"),
    ("points, Z / X", "points, X / Z"),
    ("points, Z / X", "5 points, Z / X"),
    ("points, Z / X", "6 points, Z / X"),
    ("ridges of 0.013", "ridges of 0.3"),
    ("ridges of 0.013", "ridges of 0.25"),
    ("ridges of 0.013", "no ridges"),
    ("TOOL 1  right", "TOOL 1  left"),
    ("TOOL 1  right-hand knife, nose radius 0.1", "TOOL 1  right-hand knife, nose radius 0.2"),
    ("TOOL 1  right", "TOOL 2  undercut tool\nTOOL 1  right"),
    ("TOOL 1  right", "DIAL COARSER THAN LIMITS  front pivot\nTOOL 1  right"),
    ("A END\n", "A END, continued\n"),
    ("AFTER THE LAST PASS", "after the last pass"),
    ("0+00 is Z", "0+00 is z"),
    ("Z DIAL  ", "Z DIAL  a division is 0.02\nZ DIAL  "),
    ("Z DIAL  ", "FROM BY DIAL  0.50: 0+2x\nZ DIAL  "),
    ("Z DIAL  ", "FROM BY DIAL  0.50: 0-25\nZ DIAL  "),
    ("Z DIAL  ", "FROM BY DIAL  0.50: 0-25, -32.90: 16+46\nZ DIAL  "),
    ("Z DIAL  ", "Z DAIL  "),
    ("a division is 0.02, 100", "a division is 0.021, 100"),
    ("a division is 0.02, 100", "a division is 0.8 thou, 100"),
    ("X dial  from Z", "from Z"),
    ("X dial  from Z", "X reads  from Z"),
)
"""What stands on the page of the drum arbor, and what is put there."""


@cache
def drum_setting() -> Setting:
    """Return the setting of the page that is written by hand."""
    return arbor_setting(with_slides())


def stands(words: str, shop: Shop) -> str:
    """Return where the rows of a page bring the tool, or what is wrong with it."""
    page = read_sheet(words, drum_setting(), shop)
    if page.problems:
        return f"{told(page.problems[:1])}; {len(page.problems)} in all"
    cuts = [f"{r.x:.4f} {r.z:.4f} {r.begin:.4f}" for r in page.rows if isinstance(r, CutRead)]
    places = [f"{z:.4f} {x:.4f}" for r in page.rows if isinstance(r, PointsRow) for z, x in r.places]
    return ", ".join([cuts[0], *cuts[14:16], places[0], places[-1]])


def of_slides() -> Iterator[str]:
    """Yield where pages for slides of every kind bring the tool, and what is said where one is set otherwise."""
    for x, own_x in X_SLIDES.items():
        for z, own_z in Z_SLIDES.items():
            if z != "dial" and x not in ("dial", "indicator"):
                continue
            shop = with_slides(own_x, own_z)
            text = write_sheet(shop)
            yield f"X {x}, Z {z}: {stands(text, shop)}"
            lines = text.splitlines()
            own = [n for n, other in ((4, z), (5, x)) if other == "dial" or "indicator" in other]
            for name, damaged in (one for n in own for one in moved(text, range(n, n + 1))):
                yield f"{name}: {stands(damaged, shop)}"
            for n in own:
                for old, new in (
                    ("rises", "falls"),
                    ("falls", "rises"),
                    ("on the diameter", "a side"),
                    ("radius", "diameter"),
                    ("DIAL", "READS"),
                    ("READS", "DIAL"),
                    ("IN  ", "READS  "),
                    ("; ", ", "),
                ):
                    if old in lines[n]:
                        damaged = "\n".join([*lines[:n], lines[n].replace(old, new, 1), *lines[n + 1 :]])
                        yield f"{n + 1}: {old} -> {new}: {stands(damaged, shop)}"


def of_slips() -> Iterator[str]:
    """Yield what is said of a page of a lathe that is set by indicator and slips alone."""
    for name, shop in (("slips", with_slides(X_SLIDES["indicator"], Z_SLIDES["slips"])),):
        text = write_sheet(shop)
        for old, new in (("as it is", ""), *SLIPS):
            if old in text or not new:
                verdict = judge_sheet(text.replace(old, new, 1) if new else text, drum_setting(), shop)
                yield f"{name}: {old!r} -> {new!r}: {told(verdict.problems)}"
                for r in verdict.reached if old == "as it is" else ():
                    yield f"  {r.name} {r.of}: {r.size:.4f}, wanted {r.wanted:.4f}, {r.least:.4f} to {r.most:.4f}"


SLIPS = (
    ("  0.50  -66.10", "  2.30  -66.10"),
    ("  7.98  4.010", "  7.97  4.015"),
    ("  7.98  4.010", "  7.96  4.020"),
    ("-33.50  46.50", "-33.51  46.49"),
    ("-33.50  46.50", "-33.54  46.46"),
    ("TOOL 1  right", "DIAL COARSER THAN LIMITS  front seat, front pivot, drum body: half a division\nTOOL 1  right"),
    ("TOOL 1  right", "DIAL COARSER THAN LIMITS  front seat; shoulder past front seat\nTOOL 1  right"),
)


OTHERS = (
    *(("about 600 rpm", f"about {rpm} rpm") for rpm in ("600.4", "600.6", "6e2", "320")),
    ("belt A2, about 600 rpm", "belt A1, about 600 rpm"),
    ("belt A2, about 600 rpm", "belt a 2, about 600 rpm"),
    ("belt A2, about 600 rpm", "spindle 600 rpm"),
    ("feed 0.06 mm", "feed 0.064 mm"),
    ("feed 0.06 mm", "feed 0.6 mm"),
    ("feed 0.03 mm a turn", "feed 0.03 mm a turn; X in as slowly as a cut"),
    ("[ ] 17  ", "[ ] 16  "),
    ("[ ] 17  ", "[ ] 18  "),
    ("[ ] 17  ", "[ ] 19  "),
    ("[ ] 17  ", "[ ] 1  "),
    ("[ ]  1  ", "[ ]  3  "),
    ("X DIAL  ", "TOOL 2  undercut tool\nX DIAL  "),
    ("X DIAL  ", "TOOL 9  other\nX DIAL  "),
    ("TOOL 1  right-hand knife", "TOOL 1  knife"),
    ("TOOL 1  right-hand knife, nose radius 0.1", "WITH 1  right-hand knife"),
    ("0+75  0.50  -66.10", "0+75  0.50  0.51"),
    ("0+75  0.50  -66.10", "0+75  0.50  0.50"),
    ("0+75  0.50  -66.10", f"0+75  0.50  {'6' * 250}"),
    ("was  leaves", "was  was"),
    ("was  leaves", "was  left  leaves"),
    ("to Z  Z dial", "to Z  Z dial  N"),
    ("to Z  Z dial", "to Z"),
    ("to Z  Z dial", "to Z  slips"),
    ("; ridges of 0.013", "; ridges 0.0135"),
    ("; ridges of 0.013", "; ridges of 0.2501"),
    ("SETTING 1 of 2, A END", "SETTING 1 of 2, B END"),
    ("MEASURE  drum body: 14.08 ________", "MEASURE  drum body: 14.08 is told"),
    ("MEASURE  drum body: 14.08 ________", "MEASURE  drum body: 14.08"),
    ("MEASURE  drum body: 14.08 ________", "MEASURES  drum body: 14.08 ________"),
    ("(then 13.95 to 14.00)", "(then 13.95)"),
    ("AFTER THE LAST PASS", "[ ] 24  one more  by hand\nAFTER THE LAST PASS"),
    ("AFTER THE LAST PASS", "[ ] 24  one more\nAFTER THE LAST PASS"),
    ("AFTER THE LAST PASS", "[ ] 24  one more  by program  N240\nAFTER THE LAST PASS"),
    *(
        ("AFTER THE LAST PASS", f"[ ] 24  taper\n     set over {angle} degrees, {ways}\nAFTER THE LAST PASS")
        for angle, ways in (
            *(
                (angle, "from Z / X 0+00 / 4+00 to 5+00 / 3+50; top slide 10.01")
                for angle in ("2.86", "2.95", "2.90", "2.5", "-2.86")
            ),
            ("2.86", "from X / Z 0+00 / 4+00 to 5+00 / 3+50; top slide 10.01"),
            *(("2.86", f"from Z / X 0+00 / 4+00 to 5+00 / 3+50{t}") for t in ("", "; top slide 10.02")),
            ("2.86", "from Z / X 5+00 / 3+50 to 0+00 / 4+00; top slide 10.01"),
            ("90", "from Z / X 5+00 / 3+50 to 5+00 / 4+00; top slide 1.00"),
            ("80", "from Z / X 0+00 / 4+00 to 0+10 / 3+44; top slide 1.15"),
            ("2.86", "from Z / X 0+00 / 4+00"),
        )
    ),
)
"""What else stands on the page of the drum arbor, and what is put there: said of the page as it is read."""
ENDLESS = ("599.5", "600.4", "319", "319.5", "319.6", "320", "1000", "1000.4", "1001", "1000.6")
"""Speeds said of a spindle from 320 to 1000 rpm."""
PRINTED = ("points, Z / X", "0+00 is Z")
"""What is changed in the print form too."""


def of_words() -> Iterator[str]:
    """Yield what is said of a page written by hand with other words on it."""
    shop = with_slides()
    text, setting = write_sheet(shop), drum_setting()
    for old, new in EDITS:
        assert old in text, old
        for name, words in (("", text), *((("in print, ", as_print(text)),) if old in PRINTED else ())):
            if old in words:
                said = judge_sheet(words.replace(old, new, 1), setting, shop, material=shop.materials["silver steel"])
                yield f"{name}{old!r} -> {new!r}: {told(said.problems)}"


def of_others() -> Iterator[str]:
    """Yield what the reader says of more words on that page, and of speeds of a spindle without belts."""
    shop = with_slides()
    text, setting = write_sheet(shop), drum_setting()

    def read(words: str, own: Shop = shop, unit: Unit = "mm") -> str:
        page = read_sheet(words, setting, own, unit=unit)
        steps = [s for s in page.steps if isinstance(s, BandRead | PointsRow | MeasureLine)]
        said = "; ".join(f"{p.where.line} {p.what} ({p.given}) {p.allowed}" for p in page.problems)
        ends = [s for s in (*steps[:1], *steps[-1:]) if s not in good]
        return f"{page.tool} {len(page.steps)} {page.lines} {page.coarse} {ends} {said or 'nothing'}"

    good: tuple[Step, ...] = ()
    yield read(text)
    good = read_sheet(text, setting, shop).steps
    for old, new in OTHERS:
        assert old in text, old
        yield f"{old!r} -> {new!r}: {read(text.replace(old, new, 1))}"
    spindle = replace(shop.lathe.spindle, positions=(), slowest=320.0, fastest=1000.0)
    own = replace(shop, lathe=replace(shop.lathe, spindle=spindle))
    for rpm in ENDLESS:
        yield f"{rpm}: {read(text.replace('belt A2, about 600 rpm', f'spindle {rpm} rpm', 1), own)}"
    for planned in (drum_setting(), *(p.setting for p in arbor().plan.settings)):
        yield f"standing before setting {planned.number}: {diameters_standing(planned)}"
    yield f"a belt: {read(text, own)}"
    yield f"in inches: {read(text.replace('0.06 mm a', '2.4 thou a').replace('0.03 mm a', '1 thou a'), shop, 'in')}"
    for size in (20_000, 20_001):
        lines = "\n".join(["ARBOR: SETTING 1 of 2, A END", *("-" for _ in range(size - 1))])
        yield f"{size} lines: {read(lines)}"


# Threads and the mill -------------------------------------------------------------------------------------------


def of_thread(number: int) -> Iterator[str]:
    """Yield what is said of the pages of a screw."""
    screw = plan_screw(*screw_texts(number))
    assert screw is not None
    figures = figures_for(screw.part, screw.shop.lathe)
    text = write_pages(screw_pages(screw.plan, figures), screw.part, figures)
    settings = [planned.setting for planned in screw.plan.settings]
    yield from text.splitlines()
    whole = range(len(text.splitlines()))
    for name, damaged in (("as it is", text), *moved(text), *lost(text, whole)):
        found = judge_thread_pages(damaged, screw.part, settings, screw.shop, unit=screw.part.unit)
        if found or name == "as it is":
            yield f"{name}: {told(found)}"


MILL_EDITS = (
    ("rises", "falls"),
    ("falls", "rises"),
    ("DIAL", "READS"),
    ("DIAL", "DAIL"),
    (" a turn,", "0 a turn,"),
    ("a division is 0.02", "a division is 0.02 mm"),
    ("a division is 0.02", "a division is 0.02 in"),
    (" a minute", " miles a turn"),
    ("about 1580 rpm", "about 158 rpm"),
    ("about 1580 rpm", "about 9000 rpm"),
    ("-- path", "-- way"),
    ("-- path: in", "-- path: into"),
    ("-- place", "-- spot"),
    ("-- place: X", "-- place: at X"),
    ("drawn out", "drawn off"),
    ("MEASURE", "MEASURES"),
    ("side 1 up", "turned 0"),
    ("side 1 up", "turned 0.01"),
    ("side 1 up", "turned 0.02"),
    ("side 1 up", "turned 90"),
    ("side 1 up", "side 1"),
    ("SHIM", "SHAM"),
    ("ANGLE", "ANGEL"),
    ("T1,", "T9,"),
    ("pass  cut", "pass  out"),
    ("[ ]", "[x]"),
    ("finish  ", "finish, by hand  "),
)


def of_mill(name: str, work: str, most: int) -> Iterator[str]:
    """Yield what is said of one page of the mill, so many lines of its table moved, and every fifth lost."""
    part, shop, job = variant(name)
    task = next(w.task for w in job.works if w.name == work)
    text = pages_of(name)[work]
    yield from text.splitlines()
    table = table_of(text)
    words = ((f"{old!r} -> {new!r}", text.replace(old, new, 1)) for old, new in MILL_EDITS if old in text)
    for label, damaged in (
        ("as it is", text),
        *words,
        *moved(text, range(table.start - 20, min(table.start + most, table.stop))),
        *lost(text, table[::5]),
        *lower(text, table[:most], 1),
        *lower(text, table[:most], 6),
    ):
        found = judge_mill_page(damaged, "page", part, shop, task).problems
        if found or label == "as it is":
            yield f"{label}: {told(found)}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "die": partial(of_thread, 2),
    "wheels": partial(of_thread, 13),
    "inch wheels": partial(of_thread, 12),
    "by program": partial(of_thread, 1),
    "slides": of_slides,
    "words": of_words,
    "slips": of_slips,
    "other words": of_others,
    "setting 1": partial(of_setting, 0, 14),
    "setting 2": partial(of_setting, 1, 18),
    "hole": partial(of_mill, "through", "cross-hole", 99),
    "square": partial(of_mill, "tipped", "square", 4),
}
