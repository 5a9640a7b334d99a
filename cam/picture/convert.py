"""The picture as PNG or PDF."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Literal
from xml.etree import ElementTree as Tree

from resvg_py import svg_to_bytes

from cam.picture.sheet import HEIGHT

SPACE = "{http://www.w3.org/2000/svg}"

DPI = 200
"""Dots of the PNG to the mm: 8, so that the finest line is one dot wide."""

FACE = "Bitstream Vera Sans"
"""The typeface of PNG and PDF. It comes with reportlab, so that a machine without any fonts writes it too,
and every machine writes the same."""


def convert_plot(svg: str, kind: Literal["png", "pdf"]) -> bytes:
    """Turn a picture that `draw_plot` made into PNG (one image) or PDF (one page a sheet).

    The same picture gives the same bytes from the same versions of the libraries. Letters that FACE
    lacks are taken from the machine's own fonts in a PNG, if it has any, and are left blank in a PDF.

    Raises:
        ValueError: the kind is another, or the text is not SVG.
    """
    if kind not in ("png", "pdf"):
        raise ValueError(f"a picture can be turned into png or pdf, not {kind!r}")
    root = _parse(svg)
    return _to_png(svg) if kind == "png" else _to_pdf(root)


def _parse(svg: str) -> Tree.Element:
    try:
        root = Tree.fromstring(svg)
    except Tree.ParseError as fault:
        raise ValueError(f"this is not an SVG picture: {fault}") from fault
    if root.tag != f"{SPACE}svg":
        raise ValueError(f"this is not an SVG picture: it begins with {root.tag!r}")
    return root


def _fonts() -> tuple[Path, Path]:
    """Return the files of the plain and the bold letters."""
    import reportlab  # noqa: PLC0415 - heavy, and rarely wanted

    folder = Path(reportlab.__file__).parent / "fonts"
    return folder / "Vera.ttf", folder / "VeraBd.ttf"


def _to_png(svg: str) -> bytes:
    return bytes(
        svg_to_bytes(
            svg_string=re.sub(r'font-family="[^"]*"', f'font-family="{FACE}"', svg, count=1),
            dpi=DPI,
            font_files=[str(f) for f in _fonts()],
            font_family=FACE,
            sans_serif_family=FACE,
            skip_system_fonts=svg.isascii() or max(svg) < "\u0100",
        )
    )


def _to_pdf(root: Tree.Element) -> bytes:
    from reportlab.graphics import renderPDF  # noqa: PLC0415 - heavy, and rarely wanted
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415
    from svglib.fonts import register_font  # noqa: PLC0415
    from svglib.svglib import svg2rlg  # noqa: PLC0415

    plain, bold = _fonts()
    register_font(FACE, str(plain))
    register_font(FACE, str(bold), weight="bold")
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    root.set("font-family", FACE)
    for sheet in _sheets(root):
        drawing = svg2rlg(io.BytesIO(sheet))
        if drawing is None:
            raise ValueError("this is not an SVG picture")
        canvas.setPageSize((drawing.width, drawing.height))
        renderPDF.draw(drawing, canvas, 0, 0)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _sheets(root: Tree.Element) -> list[bytes]:
    """Return each setting's sheet as a picture by itself."""
    groups = root.findall(f"{SPACE}g")
    width, height = root.get("viewBox", "0 0 0 0").split()[2:]
    root.set("viewBox", f"0 0 {width} {float(height) / max(len(groups), 1):.0f}")
    root.set("height", f"{HEIGHT}mm")
    sheets = []
    for group in groups:
        root[:] = [e for e in root if e.tag != f"{SPACE}g"]
        group.set("transform", "translate(0 0)")
        root.append(group)
        sheets.append(Tree.tostring(root))
    return sheets
