"""The picture as PNG or PDF."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Literal

DPI = 200
"""Of the PNG: 8 dots to the mm, so that the finest line is one dot wide."""

FACE = "Bitstream Vera Sans"
"""The letters of PNG and PDF. They come with reportlab, so that a machine without any fonts writes them too,
and every machine the same."""


def convert_plot(svg: str, kind: Literal["png", "pdf"]) -> bytes:
    """Turn a picture that `draw_plot` made into PNG (one image) or PDF (one page a sheet).

    The same picture gives the same bytes from the same versions of the libraries. Letters that FACE
    lacks are taken from the machine's own fonts in a PNG, if it has any, and are left blank in a PDF.

    Raises:
        ValueError: another kind, or not SVG.
    """
    if kind == "png":
        return _to_png(svg)
    if kind == "pdf":
        return _to_pdf(svg)
    raise ValueError(f"a picture can be turned into png or pdf, not {kind!r}")


def _fonts() -> tuple[Path, Path]:
    """The files of the plain and the bold letters."""
    import reportlab  # noqa: PLC0415 - heavy, and rarely wanted

    folder = Path(reportlab.__file__).parent / "fonts"
    return folder / "Vera.ttf", folder / "VeraBd.ttf"


def _in_face(svg: str) -> str:
    return re.sub(r'font-family="[^"]*"', f'font-family="{FACE}"', svg, count=1)


def _to_png(svg: str) -> bytes:
    import resvg_py  # noqa: PLC0415 - heavy, and rarely wanted

    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=_in_face(svg),
            dpi=DPI,
            font_files=[str(f) for f in _fonts()],
            font_family=FACE,
            sans_serif_family=FACE,
            skip_system_fonts=svg.isascii() or max(svg) < "\u0100",
        )
    )


def _to_pdf(svg: str) -> bytes:
    from reportlab.graphics import renderPDF  # noqa: PLC0415 - heavy, and rarely wanted
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415
    from svglib.fonts import register_font  # noqa: PLC0415
    from svglib.svglib import svg2rlg  # noqa: PLC0415

    plain, bold = _fonts()
    register_font(FACE, str(plain))
    register_font(FACE, str(bold), weight="bold")
    drawing = svg2rlg(io.BytesIO(_in_face(svg).encode()))
    if drawing is None:
        raise ValueError("this is not an SVG picture")
    pages = max(round(drawing.height / drawing.width * 297 / 210), 1)
    height = drawing.height / pages
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(drawing.width, height), invariant=1)
    for page in range(pages):
        renderPDF.draw(drawing, canvas, 0, height * (page + 1 - pages))
        canvas.showPage()
    canvas.save()
    return out.getvalue()
