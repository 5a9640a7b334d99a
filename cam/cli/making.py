"""Verbs that take a part all the way: make, check, summary, program, why."""

from __future__ import annotations

import shlex
import sys
from pathlib import PurePath
from typing import Annotated

import typer

from cam.cli.answers import hand_over, judged_job, paint, reporting, say, say_json, warn
from cam.cli.command import (
    AsJson,
    DialectName,
    MillDialectName,
    MillName,
    PartFile,
    PieceName,
    Replace,
    SettingNumber,
    ShopFile,
    app,
    choose_one,
    example,
)


@app.command(epilog=example("make"))
def make(  # noqa: PLR0913, PLR0917 - each is a flag
    part: PartFile,
    out: Annotated[
        str | None, typer.Option("--out", metavar="DIR", help="Folder to make, whole or not at all.")
    ] = None,
    shop: ShopFile = None,
    piece: PieceName = "",
    dialect: DialectName = None,
    mill_dialect: MillDialectName = None,
    replace: Replace = False,
    more: Annotated[
        bool, typer.Option("--more", help="Say of every program what was found, and of every span.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write programs, summary, picture and plan into a folder.

    All or none: if any program is found unsafe or wrong, nothing is written and the reasons are given.
    """
    if out is None:
        raise typer.BadParameter(f"say which folder: {suggest_folder(part, shop, piece)}", param_hint="--out")
    with reporting(part, shop, piece, as_json=as_json):
        from cam.ground.files import RECORD, write_folder
        from cam.job import job_files
        from cam.job.given import files_of
        from cam.job.record import job_record

        job = judged_job(part, shop, dialect, mill_dialect, piece)
        files = job_files(job)
        record = job_record(job)
        changed = write_folder(out, files, record, replace=replace, sources=files_of(part, shop, piece))
    names = [*files, RECORD]
    if as_json:
        say_json(
            {
                "ok": True,
                "folder": out,
                "written": changed,
                "files": names,
                "closest": record["closest"],
                "settings": [s["checked"] for s in record["settings"]],
                "mill": [{"name": w["name"], **w["checked"]} for w in record.get("mill", {}).get("works", [])],
                "to_be_measured": list(job.part.to_be_measured),
                "warnings": record["warnings"],
            }
        )
        return
    from cam.job.report import fold_made, show_made, show_more

    head, *rows = fold_made(show_made(job, out, changed=changed))
    colour = "yellow" if job.part.to_be_measured else "green"
    say("\n".join([paint(head[:7], colour, sys.stdout) + head[7:], *rows]) + "\n")
    if more:
        say(show_more(job, names))
    warn(job.warnings)


def suggest_folder(part: str, shop: str | None, piece: str) -> str:
    """Return the command line that makes a part into a folder of its own."""
    given = [part, *(("--shop", shop) if shop else ()), *(("--piece", piece) if piece else ())]
    folder = f"build/{PurePath(part).stem}" + (f"-{piece}" if piece else "")
    return shlex.join(["endshake", "make", *given, "--out", folder])


@app.command(epilog=example("check"))
def check(part: PartFile, shop: ShopFile = None, piece: PieceName = "", as_json: AsJson = False) -> None:
    """Solve, plan and check a part; write nothing."""
    with reporting(part, shop, piece, as_json=as_json):
        from cam.job.record import job_record
        from cam.job.report import show_check

        job = judged_job(part, shop, None, piece=piece)
        job.require_pass()
        answer = {"ok": True, **job_record(job)} if as_json else show_check(job)
    if isinstance(answer, dict):
        say_json(answer)
    else:
        say(answer)
        warn(job.warnings)


@app.command(epilog=example("program"))
def program(
    part: PartFile,
    setting: SettingNumber = None,
    mill: MillName = None,
    shop: ShopFile = None,
    piece: PieceName = "",
    dialect: DialectName = None,
) -> None:
    """Print one program, once the job is found clear."""
    choose_one(setting, mill)
    with reporting(part, shop, piece):
        from cam.job import find_text

        job = judged_job(part, shop, None if mill else dialect, dialect if mill else None, piece)
        text = find_text(job, setting, mill)
        job.require_pass()
    hand_over(text)


@app.command(epilog=example("why"))
def why(
    part: PartFile,
    setting: Annotated[int | None, typer.Option("--setting", metavar="N", help="1, or 2; otherwise all.")] = None,
    number: Annotated[
        int | None, typer.Option("--pass", metavar="M", help="One pass; otherwise which there are.")
    ] = None,
    every: Annotated[bool, typer.Option("--every", help="All of every pass.")] = False,
    shop: ShopFile = None,
    piece: PieceName = "",
) -> None:
    """Say of any pass how its depth, speed and feed were come by.

    From the numbers given to those on the page: formula, source and standing of each step. Where all is asked for,
    also of the threads: their limits, and the drills for their taps.
    """
    with reporting(part, shop, piece):
        from cam.job.why import answer

        text = answer(part, shop, setting, number, piece=piece, every=every)
    hand_over(text)
