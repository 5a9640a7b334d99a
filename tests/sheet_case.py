"""The drum arbor's setting 1 as a sheet set out by hand, for dials, readouts, indicator and slips of every kind.

Figures are what a person would write from the drawing; readings are worked out here, by plain arithmetic of its own.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import NamedTuple

from cam.setting import settle
from cam.setting.model import Setting
from cam.shop.machine import Slide
from cam.shop.model import Shop
from tests.specimens import drum_arbor, quantity

BAR = 16.0


class Line(NamedTuple):
    """A row: what, was, leaves, from, to."""

    what: str
    was: float
    leaves: float
    start: float
    stop: float


BANDS = {1: "-- belt A2, about 600 rpm; feed 0.06 mm a turn",
         12: "-- slacken the tailstock centre and set it again: the work is warm; feed 0.03 mm a turn"}  # fmt: skip
ROWS = [
    Line("rough", 16.0, 14.5, 0.5, -66.1),
    Line("rough drum body", 14.5, 14.18, 0.5, -66.1),
    Line("rough", 14.18, 13.0, 0.5, -33.42),
    Line("rough", 13.0, 11.5, 0.5, -33.42),
    Line("rough", 11.5, 10.0, 0.5, -33.42),
    Line("rough", 10.0, 8.5, 0.5, -33.42),
    Line("rough front seat", 8.5, 8.18, 0.5, -33.42),
    Line("rough", 8.18, 7.0, 0.5, -25.92),
    Line("rough front pivot", 7.0, 6.22, 0.5, -25.92),
    Line("rough", 6.22, 5.5, 0.5, -19.92),
    Line("rough winding square", 5.5, 5.38, 0.5, -19.92),
    Line("drum body", 14.18, 14.08, -32.9, -66.02),
    Line("drum body, last cut", 14.08, 13.98, -32.9, -66.02),
    Line("front seat", 8.18, 8.08, -25.4, -33.46),
    Line("front seat, last cut", 8.08, 7.98, -25.4, -33.5),
    Line("front pivot", 6.22, 6.12, -19.4, -25.96),
    Line("front pivot, last cut", 6.12, 6.01, -19.4, -26.0),
    Line("winding square", 5.38, 5.28, 0.5, -19.96),
    Line("winding square, last cut", 5.28, 5.18, 0.5, -20.0),
]
MEASURES = {
    12: ["drum body: 14.08 ________ (then 13.95 to 14.00); each 0.02 over: X +1 in 13, 20"],
    13: ["drum body: 13.98 ________ (13.95 to 14.00)"],
    14: ["front seat: 8.08 ________ (then 7.97 to 8.00); each 0.02 over: X +1 in 15, 21",
         "shoulder past front seat: 33.46 ________"],
    15: ["front seat: 7.98 ________ (7.97 to 8.00)", "shoulder past front seat: 33.50 ________"],
    16: ["front pivot: 6.12 ________ (then 6.00 to 6.02); each 0.02 over: X +1 in 17, 22"],
    17: ["front pivot: 6.01 ________ (6.00 to 6.02); over: leave it to the stone"],
}
EDGES = [  # chamfers of 0.2 on body, seat, pivot and 0.5 on the square: (z, diameter) of the tool's programmed point
    ("drum body", [(-33.5, 13.49), (-33.56, 13.61), (-33.62, 13.73), (-33.68, 13.83), (-33.74, 13.95), (-33.8, 14.07)]),
    ("front seat", [(-26.0, 7.49), (-26.06, 7.61), (-26.12, 7.73), (-26.18, 7.83), (-26.24, 7.95), (-26.3, 8.07)]),
    ("front pivot", [(-20.0, 5.51), (-20.06, 5.63), (-20.12, 5.75), (-20.18, 5.87), (-20.24, 5.99), (-20.3, 6.11)]),
]
SQUARE = [(-0.02, 4.1), (-0.1, 4.26), (-0.16, 4.38), (-0.24, 4.54), (-0.3, 4.68), (-0.38, 4.82), (-0.44, 4.96),
          (-0.52, 5.1), (-0.58, 5.24)]  # fmt: skip


def slide(**changes: object) -> Slide:
    """Return the samples' X slide with some things changed; lengths in mm."""
    own = drum_arbor()[1].lathe.x
    return replace(own, **{k: quantity(v) if isinstance(v, float) else v for k, v in changes.items()})  # type: ignore[arg-type]


def z_slide(**changes: object) -> Slide:
    """Return the samples' Z slide with some things changed; lengths in mm."""
    own = drum_arbor()[1].lathe.z
    return replace(own, **{k: quantity(v) if isinstance(v, float) else v for k, v in changes.items()})  # type: ignore[arg-type]


def with_slides(x: Slide | None = None, z: Slide | None = None, kind: str = "stepper") -> Shop:
    """Return the samples' shop with other slides."""
    shop = drum_arbor()[1]
    lathe = shop.lathe
    lathe = replace(lathe, x=x or lathe.x, z=z or lathe.z, control=replace(lathe.control, kind=kind))  # type: ignore[arg-type]
    return replace(shop, lathe=lathe)


def arbor_setting(shop: Shop) -> Setting:
    """Return setting 1 of the drum arbor in a shop."""
    return settle(drum_arbor()[0], shop)[0]


def turns(divisions: float, per_turn: int) -> str:
    """Show divisions as a dial shows them, to half a division."""
    half = round(2 * divisions) / 2
    whole, rest = divmod(half, per_turn)
    text = f"{rest:0{len(str(per_turn - 1)) + 2}.1f}"
    return f"{int(whole)}+{text.removesuffix('.0')}"


def x_reading(own: Slide, diameter: float) -> str:
    """Return what X is set to for a diameter."""
    going_in = (BAR - diameter) if own.habit != "radius" else (BAR - diameter) / 2
    size = diameter if own.habit != "radius" else diameter / 2
    if own.reading == "none":
        return f"{(BAR - diameter) / 2:.3f}"
    value = size if own.counts == "down" and own.habit != "depth on diameter" else going_in
    if own.counts == "down" and own.habit == "depth on diameter":
        value = 20.0 - going_in
    if own.reading == "readout":
        return f"{round(value / own.division) * own.division:.3f}"
    return turns(value / own.division, round(own.turn / own.division))


def x_line(own: Slide) -> str:
    """Say how X is set."""
    way = "rises" if own.counts == "up" else "falls"
    if own.reading == "none":
        return "X IN  a side from diameter 16.00"
    if own.reading == "readout":
        if own.habit == "depth on diameter":
            zero = "0.000" if own.counts == "up" else "20.000"
            return f"X READS  depth on the diameter, {way} going in; {zero} is diameter 16.00"
        tail = "; 0.000 is diameter 16.00" if own.counts == "up" else ""
        return f"X READS  the {own.habit}, {way} going in{tail}"
    on = "a side" if own.habit == "radius" else "on the diameter"
    per = round(own.turn / own.division)
    zero = f"{x_reading(own, 16.0)} is diameter 16.00"
    return f"X DIAL  a division is {own.division:g} {on}, {per} a turn, {way} going in; {zero}"


def z_reading(own: Slide, z: float) -> str:
    """Return what Z is set to."""
    if own.reading == "none":
        return f"{z + 80:.2f}"
    value = -z if own.counts == "up" else z + 80
    if own.reading == "readout":
        return f"{value:.2f}"
    return turns(value / own.division, round(own.turn / own.division))


def z_line(own: Slide) -> str:
    """Say how Z is set."""
    way = "rises" if own.counts == "up" else "falls"
    if own.reading == "none":
        return "Z SLIPS  80.00 is Z 0.00"
    if own.reading == "readout":
        return f"Z READS  Z from Z 0, {way} toward the headstock; {z_reading(own, 0.0)} is Z 0.00"
    per = round(own.turn / own.division)
    zero = f"{z_reading(own, 0.0)} is Z 0.00"
    return f"Z DIAL  a division is {own.division:g}, {per} a turn, {way} toward the headstock; {zero}"


HEADS = {"dial": "{} dial", "readout": "{} reads", "none": "X in"}


def write_sheet(shop: Shop, *, numbers: bool = False) -> str:
    """Write the page for the dials of a shop."""
    x, z = shop.lathe.x, shop.lathe.z
    x_head, z_head = HEADS[x.reading].format("X"), "slips" if z.reading == "none" else HEADS[z.reading].format("Z")
    lines = ["ORRERY DRUM ARBOR: SETTING 1 of 2, A END", "=" * 40, "LEFT    B end on the headstock centre",
             "TOOL 1  right-hand knife, nose radius 0.1", x_line(x), z_line(z), "",
             f"    pass  cut  was  leaves  {x_head}  from Z  to Z  {z_head}{'  N' if numbers else ''}"]  # fmt: skip
    for number, row in enumerate(ROWS, 1):
        lines += [BANDS[number]] if number in BANDS else []
        cells = [f"[ ] {number:2d}", row.what, f"{row.was:.2f}", f"{row.leaves:.2f}", x_reading(x, row.leaves),
                 f"{row.start:.2f}", f"{row.stop:.2f}", z_reading(z, row.stop)]  # fmt: skip
        lines.append("  ".join([*cells, f"N{number}00"] if numbers else cells))
        lines += [f"MEASURE  {words}" for words in MEASURES.get(number, [])]
    for number, (name, places) in enumerate([*EDGES, ("winding square", SQUARE)], len(ROWS) + 1):
        pairs = ", ".join(f"{z_reading(z, p)} / {x_reading(x, d)}" for p, d in places)
        lines.append(f"[ ] {number:2d}  edge of {name}, chamfer")
        said = f"     points, Z / X: {pairs}; ridges of 0.013, to be stoned off"
        lines += re.findall(r".{1,78}(?:\s|$)", said)[:1]
        lines += [" " * 12 + part.strip() for part in re.findall(r".{1,78}(?:\s|$)", said)[1:]]
    return "\n".join([*lines, "", "AFTER THE LAST PASS", " 1. Take the burrs off.", ""])


def as_print(text: str) -> str:
    """Return the same page as a print form has it: rows of a table, other lines paragraphs."""
    title, _, *lines = text.splitlines()
    part, _, rest = title.partition(": ")
    found = [f"<!DOCTYPE html>\n<html><head><title>{title}</title><style>td {{ padding: 0 }}</style></head><body>",
             f"<header><h1>{part}</h1><b>{rest}</b></header>", "<svg><text>12  9.99  9.99</text></svg>"]  # fmt: skip
    inside = False
    for line in lines:
        if "pass  cut" in line:
            inside = True
            found.append("<table>")
        elif not line and inside:
            inside = False
            found.append("</table>")
        if line.startswith(" " * 10):
            found[-1] = found[-1].replace("</td></tr>", f" {line.strip()}</td></tr>")
        elif inside:
            cells = re.split(r" {2,}", line.strip())
            row = "".join(f"<td>{cell}</td>" for cell in cells)
            found.append(f"<tr>{row.replace('.5</td>', '½</td>').replace('[ ]', '')}</tr>")
        elif line:
            label, _, words = line.partition("  ")
            found.append(f"<p><b>{label}</b>  {words}</p>")
    return "\n".join([*found, "<header><h1>Another</h1><b>BENCH</b></header>", "<table><tr><td>1</td></tr></table>"])
