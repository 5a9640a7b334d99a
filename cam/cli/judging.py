"""Verbs that judge and show: simulate, plot."""

from __future__ import annotations

from typing import Annotated

import typer

from cam.cli.answers import Progress, complain, hand_over, reporting, say, say_json
from cam.cli.command import AsJson, DialectName, PartFile, SettingNumber, ShopFile, app, example


@app.command(epilog=example("simulate"))
def simulate(
    program: Annotated[str, typer.Argument(metavar="PROGRAM", help="Any program text, also one edited by hand.")],
    part: Annotated[str, typer.Option("--part", metavar="PART", help="The part file, TOML.")],
    setting: SettingNumber,
    shop: ShopFile = None,
    dialect: DialectName = None,
    lost_motion: Annotated[
        str | None,
        typer.Option(
            "--lost-motion",
            metavar="LENGTH",
            help='Show the sizes really cut on slides with this lost motion, "0.05 mm"; or shop, for the shop file\'s.',
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Judge any program text against a part.

    Reads the text by its standard's own rules and cuts with it: contact with centre, carrier or work, rapids
    through metal, gouges and metal left, the closest approach, each with the line of the program.
    """
    with reporting(as_json=as_json):
        from cam.job import judge_lost_motion, judge_program

        verdict = judge_program(program, part, setting, shop, dialect=dialect)
        sizes = judge_lost_motion(verdict, lost_motion) if lost_motion is not None else None
    if as_json:
        from cam.record import problem_data, simulation_data, size_data

        say_json(
            {
                "ok": not verdict.problems,
                "program": program,
                **simulation_data(verdict.simulation),
                **({"sizes": size_data(sizes)} if sizes is not None else {}),
                "problems": problem_data(verdict.problems),
            }
        )
    else:
        from cam.report import show_sizes, show_verdict

        say(show_verdict(verdict))
        if sizes is not None:
            say(show_sizes(sizes, verdict.part))
        complain(verdict.problems)
    if verdict.problems:
        raise typer.Exit(1)


@app.command(epilog=example("plot"))
def plot(
    part: PartFile,
    out: Annotated[
        str | None,
        typer.Option("--out", metavar="FILE", help="FILE.svg, .png or .pdf; otherwise SVG to the output."),
    ] = None,
    shop: ShopFile = None,
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite the file if it is there.")] = False,
) -> None:
    """Draw every setting; a refused one too, with the hit marked."""
    with reporting():
        from cam.files import write_file
        from cam.job import draw_given, picture_bytes

        with Progress() as progress:
            svg, problems = draw_given(part, shop, tell=progress.tell)
        if out is not None:
            write_file(out, picture_bytes(svg, out), replace=replace)
    if out is None:
        hand_over(svg)
    else:
        say(f"{out}: written{', of a job that may NOT be cut' if problems else ''}\n")
    if problems:
        complain(problems)
        raise typer.Exit(1)
