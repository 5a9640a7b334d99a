"""Verbs that judge and show: simulate, plot, view."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cam.cli.answers import Progress, complain, hand_over, reporting, say, say_json, warn
from cam.cli.command import (
    PAGE,
    AsJson,
    DialectName,
    MillName,
    PartFile,
    PieceName,
    SettingNumber,
    ShopFile,
    app,
    choose_one,
    example,
)

if TYPE_CHECKING:
    from cam.ground.problem import Problem
    from cam.job.model import MillVerdict, Verdict
    from cam.judge.sizes import Size


@app.command(epilog=example("simulate"))
def simulate(  # noqa: PLR0913, PLR0917 - each is a flag
    program: Annotated[
        str, typer.Argument(metavar="PROGRAM", help="Any program or setting's page, also one edited by hand.")
    ],
    part: Annotated[str, typer.Option("--part", metavar="PART", help="The part file, TOML.")],
    setting: SettingNumber = None,
    mill: MillName = None,
    shop: ShopFile = None,
    piece: PieceName = "",
    dialect: DialectName = None,
    backlash: Annotated[
        str | None,
        typer.Option(
            "--backlash",
            metavar="LENGTH",
            help='Show the sizes really cut on slides with this backlash, "0.05 mm"; or shop, for the shop file\'s.',
        ),
    ] = None,
    from_pass: Annotated[
        int | None,
        typer.Option("--from-pass", metavar="N", min=1, help="Check it as begun at this pass, those before it done."),
    ] = None,
    reground: Annotated[
        bool, typer.Option("--reground", help="With --from-pass: the tool was ground, and is set anew on the work.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check any program or sheet against a part.

    Reads the text by its standard's own rules and cuts with it: contact with centre, carrier or work, rapids
    through metal, gouges and metal left, the closest approach, each with the line of the program. Of a program for
    the mill likewise: nut, block and jaws, every flat at its stations, every hole. Of a page: set on this lathe's
    dials as a careful hand does, with its backlash.
    """
    choose_one(setting, mill)
    _check_begun(from_pass, backlash, reground=reground, mill=mill)
    if mill is not None:
        _simulate_mill(program, part, mill, shop, dialect, backlash, from_pass, piece=piece, as_json=as_json)
        return
    assert setting is not None
    with reporting(as_json=as_json):
        from cam.job import is_page, judge_backlash, judge_program

        if is_page(program):
            _simulate_page(program, part, setting, shop, dialect, backlash, from_pass, piece=piece, as_json=as_json)
            return
        verdict = judge_program(
            program, part, setting, shop, dialect=dialect, from_pass=from_pass, reground=reground, piece=piece
        )
        sizes = judge_backlash(verdict, backlash) if backlash is not None else None
    _answer(verdict, sizes, as_json=as_json)


def _check_begun(from_pass: int | None, backlash: str | None, *, reground: bool, mill: str | None) -> None:
    """Refuse options that do not go with a program begun at a pass."""
    if reground and (from_pass is None or mill is not None):
        raise typer.BadParameter("--reground goes with --from-pass, on the lathe")
    if from_pass is not None and backlash is not None:
        raise typer.BadParameter("--backlash is of a whole program; leave out --from-pass")


def _answer(verdict: Verdict | MillVerdict, sizes: Sequence[Size] | None, *, as_json: bool) -> None:
    """Say what was found in a program of lathe or mill."""
    from cam.job.model import Verdict as OfLathe

    if as_json:
        from cam.job.record import mill_simulation_data, problem_data, simulation_data, size_data

        if isinstance(verdict, OfLathe):
            found = simulation_data(verdict.simulation)
        else:
            found = mill_simulation_data(verdict.simulation)
        say_json(
            {
                "ok": not verdict.problems,
                "program": verdict.path,
                **found,
                **({"sizes": size_data(sizes)} if sizes is not None else {}),
                "warnings": problem_data(verdict.warnings),
                "problems": problem_data(verdict.problems),
            }
        )
    else:
        from cam.job.report import show_mill_verdict, show_sizes, show_verdict

        say(show_verdict(verdict) if isinstance(verdict, OfLathe) else show_mill_verdict(verdict))
        if sizes is not None:
            say(show_sizes(sizes, verdict.part))
        complain(verdict.problems)
        warn(verdict.warnings)
    if verdict.problems:
        raise typer.Exit(1)


def _simulate_page(  # noqa: PLR0913 - each is a flag
    path: str, part: str, setting: int, shop: str | None, dialect: str | None, backlash: str | None,
    from_pass: int | None, *, piece: str, as_json: bool,
) -> None:  # fmt: skip
    if from_pass is not None:
        raise typer.BadParameter("--from-pass is of programs; a page is begun at any row")
    if dialect is not None:
        raise typer.BadParameter("--dialect is of programs; a page is in words")
    if backlash is not None:
        raise typer.BadParameter("--backlash is of programs; a page is always cut with the shop file's")
    from cam.job import judge_page

    verdict = judge_page(path, part, setting, shop, piece)
    problems = verdict.problems
    if as_json:
        from cam.job.record import page_data, problem_data

        say_json({"ok": not problems, "page": path, **page_data(verdict.sheet), "problems": problem_data(problems)})
    else:
        from cam.job.report import show_page_verdict

        say(show_page_verdict(verdict))
        complain(problems)
    if problems:
        raise typer.Exit(1)


def _simulate_mill(  # noqa: PLR0913 - each is a flag
    program: str, part: str, name: str, shop: str | None, dialect: str | None, backlash: str | None,
    from_pass: int | None, *, piece: str, as_json: bool,
) -> None:  # fmt: skip
    if backlash is not None:
        raise typer.BadParameter("--backlash is of the lathe's slides")
    with reporting(as_json=as_json):
        from cam.job import judge_mill_program

        verdict = judge_mill_program(program, part, name, shop, dialect=dialect, from_pass=from_pass, piece=piece)
    _answer(verdict, None, as_json=as_json)


@app.command(epilog=example("plot"))
def plot(
    part: Annotated[str | None, typer.Argument(metavar="PART", help="The part file, TOML.", show_default=False)] = None,
    out: Annotated[
        str | None, typer.Option("--out", metavar="FILE", help="FILE.svg, .png or .pdf; otherwise SVG to the output.")
    ] = None,
    shop: ShopFile = None,
    piece: PieceName = "",
    tool: Annotated[
        int | None, typer.Option("--tool", metavar="N", help="In place of PART, a tool of --shop beside a centre.")
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite the file if it is there.")] = False,
) -> None:
    """Draw every setting; a refused one too, with the hit marked. Or draw a tool as the shop file describes it."""
    if (part is None) == (tool is None) or (tool is not None and shop is None):
        raise typer.BadParameter("say a part file; or --tool N --shop FILE")
    with reporting():
        from cam.ground.files import write_file
        from cam.job import draw_given, picture_bytes
        from cam.job.given import files_of
        from cam.job.outputs import draw_tool_of

        with Progress() as progress:
            problems: Sequence[Problem] = ()
            if part is None:
                svg = draw_tool_of(str(shop), tool or 0)
            else:
                svg, problems = draw_given(part, shop, piece=piece, tell=progress.tell)
        if out is not None:
            made_from = [Path(str(shop))] if part is None else files_of(part, shop, piece)
            write_file(out, picture_bytes(svg, out), replace=replace, sources=made_from)
    _hand_over_drawn(svg, out, problems)


def _hand_over_drawn(text: str, out: str | None, problems: Sequence[Problem], then: str = "") -> None:
    """Print what was drawn, or say that it is written and what to do then; exit 1 if the job may not be cut."""
    if out is None:
        hand_over(text)
    else:
        say(f"{out}: written{', of a job that may NOT be cut' if problems else ''}{then}\n")
    if problems:
        complain(problems)
        raise typer.Exit(1)


@app.command(epilog=example("view"))
def view(
    part: PartFile,
    out: Annotated[
        str | None, typer.Option("--out", metavar="FILE", help="FILE.html; otherwise the page goes to the output.")
    ] = None,
    shop: ShopFile = None,
    piece: PieceName = "",
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite the file if it is there.")] = False,
) -> None:
    """Write a page that steps through the programs, block by block.

    One HTML file for any browser, also on a phone; it holds everything and asks for nothing from anywhere. A
    refused job's page opens where the tool hits, with what would clear it.
    """
    with reporting():
        from cam.ground.files import require_ending, write_file
        from cam.job.given import files_of
        from cam.job.view import view_given

        if out is not None:
            require_ending(out, "a page", *PAGE)

        with Progress() as progress:
            page, problems = view_given(part, shop, piece=piece, tell=progress.tell)
        if out is not None:
            write_file(out, page.encode(), replace=replace, sources=files_of(part, shop, piece))
    _hand_over_drawn(page, out, problems, "; open it in a browser")
