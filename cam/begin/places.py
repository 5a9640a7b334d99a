"""Where the new part file and its shop file are."""

from __future__ import annotations

import os
from pathlib import Path

from cam.begin.answers import SaidOfPart
from cam.ground.problem import refusal
from cam.shop import read_shop
from cam.shop.model import Shop


def refuse_existing(file: str) -> None:
    """Refuse a file that exists already, before anybody is asked anything.

    Raises:
        ProblemError: the file exists.
    """
    if file != "-" and os.path.lexists(file):
        raise refusal(file, "is there already", fix="name another file")


def find_shop(file: str) -> str:
    """Return the shop.toml that lies beside a part file, or "" where there is none."""
    beside = Path(file).parent / "shop.toml"
    return str(beside) if file != "-" and beside.is_file() else ""


def read_shop_of(said: SaidOfPart) -> Shop | None:
    """Read the shop file that was named; None where none was.

    Raises:
        ProblemError: everything that is wrong with it.
    """
    if not said.shop:
        return None
    return read_shop(said.shop)


def name_shop(file: str, shop: str) -> str:
    """Return the path of a shop file, given from here, as a part file in its own folder names it; "" for none."""
    if not shop:
        return ""
    folder = "." if file == "-" else os.path.dirname(file) or "."  # noqa: PTH120 - relpath's twin
    try:
        return Path(os.path.relpath(shop, folder)).as_posix()
    except ValueError:  # on another drive
        return Path(shop).resolve().as_posix()
