"""The page of a thread, read back from its printed text: sizes, die or wheels, passes on the dial, what is measured.

It knows the part, the shop and the thread's standard, and neither the plan nor who wrote the page.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import zip_longest

from cam.ground.frozen import Row
from cam.ground.letters import known_by
from cam.ground.problem import Problem, problem_at
from cam.ground.tolerances import ROUNDING
from cam.part.model import Part
from cam.part.screw import best_wire, over_wires, pitch_diameter_at, pitch_limits, shank_of, widest_nose
from cam.part.screwed import Screwed
from cam.part.threads import Thread
from cam.setting.model import Setting, ThreadWanted
from cam.sheet.dials import (
    EITHER,
    FIGURE,
    FORMS,
    SHOWN,
    ReadingError,
    Scale,
    Unit,
    figure_of,
    read_scale,
    say,
    say_between,
)
from cam.sheet.either_form import all_lines
from cam.sheet.limits import show, step_on_diameter, within_inward
from cam.sheet.lines import OTHER_PAGE, RULE, PageLine, ends_page, whole_titles
from cam.sheet.model import Figure
from cam.sheet.read import HEAD, MEASURE, diameters_standing
from cam.sheet.reader import Reader
from cam.shop.model import Shop, Threading, Tool

THREAD = re.compile(r"(?i)^.*: the thread(?P<more>, continued)?(?: {2,}.*)?$")
OFF_THE_BAR = re.compile(r"(?i)^.*: off the bar(?P<more>, continued)?(?: {2,}.*)?$")
SAWN = re.compile(rf"Scribe a line (?P<at>{FIGURE}) from the finished free end\b")
PARTED = re.compile(rf"The blade goes in at the slow speed of that pass, (?P<at>{FIGURE}) from the finished free end\b")
LONG = re.compile(rf"(?:until it is|it was) (?P<at>{FIGURE}) long over all\b")
SAW_LEAVES = (0.2, 1.0)
"""What a saw leaves beyond a finished head, mm: the least and the most; common practice, no source."""
MARK = re.compile(r"^ *(?:[-!]|\d{1,2}\.) ")
NAME = re.compile(r"(?P<thread>.+), right-hand, on (?P<section>.+)\.")
SIZES = re.compile(
    rf"(?P<what>shank as turned|pitch|pitch diameter|full thread) +(?P<least>{FIGURE})"
    rf"(?: to (?P<most>{FIGURE}))?(?: from the free end)?"
)
TURNS = re.compile(rf"About (?P<turns>\d{{1,4}}) turns make (?P<length>{FIGURE}) of thread\b")
DIE = re.compile(r"Die (?P<name>.+?) in a holder\b")
WHEELS = re.compile(
    r"Wheels: (?P<first>\d+) on the spindle drives (?:(?P<middle>\d+); on its stud (?P<again>\d+) drives )?"
    rf"(?P<last>\d+) on the leadscrew.*? They cut (?P<cut>{FIGURE}) mm for (?P<pitch>{FIGURE}) mm"
)
TOOL = re.compile(rf"Tool (?P<number>\d+), (?P<name>.+?): .*\(about (?P<shank>{FIGURE})\)")
START = re.compile(rf"Start at least (?P<room>{FIGURE}) off the end\b")
TURNING = re.compile(
    rf"Under power, at (?P<rpm>\d+) rpm, the tool would be over the undercut (?P<seconds>{FIGURE}) s after"
)
PASS = re.compile(rf"(?P<number>\d{{1,3}}) +(?P<tip>{FIGURE}) +(?P<cut>{FIGURE}) +(?P<x>{EITHER}) +\[ \]")
HEADS = re.compile(r"pass +tip at +cut, (?P<side>dia\.|a side) +X\b.*")
BY_PROGRAM = "BY THE PROGRAM"
WIRES = re.compile(rf"(?:.* )?over three wires of (?P<wire>{FIGURE})(?P<mm> mm)?")
OTHER_WIRES = re.compile(rf"Over other wires W it is the pitch diameter \+ (?P<each>{FIGURE}) W - (?P<less>{FIGURE})\.")
START_PITCHES, START_LEAST = 2.0, 1.0
"""Least run-in before a thread by hand: in pitches, and in mm; common practice, no source."""
DEEPER = 1.2
"""A pass may be deeper than the tool's deepest cut by this factor, in depth or in area; as for programs."""
PITCH_OFF = 1e-3
"""How far a train may be off the pitch, as a share of it."""
EXACT = 2e-4
"""Margin for arithmetic besides a last digit, mm."""
FIX = "print the page anew, or correct this line"
NEEDED = {
    "all": {
        "name": "whose thread it is", "pitch": "its pitch", "pitch diameter": "its pitch diameter",
        "shank as turned": "what its shank is turned to", "full thread": "how long it is",
        "measure": "what is measured over wires", "other wires": "what other wires say",
    },
    "die": {"turns": "how many turns of the die make it", "die": "which die cuts it"},
    "wheels": {
        "wheels": "its change wheels", "tool": "its tool", "start": "where it is begun", "X": "how X is set",
        "turning": "how fast the spindle may turn", "heads": "how its passes are set",
    },
    "program": {"by program": "that the program cuts it"},
}  # fmt: skip
"""What a page must say, by the way in which its thread is cut."""


class PassRow(Row):
    """A pass as read: its line, number, diameter at the tip and cut as printed, diameter that X gives, mm."""

    line: int
    number: int
    tip: Figure
    cut: Figure
    x: float


def judge_thread_pages(
    text: str, part: Part, settings: Sequence[Setting], shop: Shop, *, path: str = "sheet", unit: Unit = "mm"
) -> tuple[Problem, ...]:
    """Find what stands against the pages of a part's threads, by their printed text alone; nothing if it has none.

    Args:
        text: text of all pages, plain or of the print form. settings: of the part, in which its threads are cut.
        unit: unit of the page's figures.
    """
    threads = part.threads
    lines = whole_titles(all_lines(text))
    pages = _pages(lines, THREAD)
    found: list[Problem] = []
    if len(pages) > len(threads):
        what = "is the page of a thread that the part does not have"
        found.append(problem_at(path, pages[-1][0].number, what, fix=FIX))
    for screwed, page in zip_longest(threads, pages[: len(threads)]):
        if page is None:
            what = f"has no page of the thread {screwed.thread.name} on {screwed.section}"
            found.append(problem_at(path, 0, what, allowed="a page THE THREAD", fix=FIX))
        else:
            found += _Page(screwed, settings, shop, path, unit).read(page)
    if threads:
        found += _judge_length([line for page in _pages(lines, OFF_THE_BAR) for line in page], part, path, unit)
    return tuple(sorted(set(found)))


def has_thread_pages(text: str) -> bool:
    """Tell whether a text, plain or of the print form, has a page of a thread, or of how a screw comes off its bar."""
    lines = whole_titles(all_lines(text))
    return any(_pages(lines, form) for form in (THREAD, OFF_THE_BAR))


def _judge_length(lines: Sequence[PageLine], part: Part, path: str, unit: Unit) -> Iterator[Problem]:
    """Check where a screw comes off its bar, and how long it is then."""
    seen = set()
    for form, low, high in ((SAWN, *SAW_LEAVES), (PARTED, 0.0, 0.0), (LONG, 0.0, 0.0)):
        for line, found in ((line, found) for line in lines if (found := form.search(line.text))):
            seen.add(form)
            if not figure_of(found["at"], unit).between(part.length + low, part.length + high, EXACT):
                what = f"takes the screw off its bar, or faces its head, at {found['at']}"
                yield problem_at(path, line.number, what, line.text[:200], f"{say(part.length, unit)} over all", FIX)
    if len(seen) < 2:
        what = "does not say where the screw comes off its bar, and how long it is then"
        yield problem_at(path, 0, what, allowed="a page OFF THE BAR", fix=FIX)


def _pages(lines: Sequence[PageLine], form: re.Pattern[str]) -> list[list[PageLine]]:
    """Return the lines of every page with such a title, each continued line joined to the one before."""
    pages: list[list[PageLine]] = [[]]
    for at, line in enumerate(lines):
        bare = line.text.strip(f" {OTHER_PAGE}")
        title = form.match(bare)
        if title is not None and title["more"]:
            continue
        if ends_page(lines, at):
            pages.append([PageLine(line.number, "")] if title is not None else [])
        elif pages[-1] and bare and not RULE.match(bare):
            _join(pages[-1], line)
    return list(filter(None, pages))


def _join(page: list[PageLine], line: PageLine) -> None:
    """Add a line to a page, or to the line that it continues."""
    before, bare = page[-1].text, line.text.strip()
    indent = len(line.text) - len(line.text.lstrip())
    row = PASS.match(bare) or SIZES.match(bare) or HEADS.match(bare)
    goes_on = indent >= 2 and not row and not MARK.match(line.text)
    if (goes_on and before) or (len(page) == 2 and not before.endswith(".")):
        page[-1] = PageLine(page[-1].number, f"{before} {bare}")
    else:
        page.append(PageLine(line.number, MARK.sub("", line.text).strip()))


class _Page(Reader):
    """Reads one thread's page, line by line."""

    def __init__(self, screwed: Screwed, settings: Sequence[Setting], shop: Shop, path: str, unit: Unit) -> None:
        super().__init__(path, unit, FIX)
        self.screwed, self.thread, self.shop = screwed, screwed.thread, shop
        self.seen: set[str] = set()
        self.wanted: ThreadWanted | None = None
        self.setting = settings[-1]
        for setting in settings:
            for thread in setting.hand_threads:
                if thread.section == screwed.section:
                    self.wanted, self.setting = thread, setting
        wheels = "wheels" if self.wanted is not None else "program"
        self.way = "die" if screwed.by == "die" else wheels
        self.scale: Scale | None = None
        self.tool: Tool | None = None
        self.factor = 0.0
        self.passes: list[PassRow] = []

    def says(self, line: PageLine, figure: Figure, value: float, what: str) -> None:
        """Compare a figure with what it must say, mm."""
        if not figure.says(value, EXACT):
            self.problem(line, f"says {what} {figure.text}", self.show(value, figure))

    def show(self, value: float, like: Figure) -> str:
        """Show a length, mm, with the decimals of a figure of the page."""
        return show(value, like, self.unit)

    def read(self, lines: Sequence[PageLine]) -> list[Problem]:
        """Judge all lines, and find what must be on the page and is not."""
        for line in lines[1:]:
            self.attempt(line, partial(self.take, line))
        for key, words in NEEDED["all"].items() | NEEDED[self.way].items():
            if key not in self.seen:
                self.problem(PageLine(lines[-1].number, ""), f"does not say {words}")
        if not self.problems and self.wanted is not None:
            self.judge_passes(self.wanted, lines[-1])
        return self.problems

    def take(self, line: PageLine) -> None:
        """Act on one line, or pass it over."""
        text = line.text
        if text == BY_PROGRAM:
            self.seen.add("by program")
        elif text.startswith("MEASURE ") and HEAD.fullmatch(text) is None:
            self.seen.add("measure")
            self.problems += judge_over_wires(text, line.number, self.thread, self.path, self.unit)
        elif text.startswith(tuple(FORMS)) and text[0] == "X":
            self.seen.add("X")
            self.scale = read_scale(text, self.shop.lathe.x, self.unit, diameters_standing(self.setting))
        elif heads := HEADS.fullmatch(text):
            self.heads(line, heads["side"])
        elif row := PASS.fullmatch(text):
            self.row(line, row)
        elif re.match(r"\d{1,3} {2,}", text):
            self.problem(line, "is no row of a pass", "pass, tip at, cut, X, [ ]")
        else:
            self.words(line, text)

    def words(self, line: PageLine, text: str) -> None:
        """Act on a line of words that holds figures."""
        known = (
            (NAME, "name", self.name), (SIZES, "", self.size), (TURNS, "turns", self.turns), (DIE, "die", self.die),
            (WHEELS, "wheels", self.wheels), (TOOL, "tool", self.take_tool), (START, "start", self.start),
            (OTHER_WIRES, "other wires", self.other_wires),
        )  # fmt: skip
        for form, key, act in known:
            found = form.match(text)
            if found is not None:
                self.seen.add(key or found["what"])
                act(line, found)
        if (found := TURNING.search(text)) is not None:
            self.seen.add("turning")
            self.turning(line, found)

    # What the page says of the thread

    def name(self, line: PageLine, found: re.Match[str]) -> None:
        """Check whose page it is."""
        if (known_by(found["thread"]), known_by(found["section"])) != (
            known_by(self.thread.name), known_by(self.screwed.section)
        ):  # fmt: skip
            allowed = f"{self.thread.name}, right-hand, on {self.screwed.section}."
            self.problem(line, "is another thread's page", allowed)

    def size(self, line: PageLine, found: re.Match[str]) -> None:
        """Check one of the thread's own sizes, its limits rounded inward."""
        what, least = found["what"], figure_of(found["least"], self.unit)
        if what in ("pitch", "full thread"):
            self.says(line, least, self.thread.pitch if what == "pitch" else float(self.screwed.threaded), what)
            return
        limits = shank_of(self.thread) if what.startswith("shank") else pitch_limits(self.thread)
        if found["most"] is None:
            raise ReadingError("does not say both of its limits")
        most = figure_of(found["most"], self.unit)
        if not within_inward(least, most, (limits.least, limits.most), EXACT):
            self.problem(line, f"has other limits than the thread for its {what}",
                         f"{self.show(limits.least, least)} to {self.show(limits.most, most)}")  # fmt: skip

    def turns(self, line: PageLine, found: re.Match[str]) -> None:
        """Check the turns of a die."""
        threaded = float(self.screwed.threaded)
        self.says(line, figure_of(found["length"], self.unit), threaded, "a length of thread of")
        wanted = math.ceil(threaded / self.thread.pitch - ROUNDING)
        if int(found["turns"]) != wanted:
            self.problem(line, f"says {found['turns']} turns of the die", f"{wanted}")

    def die(self, line: PageLine, found: re.Match[str]) -> None:
        """Check the die's name."""
        if known_by(found["name"]) != known_by(self.thread.name):
            self.problem(line, "takes another thread's die", self.thread.name)

    # Change wheels

    def threading(self) -> Threading:
        """Return how this lathe cuts threads; there is a way where a thread by single point is wanted."""
        found = self.shop.lathe.threading
        if found is None:
            raise ReadingError("cuts a thread that this lathe cannot")
        return found

    def wheels(self, line: PageLine, found: re.Match[str]) -> None:
        """Check that the shop has a train, and what it cuts."""
        threading = self.threading()
        used = [int(found[k]) for k in ("first", "middle", "again", "last") if found[k]]
        short = Counter(used) - Counter(threading.wheels)
        if short:
            have = ", ".join(map(str, sorted(threading.wheels)))
            self.problem(line, f"takes wheels that the shop does not have: {', '.join(map(str, sorted(short)))}", have)
            return
        driven = int(found["middle"] or 1) * int(found["last"])
        cut = threading.leadscrew * int(found["first"]) * int(found["again"] or 1) / driven
        if abs(cut / self.thread.pitch - 1.0) > PITCH_OFF:
            self.problem(line, f"has a train that cuts a pitch of {cut:.4f} mm", f"{self.thread.pitch:.4f} mm")
        for key, value in (("cut", cut), ("pitch", self.thread.pitch)):
            self.says(line, figure_of(found[key], "mm"), value, "a pitch of")

    def take_tool(self, line: PageLine, found: re.Match[str]) -> None:
        """Check the threading tool, and the shank that it is touched on."""
        number = int(found["number"])
        tool = self.tool = self.shop.tool(number)
        if tool is None or tool.kind != "threading" or known_by(tool.name) != known_by(found["name"]):
            self.problem(line, f"takes tool {number}, {found['name']}, which is no threading tool of the shop")
        elif abs(tool.included - self.thread.angle) > 0.1 or float(tool.nose_radius) > widest_nose(self.thread) + EXACT:
            self.problem(line, f"takes a tool that is too blunt, or of another angle than {self.thread.name}'s")
        if self.wanted is not None:
            self.says(line, figure_of(found["shank"], self.unit), 2.0 * self.wanted.shank, "a shank of")

    def start(self, line: PageLine, found: re.Match[str]) -> None:
        """Check how far off the end it is begun: the play of all wheels is taken up on that way."""
        room, need = figure_of(found["room"], self.unit), max(START_PITCHES * self.thread.pitch, START_LEAST)
        if room.value < need - room.half - EXACT or room.value > 10.0 * need:
            self.problem(line, f"begins {room.text} off the end", f"at least {self.show(need, room)}")

    def turning(self, line: PageLine, found: re.Match[str]) -> None:
        """Check what would be under power."""
        fastest = self.threading().fastest
        if abs(float(found["rpm"]) - fastest) > 0.5 + 1e-9:
            self.problem(line, f"says {found['rpm']} rpm", f"{fastest:.0f} rpm")
        if self.wanted is not None:
            seconds = 60.0 * (self.wanted.near - self.wanted.far) / (self.thread.pitch * fastest)
            said = figure_of(found["seconds"], "mm")
            if not said.says(seconds):
                self.problem(line, f"says {said.text} s", f"{seconds:.1f} s")

    def heads(self, line: PageLine, side: str) -> None:
        """Check the heads of the passes: cuts are given as X counts."""
        self.seen.add("heads")
        slide = self.shop.lathe.x
        right = "a side" if slide.reading != "none" and slide.habit == "radius" else "dia."
        if side != right:
            self.problem(line, f"says its cuts {side}, X counts otherwise", right)
        self.factor = 1.0 if right == "a side" else 2.0

    def row(self, line: PageLine, found: re.Match[str]) -> None:
        """Check a pass: where X stands, and the diameter that it gives."""
        tip, cut = figure_of(found["tip"], self.unit), figure_of(found["cut"], self.unit)
        if self.scale is None:
            raise ReadingError("is a pass, and the page does not say how X is set", SHOWN["X DIAL"])
        x = self.scale.place(found["x"])
        if not tip.says(x, EXACT):
            raise ReadingError(f"X at {found['x']} is not a tip at {tip.text}", self.show(x, tip))
        self.passes.append(PassRow(line.number, int(found["number"]), tip, cut, x))

    def judge_passes(self, wanted: ThreadWanted, last: PageLine) -> None:
        """Check all passes: in order, none too deep, and the last leaves the pitch diameter within its limits."""
        assert self.tool is not None
        step = step_on_diameter(self.shop.lathe.x)
        depth, most = 0.0, DEEPER * float(self.tool.deepest_cut)
        before = 2.0 * wanted.shank
        for at, row in enumerate(self.passes, 1):
            line, now = PageLine(row.line, f"pass {row.number}"), wanted.shank - row.x / 2.0
            if row.number != at:
                self.problem(line, f"pass {row.number} is out of order, or one is missing before it", f"pass {at}")
            took = self.factor / 2.0 * (before - row.tip.value)
            if abs(took - row.cut.value) > 3.0 * row.cut.half + EXACT:
                self.problem(line, f"says a cut of {row.cut.text} to {row.tip.text}", self.show(took, row.cut))
            if now < depth - EXACT:
                self.problem(line, "goes out again, and cuts nothing")
            if now - depth > most + step / 2.0 and now * now - depth * depth > most * most + step * now:
                deeper, before_it, takes = (say(d, self.unit) for d in (now - depth, depth, self.tool.deepest_cut))
                allowed = f"tool {self.tool.number} takes {takes}"
                self.problem(line, f"goes {deeper} deeper at once, from {before_it}", allowed)
            depth, before = max(now, depth), row.tip.value
        self.judge_last(wanted, step, last)

    def judge_last(self, wanted: ThreadWanted, step: float, last: PageLine) -> None:
        """Check that the last pass runs twice and leaves a pitch diameter within limits, as near as the dial shows."""
        if len(self.passes) < 2 or self.passes[-1].x != self.passes[-2].x:
            self.problem(last, "does not run its last pass a second time, which takes off what sprang away")
            return
        assert self.tool is not None
        left = pitch_diameter_at(self.thread, self.passes[-1].x / 2.0, float(self.tool.nose_radius))
        spare = step / 2.0 if 3.0 * step > wanted.most - wanted.least else 0.0
        if not wanted.least - spare - EXACT <= left <= wanted.most + spare + EXACT:
            line = PageLine(self.passes[-1].line, f"pass {self.passes[-1].number}")
            allowed = say_between(wanted.least, wanted.most, self.unit)
            self.problem(line, f"leaves a pitch diameter of {say(left, self.unit)}", allowed)

    # Measured

    def other_wires(self, line: PageLine, found: re.Match[str]) -> None:
        """Check what other wires give."""
        less = -over_wires(self.thread, 0.0, 0.0)
        each = over_wires(self.thread, 0.0, 1.0) + less
        self.says(line, figure_of(found["less"], self.unit), less, "over other wires less")
        if abs(float(found["each"]) - each) > 6e-3:
            self.problem(line, f"says {found['each']} times the wire", f"{each:.4f}")


def judge_over_wires(text: str, line: int, thread: Thread, path: str, unit: Unit) -> Iterator[Problem]:
    """Check that a MEASURE line over three wires has the thread's own wire, figure and limits."""
    found = MEASURE.fullmatch(text)
    wires = WIRES.fullmatch(found["name"]) if found is not None else None
    if found is None or wires is None or found["least"] is None:
        allowed = "MEASURE  over three wires of 0.289: 3.051 ________ (3.014 to 3.088)"
        yield problem_at(path, line, "does not say what is measured over wires", text[:200], allowed, FIX)
        return
    least, expected, most = (figure_of(found[k], unit) for k in ("least", "expected", "most"))
    for what, allowed in hold_over_wires((least, expected, most), wires, thread, unit):
        yield problem_at(path, line, what, text[:200], allowed, FIX)


def hold_over_wires(
    figures: tuple[Figure, Figure, Figure], wires: re.Match[str], thread: Thread, unit: Unit,
    *, then: bool | None = None,
) -> Iterator[tuple[str, str]]:  # fmt: skip
    """Yield what is wrong, and what is allowed, of figures read over three wires, compared with the thread's own.

    Args:
        figures: least, expected, most. wires: see WIRES; in mm where it says so, otherwise in the page's unit.
        then: of a thread that a program cuts, whether passes at full depth follow, so that more than the aim stands;
            these are depths that the dial shows, whose step is at most a third of the limits.
    """
    of_wire: Unit = "mm" if wires["mm"] else unit
    wire, own = figure_of(wires["wire"], of_wire), best_wire(thread)
    if not wire.says(own, EXACT):
        yield f"takes wires of {wire.text}", say(own, of_wire)
    limits, (least, expected, most) = pitch_limits(thread), figures
    low, aim, high = (over_wires(thread, d, own) for d in (limits.least, limits.aim, limits.most))
    step = 0.0 if then is None else (high - low) / 6
    if not (aim < expected.value < aim + thread.pitch if then else expected.says(aim, step + EXACT)):
        yield f"expects {expected.text} over its wires", say(aim, unit, 4)
    if not within_inward(least, most, (low, high), EXACT):
        yield "has other limits than the thread's over its wires", say_between(low, high, unit, 4)
