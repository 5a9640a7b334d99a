"""Labels by the boxes of their letters: none on another, none on a leader, leaders end on what they name; part large.

Held for every sample, for jobs that crowd a sheet, and for random jobs, also refused ones; a hundred in the slow tests.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from random import Random
from xml.etree import ElementTree as Tree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.job import draw_given
from cam.picture.draft import BOLD, SIZES, text_width
from cam.picture.labels import crosses, meet, spread
from cam.picture.sheet import Rect
from tests.search.draw import draw_part, draw_shop
from tests.specimens import SAMPLES, some
from tests.test_picture import SVG, corners, letters, sheets

GOOD = ("orrery-drum-arbor", "moon-carriage-spindle", "crank-pin", "drum-hook")
REFUSED = ("too-near-the-centre", "square-too-large")
MAIN_WIDTH, MAIN_HEIGHT = 255.0, 81.5

HELD = '[holding]\nmethod = "between centres"\n' + "".join(
    f'\n[holding.end_{end}]\ntail_centre = "half centre"\nextra_length = "{{extra}} mm"\ngrip = "{grip}"\n'
    for end, grip in (("a", "stock"), ("b", "{grip}"))
)
TEN = (
    ("front pivot", 4, 6), ("wheel seat", 5, 4), ("collar", 8, 3), ("second seat", 10, 5), ("body", 12, 14),
    ("journal", 11, 4), ("third seat", 9, 4), ("ring", 8, 3), ("back seat", 6, 4), ("back pivot", 4, 6),
)  # fmt: skip
EQUAL = (("seat one", 6, 8), ("seat two", 6, 8), ("body", 10, 20), ("seat three", 6, 8), ("seat four", 6, 8))
LONG = tuple((f"{name} - a name of thirty letters"[:30], *sizes) for name, *sizes in TEN)
CROWDED = {
    "ten": (TEN, "body", 4), "equal": (EQUAL, "body", 4), "one": ((("pin", 6, 30),), "pin", 9),
    "long": (LONG, LONG[4][0], 4), "unbroken": ((("W" * 30, 6, 30),), "W" * 30, 9),
}  # fmt: skip


def crowded(name: str) -> str:
    """A part file of many sections, of equal ones, of one, or of long names."""
    sections, grip, extra = CROWDED[name]
    stock = max(d for _, d, _ in sections) + (2 if len(sections) > 1 else 3)
    length = sum(n for *_, n in sections) + 2 * extra + 2
    head = f'name = "{"W" * 30 if name == "unbroken" else name}"\nshop = "{SAMPLES / "shop.toml"}"\n'
    text = f'{head}corners = "fillet up to 0.2 mm"\nedges = "chamfer 0.2 mm"\nfinish = "turn"\n\n[stock]\n'
    text += f'material = "free-cutting steel"\ndiameter = "{stock} mm"\nlength = "{length} mm"\n\n'
    text += HELD.format(extra=extra, grip=grip)
    for section, diameter, long in sections:
        text += f'\n[[section]]\nname = "{section}"\nrole = "plain"\ndiameter = "{diameter} mm"\n'
        text += f'tolerance = "+0 / -0.03 mm"\nlength = "{long} mm"\n'
    return text


@cache
def drawn(name: str) -> str:
    return draw_given(str(SAMPLES / f"{name}.toml"))[0]


def boxes(sheet: Tree.Element) -> list[tuple[str, Rect]]:
    """Each text and the box of its letters, from above their capitals to below their tails."""
    found = []
    for text in letters(sheet):
        size = SIZES[text.style]
        room = text_width(text.words, size, bold=text.style in BOLD) * 0.93  # the estimate is from above
        back = {"start": 0.0, "middle": room / 2, "end": room}[text.anchor]
        if text.upright:
            found.append((text.words, Rect(text.x - 0.74 * size, text.y - room + back, 0.94 * size, room)))
        else:
            found.append((text.words, Rect(text.x - back, text.y - 0.74 * size, room, 0.94 * size)))
    return found


def polylines(sheet: Tree.Element, style: str) -> Iterator[list[tuple[float, float]]]:
    for path in sheet.iter(f"{SVG}path"):
        if path.get("class") == style:
            yield corners(path.get("d", ""))


def hold_labels(svg: str) -> None:
    """Nothing runs over anything, and every leader ends where something is marked."""
    for sheet in sheets(svg):
        texts = boxes(sheet)
        for (one, a), (other, b) in combinations(texts, 2):
            assert not a.meets(b), (one, other)
        for words, box in texts:
            assert box.left >= 5, words
            assert box.right <= 293, words
            assert box.top >= 5, words
            assert box.bottom <= 206, words
        bold, thin = (list(polylines(sheet, style)) for style in ("leader-bold", "leader"))
        strokes = [(a, b) for line in (*bold, *thin) for a, b in pairwise(line)]
        for words, box in texts:
            assert not any(crosses(line, box) for line in strokes), words
        ends = [(line[0], line[-1]) for line in bold]
        for one, other in combinations(ends, 2):  # a leader ends on the line that joins two nearest points
            assert not meet(one, other) or touches(one[1], other) or touches(other[1], one), (one, other)
        for one, other in combinations(thin, 2):
            assert not meet((one[0], one[-1]), (other[0], other[-1])), (one, other)


def touches(at: tuple[float, float], line: tuple[tuple[float, float], tuple[float, float]]) -> bool:
    """Whether a place lies on a line, within 0.05 mm of paper."""
    return crosses(line, Rect(at[0] - 0.05, at[1] - 0.05, 0.1, 0.1)) or line[0] == line[1] == at


def hold_size(svg: str) -> None:
    """The stock fills half of the window's width; a narrow window is filled in its height, too."""
    for sheet in sheets(svg):
        if not sheet.get("id", "").startswith("setting"):
            continue
        outline = next(line for line in polylines(sheet, "stock") if len(line) > 2 and min(y for _, y in line) < 130)
        wide = max(x for x, _ in outline) - min(x for x, _ in outline)
        tall = max(y for _, y in outline) - min(y for _, y in outline)
        edges = [x for line in polylines(sheet, "frame") if max(y for _, y in line) < 130 for x, _ in line]
        window = max(edges) - min(edges)
        assert wide >= 0.49 * window, (wide, window)
        assert window >= MAIN_WIDTH - 1 or tall >= 0.7 * MAIN_HEIGHT, (window, tall)


@pytest.mark.parametrize("name", [*GOOD, *REFUSED])
def test_labels_of_the_samples_keep_clear_of_each_other(name: str) -> None:
    hold_labels(drawn(name))
    hold_size(drawn(name))


@pytest.mark.parametrize("name", CROWDED)
def test_labels_of_a_crowded_sheet_keep_clear_of_each_other(name: str, tmp_path: Path) -> None:
    part = tmp_path / "part.toml"
    part.write_text(crowded(name), encoding="utf-8")
    svg, problems = draw_given(str(part))
    assert not problems
    hold_labels(svg)
    hold_size(svg)
    for section, *_ in CROWDED[name][0]:
        said = "\n".join(text.words for text in letters(sheets(svg)[0])).replace("\n", " ")
        assert section in said or section[:20] in said


CHUCK = """
[[chuck]]
name = "chuck"
kind = "chuck"
nose_diameter = "80 mm"
nose_length = "50 mm"
grip = ["2 mm", "70 mm"]
grip_length = "6 mm"
fastest = "1500 rpm"
"""
STUBBY = """
name = "stubby"
shop = "shop.toml"
corners = "fillet up to 0.2 mm"
edges = "chamfer 0.2 mm"
finish = "turn"
stock = {{ material = "brass", diameter = "{0} mm", length = "{2} mm" }}
holding = {{ method = "chuck", chuck = "chuck", free_end = "A", stick_out = "{1} mm", facing = "0.5 mm" }}
section = [
    {{ name = "boss", role = "plain", diameter = "{3} mm", length = "6 mm" }},
    {{ name = "disc", role = "plain", diameter = "{0} mm", length = "{1} mm", finish = "as stock" }},
]
"""


STUBS = [(24, 24), (20, 19), (32, 20), (32, 24), (40, 20), (40, 30), (44, 19), (48, 20)]
"""Diameter, and how far it stands out of the chuck, mm."""


@pytest.mark.parametrize("stub", some(STUBS, (24, 24), (48, 20)), ids=str)
def test_a_stubby_part_fills_its_window(stub: tuple[int, int], tmp_path: Path) -> None:
    diameter, out = stub
    (tmp_path / "shop.toml").write_text((SAMPLES / "shop.toml").read_text("utf-8") + CHUCK, "utf-8")
    part = tmp_path / "part.toml"
    part.write_text(STUBBY.format(diameter, out, out + 8, diameter / 2), "utf-8")
    svg, problems = draw_given(str(part))
    assert not problems
    hold_labels(svg)
    hold_size(svg)


def random_drawings(folder: Path, count: int) -> Iterator[str]:
    """So many random jobs as they are drawn, those that are refused with what stands against them."""
    number = 0
    while count:
        rng, number = Random(f"labels-{number}"), number + 1
        shop = draw_shop(rng)
        (folder / "shop.toml").write_text(shop.text, encoding="utf-8")
        (folder / "part.toml").write_text(draw_part(rng, shop.shop).text(), encoding="utf-8")
        try:
            svg = draw_given(str(folder / "part.toml"), str(folder / "shop.toml"))[0]
        except ProblemError:
            continue
        count -= 1
        yield svg


@pytest.mark.slow
def test_labels_of_a_few_random_jobs_keep_clear_of_each_other(tmp_path: Path) -> None:
    for svg in random_drawings(tmp_path, 3):
        hold_labels(svg)
        hold_size(svg)


@pytest.mark.slow
def test_labels_of_forty_random_jobs_keep_clear_of_each_other(tmp_path: Path) -> None:
    for svg in random_drawings(tmp_path, 40):
        hold_labels(svg)
        hold_size(svg)


# ---- rows ------------------------------------------------------------------------------------------


rows = st.lists(st.tuples(st.floats(0, 200), st.floats(1, 30)), min_size=1, max_size=12)


@given(rows)
def test_a_row_moved_apart_keeps_its_order_and_its_room(row: list[tuple[float, float]]) -> None:
    wanted, widths = zip(*sorted(row), strict=True)
    places = spread(wanted, widths, 0.0, 200.0)
    if sum(widths) > 200.0:
        assert places is None
        return
    assert places is not None
    edges = [(p - w / 2, p + w / 2) for p, w in zip(places, widths, strict=True)]
    assert edges[0][0] >= -1e-9
    assert edges[-1][1] <= 200.0 + 1e-9
    assert all(a[1] <= b[0] + 1e-9 for a, b in pairwise(edges))


def test_a_row_with_room_is_left_where_it_is() -> None:
    assert spread([20.0, 60.0, 140.0], [30.0, 30.0, 40.0], 0.0, 200.0) == [20.0, 60.0, 140.0]
    assert spread([50.0, 52.0], [10.0, 10.0], 0.0, 200.0) == [46.0, 56.0]  # each as little as the other


def test_a_line_through_a_box() -> None:
    box = Rect(3, 3, 3, 3)
    assert crosses(((0, 0), (9, 9)), box)
    assert crosses(((4, 0), (4, 9)), box)
    assert not crosses(((0, 5), (3, 9)), box)
