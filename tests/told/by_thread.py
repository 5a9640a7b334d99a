"""Pages of a thread with something else written on them, near a limit or across it, and the notebook's likewise."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import product

from cam.ground.problem import Problem
from cam.sheet.dials import figure_of
from cam.sheet.notebook import judge_notebook, said_by
from cam.sheet.read import read_sheet
from cam.sheet.thread import WIRES, has_thread_pages, hold_over_wires, judge_over_wires, judge_thread_pages
from cam.shop.model import Shop
from posts.pages.figures import figures_for
from posts.pages.text import write_pages
from posts.screw_pages import screw_pages
from tests.sheet_case import with_slides, write_sheet
from tests.sheets.threads import Screw, plan_screw, screw_texts
from tests.specimens import quantity
from tests.told.pages import arbor, drum_setting, lost, moved


def said(found: Iterable[Problem]) -> str:
    """Return problems on one line, with what was given."""
    return "; ".join(f"{p.where.line} {p.what} ({p.given}) {p.allowed}".strip() for p in found) or "nothing"


def screw_of(number: int) -> tuple[Screw, str]:
    """Return a screw of those that the law of pages draws, and its pages."""
    screw = plan_screw(*screw_texts(number))
    assert screw is not None
    figures = figures_for(screw.part, screw.shop.lathe)
    return screw, write_pages(screw_pages(screw.plan, figures), screw.part, figures)


def judged(screw: Screw, text: str, shop: Shop | None = None) -> str:
    """Return what is said of a screw's pages."""
    settings = [planned.setting for planned in screw.plan.settings]
    return said(judge_thread_pages(text, screw.part, settings, shop or screw.shop, unit=screw.part.unit))


# Change wheels --------------------------------------------------------------------------------------------------

ROWS = re.compile(r"(?m)^ +\d+ +[\d.]+ +[\d.]+ +\d\+\d\d  \[ \]\n")


def passes(*at: int, division: float = 0.02, cuts: dict[int, float] | None = None, numbers: Sequence[int] = ()) -> str:
    """Return the rows of passes at which X, on the radius, stands at so many divisions from diameter 7."""
    per, before, rows = round(2.0 / division), 2.92, []
    for row, count in enumerate(at):
        tip = 7.0 - 2 * division * count
        cut = (before - tip) / 2 + (cuts or {}).get(row, 0.0)
        number = numbers[row] if numbers else row + 1
        rows.append(f"  {number:3d}  {tip:.3f}  {cut:.3f}  {count // per}+{count % per:0{len(str(per - 1))}d}  [ ]\n")
        before = tip
    return "".join(rows)


FINE = (414, 423, 430, 437, 443, 446, 448, 449)
COARSER = (259, 264, 269, 273, 276, 278, 280)
FROM = "from the finished free end"
EDITS = (
    *(("line 9.500", f"line {at}") for at in ("9.199", "9.2", "9.1", "10.000", "10.001", "10.1", "9.0000")),
    *(
        (f"Scribe a line 9.500 {FROM}", f"The blade goes in at the slow speed of that pass, {at} {FROM}")
        for at in ("9.000", "9.0003", "8.9995", "9.5", "8.5")
    ),
    ("until it is 9.000", f"{'on and ' * 40}until it is 8.9"),
    ("\n   ", "\n  "),
    *(("until it is 9.000", f"until it is {at}") for at in ("9.0002", "9.0003", "9.0", "8.9")),
    *(
        ("least 1.000 off", f"least {at} off")
        for at in ("0.999", "0.9993", "1.0", "0.9", "9.999", "10.000", "10.001", "0.9998", "2")
    ),
    *(("at 320 rpm", f"at {at} rpm") for at in ("319", "0", "640")),
    *(("undercut 2.7 s", f"undercut {at} s") for at in ("2.68", "2.679", "2.75", "3")),
    *(("drives 127", f"drives {at}") for at in ("66", "12", "7")),
    *(("They cut 0.3500 mm", f"They cut {at} mm") for at in ("0.35", "0.3503", "0.351")),
    *(("about 2.920", f"about {at}") for at in ("2.92", "2.9202", "2.93")),
    *(("pitch            0.350", f"pitch            {at}") for at in ("0.3502", "0.3503", "0.4")),
    *(("2.896 to 2.981", f"{at}") for at in ("2.895 to 2.981", "2.897 to 2.980", "2.90 to 2.98", "2.896")),
    *(("W - 0.303", f"W - {at}") for at in ("0.3", "0.304", "0.3033")),
    *(("+ 3.00 W", f"+ {at} W") for at in ("3.006", "2.994", "3.007", "2.993")),
    ("cut, a side", "cut, dia."),
    ("pass  tip at", "pass  tips at"),
    ("Tool 4, threading", "Tool 4, thread"),
    ("Tool 4, threading tool", "Tool 1, right-hand knife"),
    ("M3 x 0.35, right", "M3x0.35, right"),
    ("M3 x 0.35, right-hand, on shank", "M3 x 0.35, right-hand, on head"),
    ("BY HAND WITH", "BY THE PROGRAM"),
    ("X DIAL  ", "X DAIL  "),
    ("X DIAL  ", "Z DIAL  a division is 0.02\nX DIAL  "),
    ("X DIAL  ", "X DIAL and more\nX DIAL  "),
    ("THE THREAD", "THE THREAD, continued"),
    ("OFF THE BAR", "OFF THE BAR, continued"),
    ("OFF THE BAR", "THE BAR"),
    ("part.toml 4c149704", "SCREW: THE THREAD, continued\nWheels: 1 on the spindle drives 2 on the leadscrew\n"),
    ("MEASURE  over", "MEASURE over"),
    ("MEASURE  over", "MEASURED  over"),
    (" - Or try", "  Or try"),
    (" - Or try", " Or try"),
    (" - Or try", "MEASURE  over three wires of 0.3: 1.0 ________ (0.9 to 1.1)\n - Or try"),
    ("(2.991 to 3.057)", ""),
    ("over three wires of 0.202", "over three wires of 0.202 mm"),
    ("over three wires of 0.202", "over two wires of 0.202"),
)
TRAINS = (
    (20, 30, 35, 100),
    (20, 60, 35, 50),
    (20, 73, 40, 47),
    (47, 63, 25, 80),
    (20, 59, 55, 80),
    (25, 127, 38, 32),
    (45, 66, 25, 73),
    (40, 60, 40, 40),
)
PASSES: dict[str, str] = {
    "as it is": passes(107, 108, 110, 111, 112, 112),
    **{f"from {n}": passes(n, *(k for k in (108, 109, 110, 111) if k > n), 112, 112) for n in range(102, 113)},
    **{f"then {n}": passes(104, n, *range(n + 1, 113), 112) for n in (105, 106, 107, 108, 109, 110)},
    **{f"from {n} at once": passes(n, 112, 112) for n in (103, 104, 105, 106)},
    **{f"to {n}": passes(107, 108, 110, 111, n, n) for n in (110, 111, 113, 114)},
    "out again": passes(107, 110, 108, 111, 112, 112),
    "a single one": passes(112),
    "two": passes(112, 112),
    "not a second time": passes(107, 109, 111, 112),
    "numbers": passes(107, 108, 110, 111, 112, 112, numbers=(1, 2, 3, 3, 5, 7)),
    **{f"cut off {off}": passes(107, 108, 110, 111, 112, 112, cuts={2: off}) for off in (0.001, 0.002, -0.001, -0.002)},
}


def of_wheels() -> Iterator[str]:
    """Yield what is said of the page of a thread cut by change wheels, on a dial of the radius."""
    screw, text = screw_of(13)
    yield f"as it is: {has_thread_pages(text)} {judged(screw, text)}"
    for old, new in EDITS:
        assert old in text, old
        yield f"{old!r} -> {new!r}: {judged(screw, text.replace(old, new, -1 if old == chr(10) + '   ' else 1))}"
    bare = re.sub(r"(?s) - Or try.*?\n(?=SCREW: OFF)", "", text)
    yield f"no line between pages: {judged(screw, bare)}"
    yield f"twice: {judged(screw, text + chr(10) + text)}"
    yield f"off the bar alone: {has_thread_pages(text.partition(chr(12))[2])} {has_thread_pages('nothing')}"
    yield f"no threads: {said(judge_thread_pages(text, replace(screw.part, screwed=None), (), screw.shop))}"
    threading = screw.shop.lathe.threading
    assert threading is not None
    for first, middle, again, last in TRAINS:
        for lead in (1.5, 3.0):
            own = replace(screw.shop, lathe=replace(screw.shop.lathe, threading=replace(threading, leadscrew=lead)))
            cut = lead * first * again / (middle * last)
            words = text.replace(
                "20 on the spindle drives 30; on its stud 21",
                f"{first} on the spindle drives {middle}; on its stud {again}",
            )
            words = words.replace("drives 127", f"drives {last}").replace("They cut 0.3500", f"They cut {cut:.4f}")
            yield f"{first} {middle} {again} {last}, leadscrew {lead}: {judged(screw, words, own)}"
    for train in ("20 on the spindle drives 80", "20 on the spindle drives 127", "127 on the spindle drives 40"):
        words = text.replace("20 on the spindle drives 30; on its stud 21 drives 127", train)
        yield f"{train}: {judged(screw, words)}"
    bare = replace(screw.shop, lathe=replace(screw.shop.lathe, threading=None))
    yield f"a lathe that cuts no threads: {judged(screw, text, bare)}"
    vee = next(t for t in screw.shop.tools if t.kind == "threading")
    others = tuple(t for t in screw.shop.tools if t is not vee)
    for more in (
        *({"included": angle} for angle in (60.09, 60.11, 59.91, 59.89)),
        *({"nose_radius": quantity(nose)} for nose in (0.0506, 0.0508, 0.1)),
        {"kind": "turning"},
    ):
        yield f"{more}: {judged(screw, text, replace(screw.shop, tools=(*others, replace(vee, **more))))}"  # type: ignore[arg-type]


def of_passes() -> Iterator[str]:
    """Yield what is said of other passes, on a dial of the radius, coarse and fine."""
    screw, text = screw_of(13)
    head, *_, tail = ROWS.split(text)
    for name, rows in PASSES.items():
        yield f"{name}: {judged(screw, head + rows + tail)}"
    vee = next(t for t in screw.shop.tools if t.kind == "threading")
    others = tuple(t for t in screw.shop.tools if t is not vee)
    for deepest in (0.104, 0.0825):
        shop = replace(screw.shop, tools=(*others, replace(vee, deepest_cut=quantity(deepest))))
        for counts in ((105, 112, 112), (104, 112, 112), (108, 110, 112, 112), (109, 112, 112)):
            yield f"at most {deepest}, {counts}: {judged(screw, head + passes(*counts) + tail, shop)}"
    for division, counts in ((0.005, FINE), (0.008, COARSER)):
        x = replace(screw.shop.lathe.x, division=quantity(division))
        shop = replace(screw.shop, lathe=replace(screw.shop.lathe, x=x))
        dial = f"a division is {division} a side, {round(2 / division)} a turn"
        words = head.replace("a division is 0.02 a side, 100 a turn", dial).replace("0+00 is dia", "0+000 is dia")
        for n in range(counts[-1] - 12, counts[-1] + 7):
            rows = passes(*(c for c in counts if c < n), n, n, division=division)
            yield f"by {division}, to {n}: {judged(screw, words + rows + tail, shop)}"


def of_dies() -> Iterator[str]:
    """Yield what is said of the page of a thread cut by a die, in mm, and of measures over wires in inches."""
    screw, text = screw_of(2)
    turns = re.search(r"About (\d+) turns make ([\d.]+) of", text)
    assert turns is not None
    for count in (-1, 0, 1):
        for length in (turns[2], f"{float(turns[2]) + 0.0004:.4f}", f"{float(turns[2]) + 0.0002:.4f}"):
            words = text.replace(turns[0], f"About {int(turns[1]) + count} turns make {length} of", 1)
            yield f"{count} more, {length}: {judged(screw, words)}"
    assert screw.part.screwed is not None
    own = replace(screw.part.screwed.threads[0], threaded=quantity(4.0))
    whole = screw._replace(part=replace(screw.part, screwed=replace(screw.part.screwed, threads=(own,))))
    for count in (9, 10, 11):
        words = re.sub(r"About \d+ turns make [\d.]+", f"About {count} turns make 4.00", text)
        words = re.sub(r"(full thread +)[\d.]+", r"\g<1>4.00", words)
        yield f"{count} whole turns: {judged(whole, words)}"
    inches, page = screw_of(12)
    for at in ("0.0416", "0.0417", "0.0418", "0.40", "0.417", "0.42"):
        words = re.sub(r"Start at least [\d.]+", f"Start at least {at}", page)
        yield f"in inches, begun at {at}: {judged(inches, words)}"
    yield f"another die: {judged(screw, text.replace('Die M2', 'Die M3', 1))}"
    thread = screw.part.screwed.threads[0].thread
    for wire, expected, limits in (
        ("0.231", "2.088", " (2.048 to 2.128)"),
        ("0.231 mm", "2.088", " (2.048 to 2.128)"),
        ("0.0091", "0.0822", " (0.0807 to 0.0837)"),
        ("0.0091", "0.0822", ""),
        ("1", "2", " (1 to 3)"),
    ):
        line = f"MEASURE  over three wires of {wire}: {expected} ________{limits}"
        found = [said(judge_over_wires(line, 7, thread, "p", "in" if wire[:3] == "0.0" else "mm"))]
        yield f"{line}: {found[0]}"
    wires = WIRES.fullmatch("over three wires of 0.231")
    assert wires is not None
    for then, expected in product((None, False, True), ("2.022", "2.034", "2.045", "2.046", "2.5")):
        figures = tuple(figure_of(text, "mm") for text in ("2.001", expected, "2.067"))
        found = "; ".join(map(" ".join, hold_over_wires(figures, wires, thread, "mm", then=then))) or "nothing"
        yield f"{expected} over wires, then {then}: {found}"
    line = f"MEASURE  over two wires of 0.231; {'more ' * 60}"
    yield f"{line}: {said(judge_over_wires(line, 7, thread, 'p', 'mm'))}"
    yield f"no wires: {said(judge_over_wires('MEASURE  shank: 2.0 ________', 7, thread, 'p', 'mm'))}"


# Notebooks ------------------------------------------------------------------------------------------------------

BOOK = """ARBOR: NOTEBOOK, ORDER OF WORK
==============================
MEASURE  body: 12.00 ________

ARBOR: NOTEBOOK, MEASURED
==============================
SETTING 1
MEASURE  pivot: 6.12 ________ (then 5.95 to 6.00)
MEASURE  shoulder past pivot: 12.00 ________
MEASURE  body: 11.00 ________ (10.99 to 11.01)

THE SQUARE, ON THE MILL
MEASURE  flat 1 to round at 6.00: 5.00 ________; more
MEASURE  mean of the pairs: 4.00 ________

ARBOR: NOTEBOOK, MEASURED, continued
==============================
FINISHED
MEASURE  pivot: 6.00 ________ (5.95 to 6.00)
MEASURE  body: 11.00 ________

ARBOR: NOTEBOOK, RECORDED
==============================
MEASURE  pivot: 1.00 ________
"""
PAGES = {
    "SETTING 1": (
        "pivot: 6.12 (then 5.95 to 6.00)",
        "shoulder past pivot: 12.00 (no limits)",
        "body: 11.00 (10.99 to 11.01)",
    ),
    "THE SQUARE, ON THE MILL": ("flat 1 to round: 5.00", "mean of the pairs: 4.00"),
}
BOOK_EDITS = (
    ("SETTING 1", "SETTING 2"),
    ("THE SQUARE, ON", "THE HEXAGON, ON"),
    ("FINISHED", "FINISHED SIZES"),
    ("body: 11.00 ________\n\nARBOR: NOTEBOOK, R", "cone: 9.00 ________\n\nARBOR: NOTEBOOK, R"),
    ("body: 11.00 ________\n\nARBOR: NOTEBOOK, R", "body: 11.00 ________ (10.9 to 11.1)\n\nARBOR: NOTEBOOK, R"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot: 6.00 ________"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "Pivot: 6.00 ________ (5.951 to 5.999)"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot: 6.00 ________ (5.949 to 6.000)"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot: 6.00 ________ (5.952 to 6.000)"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot: 6.00 ________ (5.950 to 5.998)"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot: 6.00 ________ (5.950 to 6.001)"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot: 6.006 ________ (5.95 to 6.00)"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot: 6.00 ________ (5.9 to 6.0)"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", f"pivot: 6.00 ________ (5.95 to 6.01); {'more ' * 60}"),
    ("pivot: 6.00 ________ (5.95 to 6.00)", "pivot 6.00"),
    ("shoulder past pivot: 12.00", "pivot: 12.00"),
    ("shoulder past pivot: 12.00 ________", "shoulder past pivot 12.00"),
    ("(then 5.95", "(5.95"),
    ("mean of the pairs: 4.00 ________", "mean of the pairs"),
    ("mean of the pairs: 4.00 ________", "mean of the pairs: 4.00 ________\nMEASURE  more: 1.00 ________"),
    ("NOTEBOOK, MEASURED\n", "NOTEBOOK, measured\n"),
    ("NOTEBOOK, MEASURED\n", "NOTEBOOK, MEASURES\n"),
)


def of_notebooks() -> Iterator[str]:
    """Yield what is said of a notebook's page of readings, one thing changed in each."""
    part = arbor().part
    lines = range(5, 21)
    for name, text in (
        ("as it is", BOOK),
        *((f"{old!r} -> {new!r}", BOOK.replace(old, new, 1)) for old, new in BOOK_EDITS),
        *moved(BOOK, lines),
        *lost(BOOK, lines),
    ):
        yield f"{name}: {said(judge_notebook(text, part, PAGES))}"
    yield f"nothing: {said(judge_notebook('nothing', part, PAGES))}"
    pivot, *others = part.sections
    assert pivot.tolerance is not None
    inner = replace(part, sections=(replace(pivot, tolerance=replace(pivot.tolerance, upper=-0.01)), *others))
    for limits in ("5.95 to 5.99", "5.95 to 6.00", "5.95 to 6.01"):
        text = BOOK.replace("6.00 ________ (5.95 to 6.00)", f"6.00 ________ ({limits})")
        yield f"{limits}: {said(judge_notebook(text, inner, PAGES))}"
    yield f"another page: {said(judge_notebook(BOOK, part, PAGES | {'SETTING 3': ('x: 1.00 (no limits)',)}))}"
    sheet = read_sheet(write_sheet(with_slides()), drum_setting(), with_slides())
    yield from said_by(sheet)


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "other wheels": of_wheels,
    "other passes": of_passes,
    "other dies": of_dies,
    "notebooks": of_notebooks,
}
