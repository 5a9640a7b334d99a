"""What the cutting summary says, as words and figures ready to be set on a page."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence

from cam.frozen import Row
from cam.part.model import Part, Section
from cam.plan.model import Measure, Operation, Pass, Plan, SettingPlan
from cam.quantity import Quantity
from cam.setting.model import Setting, Turned
from cam.shop.model import Lathe, Slide, Tool
from cam.units import MM_PER_INCH
from posts.dials import (
    FACTORS,
    between_marks,
    counts_size,
    decimals_for,
    dial_setting,
    diameter_at,
    divisions_of,
    inward_setting,
    is_inch,
    pile_setting,
    pile_zero,
    set_diameter,
    turns_wanted,
    z_at,
)
from posts.wording import number, plain

UNMEASURED = "to be measured"
"""Stands for a length that is to be measured."""
SAME = 0.0005
"""Places nearer than this are one, mm."""


class Ruler:
    """Lengths as the page shows them.

    Attributes:
        unit: "mm" or "in", as the part file mostly writes.
        x, z: decimals as fine as the X dial (on diameter) and the Z dial.
        mixed: whether the part file writes both mm and inches, so that what is measured is said in both.
    """

    def __init__(self, part: Part, lathe: Lathe) -> None:
        self.unit = part.unit
        self.per = MM_PER_INCH if part.unit == "in" else 1.0
        self.x = decimals_for(lathe.x, part.unit)
        self.z = decimals_for(lathe.z, part.unit)
        self.fine = 4 if part.unit == "in" else 3
        self.mixed = len(units_written(part)) > 1

    def size(self, mm: float, least: int | None = None) -> str:
        """A length as fine as a micrometer reads it: 3 decimals of a mm, 4 of an inch, zeros cut to 2 or 3."""
        return number(mm / self.per, self.fine, self.fine - 1 if least is None else least)

    def both(self, mm: float) -> str:
        """The same, with the other unit's figure behind it for who writes both."""
        if not self.mixed:
            return self.size(mm)
        other = f"{number(mm / MM_PER_INCH, 4, 3)} in" if self.unit == "mm" else f"{number(mm, 3, 2)} mm"
        return f"{self.size(mm)} [{other}]"

    def about(self, mm: float) -> str:
        """A length that need not be exact."""
        return number(mm / self.per, 2 if self.unit == "in" else 1, 0)

    def on_x(self, diameter: float) -> str:
        """A diameter, as fine as the X dial."""
        return number(diameter / self.per, self.x, self.x)

    def on_z(self, z: float) -> str:
        """A place along the axis, as fine as the Z dial, signed."""
        return number(z / self.per, self.z, self.z)

    def feed(self, per_turn: float) -> str:
        """A feed per revolution, mm or thousandths of an inch."""
        return number(per_turn, 3, 2) if self.unit == "mm" else number(1000 * per_turn / MM_PER_INCH, 1, 1)

    def limits(self, least: float, most: float) -> str:
        """Limits, rounded inward where they do not fall on a decimal."""
        step = self.per * 10.0**-self.fine
        low = -(-round(least / step, 6) // 1) * step
        high = round(most / step, 6) // 1 * step
        if high < low:
            low, high = least, most
        return f"{self.size(low)} to {self.size(high)}"


def units_written(part: Part) -> set[str]:
    """Units that the part's own lengths, limits, edges and corners are written in: "mm", "in" or both."""
    texts = [part.stock.diameter.text, part.stock.length.text]
    for s in part.sections:
        texts += [q.text for q in (s.diameter_a, s.diameter_b, s.length)]
        things = (s.tolerance, s.length_tolerance, s.edge_a, s.edge_b, s.corner_a, s.corner_b)
        texts += [thing.text for thing in things if thing is not None]
    own = [text.lower() for text in texts if "(solved)" not in text]
    return {unit for unit, sign in (("mm", _MM), ("in", _INCH)) if any(sign.search(text) for text in own)}


_MM, _INCH = re.compile(r"\d *mm\b"), re.compile(r"\d *(in|inch|inches|thou|mil|\")(\b|$)|\"")


def written(value: Quantity, ruler: Ruler) -> str:
    """The user's own text, where it is not simply the figure that the page shows."""
    text = value.text
    figure = text.removesuffix(ruler.unit).strip()
    try:
        same = abs(float(figure) * ruler.per - value) < 1e-9
    except ValueError:
        same = False
    return "" if same else text


class SectionRow(Row):
    """A section as the page shows it."""

    number: int
    section: Section
    diameter: str
    limits: str
    length: str
    place: str
    text: str


def section_rows(part: Part, ruler: Ruler) -> list[SectionRow]:
    """The part's sections from the A end, as finished."""
    rows = []
    for n, s in enumerate(part.sections, start=1):
        tapered = s.diameter_a != s.diameter_b
        given = [written(q, ruler) for q in ((s.diameter_a, s.diameter_b) if tapered else (s.diameter_a,))]
        texts = [f"{' and '.join(t for t in given if t)} diameter"] if any(given) else []
        known = not math.isnan(s.length)
        if known and written(s.length, ruler):
            texts.append(f"{s.length.text} long")
        rows.append(
            SectionRow(
                number=n,
                section=s,
                diameter=" / ".join(
                    ruler.size(d) for d in ((s.diameter_a, s.diameter_b) if tapered else (s.diameter_a,))
                ),
                limits=limits_of(s, ruler),
                length=ruler.size(s.length) if known else UNMEASURED,
                place=_place(s, ruler),
                text=", ".join(texts),
            )
        )
    return rows


def _place(section: Section, ruler: Ruler) -> str:
    """Where a section lies: "65.50 to 72.00"; only the end that is known where the other is to be measured."""
    start, end = section.start, section.end
    if math.isnan(start):
        return UNMEASURED if math.isnan(end) else f"to {ruler.size(end)}"
    return f"from {ruler.size(start)}" if math.isnan(end) else f"{ruler.size(start)} to {ruler.size(end)}"


def limits_of(section: Section, ruler: Ruler, more: float = 0.0) -> str:
    """Limits of a section's diameter with what is left on it for later; "" where there are none or it tapers."""
    if section.tolerance is None or section.diameter_a != section.diameter_b:
        return ""
    size = section.diameter_a + more
    return ruler.limits(size + section.tolerance.lower, size + section.tolerance.upper)


class TurnedRow(Row):
    """What one section is to be after a setting."""

    number: int
    name: str
    diameter: str
    limits: str
    near: str
    far: str
    left: str


def turned_rows(setting: Setting, part: Part, ruler: Ruler) -> list[TurnedRow]:
    """The sections turned in a setting, from the tailstock, as it leaves them."""
    index = {s.name: n for n, s in enumerate(part.sections, start=1)}
    rows = []
    for t in setting.turned:
        more = t.section.finish.on_diameter
        tapered = t.radius_near != t.radius_far
        sizes = (t.radius_near, t.radius_far) if tapered else (t.radius_near,)
        rows.append(
            TurnedRow(
                number=index[t.section.name],
                name=t.section.name,
                diameter=" / ".join(ruler.size(2 * r) for r in sizes),
                limits=limits_of(t.section, ruler, more),
                near=number(t.near / ruler.per, ruler.fine, ruler.fine - 1),
                far=number(t.far / ruler.per, ruler.fine, ruler.fine - 1) if t.far_kind != "open" else "open",
                left=ruler.size(more) if more else "",
            )
        )
    return rows


# Passes


class PassRow(Row):
    """One pass as a row of the table, with what goes before and after it.

    Attributes:
        cells: of the row. before: steps to take first. notes: after the row. stops: to measure after it.
    """

    cut: Pass
    cells: tuple[str, ...]
    before: list[str]
    notes: list[str]
    stops: tuple[Measure, ...]


ALIGN = "rlrrrrrrrl"
"""How the columns of the pass table are set."""
SHAPED = ("edge", "fillet")
"""Kinds of pass whose dials mean nothing: both slides move at once."""


class Counts(Row):
    """What the dials' zeros are called on one page.

    Attributes:
        zero: diameter at which the X dial is set to nothing, mm. x_turns, z_turns: see dials.turns_wanted.
        pile: see dials.pile_zero.
    """

    zero: float
    x_turns: int
    z_turns: int
    pile: float = 0.0


def count_from(plan: Plan, planned: SettingPlan) -> Counts:
    """Where the dials count from in one setting, so that no reading is below nothing."""
    lathe = plan.shop.lathe
    zero = float(plan.part.stock.diameter)
    measured = 0.0 if counts_size(lathe.x) else zero
    cuts = planned.passes
    x_turns = turns_wanted(lathe.x, [(measured - c.diameter) / 2 for c in cuts if c.kind not in SHAPED])
    touch, stops = touch_z(planned.setting), [stops_along(c)[1] for c in cuts if c.kind not in SHAPED]
    z_turns = turns_wanted(lathe.z, [-touch, *(-z for z in stops)])
    pile = pile_zero(lathe.z, touch, stops) if lathe.z.reading == "none" else 0.0
    return Counts(zero, x_turns, z_turns, pile)


def stops_along(cut: Pass) -> tuple[float, float]:
    """Where the carriage starts and stops in a pass, Z in mm."""
    start = cut.path[0].start.z - cut.z_told
    ends = [s.end.z - cut.z_told for s in cut.path]
    if cut.kind in ("groove", "face", "part off"):
        return min(ends), min(ends)
    return start, max(ends, key=lambda z: abs(z - start))


def pass_heads(lathe: Lathe) -> tuple[str, ...]:
    """Heads of the pass table."""
    names = {"dial": "dial", "readout": "reads"}
    x = "X in" if lathe.x.reading == "none" else f"X {names[lathe.x.reading]}"
    z = "slips" if lathe.z.reading == "none" else f"Z {names[lathe.z.reading]}"
    belt = "belt" if lathe.spindle.positions else "rpm"
    return "", "what", "was", "leaves", "cut", x, "from Z", "to Z", z, belt


def touch_z(setting: Setting) -> float:
    """Z of the end face as it is before this setting, where the tool can be touched off, mm."""
    return setting.stock_end_z if setting.face_end else setting.end_z


def pass_rows(plan: Plan, planned: SettingPlan, ruler: Ruler) -> list[PassRow]:
    """Every pass of a setting, in order."""
    maker = _Rows(plan, planned, ruler)
    return [maker.row(operation, cut) for operation in planned.operations for cut in operation.passes]


class _Rows:
    """Deals out rows, remembering tool and belt, so that a change is said once, at its step."""

    def __init__(self, plan: Plan, planned: SettingPlan, ruler: Ruler) -> None:
        self.lathe = plan.shop.lathe
        self.setting = planned.setting
        self.ruler = ruler
        self.numbers = {s.name: n for n, s in enumerate(plan.part.sections, start=1)}
        self.counts = count_from(plan, planned)
        self.tool = planned.passes[0].tool if planned.passes else None
        self.speed = ("", 0.0)
        self.feed = ""
        self.stands: dict[str, float] = {}
        self.heavy = True

    def row(self, operation: Operation, cut: Pass) -> PassRow:
        """One pass."""
        before = [plain(operation.name).upper()] if cut is operation.passes[0] else []
        before += self.changes(cut)
        before += [f">> STOP; first: {words}" for words in cut.before]
        was, leaves, depth, x, x_miss = self.x_cells(cut)
        *z, z_miss = self.z_cells(cut)
        speed = cut.speed_name or f"{cut.rpm:.0f}"
        cells = (str(cut.number), self.what(cut), was, leaves, depth, x, *z, speed)
        misses = "; ".join(words for words in (x_miss, z_miss) if words)
        note = f"between two divisions: {misses}" if misses else ""
        judged = self.judged(cut) if x_miss and cut.kind == "finish" else ""
        notes = [words for words in (note, judged, self.shape(cut), *cut.cautions) if words]
        return PassRow(cut=cut, cells=cells, before=before, notes=notes, stops=cut.measure)

    def changes(self, cut: Pass) -> Iterator[str]:
        """What to change before a pass."""
        if self.heavy and cut.kind in ("semi-finish", "finish") and cut.number > 1:
            self.heavy = False
            if self.setting.tail_centre is not None:
                yield ">> slacken the tailstock centre and set it again: the work has warmed and grown"
        if self.tool is None or cut.tool.number != self.tool.number:
            yield f">> tool {cut.tool.number}: {plain(cut.tool.name)}"
            self.tool = cut.tool
        said = []
        if (cut.speed_name, cut.rpm) != self.speed:
            what = f"belt to {cut.speed_name}, about" if cut.speed_name else "spindle to"
            said.append(f"{what} {cut.rpm:.0f} rpm ({self.surface(cut)})")
            self.speed = (cut.speed_name, cut.rpm)
        if self.ruler.feed(cut.feed) != self.feed:
            self.feed = self.ruler.feed(cut.feed)
            said.append(f"feed {self.feed} {'thou' if self.ruler.unit == 'in' else 'mm'} a turn")
        if said:
            yield f">> {', '.join(said)}"

    def surface(self, cut: Pass) -> str:
        """The surface speed of a pass, at the largest diameter that it cuts."""
        inch = self.ruler.unit == "in"
        return f"{cut.surface_speed / (0.3048 if inch else 1.0):.0f} {'ft' if inch else 'm'}/min"

    def what(self, cut: Pass) -> str:
        """The kind of pass and its sections, by number and, where it is one only, by name."""
        kind = {"semi-finish": "semi"}.get(cut.kind, cut.kind)
        if len(cut.sections) == 1:
            name = cut.sections[0]
            return f"{kind} {self.numbers[name]} {plain(name)}" if name in self.numbers else f"{kind} {plain(name)}"
        return f"{kind} {', '.join(str(self.numbers.get(n, n)) for n in cut.sections)}"

    def shape(self, cut: Pass) -> str:
        """What an edge, fillet, groove or taper is to be, as the part file has it."""
        for t in self.setting.turned:
            if t.section.name not in cut.sections:
                continue
            if cut.kind == "edge" and t.edge is not None:
                return t.edge.text
            if cut.kind in ("fillet", "groove") and t.corner is not None:
                return t.corner.text
            if cut.kind in ("taper", "finish", "semi-finish") and t.radius_near != t.radius_far:
                return self.taper(t)
        beyond = [t.far_edge.text for t in self.setting.turned if t.far_edge is not None and cut.kind == "edge"]
        return beyond[0] if beyond else ""  # of the shoulder that stands as it was before

    def taper(self, turned: Turned) -> str:
        """A taper in words: slope, and which end is the larger."""
        rise = (turned.radius_far - turned.radius_near) / (turned.near - turned.far)
        larger = "headstock" if rise > 0 else "tailstock"
        near, far = self.ruler.size(2 * turned.radius_near), self.ruler.size(2 * turned.radius_far)
        angle = math.degrees(math.atan(abs(rise)))
        return f"taper: {near} to {far}, larger at the {larger} end, {angle:.2f} degrees a side"

    def x_cells(self, cut: Pass) -> tuple[str, str, str, str, str]:
        """What stands before, what the dial leaves, the cut in the dial's measure, the dial; and what it misses by."""
        slide, ruler, counts = self.lathe.x, self.ruler, self.counts
        factor = FACTORS[slide.habit] if slide.reading != "none" else 2
        depth = number(cut.depth * (factor if cut.kind != "face" else 1) / ruler.per, ruler.x, ruler.x)
        if cut.kind in SHAPED:
            return "", "", "", "", ""
        if cut.kind == "face":
            return "", "", depth, "", ""
        text, landed = x_reading(self.lathe, counts, cut.diameter)
        if cut.kind in ("groove", "part off"):
            return "", ruler.on_x(landed), "", text, self.miss(cut, landed)
        was = ruler.on_x(self.standing(cut) + 2 * cut.cone_off)
        self.stands |= dict.fromkeys(cut.sections, landed)
        return was, ruler.on_x(landed + 2 * cut.cone_off), depth, text, self.miss(cut, landed)

    def standing(self, cut: Pass) -> float:
        """The diameter that a pass meets, mm: as the pass before left it, where that is what it cuts into."""
        met = cut.diameter + 2 * cut.depth
        step = 2 * float(self.lathe.x.division)
        return next((self.stands[n] for n in cut.sections if abs(self.stands.get(n, 0.0) - met) <= step), met)

    def miss(self, cut: Pass, landed: float) -> str:
        """What X misses the aim by in a last cut, or a last but one, where the page can show so little."""
        size = self.ruler.size
        off = abs(landed - cut.diameter)
        if cut.kind == "rough" or float(size(off)) == 0.0:
            return ""
        over = "over" if landed > cut.diameter else "under"
        return f"X lands {size(off)} {over} its aim {size(cut.diameter + 2 * cut.cone_off)}"

    def judged(self, cut: Pass) -> str:
        """Where a last cut stands between two marks of the X dial: "judge X: 1+18 and 0.5 of a division"."""
        if self.lathe.x.reading != "dial":
            return ""
        return f"judge X: {between_marks(self.lathe.x, cut.diameter, self.counts.zero, self.counts.x_turns)}"

    def z_cells(self, cut: Pass) -> tuple[str, str, str, str]:
        """Where the carriage starts and stops, from Z zero, its dial at the stop; and what it misses by."""
        if cut.kind in SHAPED:
            return "", "", "", ""
        start, stop = stops_along(cut)
        text, landed = z_reading(self.lathe, self.counts, stop)
        off = self.ruler.size(abs(landed - stop))
        miss = ""
        if cut.kind in ("semi-finish", "finish") and float(off) != 0.0:
            miss = f"Z lands {off} {'short of' if landed > stop else 'past'} {self.ruler.size(stop)}"
        return "" if start == stop else self.ruler.on_z(start), self.ruler.on_z(landed), text, miss


def x_reading(lathe: Lathe, counts: Counts, diameter: float) -> tuple[str, float]:
    """Where X is set for a diameter, in this machine's own terms, and the diameter that this leaves, mm."""
    slide = lathe.x
    if slide.reading == "none":
        inward = inward_setting(slide, diameter, counts.zero)
        return inward.text, counts.zero - 2 * inward.number
    reading = set_diameter(slide, diameter, counts.zero, counts.x_turns)
    return reading.text, diameter_at(slide, reading, counts.zero, counts.x_turns)


def z_reading(lathe: Lathe, counts: Counts, z: float) -> tuple[str, float]:
    """Where the carriage is set for a Z, in this machine's own terms, and the Z that this gives, mm."""
    if lathe.z.reading == "none":
        pile = pile_setting(lathe.z, z, counts.pile)
        return pile.text, counts.pile + pile.number
    reading = dial_setting(lathe.z, -z, counts.z_turns)
    return reading.text, z_at(lathe.z, reading, counts.z_turns)


# Hold points


def measure_words(m: Measure, ruler: Ruler) -> list[str]:
    """Lines for the box of one measurement; lengths are counted from Z zero, whichever way."""
    low, high, now, target = m.least, m.most, m.expected, m.target
    if m.kind == "length" and high <= 0:
        low, high, now, target = -high, -low, -now, -target
    limits = ruler.limits(low, high)
    lines = []
    if m.cut_left:
        factor = 2 if m.kind == "diameter" else 1
        left = ruler.size(factor * m.cut_left)
        each = f", {ruler.size(m.cut_left)} a side" if factor == 2 else ""
        lines.append(f"{m.what}: {ruler.both(now)} expected, is ________")
        lines.append(f"the next cut is for {ruler.both(target)} ({limits}): {left} off{each}")
    else:
        lines.append(f"{m.what}: {ruler.both(target)} wanted ({limits}), is ________")
    if m.if_over == m.if_under:
        return [*lines, f"OVER or UNDER: {m.if_over}"]
    return [*lines, f"OVER: {m.if_over}", f"UNDER: {m.if_under}"]


# Dials


def turns_words(turns: int) -> str:
    """A number of turns in words."""
    return f"{turns} turn{'s' if turns != 1 else ''}"


def division_words(slide: Slide, what: str) -> str:
    """What one division or step is, and how many make a turn; what: that it counts, "on the diameter"."""
    inch = is_inch(slide)
    unit = "in" if inch else "mm"
    size = number(float(slide.division) / (MM_PER_INCH if inch else 1.0), 5, 0)
    words = f"{size} {unit}{' ' + what if what else ''}"
    if slide.reading == "readout":
        return f"readout, least step {words}"
    return f"1 division is {words}, {divisions_of(slide)} a turn"


# The program's stops, and what is needed


def program_stops(planned: SettingPlan) -> list[str]:
    """Where a stepper's program stops, in words."""
    belts, tools, measures, hand = [], [], [], []
    speed, tool = "", planned.passes[0].tool.number if planned.passes else 0
    for cut in planned.passes:
        if cut.speed_name and cut.speed_name != speed:
            belts.append(cut.number)
            speed = cut.speed_name
        if cut.tool.number != tool:
            tools.append(cut.number)
            tool = cut.tool.number
        if cut.measure:
            measures.append(cut.number)
        if cut.before:
            hand.append(cut.number)
    found = ["at the start, to prove X in air"]
    stops = (("for the belt before", belts), ("for a tool before", tools), ("to measure after", measures))
    for what, numbers in (*stops, ("for handwork before", hand)):
        if numbers:
            found.append(f"{what} pass{'es' if len(numbers) > 1 else ''} {listed(numbers)}")
    return found


def listed(things: Iterable[object]) -> str:
    """Things in a row, "and" before the last."""
    *before, last = [str(t) for t in things] or [""]
    return f"{', '.join(before)} and {last}" if before else last


def tools_of(plans: Sequence[SettingPlan]) -> list[Tool]:
    """Tools in the order in which they come into use."""
    seen: dict[int, Tool] = {}
    for planned in plans:
        for cut in planned.passes:
            seen.setdefault(cut.tool.number, cut.tool)
    return list(seen.values())


def travel(planned: SettingPlan) -> tuple[float, float]:
    """Least and greatest Z that the tool's point reaches in the passes of a setting, mm."""
    places = [p.z for c in planned.passes for p in (*c.approach, *c.leave)]
    places += [p.z for c in planned.passes for s in c.path for p in (s.start, s.end)]
    return min(places), max(places)


def later_steps(turned: Sequence[Turned], ruler: Ruler) -> list[tuple[str, tuple[str, ...], str]]:
    """Sections that more is done to than turning: name, steps, and sizes before and after."""
    found = []
    for t in turned:
        finish = t.section.finish
        if len(finish.route) < 2:
            continue
        size = 2 * t.radius_near
        sizes = f"{ruler.size(size)} to {ruler.size(size - finish.on_diameter)}"
        limits = limits_of(t.section, ruler)
        sizes += f" ({limits})" if limits else ""
        if finish.on_face:
            sizes += f", and {ruler.size(finish.on_face)} off the shoulder face"
        found.append((t.section.name, finish.route[1:], sizes))
    return found
