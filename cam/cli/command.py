"""The command itself, its options that several verbs share, and a real example of each verb."""

from __future__ import annotations

from typing import Annotated, Any

import typer
from typer.core import TyperCommand

from cam.cli.answers import say

app = typer.Typer(
    name="endshake", help="Plan, prove and print the turning of stepped arbors between centres.",
    epilog="\b\nStart with\n  endshake guide part\n  endshake new my-arbor.toml\n"
    "  endshake make my-arbor.toml --out build/my-arbor",
    no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)  # fmt: skip

EXAMPLES = {
    "make": "endshake make samples/orrery-drum-arbor.toml --out build/drum-arbor",
    "check": "endshake check samples/moon-carriage-spindle.toml",
    "record": 'endshake record samples/orrery-drum-arbor.toml "between plates" "46.22; 46.23; 46.21 mm"',
    "history": "endshake history samples/orrery-drum-arbor.toml",
    "summary": "endshake summary samples/crank-pin.toml --print crank-pin.html --paper A4",
    "notebook": "endshake notebook samples/orrery-drum-arbor.toml",
    "program": "endshake program samples/orrery-drum-arbor.toml --setting 2 --dialect eia274d",
    "simulate": ("endshake simulate build/drum-arbor/setting-1.ngc --part samples/orrery-drum-arbor.toml --setting 1"),
    "plot": "endshake plot samples/orrery-drum-arbor.toml --out drum-arbor.svg",
    "compare": "endshake compare build/drum-arbor samples/orrery-drum-arbor.toml --out changes.svg",
    "view": "endshake view samples/orrery-drum-arbor.toml --out drum-arbor.html",
    "watch": "endshake watch samples/orrery-drum-arbor.toml",
    "tailstock": 'endshake tailstock "12.03 mm at 15 mm" "12.00 mm at 135 mm" --length "150 mm" --post front',
    "why": "endshake why samples/moon-carriage-spindle.toml --setting 1 --pass 12",
    "dialects": "endshake dialects",
    "new-shop": "endshake new-shop my-shop.toml",
    "new": "endshake new my-arbor.toml",
    "guide": "endshake guide part",
    "dxf": "endshake dxf samples/crank-pin.toml --out crank-pin.dxf",
}
"""A real example of each verb, shown in its help."""


PAGE = (".html", ".htm")
"""How the name of a page ends that a browser opens."""


class Verb(TyperCommand):
    """A verb that refuses an option given twice of which only one value would count."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the command line; see typer, whose own types of contexts have moved between versions."""
        _, _, given = self.make_parser(ctx).parse_args(args=list(args))
        single = [p for p in given if not getattr(p, "multiple", False) and not getattr(p, "is_flag", False)]
        twice = next((p for n, p in enumerate(single) if p in single[:n]), None)
        if twice is not None and not ctx.resilient_parsing:
            ctx.fail(f"{twice.opts[0]} is given more than once, and only one of them would count: say it once")
        return super().parse_args(ctx, args)


def example(verb: str) -> str:
    """Return the end of a verb's help."""
    return f"\b\nExample\n  {EXAMPLES[verb]}"


def choose_one(setting: int | None, mill: str | None) -> None:
    """Require that a setting or a milling operation is named, not both and not neither.

    Raises:
        typer.BadParameter: otherwise.
    """
    if (setting is None) == (mill is None):
        raise typer.BadParameter("say --setting N for the lathe, or --mill NAME for the mill: one of the two")


def complete_dialect(incomplete: str) -> list[str]:
    """Return the names of dialects that begin with this, for the shell."""
    from posts.dialect import dialect_names

    return [name for name in dialect_names() if name.startswith(incomplete)]


PartFile = Annotated[str, typer.Argument(metavar="PART", help="The part file, TOML.", show_default=False)]
ShopFile = Annotated[
    str | None,
    typer.Option("--shop", metavar="FILE", help="The shop file; otherwise the one that the part file names."),
]
PieceName = Annotated[
    str, typer.Option("--piece", metavar="NAME", help="Which of several workpieces of the part; its sizes alone count.")
]
SettingNumber = Annotated[int | None, typer.Option("--setting", metavar="N", help="1, or 2 after turning end for end.")]
MillName = Annotated[
    str | None,
    typer.Option("--mill", metavar="NAME", help="In place of --setting, a milling operation: square, cross-hole ..."),
]
DialectName = Annotated[
    str | None,
    typer.Option(
        "--dialect", metavar="NAME", help="Of the program; otherwise the shop file's.", autocompletion=complete_dialect
    ),
]
MillDialectName = Annotated[
    str | None,
    typer.Option(
        "--mill-dialect",
        metavar="NAME",
        help="Of the mill's programs; otherwise the shop file's.",
        autocompletion=complete_dialect,
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Answer as JSON, for a program to read.")]
Width = Annotated[int, typer.Option("--width", metavar="N", min=40, max=240, help="Columns of the text.")]
Replace = Annotated[bool, typer.Option("--replace", help="Overwrite files that were changed by hand since.")]


def show_version(wanted: bool) -> None:
    """Show the version and exit."""
    if wanted:
        from cam.ground.version import VERSION

        say(f"endshake {VERSION}\n")
        raise typer.Exit


@app.callback()
def endshake(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and exit.", is_eager=True, callback=show_version)
    ] = False,
) -> None:
    """Plan, prove and print the turning of stepped arbors between centres."""
