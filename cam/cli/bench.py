"""Verbs of the bench: record, history, tailstock."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cam.cli.answers import reporting, say
from cam.cli.command import PartFile, PieceName, ShopFile, app, example

if TYPE_CHECKING:
    from cam.lengths.records import Use


@app.command(epilog=example("record"))
def record(  # noqa: PLR0913, PLR0917 - each is a flag
    part: PartFile,
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="What was measured, in quotes.", show_default=False)
    ] = None,
    value: Annotated[
        list[str] | None,
        typer.Argument(metavar="VALUE", help="One reading or several, with the unit.", show_default=False),
    ] = None,
    shop: ShopFile = None,
    piece: PieceName = "",
    zero: Annotated[
        bool, typer.Option("--zero", help="Of a stop: the zero is off, and is set anew at the control.")
    ] = False,
    notebook: Annotated[
        bool, typer.Option("--notebook", help="Of a stop: keep it for the notebook, change nothing.")
    ] = False,
    sure: Annotated[
        bool, typer.Option("--sure", help="It is so: keep it though it is far from what was likely.")
    ] = False,
    withdraw: Annotated[
        int | None,
        typer.Option("--withdraw", metavar="LINE", min=1, help="Withdraw the record on that line of the log."),
    ] = None,
) -> None:
    """Keep what was measured, cut or read off, beside the part.

    NAME is a measurement of the part file; or a section with what was measured of it: "front pivot diameter",
    "front seat length", "front seat shoulder" (from the finished end to it); a span: "frame span"; or what a
    gauging stop read: "front pivot stop diameter", "front seat stop shoulder". A wrong name lists all.
    VALUE may be a sum: "36.21; 36.20 mm, less spigot: 4.00 mm +- 0.01 mm, plus slip: 10 mm +- 0.001 mm".
    What a stop read corrects the last cut on that section in the next program. With --zero it is kept as a zero that
    is off: the answer says what X or Z is set to at the control, and no program changes.
    A reading over ten times its uncertainty from what is likely, or with which the part cannot be made, is refused
    with what it would do; --sure keeps it.
    Records are only ever added: a later one of the same name stands in place of the earlier. One that is wrong is
    withdrawn by its line, as history shows it: endshake record PART --withdraw 3. That works whatever state the
    job is in, and a withdrawal can be withdrawn. The part file is
    not touched; make, check and all others read the log by themselves. Of several workpieces of one part each has
    its own log, by --piece NAME; what is read off the assembly is common to them.
    """
    if withdraw is not None and any((name, value, zero, notebook, sure)):
        raise typer.BadParameter("--withdraw LINE stands alone: withdraw first, then record what is right")
    if zero and notebook:
        raise typer.BadParameter("--zero or --notebook: one of the two")
    with reporting():
        from cam.job.logbook import record_value, show_recorded, withdraw_record

        if withdraw is not None:
            text = withdraw_record(part, withdraw, piece)
        elif name is None or not value:
            raise typer.BadParameter('say NAME and VALUE, "between plates" "45.03 mm"; or --withdraw LINE')
        else:
            use: Use = "zero" if zero else "notebook" if notebook else "last cut"
            text = show_recorded(*record_value(part, name, " ".join(value), shop, use, sure=sure, piece=piece))
    say(text)


@app.command(epilog=example("history"))
def history(part: PartFile, piece: PieceName = "") -> None:
    """Print all that was recorded of a part."""
    with reporting():
        from cam.job.logbook import show_log

        text = show_log(part, piece)
    say(text)


@app.command(epilog=example("tailstock"))
def tailstock(
    readings: Annotated[
        list[str], typer.Argument(metavar="READING...", help='Two or three: "12.03 mm at 15 mm".', show_default=False)
    ],
    length: Annotated[str, typer.Option("--length", metavar="LENGTH", help="Between centres.")],
    post: Annotated[
        str, typer.Option("--post", metavar="SIDE", help="Where the tool post stands: front (your side) or rear.")
    ],
    resolution: Annotated[
        str, typer.Option("--resolution", metavar="LENGTH", help="What a reading may be off by, on diameter.")
    ] = "0.005 mm",
) -> None:
    """Say how to move the tailstock, from two test cuts or three.

    Take one light cut along a plain bar between centres without touching the cross slide, and measure it at two
    places, or three to tell a bar that springs. Places are distances from the headstock end.
    """
    with reporting():
        from cam.plan.true_lathe import answer_tailstock

        text = answer_tailstock(readings, length, post, resolution)
    say(text)
