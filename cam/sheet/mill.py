"""A page of the mill, read back from its printed text, set on the mill's own dials, and cut with.

What a hand does by a row of a square is its line "path": beside the work to X and Y, down to Z, across, back past the
path and up to it, out off the tip, up. By a row of a hole: to the place, down to each depth, up. X is come to going in,
Y going away, Z going down, so that backlash shows only where X goes out.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import pairwise
from typing import Literal, cast

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, problem_at
from cam.ground.units import MM_PER_INCH
from cam.judge.driven import Drive
from cam.judge.mill import simulate_mill
from cam.judge.mill_result import MillSimulation
from cam.judge.model import Finding
from cam.judge.report import TOLERANCE, find
from cam.rs274.model import Motion, Position, Program, Turn
from cam.setting.milled import MillWork
from cam.setting.square import across_at
from cam.sheet.beside import A_SIZE, SET, SHIM, SIZES, SUMMED, TOUCH, angle_up, shim_wanted, sizes_wrong, touch_wrong
from cam.sheet.dials import (
    EITHER,
    FIGURE,
    UNITS,
    ReadingError,
    Scale,
    Unit,
    check_turn,
    check_way,
    figure_of,
    inch_divided,
    say,
)
from cam.sheet.either_form import all_lines
from cam.sheet.lines import OTHER_PAGE, RULE, PageLine, ends_page, whole_titles
from cam.sheet.mill_rounding import beyond_rounding, longer
from cam.sheet.reader import Reader, said_of
from cam.shop.machine import Slide
from cam.shop.mill import Cutter, Mill

TITLE = re.compile(r"^(?P<part>.*): (?P<what>.*), ON THE MILL\b(?:, continued)?(?: .*)?$")
BROKEN = re.compile(r"(?<=\d) (?=-?\d)|(?<=up|ss|ot|ll| Z) (?=-?\d)| (?=side \d+ up|turned \d|by hand$)")
"""A gap where two columns meet with one space alone, as a line was broken between them."""
SLIDE = re.compile(
    rf"(?P<axis>[XYZ]) (?P<kind>DIAL|READS|FIGURES) +"
    rf"(?:a (?:division|step) is (?P<division>{FIGURE})(?: (?P<unit>mm|in))?, )?"
    rf"(?:(?P<turn>\d+) a turn, )?(?P<way>rises|falls) (?:toward the tip|away from you|going down); "
    rf"(?P<reads>{EITHER}) is (?P=axis) (?P<zero>{FIGURE})(?:[,;].*)?"
)
IN, KIND = r"(?:dial |reads )?", {"DIAL": "dial", "READS": "readout", "FIGURES": "none"}
PATH = re.compile(
    rf"-- path: in to X {IN}(?P<enter>{EITHER}), Y {IN}(?P<side>{EITHER}); Z to the row's; "
    rf"across to Y {IN}(?P<far>{EITHER})"
    rf"(?: on a layer's last path alone)?; back past (?:Y {IN}(?P<along>{EITHER})|the row's Y) and up to it; lock Y; "
    rf"out to X {IN}(?P<out>{EITHER}); Z up"
)
PLACE = re.compile(rf"-- place: X {IN}(?P<x>{EITHER}), Y {IN}(?P<y>{EITHER})(?:;.*)?")
TOOL = re.compile(
    rf"-- T(?P<number>\d{{1,2}}), (?P<name>.*?); about (?P<rpm>\d+) rpm; "
    rf"feed (?P<feed>{FIGURE}) (?P<of>.*? a turn|a minute)(?:;.*)?"
)
OUT = re.compile(rf"drawn out to clear the chips at Z ?{IN}(?P<places>{EITHER}(?:, {EITHER})*)(?:;.*)?")
ANGLE = re.compile(r"ANGLE +(?P<angle>\d+(?:\.\d+)?) deg clockwise from the middle of flat 1\b.*")
BELOW = re.compile(rf"BELOW +(?P<below>{FIGURE}), .*")
MEASURE = re.compile(rf"MEASURE +(?P<what>.+?)(?: at {FIGURE})?: (?P<expected>{FIGURE}) (?:_{{4,}}|is ).*")
FLAT = re.compile(r"flat (?P<flat>\d+), .*?(?:path (?P<path>\d+) of (?P<paths>\d+))?$")
HEADS = {
    "pass": "number", "cut": "what", "turn": "turn", "left": "left", "below": "below",
    "Y dial": "y", "Y reads": "y", "Y": "y", "Z dial": "z", "Z reads": "z", "Z": "z",
}  # fmt: skip
"""Each head of the table's columns, with what stands in the column."""
ROUNDED = 2e-3
"""How far a printed zero may be off its place, mm."""
NAME_MOST = 40
"""The longest name of a tool that is held against the page's, which may shorten a longer one, in characters."""
LAST: dict[Unit, float] = {"mm": 1e-3, "in": 1e-4 * MM_PER_INCH}
"""The last digit of a figure that a micrometer reads, mm; zeros at the end of one may not be printed."""
ASIDE = 0.5
"""How far a hand goes past a path before it comes up to it, mm."""
ABOVE = 10.0
"""How far above everything a hand lifts the cutter, mm."""
SPOT = 0.4
"""Least width of a spot, in diameters of the drill that it is to lead; common practice, no source."""
PECK = 1.25
"""How far a drill goes between two times out, in its diameters; common practice, no source."""
FIX = "print the page anew, or correct this line"


class MillRow(Row):
    """A row as read: line of the text, pass, what it does, height of the cutter's end, mm, and the flat or 0."""

    line: int
    number: int
    what: str
    z: float
    flat: int


@frozen
class MillSheetVerdict:
    """The judgement on a page of the mill.

    Attributes:
        program: the motions that a hand makes by the page. simulation: what they cut. rows: number of rows cut by.
            by_program: whether the page leaves its rows to the program. measured: what its MEASURE lines say,
            name and figure, in order.
        problems: sorted; none if one can work by the page.
    """

    program: Program
    simulation: MillSimulation
    rows: tuple[MillRow, ...]
    by_program: bool
    measured: tuple[str, ...]
    problems: tuple[Problem, ...]


def is_mill_sheet(text: str) -> bool:
    """Tell whether a text holds a page of the mill."""
    return any(TITLE.match(line.text.strip(f" {OTHER_PAGE}")) for line in whole_titles(all_lines(text)))


def judge_mill_sheet(
    text: str, work: MillWork, mill: Mill, cutters: Sequence[Cutter], *, name: str, path: str, unit: Unit,
    drive: Drive | None,
) -> MillSheetVerdict:  # fmt: skip
    """Judge one page of the mill by its printed text alone.

    Args:
        text: text of the page, or of all pages; plain, or of the print form. work: what is wanted.
        name: the work's, as its title has it. path: path of the text. unit: unit of the text's figures.
        drive: spindle, feeds and the material's speeds; None checks none of them.
    """
    reader = _MillReader(work, mill, cutters, path, unit)
    reader.read(_lines_of(text, name), name)
    program = Program(
        motions=tuple(reader.motions), problems=(), lines=text.count("\n") + 1, comments=(), turns=tuple(reader.turns),
        unit=unit,
    )
    across, step = reader.step("X"), reader.step("Z")
    clearance = max(float(mill.contact_clearance) - across, 0.0)
    tolerance = TOLERANCE + (step if work.square is not None else max(step, across)) / 2
    long, short = (
        simulate_mill(program, longer(work, by), cutters, clearance=clearance, tolerance=tolerance, drive=drive)
        for by in (across / 2 + TOLERANCE, -across / 2 - TOLERANCE)
    )
    problems = reader.problems
    if not problems:
        problems = [*reader.not_measured()]
        if not reader.by_program:
            wrong, shown = beyond_rounding(long, short, step, cutters), text.splitlines()
            problems += [said_of(f, path, shown, FIX) for f in (*wrong, *_spots(program, work, cutters))]
    return MillSheetVerdict(
        program=program, simulation=long, rows=tuple(reader.rows), by_program=reader.by_program,
        measured=tuple(f"{what}: {figure}" for what, figure in reader.measured),
        problems=tuple(sorted(set(problems))),
    )  # fmt: skip


def _spots(program: Program, work: MillWork, cutters: Sequence[Cutter]) -> Iterator[Finding]:
    """Find spots too small to lead the drill."""
    spotting = {c.number: c for c in cutters if c.kind == "spot drill"}
    for m in program.motions:
        cutter, section = spotting.get(m.tool), work.section_at(m.end.x)
        if cutter is None or section is None or m.kind != "line" or not work.holes:
            continue
        hole = work.holes[0]
        wide = 2.0 * (section.top - hole.flat_depth - m.end.z) * cutter.radius / cutter.point_length
        if wide < SPOT * hole.diameter:
            drilled = say(hole.diameter, program.unit, 2)
            what = f"makes a spot {say(wide, program.unit, 2)} wide for a drill of {drilled}"
            yield find(m.line, "spot", what, tool=m.tool)


def _lines_of(text: str, name: str) -> list[PageLine]:
    """Return the lines of one work's page."""
    lines, found, inside = whole_titles(all_lines(text)), list[PageLine](), False
    for at, line in enumerate(lines):
        bare = line.text.strip(f" {OTHER_PAGE}")
        title = TITLE.match(bare)
        if title is not None:
            inside = _letters(title["what"]) == _letters(name)
        elif ends_page(lines, at):
            inside = False
        elif inside and not RULE.match(bare):
            found.append(line)
    return found


def _letters(name: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", name.upper())


def _scale_of(found: re.Match[str], slide: Slide, sign: float, zero: float) -> Scale:
    """Return the scale of a slide with a dial or a readout; sign: of the way in which it counts along the axis."""
    axis, own = found["axis"], MM_PER_INCH if inch_divided(slide) else 1.0
    check_way(found["way"], slide, axis)
    division = figure_of(found["division"] or "", "mm")
    if abs(division.value * own - slide.division) > 1e-6:
        raise ReadingError(f"the {axis} dial has another division in the shop file", slide.division.text)
    kind: Literal["dial", "readout"] = "dial" if slide.reading == "dial" else "readout"
    per_turn = check_turn(found["turn"], slide, axis) if kind == "dial" else 1
    step = sign * float(slide.division)
    scale = Scale("Z", kind, step, per_turn, zero, 0.0, own)
    return scale._replace(reads=(scale.place(found["reads"]) - zero) / step)


class _MillReader(Reader):
    """Takes one line after another, and makes a hand's motions from its rows."""

    def __init__(self, work: MillWork, mill: Mill, cutters: Sequence[Cutter], path: str, unit: Unit) -> None:
        super().__init__(path, unit, FIX)
        self.work, self.mill = work, mill
        self.cutters = {c.number: c for c in cutters}
        self.scales: dict[str, Scale] = {}
        self.unset: list[str] = []  # slides of which the page has yet to say to what reading they are set
        self.columns: tuple[str, ...] = ()
        self.path_words: re.Match[str] | None = None
        self.place_words: re.Match[str] | None = None
        self.tool, self.rpm, self.feed, self.sized = 0, 0.0, 0.0, work.square is None
        self.angle = work.holes[0].angle if work.holes else 0.0
        self.tipped = mill.square_by == "tipped block" and work.square is not None and work.square.slope > 0
        self.rows: list[MillRow] = []
        self.numbers: list[int] = []
        self.heights: dict[int, float] = {}
        self.paths: dict[tuple[str | None, str | None, bool], str] = {}  # Y of each path, in layers and in the finish
        self.touch: float | None = None  # X at which tools are touched, mm
        self.used: list[tuple[Cutter, float]] = []  # each tool of a hole, and Z of its end at its lowest
        self.comes_out = math.nan  # how far below a hole that goes through the drill's point is to come out, mm
        self.motions: list[Motion] = []
        self.turns: list[Turn] = []
        self.high = work.highest + ABOVE
        self.here = Position(max(s.end for s in work.sections) + 100.0, 0.0, self.high)
        self.waiting: PageLine | None = None
        self.measured: list[tuple[str, str]] = []
        self.pending: tuple[PageLine, dict[str, str]] | None = None

    @property
    def by_program(self) -> bool:
        """Tell whether no row is set by hand."""
        return bool(self.numbers) and not self.rows and not self.problems

    def slide(self, axis: str) -> Slide | None:
        """Return one of the mill's slides."""
        return {"X": self.mill.x, "Y": self.mill.y, "Z": self.mill.z}[axis]

    def step(self, axis: str) -> float:
        """Return a division of a slide that is read, mm; a hundredth for any other."""
        slide = self.slide(axis)
        return 0.01 if slide is None or slide.reading == "none" else float(slide.division)

    def read(self, lines: Sequence[PageLine], name: str) -> None:
        """Read a page; name: of the work."""
        for line in lines:
            self.attempt(line, partial(self.take, line))
        if lines:
            self.finish(lines[-1])
        else:
            self.problems.append(problem_at(self.path, 0, f'has no page of "{name}" on the mill'))

    def take(self, line: PageLine) -> None:
        """Act on a line, or pass it over."""
        text = line.text.strip()
        if SLIDE.match(text) or re.match(r"[XYZ] (?:DIAL|READS|FIGURES)\b", text):
            self.read_slide(text)
        elif said := next(((act, found) for form, act in SAID.items() if (found := form.fullmatch(text))), None):
            said[0](self, line, said[1])
        elif tuple(line.cells)[:2] == ("pass", "cut"):
            self.columns = tuple(HEADS.get(cell, "") for cell in line.cells)
        elif self.columns:
            self.in_table(line, text)

    def hold_shim(self, line: PageLine, said: re.Match[str]) -> None:
        """Check that a tipped block's shim gives the taper that is asked, to the last digit of its page."""
        self.tipped = False
        slope = self.work.square.slope if self.work.square else 0.0
        if allowed := shim_wanted(said, slope, cast("Unit", said["unit"] or self.unit)):
            self.problem(line, "a shim that gives another taper", allowed)

    def hold_zero(self, line: PageLine, said: re.Match[str]) -> None:
        """Check that the slide that the page named last is set to the reading that its place has."""
        axis = self.unset.pop() if self.unset else ""
        if axis and abs(self.at(axis, said["reads"]) - self.scales[axis].zero) > SUMMED:
            self.problem(line, f"sets {axis} to another reading than its place has")

    def hold_touch(self, line: PageLine, said: re.Match[str]) -> None:
        """Note at which X tools are touched, and check that it is on the top line."""
        self.touch = math.nan if said["x"] is None else self.at("X", said["x"])
        if said["y"] and abs(self.at("Y", said["y"])) > self.step("Y"):
            self.problem(line, "touches tools beside the top line of the round")

    def hold_sizes(self, line: PageLine, said: re.Match[str]) -> None:
        """Check the size at a station, and its limits."""
        self.sized = True
        for what, allowed in sizes_wrong(said, self.work, self.mill.crown, self.unit):
            self.problem(line, what, allowed)

    def note_place(self, line: PageLine, said: re.Match[str]) -> None:
        """Note the angle of a hole, or how far below it its drill comes out."""
        if said.re is ANGLE:
            self.angle = float(said["angle"])
        else:
            self.comes_out = figure_of(said["below"], self.unit).value

    def in_table(self, line: PageLine, text: str) -> None:
        """Act on a line below the heads of the rows."""
        if out := OUT.fullmatch(text):
            self.cut_pending(out["places"].split(", "))
            return
        if text.startswith("--"):
            self.band(line, text)
            return
        if measure := MEASURE.fullmatch(text):
            self.cut_pending()
            self.measure(line, measure["what"], measure["expected"])
            return
        if text.startswith("MEASURE"):
            self.problem(line, "says no figure to measure", "MEASURE  across flats 1 and 3 at 10.00: 4.32 ________")
            return
        cells = re.sub(r"^\[[ xX]?\] +", "", text)
        row = re.split(r" {2,}", BROKEN.sub("  ", cells))
        if self.waiting is not None:
            row, line = [*self.waiting.cells, *row], self.waiting
        if re.fullmatch(r"\d{1,3}", row[0]):
            self.waiting = None
            self.row(line, row)

    def band(self, line: PageLine, text: str) -> None:
        """Read what holds for the rows that follow."""
        self.cut_pending()
        if found := TOOL.fullmatch(text):
            self.tool, self.rpm = int(found["number"]), float(found["rpm"])
            per = {"mm a turn": self.rpm, "thou a turn": self.rpm * UNITS["thou"], "a minute": UNITS[self.unit]}
            self.feed = float(found["feed"]) * per.get(found["of"], 0.0)
            self.check_tool(line, found["name"])
        elif text.startswith("-- path"):
            self.path_words = PATH.fullmatch(text)
            if self.path_words is None:
                self.problem(line, "does not say how the cutter goes")
        elif text.startswith("-- place"):
            self.place_words = PLACE.fullmatch(text)
            if self.place_words is None:
                self.problem(line, "does not say where the hole is")

    def check_tool(self, line: PageLine, name: str) -> None:
        """Check that a tool has the name that the shop file gives to its number, and X is zero where it touches."""
        cutter = self.cutters.get(self.tool)
        told = "" if cutter is None else cutter.name
        if told.isascii() and len(told) <= NAME_MOST and _letters(told) != _letters(name):
            self.problem(line, f"no tool {self.tool} of the shop has that name", told)
        elif cutter is not None and "X" in self.scales:
            end, square = 0.0, self.work.square
            if square is not None:
                end = self.work.frame.to_machine(square.length, 0.0)[0] + cutter.radius
            self.check_zero(line, end)

    def check_zero(self, line: PageLine, place: float) -> None:
        """Check that X is zero at the face of a hole's section, or where the cutter's side touches the end face."""
        if abs(self.scales["X"].zero - place) > ROUNDED:
            self.problem(line, "counts X from where no zero is", f"{place / UNITS[self.unit]:.4f}")

    # Dials

    def read_slide(self, text: str) -> None:
        """Read how one slide is set, and compare it with the shop file."""
        found = SLIDE.fullmatch(text)
        if found is None:
            raise ReadingError("does not say how a slide is set")
        axis, slide = found["axis"], self.slide(found["axis"])
        reading = "none" if slide is None else slide.reading
        if KIND[found["kind"]] != reading:
            raise ReadingError(f"the shop file has another {axis} slide", f'reading = "{reading}"')
        sign = -1.0 if (found["way"] == "rises") is (axis == "Z") else 1.0
        zero = figure_of(found["zero"], self.unit).value
        if slide is None or reading == "none":
            self.scales[axis] = Scale("Z", "figures", sign, 1, zero, 0.0, UNITS[self.unit])
        else:
            self.scales[axis] = _scale_of(found, slide, sign, zero)
        self.unset.append(axis)

    def at(self, axis: str, text: str) -> float:
        """Return the place that a reading gives, mm."""
        scale = self.scales.get(axis)
        if scale is None:
            raise ReadingError(f"is read on a slide of which the page says nothing: {axis}")
        if scale.kind == "figures":
            return scale.zero + scale.step * figure_of(text, self.unit).value
        return scale.place(text)

    # Rows

    def row(self, line: PageLine, cells: list[str]) -> None:
        """Read one row: the columns that there are, with Y empty where a tool goes down in the middle."""
        self.cut_pending()
        if len(cells) == 2 and len(self.columns) > 3:
            self.waiting = PageLine(line.number, "  ".join(cells))
            return
        self.numbers.append(int(cells[0]))
        if cells[-1] == "by hand":
            return
        columns = self.columns_of(len(cells))
        if len(cells) != len(columns):
            self.problem(line, "has not as many columns as the heads above it")
            return
        said = dict(zip(columns, cells, strict=True))
        if self.work.square is not None:
            self.flat_row(line, said)
        elif "below" in said:
            self.pending = (line, said)

    def columns_of(self, count: int) -> list[str]:
        """Return the columns that a row of so many cells has: none for Z set by figures, Y where there is room."""
        bare = "Z" in self.scales and self.scales["Z"].kind == "figures"
        columns = [c for c in self.columns if not (bare and c == "z")]
        return [c for c in columns if c != "y"] if count == len(columns) - 1 else columns

    def height(self, said: dict[str, str]) -> float:
        """Return the height of the cutter's end over the axis that a row sets, mm."""
        below = figure_of(said["below"], self.unit)
        if "z" not in said:
            return self.at("Z", said["below"])
        height = self.at("Z", said["z"])
        if abs(self.scales["Z"].zero - height - below.value) > below.half + 1e-6:
            raise ReadingError(f"{said['z']} on the Z dial is not {said['below']} below the touch")
        return height

    def flat_row(self, line: PageLine, said: dict[str, str]) -> None:
        """Make one pass on a flat."""
        square, flat = self.work.square, FLAT.fullmatch(said["what"])
        assert square is not None
        if flat is None or not 1 <= int(flat["flat"]) <= square.flats:
            raise ReadingError("names no flat of this work")
        angle = 360.0 * (int(flat["flat"]) - 1) / square.flats
        if not abs(angle_up(said.get("turn", ""), square) - angle) <= 0.01:
            raise ReadingError(f"does not bring flat {flat['flat']} to the top", f"turned {angle:g}")
        if "below" not in said:
            return
        if self.path_words is None:
            raise ReadingError("is set by hand, and no line says how the cutter goes", "-- path: in to X dial 0+05")
        path = (flat["path"], flat["paths"], "finish" in said["what"])
        if self.paths.setdefault(path, said.get("y", "")) != said.get("y", ""):
            raise ReadingError("sets another Y than the rows of this path above", self.paths[path])
        z = self.height(said)
        left = figure_of(said["left"], self.unit)
        stands = z / self.work.frame.cos - across_at(square, square.station) / 2
        if abs(stands - left.value) > left.half + LAST[self.unit]:
            raise ReadingError(f"leaves {stands / UNITS[self.unit]:.4f} on the flat by its Z")
        self.turns.append(Turn(line.number, angle, False))
        self.heights[int(flat["flat"])] = z
        self.rows.append(MillRow(line.number, int(said["number"]), said["what"], z, int(flat["flat"])))
        self.cut_flat(line.number, said, self.path_words, z, last=flat["path"] == flat["paths"])

    def cut_flat(self, line: int, said: dict[str, str], words: re.Match[str], z: float, *, last: bool) -> None:
        """Make a hand's motions by a row of a square; words: of its path."""
        enter, out = self.at("X", words["enter"]), self.at("X", words["out"])
        side, far = self.at("Y", words["side"]), self.at("Y", words["far"])
        along = self.at("Y", words["along"] or said.get("y", ""))
        lost = float(self.mill.x.backlash) if self.mill.x is not None else 0.0
        for to in ({"z": self.high}, {"x": enter}, {"y": side}, {"z": z}):
            self.go(line, "rapid", **to)
        for to in ({"y": far} if last else {}, {"y": along - ASIDE}, {"y": along}, {"x": out - lost}):
            self.go(line, "line", **to)
        self.go(line, "rapid", z=self.high)

    def cut_pending(self, drawn_out: Sequence[str] = ()) -> None:
        """Make a hand's motions by a row of a hole, once it is known whether the tool is drawn out on the way."""
        if self.pending is not None:
            (line, said), self.pending = self.pending, None
            self.attempt(line, partial(self.cut_hole, line, said, drawn_out))

    def cut_hole(self, line: PageLine, said: dict[str, str], drawn_out: Sequence[str]) -> None:
        """Use one tool in a hole."""
        if self.place_words is None:
            raise ReadingError("is set by hand, and no line says where the hole is", "-- place: X dial 0+00, Y ...")
        x, y, z = self.at("X", self.place_words["x"]), self.at("Y", self.place_words["y"]), self.height(said)
        self.check_zeros(x)
        if said["what"] == "drill":
            self.check_point(x, figure_of(said["below"], self.unit).value)
        if not self.turns:
            self.turns.append(Turn(line.number, self.angle, False))
        ends = re.fullmatch(rf"({EITHER}) to ({EITHER})", said.get("y", ""))
        begin, end = (self.at("Y", ends[1]), self.at("Y", ends[2])) if ends else (y, y)
        self.rows.append(MillRow(line.number, int(said["number"]), said["what"], z, 0))
        self.count_use(z)
        if wrong := touch_wrong(self.touch, self.used, self.work, x, self.step("X"), self.unit):
            self.problem(line, wrong)
        self.go(line.number, "rapid", z=self.high)
        self.go(line.number, "rapid", x=x, y=begin)
        for deep in (*self.drawn(drawn_out, z), z):
            self.go(line.number, "rapid" if ends else "line", z=deep)
            self.go(line.number, "line", y=end)
            self.go(line.number, "rapid", z=self.high)

    def count_use(self, z: float) -> None:
        """Count a tool's use down to z: a flat's next layer is cut by the tool that was touched for the one before."""
        if (cutter := self.cutters.get(self.tool)) is None:
            return
        if self.used and self.used[-1][0] is cutter:
            z = min(z, self.used.pop()[1])
        self.used.append((cutter, z))

    def drawn(self, out: Sequence[str], z: float) -> list[float]:
        """Return the depths at which a tool is drawn out, on the way to z: each about a diameter further in."""
        depths = [self.at("Z", text) for text in out]
        for before, after in pairwise([*depths, z]):
            if not 0.0 < before - after <= PECK * self.work.holes[0].diameter + self.step("Z"):
                what = "is drawn out too seldom, or at depths that do not grow"
                raise ReadingError(what, "about a diameter at a time")
        return depths

    def check_zeros(self, x: float) -> None:
        """Check that Z is zero on top of the round where the hole is, and Y on its middle, to the last digit."""
        section = self.work.section_at(x)
        for axis, place in (("Y", 0.0), ("Z", section.top if section is not None else math.inf)):
            if abs(self.scales[axis].zero - place) > ROUNDED:
                raise ReadingError(f"counts {axis} from where no zero is", f"{place / UNITS[self.unit]:.4f}")

    def check_point(self, x: float, below: float) -> None:
        """Check that a drill that goes through comes out as far below as the page says that nothing may lie."""
        section = self.work.section_at(x)
        out = below - 2 * section.top if section is not None else math.nan
        if abs(out - self.comes_out) > LAST[self.unit] + SUMMED:
            raise ReadingError(f"has its point come out {out / UNITS[self.unit]:.4f} below, not as BELOW says")

    def go(self, line: int, kind: Literal["rapid", "line"], **to: float) -> None:
        """Make one motion to a place, the other axes as they stand."""
        place = Position(*(to.get(axis, now) for axis, now in zip("xyz", self.here, strict=True)))
        if place != self.here:
            self.motions.append(
                Motion(kind, line, self.here, place, feed=self.feed, rpm=self.rpm, spindle=1, tool=self.tool,
                       offset=self.tool, system=self.tool)
            )  # fmt: skip
        self.here = place

    # Measures and order

    def measure(self, line: PageLine, what: str, expected: str) -> None:
        """Compare what a MEASURE line expects with what the rows above it leave."""
        square, figure = self.work.square, figure_of(expected, self.unit)
        self.measured.append((what, expected))
        if square is None or not self.rows:
            return
        flats = [int(n) for n in re.findall(r"\d+", what)]
        halves = [self.heights.get(n, square.blank / 2) / self.work.frame.cos for n in flats]
        if "round" in what:
            halves.append(square.blank / 2)
        elif what == "mean of the pairs":
            halves = [2 * sum(self.heights.values()) / max(len(self.heights), 1) / self.work.frame.cos]
        if abs(sum(halves) - figure.value) > LAST[self.unit] / 2 + SUMMED:
            raise ReadingError(f"is not what the rows above leave, {sum(halves) / UNITS[self.unit]:.4f}")

    def not_measured(self) -> Iterator[Problem]:
        """Find what no line names of a square: sizes; by hand each first flat to the round, each pair, their mean."""
        square = self.work.square
        if not self.sized:
            yield problem_at(self.path, 0, "has no sizes as milled", allowed=A_SIZE, fix=FIX)
        if square is None or not self.rows:
            return
        half = square.flats // 2
        wanted = [f"flat {n} to round" for n in range(1, half + 1)]
        wanted += [*(f"across flats {n} and {n + half}" for n in range(1, half + 1)), "mean of the pairs"]
        for name in wanted:
            if name not in dict(self.measured):
                allowed = "a line MEASURE"
                yield problem_at(self.path, self.rows[0].line, f"does not measure {name}", allowed=allowed, fix=FIX)

    def finish(self, line: PageLine) -> None:
        """Check what can be said only of the page as a whole."""
        self.cut_pending()
        for axis in self.unset:
            self.problem(line, f"does not say to what reading {axis} is set", "Set it to 4+00 ...")
        if not self.numbers:
            self.problem(line, "has no rows of passes", "heads: pass  cut  ...")
        if self.tipped:
            self.problem(line, "says no shim that tips the block", "SHIM  0.13, 49.66 from the edge, under ...")
        for before, number in zip([0, *self.numbers], self.numbers, strict=False):
            if number != before + 1:
                self.problem(line, f"pass {number} follows pass {before}: a row is missing, twice or out of order")
        if self.work.square is not None and self.rows and len(self.rows) != len(self.numbers):
            self.problem(line, "some rows are set by hand and some are not")


SAID = {
    ANGLE: _MillReader.note_place, BELOW: _MillReader.note_place, SHIM: _MillReader.hold_shim,
    SET: _MillReader.hold_zero, TOUCH: _MillReader.hold_touch, SIZES: _MillReader.hold_sizes,
}  # fmt: skip
"""Each line that is no row, with what is done about it."""
