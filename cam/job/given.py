"""What a job begins from: the files that were named, read."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from cam.ground.inputs import read_input
from cam.ground.problem import Problem, ProblemError, Where, problem, refusal
from cam.ground.source import read_source
from cam.job.dialects import check_dialect
from cam.lengths import Solved, solve
from cam.lengths.journal import journal_path
from cam.part import Asked, read_asked
from cam.shop import read_shop

if TYPE_CHECKING:
    from cam.lengths.records import Records
    from cam.setting.model import Setting
    from cam.shop.model import Shop
    from posts.dialect import Dialect


MOST_BYTES = 10_000_000
"""The largest program text that is read, in bytes."""


def read_given(part_path: str, shop_path: str | None = None, piece: str = "") -> tuple[Solved, Shop]:
    """Read the part file, and the shop file that it or the caller names, and solve the part's lengths for that shop.

    Args:
        part_path: path of the part file.
        shop_path: path of the shop file; None takes the one that the part file names, relative to the part file.
        piece: name of one of several workpieces, whose own sizes count; the part is named after it.
    Raises:
        ProblemError: every problem of both files at once.
    """
    problems: list[Problem] = []
    asked = log = part = None
    try:
        log = read_log(part_path, piece)
        asked = read_asked(part_path)
    except ProblemError as found:
        problems += found.problems
    shop, more = _read_shop_of(asked, part_path, shop_path)
    problems += more
    if asked is not None:
        try:
            part = solve_for(asked, shop, log)
        except ProblemError as found:
            problems += found.problems
    if part is None or shop is None or problems:
        raise ProblemError(problems)
    return replace(named(part, piece), warnings=(*part.warnings, *_check_piece(part_path, piece))), shop


def _check_piece(part_path: str, piece: str) -> Iterator[Problem]:
    """Warn of a piece of which nothing is recorded, where something is of others: its name may be mistyped."""
    if not piece:
        return
    from cam.lengths.journal import pieces_beside

    if known := pieces_beside(part_path, piece):
        what, fix = "nothing is recorded of this piece", "check its name; a new one has no record yet"
        yield problem(Where(path="--piece"), what, piece, f"recorded: {', '.join(known)}", fix)


def files_of(part_path: str, shop_path: str | None, piece: str = "") -> frozenset[Path]:
    """Return what a part is made from: its file, its logs, and the shop file that is given or that it names.

    Args:
        piece: name of one of several workpieces, which has a log of its own beside the common one.

    Raises:
        ProblemError: the part file is not there, or cannot be read as one; or piece is no name.
    """
    part = Path(part_path)
    named: object = shop_path
    try:
        values = read_source(part_path).values
        named = shop_path or part.parent / str(values.get("shop", ""))
    except ProblemError:
        if not part.is_file():
            raise
    logs = {journal_path(part_path), journal_path(part_path, piece)}
    found = [part, *map(Path, logs), *([Path(str(named))] if named else [])]
    return frozenset(file.resolve() for file in found)


def solve_for(asked: Asked, shop: Shop | None, log: Records | None) -> Solved:
    """Solve the lengths of a part for a shop, as it comes out by all that is recorded of it as cut.

    Args:
        shop: None where it is not known; corners may then come out with any nose, and no setting is known to be cut.
    Raises:
        ProblemError: everything that is wrong with the part, at once.
    """
    if shop is None:
        return solve(asked, log=log)
    from cam.setting import as_cut

    return as_cut(solve(asked, shop.noses, log), shop)


def shop_beside(part_path: str, shop_path: str | None, asked: Asked) -> Shop | None:
    """Return the shop of the caller or of a part file; None where the part file names none that can be read.

    Raises:
        ProblemError: the caller's cannot be read.
    """
    shop, problems = _read_shop_of(asked, part_path, shop_path)
    if shop_path is not None and problems:
        raise ProblemError(problems)
    return shop


def _read_shop_of(asked: Asked | None, part_path: str, shop_path: str | None) -> tuple[Shop | None, Sequence[Problem]]:
    """Read the shop of the caller, or of a part file with nothing wrong; return it with what is wrong with it."""
    if shop_path is None:
        if asked is None or asked.part is None or asked.problems:
            return None, ()
        named = asked.part.shop
        if not named:
            return None, [_no_shop(part_path)]
        beside = Path(part_path).parent / named
        if not os.path.exists(beside):  # noqa: PTH110 - a name that Path cannot take
            return None, [_no_such_shop(part_path, named, beside)]
        shop_path = str(beside)
    try:
        return read_shop(shop_path), ()
    except ProblemError as found:
        return None, found.problems


def named(part: Solved, piece: str) -> Solved:
    """Return a part named after its piece on every page and in every program; first, as long names are cut short."""
    piece = piece.strip().lower()
    return replace(part, name=f"piece {piece}, {part.name}", piece=piece) if piece else part


def read_log(part_path: str, piece: str = "") -> Records | None:
    """Read what was recorded of a part, or of one of several pieces; None where nothing was.

    Raises:
        ProblemError: the log cannot be read.
    """
    if not piece and not os.path.lexists(os.path.splitext(part_path)[0] + ".log"):  # noqa: PTH122 - a name that Path cannot take
        return None
    from cam.lengths.records import read_records

    return read_records(part_path, piece)


def choose_dialect(name: str | None, shop: Shop) -> Dialect:
    """Return the dialect of a name, or the shop's own where that is None.

    Raises:
        ProblemError: there is no such dialect, or its file is wrong; or one is named for a lathe without a control.
    """
    from posts.dialect import load_dialect

    if name is not None and shop.lathe.by_hand:
        raise ProblemError([replace(no_control(shop), given=f"--dialect {name}")])
    if name is not None:
        return check_dialect(load_dialect(name, where=Where(path="--dialect")))
    where = Where(path=shop.path, line=shop.lathe.where.line)
    return check_dialect(load_dialect(shop.lathe.control.dialect, where=where))


def no_control(shop: Shop, instead: str = "leave it out") -> Problem:
    """Report that a lathe worked by hand was asked for a program or a dialect. instead: what to do."""
    what = "this lathe is worked by hand: it runs no program, of any dialect"
    return problem(shop.lathe.where, what, '[lathe.control] kind = "hand"', fix=instead)


def read_text(path: str) -> str:
    """Return a program's text as it stands in the file, line ends and all.

    Raises:
        ProblemError: the file is not there, is no plain file, is too large, or is not text.
    """
    data = read_input(path, MOST_BYTES)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        given, allowed = f"byte {data[fault.start]:#04x}", "plain ASCII, or UTF-8 in comments"
        raise refusal(Where(path=path, line=line), "is not text", given=given, allowed=allowed) from fault


def settings_of(part: Solved, shop: Shop, number: int) -> dict[int, Setting]:
    """Return the settings of a part by their numbers.

    Raises:
        ProblemError: none has this number, or the part cannot be held.
    """
    from cam.setting import settle

    settings = {s.number: s for s in settle(part, shop)}
    if number not in settings:
        raise ProblemError([no_such_setting(part, number, list(settings))])
    return settings


def no_such_setting(part: Solved, number: int, there_are: list[int]) -> Problem:
    """Report that a setting was asked for that the part does not have, or not yet."""
    if part.to_be_measured and number == 2:
        return wait_for(part)
    allowed = " or ".join(str(n) for n in there_are)
    return problem(Where(path=part.path), "the part has no such setting", f"--setting {number}", allowed)


def wait_for(part: Solved) -> Problem:
    """Report that setting 2 cannot be planned yet: what to measure, and how to give it."""
    from cam.lengths.sums import how_to_record

    wanted = part.waiting
    sections = ", ".join(f'"{s.name}"' for s in part.sections if s.length != s.length)
    what = "setting 2 cannot be planned yet: it rests on a length that is to be measured"
    given = f"{' and '.join(chr(34) + m.name + chr(34) for m in wanted)}; by it come the faces of {sections}"
    fix = "; ".join(how_to_record(part.path, part, m) for m in wanted) + ", then make again"
    return problem(wanted[0].where, what, given, "; ".join(f"{m.name}: {m.taken_with}" for m in wanted), fix)


def _no_such_shop(part_path: str, named: str, beside: Path) -> Problem:
    what = "the shop file that it names is not there"
    fix = "name the one that describes your workshop, from the part file's own folder; or say --shop FILE"
    return problem(Where(path=part_path), what, f'shop = "{named}", which is {beside}', fix=fix)


def _no_shop(part_path: str) -> Problem:
    allowed = 'shop = "shop.toml" in the part file, above its first table; relative to the part file'
    fix = "write that line, or say --shop FILE"
    return problem(Where(path=part_path), "no shop file is named", allowed=allowed, fix=fix)
