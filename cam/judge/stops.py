"""Stops that a shop needs between the motions: for the proof in air, the belt, a tool, a person who measures.

They are judged from shop and setting, whoever wrote the text. A stop counts for the belt or a tool only if its words
name it, as nobody moves a belt at a stop that does not say so. A stop that is there only to measure may be left out
on purpose: that is a warning.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping

from cam.judge.belts import check_belts, check_speeds_said, orders_of
from cam.judge.envelope import Piece
from cam.judge.model import Finding
from cam.judge.mounted import ON_LATHE, check_tools
from cam.judge.proof import check_proofs
from cam.judge.report import find, unsaid_stops
from cam.judge.surfaces import Feeding
from cam.part.features import BEARING_ROLES, reach_along
from cam.rs274.halts import Halt, halts_of, plain
from cam.rs274.model import MOVING, Motion, Program
from cam.rs274.tables import find_standard
from cam.setting.model import Setting, Turned
from cam.shop.model import Lathe, Shop

FITS = (*BEARING_ROLES, "seat")
BLANKS = ("square blank", "undercut")
HIGHER = 2e-3
"""A cut that lies higher by more than this, mm, is an earlier cut on the same section."""
STEEP = 0.6
"""The slope of a taper on which a slip shows too little of how far X has moved."""
SHORT = 0.9
"""A wait of this share of the time that the spindle takes to come to its speed is enough."""


def check_stops(program: Program, setting: Setting, shop: Shop, begun: str | None = None) -> list[Finding]:
    """Check the proof, every belt and tool changed by hand, and that no spindle turns where a person comes near.

    Args:
        begun: what a program begun at a pass says below its N line, in plain words: what it rests on, and that the
            proofs are done. None for one that begins at its start.
    """
    motions, spindle = program.motions, shop.lathe.spindle
    said, stops = begun or "", {halt.number: halt for halt in halts_of(program)}
    names, control = {t.number: t.name for t in shop.tools}, shop.lathe.control
    sections = [t.section.name for t in setting.turned]
    orders = {number: orders_of(halt, spindle.positions, sections) for number, halt in stops.items()}
    belts = list(check_belts(motions, orders, spindle.positions, said) if spindle.positions else ())
    return [
        *(check_proofs(program, stops, setting, control) if begun is None else ()),
        *belts,
        *(f for f in check_speeds_said(motions, orders) if all(f.line != belt.line for belt in belts)),
        *check_tools(motions, stops, names, control.facts, ON_LATHE, begun),
        *_check_still(motions),
        *(_check_switch(motions, stops, said) if spindle.by_switch else ()),
    ]


def _check_still(motions: tuple[Motion, ...]) -> Iterator[Finding]:
    """Check that the spindle stands at every stop, and where another tool is called."""
    before = 0
    for motion in motions:
        stops = motion.kind in ("stop", "optional stop")
        if motion.spindle and (stops or (motion.kind == "tool" and motion.tool != before)):
            what = "the program stops for a person" if stops else "the tool is changed"
            yield find(motion.line, "spindle on", f"{what} with the spindle running", tool=motion.tool)
        before = motion.tool


def _check_switch(motions: tuple[Motion, ...], stops: Mapping[int, Halt], begun: str) -> Iterator[Finding]:
    """Check that a stop asks a person to switch the spindle before the program takes it to turn, and to stand."""
    turning, asked = False, " SPINDLE SWITCHED ON " in begun
    for number, motion in enumerate(motions):
        if number in stops:
            if turning and not stops[number].names("spindle off"):
                yield find(motion.line, "spindle switch", "stops for a person, and the last words left the spindle on")
            turning = False
            asked = asked or stops[number].names("start the spindle", "spindle on")
        elif motion.spindle and not turning and motion.kind != "end":
            if not asked:
                what = "takes the spindle to turn, and no stop since it stood asks a person to start it"
                yield find(motion.line, "spindle switch", what, tool=motion.tool)
            turning, asked = True, False


def _warn_of_starts(motions: tuple[Motion, ...], spin_up: float, *, can_wait: bool) -> Iterator[Finding]:
    """Warn where the spindle starts from rest and nothing waits for its speed; what never can is said once."""
    waited = math.inf  # s since the spindle started from rest, until something has moved
    turning = False
    for motion in motions:
        if bool(motion.spindle) is not turning:
            turning, waited = not turning, 0.0 if motion.spindle else math.inf
        if motion.kind == "dwell":
            waited += motion.seconds
        elif motion.kind in MOVING:
            if waited < SHORT * spin_up:
                what = f"moves {waited:g} s after the spindle starts; it takes {spin_up:g} s to come to its speed"
                yield find(motion.line, "no wait" if can_wait else "cannot wait", what, tool=motion.tool)
                if not can_wait:
                    return
            waited = math.inf


def warn_of_stops(
    program: Program, setting: Setting, result: list[Piece], feeding: Mapping[int, Feeding], lathe: Lathe, first: int
) -> Iterator[Finding]:  # fmt: skip
    """Warn of stops that are missing: words without one, sizes not measured before a last cut, no slip tried there.

    They are of sections that neither file nor mill takes to size. What runs or is sat on is measured after, too.

    Args:
        result: the metal in the end. feeding: feed motions, by number of the motion.
        first: number of the first motion that is judged.
    """
    can_wait = bool(find_standard(program.standard).dwell)
    yield from unsaid_stops(program, lathe.control.facts.message_width)
    yield from _warn_of_starts(program.motions[first:], lathe.spindle.spin_up, can_wait=can_wait)
    still = [h for h in halts_of(program) if not h.spindle]
    tries = {h.number for h in still if h.names("try a slip")}
    stops = {h.number for h in still} - tries
    for turned in _to_be_measured(program, setting):
        last = _last_cut(turned, result, feeding)
        if last >= first:
            yield from _warn_of_size(turned, setting, stops, tries, feeding, last)


def _to_be_measured(program: Program, setting: Setting) -> Iterator[Turned]:
    """Yield the sections that are left as turned, less those of which the text says that they cannot be measured."""
    told = _told_unmeasured(setting, plain(" ".join(text for _, text in program.comments)))
    for turned in setting.turned:
        left = turned.section.role not in BLANKS and "file" not in turned.section.finish.route
        if left and turned.section.name not in told:
            yield turned


def _told_unmeasured(setting: Setting, words: str) -> set[str]:
    """Return the sections of which the comments of a text say themselves that they cannot be measured.

    Of sections turned as one the words join the names: "SEAT AND NECK CANNOT BE MEASURED".
    """
    names = {plain(t.section.name): t.section.name for t in setting.turned}
    one = "|".join(map(re.escape, sorted(names, key=len, reverse=True)))
    said = re.finditer(rf" (?:(?:{one}) AND )*(?:{one})(?= CANNOT BE MEASURED )", words)
    return {names[name] for m in said for name in re.findall(rf"\b(?:{one})\b", m[0])}


def _warn_of_size(
    turned: Turned, setting: Setting, stops: set[int], tries: set[int], feeding: Mapping[int, Feeding], last: int
) -> Iterator[Finding]:  # fmt: skip
    """Warn where no stop to measure, or to try a slip, stands about a section's last cut, of that number."""
    name, line, fit = turned.section.name, feeding[last].line, turned.section.role in FITS
    before = _cut_before(turned, last, feeding)
    between = set(range(before + 1, last))
    measured = not between.isdisjoint(stops)
    if before < last and not measured:
        yield find(line, "not measured", f'"{name}" gets its last cut, and no stop to measure it stands before')
    elif fit and max(stops, default=0) <= last:
        yield find(line, "not measured", f'no stop to measure "{name}" stands after its last cut')
    if before < last and (measured or fit) and between.isdisjoint(tries) and _bears_a_slip(turned, setting):
        what = f'"{name}" gets its last cut, and no stop to try a slip stands before: a tool that was moved cuts it'
        yield find(line, "not tried", what)


def _bears_a_slip(turned: Turned, setting: Setting) -> bool:
    """Tell whether a slip on a section shows where X stands: not on the crests of a thread, nor on a steep taper."""
    level = abs(turned.radius_far - turned.radius_near) <= STEEP * (turned.near - turned.far)
    return level and not setting.pitch_on(turned.section.name)


def _last_cut(turned: Turned, result: list[Piece], feeding: Mapping[int, Feeding]) -> int:
    """Return the number of the motion that left most of a section; -1 where no feed motion did."""
    low, high = turned.far + reach_along(turned.corner), turned.near
    widths: dict[int, float] = {}
    for z0, z1, *_, source in result:
        if source in feeding and min(z1, high) > max(z0, low):
            widths[source] = widths.get(source, 0.0) + min(z1, high) - max(z0, low)
    return max(widths, key=lambda n: widths[n], default=-1)


def _cut_before(turned: Turned, last: int, feeding: Mapping[int, Feeding]) -> int:
    """Return the number of the cut along Z that passed the section's middle before its last; the last if none did."""
    middle, found = 0.5 * (turned.near + turned.far), last
    height = _height_at(feeding[last], middle)
    for number, cut in feeding.items():
        x = _height_at(cut, middle)
        if number < last and not math.isnan(x) and x > height + HIGHER:
            found = number
    return found


def _height_at(cut: Feeding, z: float) -> float:
    """Radius of a straight cut's path where it passes z, mm; nan where it does not."""
    (z0, x0), (z1, x1) = cut.path.start, cut.path.end
    if z0 == z1 or not min(z0, z1) <= z <= max(z0, z1):
        return math.nan
    return x0 + (x1 - x0) * (z - z0) / (z1 - z0)
