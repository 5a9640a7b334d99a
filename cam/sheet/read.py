"""From the printed text of a setting's page to what it tells a hand to do, by a strict grammar (see DEVELOPERS.md).

Lines that no hand acts on are for the eye and are passed over. A line that should be acted on and cannot is a problem,
and all of them are told at once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from cam.ground.figures import LEAST
from cam.ground.frozen import Row
from cam.ground.letters import known_by
from cam.ground.problem import Problem, problem_at
from cam.setting.model import Setting
from cam.sheet.dials import EITHER, FIGURE, FORMS, SHOWN, ReadingError, Scale, Unit, figure_of, read_scale, say
from cam.sheet.either_form import lines_of_setting
from cam.sheet.limits import cone_spare, show
from cam.sheet.lines import TITLE, PageLine
from cam.sheet.model import BandRead, CutRead, Figure, MeasureLine, Other, PointsRow, Sheet, Step
from cam.sheet.reader import Reader
from cam.shop.model import Shop

COLUMNS = {
    "pass": "number", "cut": "what", "was": "was", "leaves": "leaves", "X dial": "x", "X reads": "x", "X in": "x",
    "from Z": "start", "to Z": "stop", "Z dial": "z", "Z reads": "z", "slips": "z", "N": "n",
}  # fmt: skip
"""Each head of the table's columns, with what stands in the column."""
KIND_OF = {"X dial": "dial", "X reads": "readout", "X in": "in", "Z dial": "dial", "Z reads": "readout",
           "slips": "slips"}  # fmt: skip
TICK = re.compile(r"^\s*\[[ xX]\]\s+")
NUMBERED = re.compile(r"\d{1,4}")
PROGRAM_LINE = re.compile(r"N\d{1,6}")
MEASURE = re.compile(
    rf"MEASURE +(?P<past>shoulder past )?(?P<name>.+?): (?P<expected>{FIGURE}) (?:_{{4,}}|is [^(;]+?)"
    rf"(?: \((?P<then>then )?(?P<least>{FIGURE}) to (?P<most>{FIGURE})\))?(?:; at Z (?P<at>{FIGURE}))?"
    r"(?:;.*? in (?P<rows>\d{1,4}(?:, \d{1,4})*))?(?:;.*)?"
)
POINTS = re.compile(rf"(?:(?P<count>\d{{1,3}}) )?points?, (?P<heads>[^/,:]+ / [^/,:]+): (?P<pairs>{EITHER} / {EITHER}"
                    rf"(?:, {EITHER} / {EITHER})*)(?P<rest>;.*)?")  # fmt: skip
SET_OVER = re.compile(rf"set over (?P<angle>{FIGURE}) degrees, from (?P<heads>[^/,]+ / [^/, ]+) "
                      rf"(?P<from>{EITHER} / {EITHER}) to (?P<to>{EITHER} / {EITHER})"
                      rf"; top slide (?P<travel>{FIGURE})(?P<rest>;.*)?")  # fmt: skip
PLACES = re.compile(r"(?:\d{1,3} )?points?,|set over ")
RIDGES = re.compile(rf"ridges (?:of )?({FIGURE})")
BAND = {
    "belt": re.compile(rf"belt (?P<name>.+?),? about (?P<rpm>{FIGURE}) rpm\b.*"),
    "spindle": re.compile(rf"spindle (?P<rpm>{FIGURE}) rpm\b.*"),
    "feed": re.compile(rf"feed (?P<feed>{FIGURE}) (?P<unit>mm|thou) a turn\b.*"),
    "tool": re.compile(r"tool (?P<tool>\d{1,3}): (?P<words>.+)"),
}
X_OFF = re.compile(rf"X leaves (?P<off>{FIGURE}) (?P<way>more|less) than it reads")
Z_OFF = re.compile(rf"Z stops (?P<off>{FIGURE}) nearer the (?P<way>tailstock|headstock) than it reads")
TURN = re.compile(rf"Z turn in ({FIGURE}) s")
SLOWLY = "X in as slowly as a cut"
UNMEASURED = re.compile(r"(?:-- |; )([^;]+) cannot be measured before the end: ")
TOOL = re.compile(r"TOOL (?P<tool>\d{1,3}) +(?P<words>\S.*)")
COARSE = re.compile(
    r"(?i)(?:dial coarser than limits  |[-!* ]*dial coarser than the limits of )(?P<names>[^:]+)(?::.*)?"
)
BY_DIAL = re.compile(r"FROM BY (?:DIAL|READOUT|SLIPS) +(?P<pairs>.+?)(?:; not by eye)?")
HEAD = re.compile(r"[A-Z][A-Z ,'-]+")
MOST_LINES = 20_000
MOST_RIDGE = 0.25
"""Height of what may be left for a stone between two points, mm; no source."""
FIX = "print the page again, or put the line right as DEVELOPERS.md has it under The sheet's grammar"


def read_sheet(text: str, setting: Setting, shop: Shop, *, path: str = "sheet", unit: Unit = "mm") -> Sheet:
    """Read one setting's page out of a text, plain or of the print form.

    Args:
        text: text of a page, or of all pages.
        setting: setting whose page is wanted. shop: its dials, readouts and stops turn readings into places.
        path: path of the text, for reports. unit: unit of the page's figures, as in the part file.
    Returns:
        What it says; problems in the text are in it and not raised.
    """
    reader = _PageReader(setting, shop, path, unit)
    lines = lines_of_setting(text, setting.number)
    if not lines:
        what = f"has no page of setting {setting.number}"
        title = f"a title line, PART: SETTING {setting.number} of 2, {setting.end} END"
        reader.problems.append(problem_at(path, 0, what, allowed=title))
    elif len(lines) > MOST_LINES:
        reader.problem(lines[0], "is no page: it has too many lines", f"at most {MOST_LINES}")
    else:
        for line in lines:
            reader.attempt(line, partial(reader.take, line))
        reader.finish(lines[-1])
    return reader.sheet(text.count("\n") + 1)


def diameters_standing(setting: Setting) -> tuple[float, ...]:
    """Diameters of the cylinders that stand before the setting, mm, greatest first."""
    flat = {2.0 * s.start.x for s in setting.stock if s.start.x == s.end.x and s.start.x > 0.0}
    return tuple(sorted(flat, reverse=True))


class _Points(Row):
    """A row that waits for its points."""

    line: PageLine
    number: int
    what: str


class _Off(Row):
    """By how much the next row leaves more than X reads, and stops nearer the tailstock than Z does; None: not said."""

    x: Figure | None
    z: Figure | None


NO_OFF = _Off(None, None)


class _PageReader(Reader):
    """Reads a page line by line."""

    def __init__(self, setting: Setting, shop: Shop, path: str, unit: Unit) -> None:
        super().__init__(path, unit, FIX)
        self.setting, self.shop = setting, shop
        self.steps: list[Step] = []
        self.coarse: list[str] = []
        self.unmeasured: list[str] = []
        self.scales: dict[str, Scale] = {}
        self.begins: dict[str, str] = {}
        self.columns: tuple[str, ...] = ()
        self.tool = 0
        self.listed: dict[int, PageLine] = {}
        self.open: _Points | None = None
        self.ended = False
        self.off = NO_OFF

    def take(self, line: PageLine) -> None:
        """Act on a line, or pass it over."""
        text = line.text.strip()
        title = TITLE.match(text)
        if title is not None:
            if title["end"].upper() != self.setting.end:
                raise ReadingError("is the other end's page", f"{self.setting.end} END")
        elif self.columns and not self.ended:
            self.in_table(line, text)
        else:
            self.above(line, text)

    def above(self, line: PageLine, text: str) -> None:
        """Act on a line before the table, or after it."""
        if text.startswith(tuple(FORMS)):
            self.dial(line, text)
        elif (found := TOOL.fullmatch(text)) is not None:
            self.tool = self.tool or int(found["tool"])
            self.listed[int(found["tool"])] = line
            self.check_tool(int(found["tool"]), line)
        elif (found := COARSE.fullmatch(text)) is not None:
            names = re.split(r"[;,] ", found["names"])
            self.coarse += [name.strip().removeprefix("diameter of ") for name in names]
        elif (found := BY_DIAL.fullmatch(text)) is not None:
            self.from_by_dial(found["pairs"])
        elif line.cells[:2] == ["pass", "cut"]:
            self.heads(line)
        elif text.startswith(("MEASURE  ", "-- ")) or PLACES.match(text):
            raise ReadingError("stands outside the table of passes", "after its heads, among its rows")

    def dial(self, line: PageLine, text: str) -> None:
        """Read how a slide is set."""
        axis = text[0]
        if axis in self.scales:
            raise ReadingError(f"says again how {axis} is set", "once a page")
        slide, known = (self.shop.lathe.x, diameters_standing(self.setting))
        if axis == "Z":
            slide, known = self.shop.lathe.z, (0.0, self.setting.end_z, self.setting.stock_end_z)
        self.scales[axis] = read_scale(text, slide, self.unit, known)

    def from_by_dial(self, text: str) -> None:
        """Read the starts that are too near to be judged by eye, and where the dial stands there."""
        for pair in text.split(","):
            figure, _, reading = (part.strip() for part in pair.partition(":"))
            figure_of(figure, self.unit)
            self.begins[figure] = reading

    def heads(self, line: PageLine) -> None:
        """Read the heads of the table."""
        heads = line.cells
        unknown = [h for h in heads if h not in COLUMNS]
        names = tuple(COLUMNS.get(h, "") for h in heads)
        missing = {"number", "what", "was", "leaves", "start", "stop"} - set(names)
        if unknown or missing or len(set(names)) != len(names):
            allowed = "pass  cut  was  leaves  X dial  from Z  to Z  Z dial"
            raise ReadingError("are no heads of a table of passes", allowed)
        for axis, column, reading in (("X", "x", self.shop.lathe.x.reading), ("Z", "z", self.shop.lathe.z.reading)):
            head = next((h for h in heads if COLUMNS[h] == column), "")
            self.check_head(axis, head, reading)
        self.columns = names

    def check_head(self, axis: str, head: str, reading: str) -> None:
        """Check that a column of readings has been told how it reads, and that a dial has its column."""
        scale = self.scales.get(axis)
        by_program = self.shop.lathe.control.kind != "hand" and reading == "none"
        if scale is None and (head or not by_program):
            bare = "X IN" if axis == "X" else "Z SLIPS"
            form = {"dial": f"{axis} DIAL", "readout": f"{axis} READS"}.get(reading, bare)
            raise ReadingError(f"does not say, above the table, how {axis} is set", SHOWN[form])
        if scale is not None and KIND_OF.get(head) != scale.kind:
            raise ReadingError(f"has no column for what {axis} is set to", f"a column for its {scale.kind}")

    def in_table(self, line: PageLine, text: str) -> None:
        """Act on a line among the rows."""
        cells = PageLine(line.number, TICK.sub("", line.text)).cells
        if cells[:2] == ["pass", "cut"]:
            if tuple(COLUMNS.get(h, "") for h in cells) != self.columns:
                raise ReadingError("has other columns than the table began with")
        elif NUMBERED.fullmatch(cells[0]):
            self.row(line, cells)
        elif TICK.match(line.text):
            raise ReadingError("is a row without its number", "[ ] number  what ...")
        elif text.startswith(tuple(FORMS)):
            raise ReadingError("says within the table how a slide is set", "above the table")
        elif HEAD.fullmatch(text) and not text.startswith("MEASURE "):
            self.ended = True
        else:
            self.between_rows(line, text)

    def between_rows(self, line: PageLine, text: str) -> None:
        """Act on a line that belongs to the rows around it, or pass it over."""
        if PLACES.match(text):
            self.points(line, text)
        elif text.startswith("-- "):
            self.band(line, text)
        elif text.startswith("MEASURE "):
            self.measure(line, text)

    def row(self, line: PageLine, cells: list[str]) -> None:
        """Read a row that is ticked when it is done."""
        self.close_points()
        off, self.off = self.off, NO_OFF
        number, rest = int(cells[0]), cells[1:]
        if rest and PROGRAM_LINE.fullmatch(rest[-1]) and len(rest) < len(self.columns) - 1:
            rest = rest[:-1]
        if len(rest) == 1:
            self.open = _Points(line, number, rest[0])
        elif len(rest) == 2 and rest[1] in ("by hand", "by program", "by stone", "skip by hand"):
            self.steps.append(Other(line=line.number, number=number, what=rest[0], by=rest[1]))
        elif len(cells) != len(self.columns):
            self.steps.append(Other(line=line.number, number=number, what="", by="unread"))
            raise ReadingError("has other columns than the table", f"{len(self.columns)} of them")
        else:
            unread = Other(line=line.number, number=number, what=rest[0], by="unread")
            self.steps.append(unread)
            self.steps[-1] = self.cut(line, dict(zip(self.columns, cells, strict=True)), off)

    def corrected(self, what: str, off: _Off) -> tuple[float, float]:
        """Return how much more on the diameter a row leaves, and how much nearer the tailstock it stops, than is read.

        Raises:
            ReadingError: it is not what the stop before the section's last cut has shown.
        """
        names = {*map(known_by, what.removesuffix(", last").removeprefix("face past ").split(" and "))}
        own = [c for c in self.setting.corrections if known_by(c.section) in names]
        last = what.endswith(", last") or off != NO_OFF
        x, z = (2.0 * own[-1].radius, own[-1].face) if own and last else (0.0, 0.0)
        for words, said, true in (("X leaves", off.x, x), ("Z stops", off.z, z)):
            if not said.says(true) if said is not None else abs(true) > LEAST:
                raise ReadingError(f"does not say rightly where {words} other than it reads", f"{1000 * true:.0f} um")
        return x, z

    def cut(self, line: PageLine, cells: dict[str, str], off: _Off = NO_OFF) -> CutRead:
        """Read a row of one dial and one stop."""
        was, leaves, start, stop = (figure_of(cells[k], self.unit) for k in ("was", "leaves", "start", "stop"))
        x_off, z_off = self.corrected(cells["what"], off)
        if start.text == stop.text:
            start = start.less(z_off)
        else:
            was = was.less(x_off)
        leaves, stop = leaves.less(x_off), stop.less(z_off)
        if "n" in cells and PROGRAM_LINE.fullmatch(cells["n"]) is None:
            raise ReadingError("does not say where the program begins it", "N and digits in its last column")
        if start.value < stop.value:
            raise ReadingError("cuts toward the tailstock", "from Z at to Z, or nearer to the tailstock")
        z = self.place("Z", cells.get("z"), stop)
        by_eye = cells["start"] not in self.begins and "Z" in self.scales
        begin = self.place("Z", self.begins.get(cells["start"]), start)
        return CutRead(
            line=line.number, number=int(cells["number"]), what=cells["what"], was=was, leaves=leaves, start=start,
            stop=stop, x=self.place("X", cells.get("x"), leaves), z=z, begin=begin if start.value != stop.value else z,
            by_eye=by_eye,
        )  # fmt: skip

    def place(self, axis: str, reading: str | None, figure: Figure) -> float:
        """Return the diameter or Z that a reading gives; where there is none, the figure's own.

        Raises:
            ReadingError: the dial cannot show the reading, or it does not stand at the figure printed beside it.
        """
        if axis not in self.scales or reading is None:
            return figure.value
        place = self.reading(axis, reading)
        if not figure.says(place, 1e-4 + (cone_spare(self.setting) if axis == "X" else 0.0)):
            what = "leaves" if axis == "X" else "Z"
            allowed = f"{what} {show(place, figure, self.unit)}"
            raise ReadingError(f"{axis} at {reading} is not {what} {figure.text}", allowed)
        return place

    def points(self, line: PageLine, text: str) -> None:
        """Read the places of the row above."""
        row, self.open = self.open, None
        if row is None:
            raise ReadingError("are points of no row", "after a row with number and what alone")
        self.steps.append(Other(line=row.line.number, number=row.number, what=row.what, by="unread"))
        over, each = SET_OVER.fullmatch(text), POINTS.fullmatch(text)
        if over is not None:
            self.steps[-1] = self.set_over(row, over)
        elif each is not None:
            self.steps[-1] = self.in_and_out(row, each)
        else:
            raise ReadingError("does not say its places", "points, Z / X: 16+71 / 1+21, ...")

    def set_over(self, row: _Points, said: re.Match[str]) -> PointsRow:
        """Read a row that the top slide cuts, set over, from its first place to its last."""
        self.check_heads(said["heads"])
        places, angle = (self.pair(said["from"]), self.pair(said["to"])), float(said["angle"])
        self.check_angle(angle, places)
        self.check_travel(figure_of(said["travel"], self.unit), angle, places)
        return PointsRow(line=row.line.number, number=row.number, what=row.what, way="set over", places=places,
                         angle=angle)  # fmt: skip

    def in_and_out(self, row: _Points, said: re.Match[str]) -> PointsRow:
        """Read a row that goes in and out at every place."""
        self.check_heads(said["heads"])
        places = tuple(self.pair(p) for p in said["pairs"].split(", "))
        if said["count"] and int(said["count"]) != len(places):
            raise ReadingError(f"has {len(places)} points", f"{said['count']} of them")
        told = RIDGES.search(said["rest"] or "")
        ridge = figure_of(told[1], self.unit) if told is not None else Figure(0.0, 0.0, "")
        if ridge.value > MOST_RIDGE:
            raise ReadingError("leaves more than a stone takes off between its points", say(MOST_RIDGE, self.unit, 2))
        return PointsRow(line=row.line.number, number=row.number, what=row.what, way="in and out", places=places,
                         ridge=ridge.value + ridge.half)  # fmt: skip

    def check_heads(self, heads: str) -> None:
        """Check that points are set by columns that the page has told how to read."""
        for axis, head in zip("ZX", heads.split(" / "), strict=True):
            scale = self.scales.get(axis)
            right = "diameter" if axis == "X" and scale is None else axis
            if head != right:
                raise ReadingError(f"sets its points by {head}, of which the page does not say how it reads", right)

    def pair(self, text: str) -> tuple[float, float]:
        """Read one place, (z, diameter) in mm."""
        z, diameter = (self.reading(axis, reading) for axis, reading in zip("ZX", text.split(" / "), strict=True))
        return z, diameter

    def reading(self, axis: str, text: str) -> float:
        """Return the diameter or Z that a reading gives, mm; a figure stands for itself where nothing is read."""
        scale = self.scales.get(axis)
        try:
            return figure_of(text, self.unit).value if scale is None else scale.place(text)
        except ReadingError as error:
            raise ReadingError(f"{axis} {text} {error.what}", error.allowed) from error

    def check_angle(self, angle: float, places: Iterable[tuple[float, float]]) -> None:
        """Check that the angle leads from the first place to the last, to a division of the dials either way."""
        (z0, d0), (z1, d1) = places
        lathe = self.shop.lathe
        spare = float(lathe.x.division) + float(lathe.z.division) * math.tan(math.radians(min(abs(angle), 80.0))) + 1e-3
        rise = abs(z1 - z0) * math.tan(math.radians(min(abs(angle), 89.0)))
        if z0 == z1 or abs(abs(d1 - d0) / 2.0 - rise) > spare:
            wanted = math.degrees(math.atan2(abs(d1 - d0) / 2.0, abs(z1 - z0)))
            raise ReadingError("does not lead from its first place to its last", f"{wanted:.2f} degrees")

    def check_travel(self, travel: Figure, angle: float, places: Sequence[tuple[float, float]]) -> None:
        """Check that the top slide goes from the first place to the last, to the last digit and no further."""
        along = abs(places[1][0] - places[0][0]) / math.cos(math.radians(angle))
        digit = 2.0 * travel.half
        if not -1e-4 <= along - travel.value <= digit + 1e-4:
            what = f"winds the top slide {travel.text}, which does not lead from its first place to its last"
            raise ReadingError(what, show(math.floor(along / digit + 1e-4) * digit, travel, self.unit))

    def close_points(self) -> None:
        """Note a row with only number and what that has not had its points."""
        if self.open is not None:
            (line, number, what), self.open = self.open, None
            self.steps.append(Other(line=line.number, number=number, what=what, by="unread"))
            self.problem(line, "does not say what is set", "its points on the line that follows")

    def band(self, line: PageLine, text: str) -> None:
        """Read what is changed before the rows that follow."""
        self.close_points()
        rpm = feed = tool = None
        self.unmeasured += UNMEASURED.findall(text)
        self.off = _Off(*(self.said_off(pattern, text) for pattern in (X_OFF, Z_OFF)))
        for words in text.removeprefix("-- ").split("; "):
            kind = words.partition(" ")[0]
            if kind not in BAND:
                continue
            found = BAND[kind].fullmatch(words)
            if found is None:
                raise ReadingError(f"does not say what {kind} is meant: {words}", "as in belt A2, about 600 rpm; "
                                   "spindle 600 rpm; feed 0.06 mm a turn; tool 2: name")  # fmt: skip
            if kind in ("belt", "spindle"):
                rpm = self.speed(found["rpm"], found["name"] if kind == "belt" else "")
            elif kind == "feed":
                if (found["unit"] == "mm") != (self.unit == "mm"):
                    raise ReadingError(f"is not in the page's unit: {words}", f"{self.unit}")
                feed = float(found["feed"]) * (1.0 if self.unit == "mm" else 0.0254)
            else:
                tool = int(found["tool"])
                self.check_tool(tool, line, found["words"])
        turn = float(said[1]) if (said := TURN.search(text)) else None
        self.steps.append(
            BandRead(line=line.number, rpm=rpm, feed=feed, tool=tool, slowly=SLOWLY in text, turn=turn)
        )  # fmt: skip

    def said_off(self, pattern: re.Pattern[str], text: str) -> Figure | None:
        """Return what a band says of the next row beside its readings, mm, with its sign; None for nothing."""
        found = pattern.search(text)
        if found is None:
            return None
        off = figure_of(found["off"], self.unit)
        return off if found["way"] in ("more", "tailstock") else Figure(-off.value, off.half, off.text)

    def speed(self, text: str, name: str) -> float:
        """Return a speed that this lathe has, rev/min."""
        spindle, said = self.shop.lathe.spindle, figure_of(text, "mm")
        have = ", ".join(f"{p.name}, about {float(p.rpm):.0f} rpm" for p in spindle.positions)
        if spindle.positions:
            for p in spindle.positions:
                if known_by(p.name) == known_by(name) and said.says(float(p.rpm)):
                    return float(p.rpm)
        elif not name and spindle.slowest - said.half <= said.value <= spindle.fastest + said.half:
            return said.value
        what = f"belt {name}, about {text} rpm" if name else f"spindle {text} rpm"
        have = have or f"{spindle.slowest:.0f} to {spindle.fastest:.0f} rpm"
        raise ReadingError(f"{what}, is no speed of this lathe", have)

    def check_tool(self, number: int, line: PageLine, name: str = "") -> None:
        """Check that the shop has such a tool, of that name."""
        tool = self.shop.tool(number)
        if tool is None:
            self.problem(line, f"asks for tool {number}, which the shop does not have", self.tools())
        elif name and known_by(tool.name) not in known_by(name):
            self.problem(line, f"names another tool than the shop's tool {number}", self.tools())

    def tools(self) -> str:
        """Return the shop's tools, by number and name."""
        return ", ".join(f"{t.number}: {t.name}" for t in sorted(self.shop.tools, key=lambda t: t.number))

    def measure(self, line: PageLine, text: str) -> None:
        """Read a line at which the work is measured."""
        self.close_points()
        found = MEASURE.fullmatch(text)
        if found is None:
            raise ReadingError(
                "does not say what is measured, expected and allowed",
                "MEASURE  front seat: 8.08 ________ (then 7.97 to 8.00)",
            )
        expected, least, most, at = (
            figure_of(found[k], self.unit) if found[k] else None for k in ("expected", "least", "most", "at")
        )
        assert expected is not None
        self.steps.append(
            MeasureLine(
                line=line.number, of="shoulder" if found["past"] else "diameter", name=found["name"],
                expected=expected, then=bool(found["then"]), least=least, most=most,
                rows=tuple(map(int, re.findall(r"\d+", found["rows"] or ""))), at=at,
                blades="; blade anvils" in text,
            )
        )  # fmt: skip

    def finish(self, last: PageLine) -> None:
        """Check what only the whole page shows."""
        self.close_points()
        if not self.columns:
            self.problem(last, "has no table of passes above here", "pass  cut  was  leaves ...", "")
            return
        sheet = self.sheet(0)
        self.problems += check_numbers(sheet)
        if sheet.rows and not self.tool:
            self.problem(last, "does not say which tool is in the post", f"TOOL {self.tools()}", "")
        used = {self.tool, *(s.tool for s in self.steps if isinstance(s, BandRead))}
        for number, line in self.listed.items():
            if number not in used:
                self.problem(line, f"names tool {number}, which no row is told to take", "-- tool 2: name")

    def sheet(self, lines: int) -> Sheet:
        """Return all that was read."""
        return Sheet(
            path=self.path, number=self.setting.number, unit=self.unit, tool=self.tool, steps=tuple(self.steps),
            coarse=tuple(self.coarse), problems=tuple(self.problems), lines=lines, unmeasured=tuple(self.unmeasured),
        )  # fmt: skip


def check_numbers(sheet: Sheet) -> Iterator[Problem]:
    """Check that the numbers of rows run 1, 2, 3 ... down the page."""
    wanted = 1
    seen: set[int] = set()
    for row in sheet.rows:
        if row.number in seen:
            yield sheet.problem(row, f"row {row.number} stands there twice", fix=FIX)
        elif row.number > wanted:
            lost = f"{wanted}" if row.number == wanted + 1 else f"{wanted} to {row.number - 1}"
            yield sheet.problem(row, f"row {lost} is missing before it", fix=FIX)
        elif row.number < wanted:
            yield sheet.problem(row, f"row {row.number} is out of order", fix=FIX)
        seen.add(row.number)
        wanted = max(wanted, row.number + 1)
