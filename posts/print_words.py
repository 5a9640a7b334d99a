"""What the printed page of a setting says, whatever its size: as the summary, but shorter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cam.frozen import Row
from cam.plan.model import Measure, Pass, Plan, SettingPlan
from cam.plan.rough import TURNING_CAUTION
from cam.setting.model import Setting
from posts.hand import REAR_POST, ends_words, point_words, restart_words, taper_words, x_dial_words, z_dial_words
from posts.pages import (
    SHAPED,
    PassRow,
    Ruler,
    count_from,
    later_steps,
    listed,
    pass_heads,
    pass_rows,
    tools_of,
    travel,
)
from posts.summary import EMERY, LONG_ENOUGH, held_words, later_when, next_words, reach
from posts.wording import plain

BLANK = "_________"
SHORT_LINE = (
    "Measure both its ends too. Thicker at the headstock: tailstock away from the tool; thinner there: toward it; "
    "thickest midway: lighter cuts"
)
"""As posts.summary.IN_LINE."""
SHORT_HOW = {
    "file": "File: tight handle, safe edge to the shoulder; carrier and jaws covered, never reach over them.",
    "stone": "Stone: fine slip, oil; the tip no thicker than the root.",
    "burnish": "Burnish: oil; laid flat it shows whether the pivot is a true cylinder.",
}
ALIGN = "lrlRrRrrR"
"""How the columns of the printed table of passes are set; see flow.columns_for."""
Item = tuple[str, str]
"""A mark and the words behind it."""


class PrintRow(Row):
    """A pass as printed: cells, what goes before it and after it, and what is measured then."""

    cells: tuple[str, ...]
    before: str
    notes: tuple[str, ...]
    stops: tuple[str, ...]


class SettingWords:
    """Everything that a setting's page says.

    Attributes:
        heads, rows: of the table of passes. held: who holds what, the headstock first.
        blocks: title and items of each block, in the order of use.
    """

    def __init__(self, plan: Plan, index: int, closest: str, milled: Sequence[str]) -> None:
        self.plan, self.index, self.closest, self.milled = plan, index, closest, milled
        self.ruler = Ruler(plan.part, plan.shop.lathe)
        self.planned: SettingPlan = plan.settings[index]
        self.setting: Setting = self.planned.setting
        self.lathe = plan.shop.lathe
        self.stepper = self.lathe.control.kind == "stepper"
        self.counts = count_from(plan, self.planned)
        self.letters: dict[str, str] = {}
        self.said: set[str] = set()
        self.in_line = self.setting.tail_centre is not None
        no, what, _, leaves, cut, x, start, stop, z, _ = pass_heads(self.lathe)
        self.heads = ("", no, what, leaves, cut, x, start, stop, z)
        self.rows = [self.row(r) for r in pass_rows(plan, self.planned, self.ruler)]
        self.held = held_words(self.setting, self.ruler)
        self.blocks = list(self.make_blocks())

    # Passes

    def row(self, row: PassRow) -> PrintRow:
        """One pass."""
        cut = row.cut
        no, _, _, leaves, depth, x, start, stop, dial, _ = row.cells
        notes = [n for n in row.notes if not n.startswith("between two divisions") and n != TURNING_CAUTION]
        what = self.numbered(cut)
        if cut.kind in SHAPED and notes:
            what += f", {notes.pop(0)}"
        notes += self.by_hand(cut)
        cells = ("", no, what, leaves, depth, x, start, stop, dial)
        before = " ".join(words for words in row.before if words.startswith(">>"))
        return PrintRow(cells, before, tuple(notes), tuple(self.stops(cut)))

    def numbered(self, cut: Pass) -> str:
        """Kind of pass and numbers of its sections; their names stand under the drawing."""
        numbers = {s.name: n for n, s in enumerate(self.plan.part.sections, start=1)}
        kind = {"semi-finish": "semi"}.get(cut.kind, cut.kind)
        return f"{kind} {', '.join(str(numbers.get(n, plain(n))) for n in cut.sections)}"

    def by_hand(self, cut: Pass) -> Iterator[str]:
        """How what both slides do at once is cut by hand, where no control does it."""
        if cut.kind in ("taper", "finish", "semi-finish"):
            for t in self.setting.turned:
                words = taper_words(t, self.setting, self.ruler, self.lathe.tool_post)
                if t.section.name in cut.sections and words and words not in self.said:
                    self.said.add(words)
                    yield words
        if not self.stepper:
            yield from point_words(cut, self.lathe, self.counts, self.ruler)

    def stops(self, cut: Pass) -> Iterator[str]:
        """What is measured after a pass, a line each, with the letter of what to do then."""
        for m in cut.measure:
            letter = self.advice(m)
            if self.in_line and reach(cut) >= LONG_ENOUGH:
                letter += f", {self.letter(SHORT_LINE)}"
                self.in_line = False
            low, high, now, target = m.least, m.most, m.expected, m.target
            if m.kind == "length" and high <= 0:
                low, high, now, target = -high, -low, -now, -target
            size, limits = self.ruler.both, self.ruler.limits(low, high)
            what = "dia" if m.kind == "diameter" else "length"
            if m.cut_left:
                yield f"{what} {size(now)}, is {BLANK}  then {size(target)} ({limits})  {letter}"
            else:
                yield f"{what} {size(target)} ({limits}), is {BLANK}  {letter}"

    def advice(self, m: Measure) -> str:
        """What to do where a measurement is not what it should be, by the letters of the page."""
        if m.if_over == m.if_under:
            return self.letter(m.if_over)
        return f"{self.letter(m.if_over)} / {self.letter(m.if_under)}"

    def letter(self, words: str) -> str:
        """The letter that stands for some advice on this page."""
        count = len(self.letters)
        return self.letters.setdefault(words, chr(ord("a") + count % 26) * (count // 26 + 1))

    # Blocks

    def make_blocks(self) -> Iterator[tuple[str, list[Item]]]:
        """Title and items of each block."""
        yield "ZERO AND TOOLS", [*self.zero(), *self.tools()]
        yield "DIALS", list(self.dials())
        yield "BEFORE POWER", list(self.before_power())
        if self.letters:
            yield "STOP: SPINDLE OFF, GO ON ONLY WHEN MEASURED", list(self.at_a_stop())
        yield "STARTING AGAIN AT A PASS", list(self.again())
        yield "AFTER THE LAST PASS", list(self.afterwards())

    def zero(self) -> Iterator[Item]:
        """Where Z is nothing."""
        words = self.setting.datum_words
        yield "Z 0", plain(words[0].upper() + words[1:]).removeprefix("Z zero is ")

    def tools(self) -> Iterator[Item]:
        """Each tool."""
        for t in tools_of([self.planned]):
            own = f" ({t.nose_radius.text})" if is_inch_text(t.nose_radius.text) != (self.ruler.unit == "in") else ""
            yield f"TOOL {t.number}", f"{plain(t.name)}, nose radius {self.ruler.size(t.nose_radius, 1)}{own}"
        if self.lathe.tool_post == "rear":
            yield "POST", REAR_POST

    def dials(self) -> Iterator[Item]:
        """How both read and are set."""
        form = " Leaves and to Z are where they land, a stop's figures the aims."
        form += " 4+35: 4 turns + 35 divisions." if "dial" in (self.lathe.x.reading, self.lathe.z.reading) else ""
        yield "X", _shorter(x_dial_words(self.lathe, self.counts, self.ruler))
        yield "Z", _shorter(z_dial_words(self.lathe, self.setting, self.counts, self.ruler)) + form

    def before_power(self) -> Iterator[Item]:
        """What is tried by hand."""
        low, high = ends_words(self.lathe, self.counts, self.ruler, travel(self.planned))
        must = "carrier" if self.setting.carrier else "jaws and nose"
        words = f"Spindle off, X clear, tool to {low} and to {high}: at each, work ONE FULL TURN BY HAND; "
        yield "-", f"{words}{must}, holder and post must clear."
        if self.setting.carrier:
            yield "-", "Carrier's tail and screw stand out: cover it, keep hands and sleeves away."
        yield "-", "Glasses on. Swarf never by hand. The machine's manual goes before this."
        if self.closest:
            yield "-", f"Closest to what holds the work: {self.closest}."
        if self.stepper:
            file, x = f"setting-{self.setting.number}.ngc", self.lathe.control.x_words
            yield "-", f"{file}: X words are {x}; set each tool's zero as its head says."

    def at_a_stop(self) -> Iterator[Item]:
        """What the letters mean."""
        for words, letter in self.letters.items():
            yield letter, words[0].upper() + words[1:].removesuffix(".") + "."
        if any(m.if_over != m.if_under for c in self.planned.passes for m in c.measure):
            yield "a / b", "Of two letters the first is for OVER, the second for UNDER."
        if any(m.kind == "length" for c in self.planned.passes for m in c.measure):
            yield "-", "Lengths are from Z 0 to the shoulder, measured when the work has cooled."
        if self.stepper and any(c.kind == "semi-finish" and c.measure for c in self.planned.passes):
            yield "-", 'Or endshake record "SECTION stop diameter" or "stop shoulder", make again: never both.'

    def again(self) -> Iterator[Item]:
        """How a pass is begun again."""
        start = restart_words(self.plan, self.planned) if self.stepper else "go on by its row"
        words = "Tick what is done: the work measures what the last pass ticked leaves. Spindle off, X out, past the "
        yield "-", f"{words}end in Z; {start}. All is set from the one zero."

    def afterwards(self) -> Iterator[Item]:
        """Finishing, and what comes next."""
        yield "-", "Burrs off. Measure all that is turned, write it down."
        later = later_steps(self.setting.turned, self.ruler)
        for name, route, sizes in later:
            yield "-", f"{plain(name)}: {listed(route)} from {sizes}."
        if later:
            yield "-", later_when(self.plan, self.milled)
        steps = {step for _, route, _ in later for step in route}
        yield from (("-", words) for step, words in SHORT_HOW.items() if step in steps)
        if steps & {"file", "stone"}:
            yield "-", EMERY[0].upper() + EMERY[1:]
        for words in next_words(self.plan, self.index, self.ruler, self.milled):
            yield "-", plain(words)


SHORTER = (
    ("1 division is", "a division is"),
    ("skim the bar, stop, measure, set the dial by what you read", "skim, measure, set it by that"),
    ("skim the bar, stop, measure, set the readout by what you read", "skim, measure, set it by that"),
    ("skim the bar, stop, measure, set", "skim, measure, set"),
    ("as the tool goes in", "going in"),
    ("Come in from outside; if you pass it, back a whole turn and in again", "In from outside; passed, back a turn"),
    ("where the face measures further from Z zero, to so much", "measured further, so much"),
    ("Come to every shoulder from the tailstock side", "To shoulders from the tailstock side"),
    ("toward the headstock", "to the headstock"),
    ("from Z zero", "from Z 0"),
    ("at Z zero", "at Z 0"),
)
"""Words of the summary on dials, and what says the same on the page."""


def _shorter(lines: list[str]) -> str:
    text = " ".join(lines)
    for words, short in SHORTER:
        text = text.replace(words, short)
    return text


def is_inch_text(text: str) -> bool:
    """Whether a quantity was written in inches or parts of one."""
    return any(word in text.lower() for word in ("in", "thou", "mil", '"')) and "mm" not in text.lower()
