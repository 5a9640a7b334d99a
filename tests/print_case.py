"""What the tests of the print form need: its pages as a browser prints them, measured."""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from tests.page_case import CHROMIUM

POINT = 25.4 / 72


def print_pdf(html: Path) -> Path:
    """Print a file through chromium, as it stands, at 100 %.

    Where there is no chromium its tests are skipped, but fail where CI is set; NO_BROWSER holds a reason to skip there.
    """
    path = next((found for name in CHROMIUM if (found := shutil.which(name))), None)
    if path is None:
        why = "no chromium here to print with: apt-get install chromium"
        if os.environ.get("CI") and not os.environ.get("NO_BROWSER"):
            pytest.fail(why)
        pytest.skip(why)
    out = html.with_suffix(".pdf")
    root = ["--no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []  # root cannot use the sandbox
    flags = ["--headless", "--disable-gpu", "--no-pdf-header-footer", f"--user-data-dir={html.parent / 'profile'}"]
    subprocess.run(
        [path, *root, *flags, f"--print-to-pdf={out}", html.as_uri()], check=True, capture_output=True, timeout=900
    )
    return out


class Box(NamedTuple):
    """What a path of a PDF covers, its stroke included, mm from the left and from the top of the paper."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2


class Sheet(NamedTuple):
    """A page of a PDF: its paper, the boxes of its paths, and the sizes of its type, pt."""

    width: float
    height: float
    boxes: list[Box]
    sizes: set[float]
    text: str


def sheets_of(path: Path) -> list[Sheet]:
    """Return every page of a PDF, measured."""
    with pypdfium2.PdfDocument(path) as document:
        return [_sheet(document[n]) for n in range(len(document))]


def _sheet(page: pypdfium2.PdfPage) -> Sheet:
    width, height = page.get_size()
    boxes, sizes = list(_boxes(page, height)), set(_sizes(page))
    text = page.get_textpage().get_text_bounded()
    return Sheet(width * POINT, height * POINT, boxes, sizes, " ".join(text.split()))


def _boxes(page: pypdfium2.PdfPage, height: float) -> Iterator[Box]:
    for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
        left, bottom, right, top = thing.get_bounds()
        yield Box(left * POINT, (height - top) * POINT, right * POINT, (height - bottom) * POINT)


def _sizes(page: pypdfium2.PdfPage) -> Iterator[float]:
    """Return the heights of type: the font's size as the page's own matrix has it upright."""
    size = ctypes.c_float()
    for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT]):
        pdfium.FPDFTextObj_GetFontSize(thing.raw, size)
        yield round(size.value * abs(thing.get_matrix().d), 2)
