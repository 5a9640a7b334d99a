"""The lines of a sheet that its reader acts on, from their blocks: the same words in text and in print.

The grammar stands in DEVELOPERS.md, "The sheet's grammar". Columns are separated by two spaces.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from posts.pages.blocks import BLANK, Band, Block, Cut, Dial, Measure, Points

GAP = "  "
"""Between columns."""
NUMBERS = ("pass", "cut", "was", "leaves", "X", "from Z", "to Z", "Z", "N")
"""The columns in their order; X, Z and N stand only where the machine has them."""
RIGHT = "rlrrrrrrr"
"""How the columns are set."""
HEADS = {("X", "dial"): "X dial", ("X", "readout"): "X reads", ("X", "none"): "X in",
         ("Z", "dial"): "Z dial", ("Z", "readout"): "Z reads", ("Z", "none"): "slips"}  # fmt: skip
"""Head of a column by axis and reading."""


def heads_of(blocks: Iterable[Block]) -> dict[str, str]:
    """The columns that a page's rows have, and the head of each: dials that it describes, N where a row has one."""
    found: dict[str, str] = {}
    numbered = False
    for block in blocks:
        if isinstance(block, Dial):
            found[block.axis] = HEADS[block.axis, block.reading]
        elif isinstance(block, Cut):
            numbered = numbered or bool(block.line)
    if numbered:
        found["N"] = "N"
    return {name: found.get(name, name) for name in NUMBERS if name in found or name not in ("X", "Z", "N")}


def cells_of(cut: Cut, heads: Iterable[str]) -> list[str]:
    """A row's cells, one for each column named in heads; see heads_of."""
    cells = {
        "pass": str(cut.number), "cut": cut.what, "was": cut.was, "leaves": cut.leaves, "X": cut.x,
        "from Z": cut.start, "to Z": cut.stop, "Z": cut.z, "N": cut.line,
    }  # fmt: skip
    return [cells[name] for name in heads]


def band_line(band: Band) -> str:
    """What is changed before the rows that follow."""
    return f"-- {'; '.join(band.words)}"


def points_line(points: Points) -> str:
    """The places at which both slides are set."""
    pairs = [f"{z} / {x}" for z, x in points.places]
    if points.way == "set over":
        said = f"set over {points.angle} degrees, from {points.z_head} / {points.x_head} {pairs[0]} to {pairs[-1]}"
    else:
        said = f"points, {points.z_head} / {points.x_head}, in and out at each: {', '.join(pairs)}"
    return f"{said}; {points.then}" if points.then else said


def measure_line(measure: Measure) -> str:
    """What is measured, its blank, its limits, and what is corrected."""
    what = "diameter of" if measure.of == "diameter" else "shoulder past"
    return f"MEASURE{GAP}{what} {measure.name}: {'; '.join(_said(measure))}"


def _said(measure: Measure) -> Iterator[str]:
    limits = f" ({'' if measure.last else 'then '}{measure.least} to {measure.most})" if measure.least else ""
    yield f"{measure.expected} {BLANK}{limits}"
    yield from (words for words in (measure.over, measure.under) if words)
