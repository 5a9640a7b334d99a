"""PNG and PDF of the picture: whole, with letters on a machine that has none, a sheet a page, always the same."""

from __future__ import annotations

import io
import re
import struct

import pypdfium2
import pytest
import resvg_py
from PIL import Image, ImageChops

from cam.picture.convert import DPI, FACE, _fonts, convert_plot

LINE = '<text class="t" transform="translate({x} {y})">{words}</text>'


def picture(*sheets: str) -> str:
    """A picture as `draw_plot` lays it out: sheets of A4 below one another."""
    groups = "".join(f'<g transform="translate(0 {21000 * k})">{sheet}</g>' for k, sheet in enumerate(sheets))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="297mm" height="{210 * len(sheets)}mm" '
        f'viewBox="0 0 29700 {21000 * len(sheets)}" role="img" font-family="Verdana, sans-serif">'
        "<style>.t{font-size:500px}.p{fill:none;stroke:#000;stroke-width:100}</style>"
        f'<path fill="#fff" d="M0 0H29700V{21000 * len(sheets)}H0Z"/>{groups}</svg>'
    )


ONE = '<path class="p" d="M1000 1000L20000 1000"/>' + LINE.format(x=2000, y=5000, words="clears by 0.430 mm, \u00f8 4")
TWO = LINE.format(x=2000, y=9000, words="the second sheet")


def image(svg: str) -> Image.Image:
    return Image.open(io.BytesIO(convert_plot(svg, "png"))).convert("L")


def test_png_has_the_size_of_the_sheets():
    data = convert_plot(picture(ONE, TWO), "png")
    assert data[:8] == b"\x89PNG\r\n\x1a\n"  # ISO/IEC 15948, 5.2
    width, height = struct.unpack(">II", data[16:24])
    assert width == pytest.approx(297 / 25.4 * DPI, abs=1)
    assert height == pytest.approx(420 / 25.4 * DPI, abs=1)


def test_png_shows_letters_where_they_stand():
    with_letters, without = image(picture(ONE)), image(picture(re.sub("<text.*?</text>", "", ONE)))
    left, top, right, bottom = ImageChops.difference(with_letters, without).getbbox()
    mm = DPI / 25.4
    assert 20 <= left / mm <= 21
    assert right / mm > 55
    assert 45 <= top / mm <= 50 <= bottom / mm <= 52


def test_png_letters_do_not_come_from_the_machine():
    """The same bytes as with every font of the machine left out, so a machine without fonts writes them too."""
    svg = picture(ONE).replace('font-family="Verdana, sans-serif"', f'font-family="{FACE}"')
    alone = bytes(
        resvg_py.svg_to_bytes(svg_string=svg, dpi=DPI, font_files=[str(f) for f in _fonts()], skip_system_fonts=True)
    )
    assert convert_plot(picture(ONE), "png") == alone


def test_bold_letters_are_bolder():
    plain, bold = (image(picture(TWO).replace("500px", f"500px{weight}")) for weight in ("", ";font-weight:bold"))
    assert sum(bold.histogram()[:128]) > 1.3 * sum(plain.histogram()[:128])


def test_pdf_has_a_page_a_sheet_each_with_its_own_letters():
    document = pypdfium2.PdfDocument(convert_plot(picture(ONE, TWO), "pdf"))
    assert len(document) == 2
    texts = [page.get_textpage().get_text_range() for page in document]
    assert texts[0].strip() == "clears by 0.430 mm, \u00f8 4"
    assert texts[1].strip() == "the second sheet"
    for page in document:
        assert page.get_size() == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=0.1)


def test_pdf_and_png_show_the_same():
    """Two renderers by different authors, from two forms of the picture."""
    page = pypdfium2.PdfDocument(convert_plot(picture(ONE), "pdf"))[0]
    one = page.render(scale=1).to_pil().convert("L")
    two = image(picture(ONE)).resize(one.size, Image.Resampling.BOX)
    dark = [[v < 225 for v in im.resize((99, 70), Image.Resampling.BOX).tobytes()] for im in (one, two)]
    assert sum(dark[0]) > 20
    assert sum(a != b for a, b in zip(*dark, strict=True)) <= 0.15 * sum(dark[0])


@pytest.mark.parametrize("kind", ["png", "pdf"])
def test_same_picture_gives_the_same_bytes(kind):
    assert convert_plot(picture(ONE, TWO), kind) == convert_plot(picture(ONE, TWO), kind)


@pytest.mark.parametrize("kind", ["png", "pdf"])
@pytest.mark.parametrize("text", ["", "no picture", "<svg", "<html></html>"])
def test_what_is_no_picture_is_refused(kind, text):
    with pytest.raises(ValueError, match="picture"):
        convert_plot(text, kind)


def test_another_kind_is_refused():
    with pytest.raises(ValueError, match="'jpg'"):
        convert_plot(picture(ONE), "jpg")  # type: ignore[arg-type]


def test_letters_of_other_scripts_do_not_stop_it():
    svg = picture(LINE.format(x=2000, y=5000, words="\u0431\u0430\u0440\u0430\u0431\u0430\u043d \u8ef8"))
    assert convert_plot(svg, "png")[:4] == b"\x89PNG"
    assert convert_plot(svg, "pdf")[:4] == b"%PDF"
