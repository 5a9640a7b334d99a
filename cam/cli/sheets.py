"""Verbs for the wall and the bench: summary, notebook; and the guide."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from cam.cli.answers import hand_over, is_terminal, judged_job, printable, reporting, say
from cam.cli.command import PAGE, PartFile, PieceName, Replace, ShopFile, Width, app, example

PrintFile = Annotated[
    str | None,
    typer.Option("--print", metavar="FILE", help="Write pages to print: one HTML file that opens from disk."),
]
PaperName = Annotated[
    str | None, typer.Option("--paper", metavar="NAME", help="A4 or Letter; wanted by --print.", show_default=False)
]
PieceNames = Annotated[
    list[str] | None,
    typer.Option("--piece", metavar="NAME", help="Which of several workpieces; said more than once, a batch."),
]
PAPER = {"a4": "A4", "letter": "Letter"}


@app.command(epilog=example("summary"))
def summary(
    part: PartFile,
    shop: ShopFile = None,
    piece: PieceNames = None,
    width: Width = 80,
    print_to: PrintFile = None,
    paper: PaperName = None,
    replace: Replace = False,
) -> None:
    """Print the cutting summary, a page for each setting.

    With --print it becomes pages in large type, black on white, with each shoulder's place at full size to lay
    against the work; they come out right only if the bar on them measures what it says.
    """
    sheet = choose_paper(print_to, paper)
    pieces = list(dict.fromkeys(name.strip().lower() for name in piece or [""]))
    with reporting(part, shop, pieces[0]):
        check_print(print_to)
        from cam.job.sheets import print_batch_summary, write_batch_summary

        jobs = [judged_job(part, shop, None, piece=name) for name in pieces]
        text = write_batch_summary(jobs, width) if print_to is None else print_batch_summary(jobs, sheet)
        write_print(print_to, text, [(part, shop, name) for name in pieces], replace=replace)
    tell_print(print_to, text, f"for {sheet}; open it in a browser and print it at 100 %")


@app.command(epilog=example("notebook"))
def notebook(
    part: PartFile,
    shop: ShopFile = None,
    piece: PieceName = "",
    width: Width = 80,
    print_to: PrintFile = None,
    paper: PaperName = None,
    replace: Replace = False,
) -> None:
    """Print the bench notebook: tools, order of work, readings.

    From sawing the bar to fitting in the plates, lathe and mill, with the cautions of each step; what was recorded
    stands in its place already.
    """
    sheet = choose_paper(print_to, paper)
    with reporting(part, shop, piece):
        check_print(print_to)
        from cam.job import print_job_notebook, write_job_notebook

        job = judged_job(part, shop, None, piece=piece)
        text = write_job_notebook(job, width) if print_to is None else print_job_notebook(job, sheet)
        write_print(print_to, text, [(part, shop, piece)], replace=replace)
    tell_print(print_to, text, f"for {sheet}; open it in a browser and print it")


def choose_paper(print_to: str | None, paper: str | None) -> str:
    """Return the paper's name; "" where nothing is printed. One said without the other is a wrong command line."""
    if print_to is None:
        if paper is not None:
            raise typer.BadParameter("is said with --print FILE alone", param_hint="--paper")
        return ""
    found = PAPER.get((paper or "").lower())
    if found is None:
        raise typer.BadParameter("say which paper is in the printer: A4 or Letter", param_hint="--paper")
    return found


def check_print(path: str | None) -> None:
    """Refuse the name of a file of pages, where one is named, that does not say that it is one."""
    from cam.ground.files import require_ending

    if path is not None:
        require_ending(path, "a page", *PAGE)


def write_print(path: str | None, html: str, made: Sequence[tuple[str, str | None, str]], *, replace: bool) -> None:
    """Write pages to a file, where one is named; made: part file, shop file and piece of each job on them."""
    from cam.ground.files import write_file
    from cam.job.given import files_of

    if path is not None:
        write_file(path, html.encode(), replace=replace, sources={file for job in made for file in files_of(*job)})


def tell_print(path: str | None, text: str, words: str) -> None:
    """Say that pages are written to a file; without one, print the text itself."""
    if path is None:
        hand_over(text)
    else:
        say(f"{path}: written, {words}\n")


GUIDE = {
    "part": "cam/part",
    "shop": "cam/shop",
    "measure": "cam/lengths",
    "sheets": "posts",
    "verbs": "cam/cli",
    "trust": "cam/judge",
    "python": "cam",
}
"""Each topic, with the folder whose README.md it is; `keys` is made from the declarations of the keys."""


@app.command(epilog=example("guide"))
def guide(
    topic: Annotated[
        str | None, typer.Argument(metavar="TOPIC", help=", ".join((*GUIDE, "keys")), show_default=False)
    ] = None,
) -> None:
    """Open the reference of a topic, page by page; it needs no network."""
    if topic not in (*GUIDE, "keys"):
        raise typer.BadParameter(f"say which topic: {', '.join(GUIDE)}, keys", param_hint="TOPIC")
    from pathlib import Path

    import posts
    from cam.ground.schema import reference
    from cam.part.schema import part_schema
    from cam.shop.schema import shop_schema

    if topic == "keys":
        text = f"PART FILE\n\n{reference(part_schema())}\n\nSHOP FILE\n\n{reference(shop_schema())}"
    else:
        text = (Path(posts.__file__).parent.parent / GUIDE[topic] / "README.md").read_text(encoding="utf-8")
    if is_terminal(sys.stdout):
        from pydoc import pager

        pager(printable(text))
    else:
        hand_over(text)
