"""Verbs at the beginning, and at the end where a part goes on to other programs: new-shop, new, dxf."""

from __future__ import annotations

import sys
from dataclasses import replace as with_changes
from typing import TYPE_CHECKING, Annotated

import typer

from cam.cli.answers import complain, hand_over, judged_job, reporting, say
from cam.cli.asking import begin_part, converse
from cam.cli.command import PartFile, ShopFile, app, example

if TYPE_CHECKING:
    from cam.begin import FileDraft, SaidOfPart
    from cam.job import Job


def _says(about: str, metavar: str = "TEXT") -> object:
    """Return an option that is named as its parameter is."""
    return typer.Option(metavar=metavar, help=about)


MORE = ("centre", "carrier", "chuck", "tool", "cutter")
"""The things that can be added to a shop file later."""


@app.command(name="new-shop", epilog=example("new-shop"))
def new_shop(
    file: Annotated[str, typer.Argument(metavar="FILE", help="The shop file to write, or to add to.")],
    add: Annotated[
        str | None, typer.Option("--add", metavar="WHAT", help=f"To a file that is there: {', '.join(MORE)}.")
    ] = None,
) -> None:
    """Write a shop file, from answers.

    It asks for lathe, centres, carriers, chucks, tools, and the mill if there is one. Every answer is checked
    when it is given. A lathe worked by hand is asked for nothing that only a control needs.
    """
    from cam.ground.trade_words import british

    add = None if add is None else british(add)
    if add is not None and add not in MORE:
        raise typer.BadParameter(f"say one of {', '.join(MORE)}", param_hint="--add")
    if not sys.stdin.isatty():
        raise typer.BadParameter(
            "this asks, and nobody is there to answer: run it at a terminal, or copy samples/shop.toml"
        )
    with reporting():
        _write_shop(file) if add is None else _add_to_shop(file, add)


def _write_shop(file: str) -> None:
    from cam.begin import refuse_existing
    from cam.begin.shop_questions import ask_shop, shop_form
    from cam.ground.files import write_file
    from cam.shop.schema import KEPT
    from posts.dialect import dialect_names

    refuse_existing(file)
    form = shop_form(file, dialect_names())
    tree = converse(lambda: ask_shop(form))
    write_file(file, f"#:schema {KEPT.as_uri()}\n{form.text(tree, explained=True)}".encode())
    tools = [row["number"] for row in tree["tool"]]
    say(f"{file}: written; it reads without a problem\n")
    say("".join(f"look at each tool: endshake plot --tool {n} --shop {file} --out tool-{n}.svg\n" for n in tools))
    say(f"next: endshake new my-arbor.toml --shop {file}\n")


def _add_to_shop(file: str, kind: str) -> None:
    """Ask for one more thing of a kind and write it at the file's end; what stands there stays as it is."""
    from cam.begin.shop_questions import ask_more, shop_form
    from cam.ground.files import write_file
    from cam.ground.inputs import read_input
    from cam.ground.source import MOST_BYTES, parse_source
    from cam.shop import read_shop

    read_shop(file)
    old = read_input(file, MOST_BYTES)
    tree = parse_source(old, file).values
    count = len(tree.get(kind, []))
    form = shop_form(file)
    row = converse(lambda: ask_more(form, tree, kind))[kind][count]
    new = old.decode("utf-8-sig").rstrip("\n") + "\n\n" + form.text({kind: [row]}, explained=True)
    write_file(file, new.encode(), replace=True)
    say(f"{file}: {kind} {row['name']} is added\n")


@app.command(epilog=example("new"))
def new(  # noqa: PLR0913, PLR0917 - each is a flag
    file: Annotated[str, typer.Argument(metavar="FILE", help="The part file to write; - prints it.")],
    section: Annotated[
        list[str] | None, _says('"NAME, ROLE, DIAMETER, LENGTH, KEY VALUE ...", from the A end.')
    ] = None,
    name: Annotated[str, _says("Of the part; otherwise the file's.")] = "",
    shop: Annotated[str, _says("The shop file; otherwise a shop.toml beside FILE.", "FILE")] = "",
    units: Annotated[str, _says("Of bare numbers, and of a drawing that does not say.", "mm|in")] = "",
    material: Annotated[str, _says("Of the bar.")] = "",
    stock_diameter: Annotated[str, _says("Of the bar.", "LENGTH")] = "",
    stock_length: Annotated[str, _says("Of the bar, as sawn.", "LENGTH")] = "",
    holding: Annotated[str, _says("between centres, collet or chuck.")] = "",
    tail_centre: Annotated[str, _says("Between centres: a centre of the shop file.", "NAME")] = "",
    extra_length: Annotated[str, _says("Between centres: cut off after turning beyond each end.", "LENGTH")] = "",
    chuck: Annotated[str, _says("The collet or chuck.", "NAME")] = "",
    free_end: Annotated[str, _says("Collet, chuck: the end that is turned.", "A|B")] = "",
    stick_out: Annotated[str, _says("Collet, chuck: front to finished free end.", "LENGTH")] = "",
    facing: Annotated[str, _says("Collet, chuck: faced off the free end first.", "LENGTH")] = "",
    part_off: Annotated[str, _says("Collet, chuck: off the bar by saw, or by blade.", "HOW")] = "",
    corners: Annotated[str, _says('Inner corners: "fillet up to 0.2 mm".')] = "",
    edges: Annotated[str, _says('Outer edges: "chamfer 0.2 mm".')] = "",
    finish: Annotated[str, _says('"turn", "turn then stone", "as stock".')] = "",
    bearing_finish: Annotated[str, _says("Of pivots and journals, where it is another.")] = "",
    leave: Annotated[str, _says("Left on the diameter for what follows turning.", "LENGTH")] = "",
    leave_face: Annotated[str, _says("Left on shoulder faces for it; 0 mm for none.", "LENGTH")] = "",
    tolerance: Annotated[str, _says('Of every diameter: "+0 / -0.02 mm", "h7".')] = "",
    length: Annotated[str, _says('Of the whole, where one section takes the "rest".', "LENGTH")] = "",
    square: Annotated[str, _says('"across 3.6 mm, at 10 mm, taper ..., ..." on the square blank.')] = "",
    cross_hole: Annotated[list[str] | None, _says('"name hook, section drum, face A, distance 8 mm, ...".')] = None,
    from_dxf: Annotated[str, _says("Sections from a half-profile, named afterwards.", "FILE")] = "",
    layer: Annotated[str, _says("Of the outline in the drawing; otherwise all.", "NAME")] = "",
    commented: Annotated[
        bool, typer.Option("--commented", help="Ask nothing: the part file with every line explained.")
    ] = False,
) -> None:
    """Write a part file, from answers, flags or a drawing.

    On a terminal, what the flags do not say is asked. Elsewhere it is refused, naming the flag; with no flag at all
    the commented part file is written. Nothing is taken for granted. A drawing (DXF, half-profile) gives sizes, edges
    and fillets; what it does not give and no flag says is marked "?", and check asks for it.
    """
    from cam.begin import SaidOfPart
    from cam.ground.trade_words import british

    said = SaidOfPart(
        name=name, shop=shop, unit=units, material=material, stock_diameter=stock_diameter, stock_length=stock_length,
        holding=british(holding), tail_centre=tail_centre, extra_length=extra_length, chuck=chuck, free_end=free_end,
        stick_out=stick_out,
        facing=facing, part_off=part_off, corners=corners, edges=edges, finish=finish, bearing_finish=bearing_finish,
        leave=leave, leave_face=leave_face, tolerance=tolerance, length=length, sections=tuple(section or ()),
        square=square, cross_holes=tuple(cross_hole or ()), drawing=from_dxf, layer=layer,
    )  # fmt: skip
    with reporting():
        if commented or (said == SaidOfPart() and not (sys.stdin.isatty() and file != "-")):
            _write_commented(file, said)
        else:
            _begin(file, said)


def _write_commented(file: str, said: SaidOfPart) -> None:
    """Write the part file with every line explained; of what else was said only name and shop file stand in it."""
    from pathlib import Path

    from cam.begin import find_shop, name_shop, refuse_all_but
    from cam.ground.files import write_file
    from cam.part.starter import starter_text

    refuse_all_but(said, "name", "shop")
    own = name_shop(file, said.shop or find_shop(file))
    text = starter_text(said.name or ("my arbor" if file == "-" else Path(file).stem), own)
    if file == "-":
        say(text)
        return
    write_file(file, text.encode())
    named = own or "samples/shop.toml"
    first = "" if (Path(file).parent / named).is_file() else f"name your shop file in it in place of {named}, then "
    say(f"{file}: written; next: {first}endshake check {file}\n")


def _begin(file: str, said: SaidOfPart) -> None:
    """Ask for what is missing or refuse, write the file, and check it."""
    from pathlib import Path

    from cam.begin import find_shop, refuse_existing
    from cam.ground.files import write_file

    refuse_existing(file)
    name = said.name or ("my arbor" if file == "-" else Path(file).stem)
    derived = [f'called "{name}", after the file'] if not said.name else []
    begun, job = begin_part(file, with_changes(said, name=name))
    if begun.said.shop and not said.shop and begun.said.shop == find_shop(file):
        derived.append(f"{begun.said.shop} is the shop file: it lies beside the part")
    if file == "-":
        hand_over(begun.text)
        return
    write_file(file, begun.text.encode())
    say(f"{file}: written\n" + "".join(f"  {note}\n" for note in (*derived, *begun.notes)))
    _judge(file, begun.draft, job)


def _judge(file: str, draft: FileDraft, job: Job | None) -> None:
    """Say what is still open, or whether the part makes; exit 1 where it does not."""
    from cam.begin import open_keys
    from cam.ground.problem import ProblemError
    from cam.job import say_approach

    lacking = open_keys(draft)
    if lacking:
        listed = ", ".join(f"{key} ({count})" if count > 1 else key for key, count in lacking.items())
        say(f'still to be said, marked "?": {listed}\nnext: endshake check {file} lists them\n')
        return
    try:
        job = job or judged_job(file, None, None)
        job.require_pass()
    except ProblemError as found:
        complain(found.problems)
        say(f"{file} does not make yet; change it as said, then: endshake check {file}\n")
        raise typer.Exit(1) from None
    near = job.closest
    if near is not None:
        work, approach = near
        words = say_approach(approach, job.part.unit, job.tip_only)
        say(f"it makes: closest {words}, {job.say_place(work, approach.line)}\n")
    say(f"next: endshake make {file} --out build/{job.part.path.rpartition('/')[2].removesuffix('.toml')}\n")


@app.command(epilog=example("dxf"))
def dxf(
    part: PartFile,
    out: Annotated[str, typer.Option("--out", metavar="FILE", help="The drawing to write, FILE.dxf.")],
    shop: ShopFile = None,
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite the file if it is there.")] = False,
) -> None:
    """Write the finished part's half-profile as a DXF drawing.

    Lines and arcs are exact, in the part's unit, with a centre line and the sections' names on layers of their own.
    Sizes are those of the drawing; limits, allowances and a square's flats are not in it.
    """
    with reporting():
        from cam.dxf.write import draw_dxf
        from cam.ground.files import require_ending, write_file
        from cam.job import read_given
        from cam.job.given import files_of

        require_ending(out, "a drawing", ".dxf")
        drawing = draw_dxf(read_given(part, shop)[0])
        write_file(out, drawing, replace=replace, sources=files_of(part, shop))
    say(f"{out}: written\n")
