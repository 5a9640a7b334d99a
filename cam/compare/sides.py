"""One side of a comparison: what a part file leads to, what a folder of make holds, or what a program text does."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cam.geometry.path import Arc, Chain, Line, Point, Segment
from cam.ground.files import is_whole_record
from cam.ground.frozen import frozen
from cam.ground.inputs import read_input
from cam.ground.problem import Problem, ProblemError, Where, refusal
from cam.job import judge_mill_program, judge_program, make_job, read_text
from cam.job.record import job_record, mill_simulation_data, outline_data, simulation_data

if TYPE_CHECKING:
    from cam.job import Verdict

RECORD = "plan.json"
FORMAT, FORMAT_VERSION = "endshake plan", 1
"""The version of the records that are read here, as cam.job.record writes them; each is known by its own hash."""
MOST_BYTES = 20_000_000


@frozen
class Side:
    """One side of a comparison, as a record.

    Attributes:
        path: the path as the user named it.
        record: the record as plan.json has it; for a program text, what program_side makes of it.
        outlines: pairs of a setting's number and the metal it leaves, in the part's own axes.
        unit: "mm" or "in", for showing.
        text: text of the program, where the side is one; "" otherwise.
    """

    path: str
    record: dict[str, Any]
    outlines: tuple[tuple[int, Chain], ...]
    unit: str
    text: str = ""


def read_side(path: str, shop: str | None = None, piece: str = "") -> Side:
    """Read a folder of make, or plan and judge a part file.

    Args:
        path: path of the folder, or of the part file.
        shop: path of the shop file, for a part file; None takes the shop that the part file names.
        piece: name of one of several workpieces.

    Raises:
        ProblemError: the path is neither, or cannot be read or planned; or the folder is of another piece.
    """
    if os.path.isdir(path):  # noqa: PTH112 - a name that Path cannot take
        record = _read_folder(path, piece)
    else:
        record = json.loads(json.dumps(job_record(make_job(path, shop, piece=piece)), allow_nan=False))
    outlines = tuple((s["number"], read_outline(s["left"])) for s in record["settings"] if "left" in s)
    return Side(path=_called(path, piece), record=record, outlines=outlines, unit=str(record["part"]["unit"]))


def _called(path: str, piece: str) -> str:
    return f"{path}, piece {piece}" if piece else path


def read_outline(data: dict[str, Any]) -> Chain:
    """Return an outline as plan.json keeps it."""
    at = Point(*map(float, data["start_zr_mm"]))
    chain: list[Segment] = []
    for piece in data["pieces"]:
        end = Point(*map(float, piece["to"]))
        if "centre" in piece:
            chain.append(Arc(at, end, Point(*map(float, piece["centre"])), 1 if piece["turn"] > 0 else -1))
        else:
            chain.append(Line(at, end))
        at = end
    return tuple(chain)


def _read_folder(path: str, piece: str) -> dict[str, Any]:
    fix = "name a folder that endshake make has written, or a part file"
    data = read_input(str(Path(path) / RECORD), MOST_BYTES, fix=fix)
    if not is_whole_record(data):
        what = "is not a whole record of ours: cut short, damaged, or changed by hand since"
        raise ProblemError([_not_ours(path, what)])
    record: dict[str, Any] = json.loads(data)
    if record.get("format") != FORMAT or record.get("format_version") != FORMAT_VERSION:
        raise ProblemError([_not_ours(path, "is the record of another version, which has other keys")])
    own = str(record["part"].get("piece", ""))
    if piece and own != piece.strip().lower():
        what, given = "is of another workpiece than --piece says", f"piece {own}" if own else "no piece of its own"
        fix = "say --piece twice, for A and for B; or make the folder with it"
        raise refusal(str(Path(path) / RECORD), what, given=given, fix=fix)
    return record


def _not_ours(path: str, what: str) -> Problem:
    return Problem(where=Where(path=str(Path(path) / RECORD)), what=what, fix="make the folder again")


def program_side(
    path: str, part: str, shop: str | None = None, *, setting: int | None, mill: str | None,
    dialect: str | None = None, piece: str = "",
) -> Side:  # fmt: skip
    """Judge a program by itself, in the form of a record.

    Args:
        path: path of the text.
        part, shop: files that it is judged against; a shop of None takes the one that the part file names.
        setting: its number; None for a milling operation. mill: its name; None for a setting.
        dialect: dialect of the text; None takes the shop file's. piece: name of one of several workpieces.

    Raises:
        ProblemError: a file cannot be read, or there is no such setting, work or dialect.
    """
    text = read_text(path)
    if mill is not None:
        milled = judge_mill_program(path, part, mill, shop, dialect=dialect, piece=piece)
        judged = _judged(mill_simulation_data(milled.simulation), milled.problems)
        record: dict[str, Any] = {"settings": [], "mill": {mill: {"checked": judged}}}
        return Side(path=_called(path, piece), record=record, outlines=(), unit=milled.part.unit, text=text)
    assert setting is not None
    verdict = judge_program(path, part, setting, shop, dialect=dialect, piece=piece)
    judged = _judged(simulation_data(verdict.simulation), verdict.problems)
    sections = [
        {"name": s.name, "from_a_mm": [s.start, s.end]}
        for s in verdict.part.sections
        if not math.isnan(s.start + s.end)
    ]
    record = {
        "part": {"sections": sections},
        "settings": [{"number": setting, "checked": judged, "tools": _tools(verdict)}],
    }
    chain = read_outline(outline_data(verdict.simulation.result, verdict.setting))
    unit, called = verdict.part.unit, _called(path, piece)
    return Side(path=called, record=record, outlines=((setting, chain),), unit=unit, text=text)


def _judged(data: dict[str, Any], problems: Sequence[Problem]) -> dict[str, Any]:
    """Return a judgement with all that stands against cutting: what the reader and the simulation found."""
    return {**data, "findings": [{"what": problem.what} for problem in problems]}


def _tools(verdict: Verdict) -> list[dict[str, Any]]:
    """Return each tool with the feeds and speeds that it is given, in the order of use."""
    found: dict[int, dict[str, Any]] = {}
    for motion in verdict.program.motions:
        if motion.kind not in ("line", "arc") or motion.feed is None:
            continue
        tool = found.setdefault(motion.tool, {"tool": motion.tool, "feeds": set(), "speeds": set()})
        unit = {95: "mm/rev", 93: "1/min"}.get(motion.feed_mode, "mm/min")
        tool["feeds"].add(f"{motion.feed:.4g} {unit}")
        tool["speeds"].add(f"{motion.rpm:.5g} rpm")
    return [{"tool": t["tool"], "feeds": sorted(t["feeds"]), "speeds": sorted(t["speeds"])} for t in found.values()]
