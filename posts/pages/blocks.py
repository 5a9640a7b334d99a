"""Blocks: the content of a page as data, made once from the checked job and rendered as text, print and notebook.

A block holds figures and words ready to be read; a renderer sets them and decides nothing by their wording. Renderers
never read one another's output. All figures are strings as `posts.pages.figures` rounds them, so that every renderer
prints the same digits.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, TypeVar

from cam.ground.frozen import frozen
from cam.setting.model import Setting

Axis = Literal["X", "Z", "Y", "A"]
PageKind = Literal["bench", "spans", "setting", "thread", "square", "cross hole", "holes", "hook", "next", "notebook",
                   "stops"]  # fmt: skip


@frozen
class Head:
    """The head of a group of blocks: "BEFORE POWER"."""

    words: str


@frozen
class Fact:
    """One fact that holds for the whole page, after its label: "LEFT", "TOOL 1", "Z 0"."""

    label: str
    words: str


@frozen
class Banner:
    """A notice that must not be overlooked, before anything else is read."""

    words: str


@frozen
class Words:
    """A sentence or two. mark: "-", "1." or "" for a paragraph."""

    words: str
    mark: str = "-"


@frozen
class Caution:
    """A caution. general: it is said once, on the first page; others stand at their own step on their own page."""

    words: str
    general: bool = False


@frozen
class Ask:
    """Something to be written down; no row of cuts waits for it.

    Attributes:
        what: "bar over both ends". wanted, limits: figures, "" for none. record: the name under which `endshake record`
            keeps it, "" for none.
    """

    what: str
    wanted: str = ""
    limits: str = ""
    record: str = ""


@frozen
class FigureTable:
    """Figures in columns.

    Attributes:
        heads: one a column. align: one letter a column, "l" or "r". rows: cells, as many as heads; a cell BLANK is a
            place to write in.
    """

    heads: tuple[str, ...]
    align: str
    rows: tuple[tuple[str, ...], ...]


BLANK = "________"
"""A place to write in, as the text form prints it."""


@frozen
class Dial:
    """How one slide is set: read by the person and by the reader of sheets.

    Attributes:
        axis: "X" or "Z"; on the mill also "Y".
        reading: "dial", "readout" or "none" (slips, or an indicator; on the mill bare figures).
        words: the one line that the reader of sheets takes, see "The sheet's grammar" in DEVELOPERS.md.
        how: sentences on how its zero is set and how a setting is approached, where that is too much for words.
    """

    axis: Axis
    reading: Literal["dial", "readout", "none"]
    words: str
    how: tuple[str, ...] = ()


@frozen
class Band:
    """What is changed before the rows that follow: belt or speed, feed, tool, tailstock, each in its own words."""

    words: tuple[str, ...]


@frozen
class Cut:
    """One row: one setting of X and one stop of Z.

    Attributes:
        number: number of the pass, as in the program. what: "rough drum body", "front seat, last cut".
        how: "by program" or "by hand" where no handle is set for it; else "".
        was, leaves: diameter that stands before and after, as the dial lands; "" where a row has points instead.
        x: what X is set to, in this machine's own terms; "" for a control without dials, or a row with points.
        start, stop: Z where the carriage starts and stops; equal for a cut square to the axis, in which X goes inward.
        z: what Z is set to at the stop, in the same terms as x.
        line: the N word at which the program begins this pass, "N1200"; "" for a lathe without control.
    """

    number: int
    what: str
    how: str = ""
    was: str = ""
    leaves: str = ""
    x: str = ""
    start: str = ""
    stop: str = ""
    z: str = ""
    line: str = ""


@frozen
class MillCut:
    """One row of the mill: one pass, or one tool in a hole.

    Attributes:
        number: number of the pass, as in the program. what: "flat 1, layer 2 of 2", "drill".
        turn: how the work lies, "side 3 up", "turned 120"; "" where it is turned once for all.
        left: what is left on the flat, as Z lands. below: depth below the touch, as Z lands; "" for none.
        y: Y of the path, where there are several; for a cut across, from and to. z: what Z is set to; "by hand".
    """

    number: int
    what: str
    turn: str = ""
    left: str = ""
    below: str = ""
    y: str = ""
    z: str = ""


@frozen
class Points:
    """The places at which both slides are set, one after the other; they belong to the Cut before.

    Attributes:
        way: "in and out": at each place X goes in to its reading and out again; "set over": the top slide, set over by
            angle degrees, carries the tool straight from the first place to the last; "drawn out": how deep a drill
            goes before it is drawn out to clear the chips, x empty.
        z_head, x_head: what is set, "Z" and "X"; "diameter" where X has no reading; for a drill "Z dial".
        places: (z, x) in this machine's own terms, in the order in which they are set, toward the headstock.
        angle: degrees, as printed; "" for "in and out". travel: how far the top slide is wound, as printed, likewise.
        then: what is done about the metal that is left: "ridges of 0.01, to be stoned off".
        count: number of places in and out, so that a lost one is noticed; 0 for the other ways.
    """

    way: Literal["in and out", "set over", "drawn out"]
    z_head: str
    x_head: str
    places: tuple[tuple[str, str], ...]
    angle: str = ""
    travel: str = ""
    then: str = ""
    count: int = 0


@frozen
class MeasureBlock:
    """A line at which the work is measured before the next row.

    Attributes:
        of: "diameter" or "shoulder"; on the mill "size". name: name of the section; for a size, what is measured.
        expected: the figure that the row before leaves. least, most: limits after the last cut, "" for none.
        last: whether no cut follows here, so that expected must lie within the limits.
        over, under: the correction for this dial, or what such a reading means, one phrase each: "each 0.02 over: 1
            division on", "under 13.95: scrap"; "" for nothing to say.
        rows: numbers of the later rows that are corrected with the next one, and its own.
        record: name for `endshake record`, "" for none.
        value: what was read, as it was recorded; "" leaves a blank for it.
        place: where it is measured and with what, where that must be said: "at its rim"; "" for nothing.
    """

    of: Literal["diameter", "shoulder", "size"]
    name: str
    expected: str
    least: str = ""
    most: str = ""
    last: bool = False
    over: str = ""
    under: str = ""
    rows: tuple[int, ...] = ()
    record: str = ""
    value: str = ""
    place: str = ""


@frozen
class Drawing:
    """A drawing on a page.

    Attributes:
        kind: "setting", the work as it is held with its sizes; "strip", its shoulders at full size; "bar", a bar by
            which the printer's scale is checked; "characters", lines of text given ready.
        setting: for "setting" and "strip". lines: for "characters".
        finished: for "setting", the earlier settings, with the diameters that they left.
    """

    kind: Literal["setting", "strip", "bar", "characters"]
    setting: Setting | None = None
    lines: tuple[str, ...] = ()
    finished: tuple[Setting, ...] = ()


Block = (
    Banner
    | Head
    | Fact
    | Words
    | Caution
    | Ask
    | FigureTable
    | Dial
    | Band
    | Cut
    | MillCut
    | Points
    | MeasureBlock
    | Drawing
)
Kind = TypeVar("Kind", bound=Block)


def of_kind(blocks: Iterable[Block], kind: type[Kind]) -> list[Kind]:
    """Return the blocks of one kind, in their order."""
    return [b for b in blocks if isinstance(b, kind)]


@frozen
class Page:
    """One page of work: what is done in one place without turning over.

    Attributes:
        kind: kind of work. title: "SETTING 1 of 2, A END"; the part's name stands before it.
        part: the part's name. blocks: its blocks, in the order in which they are needed.
        number: number of the setting; 0 for other pages.
        foot: part file, shop file and version, with their short marks.
    """

    kind: PageKind
    title: str
    part: str
    blocks: tuple[Block, ...]
    number: int = 0
    foot: str = ""
