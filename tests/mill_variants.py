"""The drum arbor of the samples on the mill, with other squares, other holes and other mills."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

from cam.job import read_given
from cam.job.milling import MillJob
from cam.part.model import Part
from cam.shop.model import Shop
from posts.pages.figures import figures_for
from posts.pages.job import pages_of_mill
from posts.pages.text import write_pages
from tests.mill_case import make_mill_job
from tests.specimens import SAMPLES

Change = tuple[str, str]
WHEN = "after setting 2, before front pivot is stoned"

PINNED = ((r'flat_depth = ".*?"', 'flat_depth = "0.2 mm"'), (r'\ndepth = ".*?"', '\ndepth = "5 mm"'))
"""The sizes that the tests' figures are worked out with, whatever the sample comes to say."""

RAMPED: tuple[Change, ...] = ((r'square_by = "tipped block"', 'square_by = "ramped"'), (r"shim_distance = .*", ""))
NO_DIALS: tuple[Change, ...] = ((r"\[mill\.[xyz]\][^\[]*", ""),)

VARIANTS: dict[str, tuple[tuple[Change, ...], tuple[Change, ...]]] = {
    "tipped": ((), ()),
    "ramped": ((), RAMPED),
    "parallel": (((r'"0.3 deg included"', '"0 deg per side"'),), RAMPED),
    "rotary": (((r'angle = "0 deg"', 'angle = "30 deg"'),), (
        (r'square_by = "tipped block"', 'square_by = "rotary axis"'), (r"shim_distance = .*", ""),
        (r"sides = 4 .*", ""), (r"\[mill\.vice\][^\[]*", ""),
    )),
    "hexagon": (((r"flats = 4", "flats = 6"), (r'across = "4.2 mm"', 'across = "4.4 mm"'), (r'key = "4.24 mm"', ""),
                 (r'corners = "round"', 'corners = "whole"')),
                ((r"sides = 4", "sides = 6"),)),
    "broken": (((r'across = "4.2 mm"', 'across = "3.6 mm"'),
                (r'corners = "round"', 'corners = "broken"\nbroken = "0.2 mm"'),
                (r'key = "4.24 mm"', 'key = "3.64 mm"')), ()),
    "undercut": (((r'(name = "winding square"(?:\n.*){4})', r'\1\ncorner_b = "undercut 1 mm wide 0.6 mm deep"'),
                (r"flats_end = .*", 'flats_end = "0 mm"')), ()),
    "no dials": ((), NO_DIALS),
    "readouts": ((), ((r'\[mill\.([xyz])\].*\nreading = .*\ncounts = .*\ndivision = (.*)\nturn = .*',
                       r'[mill.\1]\nreading = "readout"\ncounts = "down"\ndivision = \2'),)),
    "inch page": (((r'"(\d+(?:\.\d+)?) mm"', "inch"),), ()),
    "through": (((r'\ndepth = "5 mm".*', "\nthrough = true"), (r"\nchips = .*", ""), (r'"bottoming"', '"second"'),
                 (r'angle = "0 deg"', 'angle = "any"')), ((r'"3.15 mm"', '"2.2 mm"'),)),
    "no tap": ((), ((r'\[\[cutter\]\]\nnumber = 4\n(.+\n)*', ""),)),
    "plain": (((r'\nthread = "M3".*', '\ndiameter = "2.6 mm"'), (r"\nchips = .*", ""), (r"\nlead = .*", ""),
               (r'flat_depth = "0.2 mm"', 'flat_depth = "0 mm"')), ()),
    "layers": (((r'flat_depth = "0.2 mm"', 'flat_depth = "0.7 mm"'),), ()),
    "machine tap": ((), ((r"tap_cycle = false", "tap_cycle = true"),)),
    "hidden": (((r'grip = "drum body" (.*)\ngrip_length = "21 mm"', r'grip = "drum body" \1\ngrip_length = "25 mm"'),),
               ()),
}  # fmt: skip
"""Each variant's changes of the part file and of the shop file, by name: (pattern, what stands for it)."""


def changed(text: str, changes: tuple[Change, ...]) -> str:
    """Return a file's text with its changes; each change must find something."""
    for pattern, new in changes:
        if new == "inch":
            text, count = re.subn(pattern, lambda found: f'"{float(found[1]) / 25.4:.5f} in"', text)
        else:
            text, count = re.subn(pattern, new, text)
        assert count, pattern
    return text


@cache
def variant(name: str) -> tuple[Part, Shop, MillJob]:
    """Return part, shop and the mill's work, found clear."""
    part_changes, shop_changes = VARIANTS[name]
    with tempfile.TemporaryDirectory() as folder:
        part, shop = Path(folder) / "arbor.toml", Path(folder) / "shop.toml"
        text = (SAMPLES / "orrery-drum-arbor.toml").read_text("utf-8")
        part.write_text(changed(text, PINNED + part_changes), "utf-8")
        shop.write_text(changed((SAMPLES / "shop.toml").read_text("utf-8"), shop_changes), "utf-8")
        read_part, read_shop = read_given(str(part))
        job = make_mill_job(read_part, read_shop)
    assert job is not None
    assert job.problems == ()
    return read_part, read_shop, job


def pages_of(name: str, width: int = 80) -> dict[str, str]:
    """Return each page's text by the name of its work, broken into lines."""
    part, shop, job = variant(name)
    figures = figures_for(part, shop.lathe)
    pages = pages_of_mill(part, job, figures, {work.name: WHEN for work in job.works})
    return {w.name: write_pages([page], part, figures, width) for w, page in zip(job.works, pages, strict=True)}


def words(text: str) -> str:
    """Return a page's words in one line, without frames of boxes."""
    return " ".join(text.replace("|", " ").split())
