"""The verb that lays two plans or two programs side by side: compare."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cam.cli.answers import reporting, say, say_json
from cam.cli.command import AsJson, DialectName, MillName, SettingNumber, ShopFile, app, choose_one, example

if TYPE_CHECKING:
    from cam.compare import Side


@app.command(epilog=example("compare"))
def compare(  # noqa: PLR0913, PLR0917 - each is a flag
    one: Annotated[str, typer.Argument(metavar="A", help="A part file, a folder of make, or a program.")],
    other: Annotated[str, typer.Argument(metavar="B", help="The other.")],
    part: Annotated[
        str | None, typer.Option("--part", metavar="PART", help="The part file that two programs are checked by.")
    ] = None,
    setting: SettingNumber = None,
    mill: MillName = None,
    shop: ShopFile = None,
    piece: Annotated[
        list[str] | None,
        typer.Option("--piece", metavar="NAME", help="Which of several workpieces; twice, for A and for B."),
    ] = None,
    dialect: DialectName = None,
    out: Annotated[
        str | None, typer.Option("--out", metavar="FILE", help="Draw both too: FILE.svg, .png or .pdf.")
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite the file if it is there.")] = False,
    as_json: AsJson = False,
) -> None:
    """Say what differs between two plans or two programs.

    Part files are planned and checked; folders are taken as make wrote them; programs need --part, and --setting
    or --mill. Only what differs is said: sizes and limits, settings, passes, closest approaches, times, findings, and
    where the metal that is left differs by more than 0.001 mm. The picture lays one over the other.
    Exit 0 whether or not they are alike; --json says which.
    """
    if part is not None:
        choose_one(setting, mill)
    elif setting is not None or mill is not None or dialect is not None:
        raise typer.BadParameter("--setting, --mill and --dialect are for programs, and go with --part")
    pieces = piece or [""]
    if len(pieces) > 2:
        raise typer.BadParameter("say --piece once for both, or twice, for A and for B")
    with reporting(as_json=as_json):
        from cam.compare import compare_records, comparison_data, draw_comparison, show_comparison
        from cam.ground.files import write_file
        from cam.job import picture_bytes

        named = (one, pieces[0]), (other, pieces[-1])
        a, b = _read_sides(named, part, shop, setting=setting, mill=mill, dialect=dialect)
        changes = compare_records(a, b)
        if out is not None:
            made_from = _sources(named, part, shop)
            write_file(out, picture_bytes(draw_comparison(a, b), out), replace=replace, sources=made_from)
    if as_json:
        say_json({"ok": True, **comparison_data(a, b, changes)})
    else:
        say(show_comparison(a, b, changes) + (f"{out}: written\n" if out is not None else ""))


def _sources(named: Iterable[tuple[str, str]], part: str | None, shop: str | None) -> set[Path]:
    """Return the files that a comparison is made from; named: path and piece of each side."""
    from cam.ground.files import RECORD
    from cam.job.given import files_of

    found = set[Path]()
    for path, piece in named:
        side = Path(path)
        found |= {side / RECORD} if side.is_dir() else {side, *files_of(part or path, shop, piece)}
    return found


def _read_sides(
    named: tuple[tuple[str, str], tuple[str, str]],
    part: str | None,
    shop: str | None,
    *,
    setting: int | None,
    mill: str | None,
    dialect: str | None,
) -> tuple[Side, Side]:
    """Read both sides and raise the problems of both at once; named: path and piece of each."""
    from cam.compare import program_side, read_side
    from cam.ground.problem import Problem, ProblemError

    sides: list[Side] = []
    problems: list[Problem] = []
    for path, piece in named:
        try:
            if part is None:
                sides.append(read_side(path, shop, piece))
            else:
                sides.append(program_side(path, part, shop, setting=setting, mill=mill, dialect=dialect, piece=piece))
        except ProblemError as found:
            problems += found.problems
    if problems:
        raise ProblemError(problems)
    return sides[0], sides[1]
