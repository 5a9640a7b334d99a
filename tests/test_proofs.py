"""What is proved in air before metal: X, Z and the sense of arcs, or known by a dated fact; lines in place of arcs."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.geometry.path import Arc, Line, Point
from cam.job import judge_program, make_job
from cam.moves.make import lines_for
from posts.dialect import dialect_names
from tests.specimens import SAMPLES

PART = SAMPLES / "crank-pin.toml"
DIALECTS = dialect_names()
DATE = "2026-05-02"
FACTS = {
    "none": "",
    "proved": f'proved = {{ "arcs" = "{DATE}" }}',
    "lines": 'arcs = "lines"\narc_height = "0.002 mm"',
    "coarse": 'arcs = "lines"\narc_height = "0.02 mm"',
}


@cache
def shop_with(facts: str, folder: Path) -> str:
    """A shop file with lines more in [lathe.control]."""
    text = (SAMPLES / "shop.toml").read_text()
    path = folder / "shop.toml"
    path.write_text(text.replace("x_words = ", f"{FACTS[facts]}\nx_words = ", 1))
    return str(path)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("proofs")


@cache
def text_of(dialect: str, facts: str, folder: Path) -> str:
    own = folder / facts
    own.mkdir(exist_ok=True)
    job = make_job(str(PART), shop_with(facts, own), dialect=dialect)
    assert job.problems == ()
    return job.works[0].text


def found(text: str, facts: str, folder: Path, dialect: str = "rs274ngc") -> list[str]:
    """What the judge finds not proved."""
    own = folder / facts
    own.mkdir(exist_ok=True)
    path = own / "1.ngc"
    path.write_text(text)
    verdict = judge_program(str(path), str(PART), 1, shop_with(facts, own), dialect=dialect)
    return [f.what for f in verdict.simulation.findings if f.kind == "no proof"]


def swap(text: str, old: str, new: str) -> str:
    changed = re.sub(old, new, text, count=1, flags=re.M | re.I)
    assert changed != text
    return changed


@pytest.mark.parametrize("dialect", DIALECTS)
def test_z_is_proved_alone_with_a_stop_that_names_it(dialect: str, folder: Path) -> None:
    text = text_of(dialect, "none", folder)
    assert found(text, "none", folder, dialect) == []
    z = r"^(?:N\d+ )?G0 Z1\.05\n(?=\(STOP, and prove Z)"
    assert found(swap(text, z, ""), "none", folder, dialect)
    words = r"^\(STOP, and prove Z(?:.*\n)+?(?=(?:N\d+ )?M0$)"
    assert "says nothing of proving Z" in found(swap(text, words, ""), "none", folder, dialect)[0]
    assert "says nothing of proving Z" in found(swap(text, words + r".*\n", ""), "none", folder, dialect)[0]


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        (r"^(N\d+ )?G2 X.*F60\.0\n", "", "was not proved in air"),
        (r"^\(STOP, and watch(.*\n)+?.*M0\n", "", "without stops before and after"),
        (r"^\(STOP\. go on only(.*\n)+?.*M0\n", "", "without stops before and after"),
        (r"G2 X15\.0 Z-1\.95 I3\.0", "G2 X10.0 Z-1.95 I0.5", "too small for a person"),
        (r"G2 X15\.0 Z-1\.95 I3\.0", "G2 X2.0 Z-1.95 I-3.5", "comes to radius 2.000 mm"),
        (r"G0 Z-1\.95\n((?:N\d+ )?)G2 X15\.0 Z-1\.95", r"G0 Z0.0\n\1G2 X15.0 Z0.0", "swings beyond Z 1.050 mm"),
        (r"G2 X15\.0 Z-1\.95 I3\.0", "G3 X15.0 Z-1.95 I3.0", "swings toward the tailstock in air, and the words"),
        (r"MUST SWING TO HEADSTOCK", "MUST SWING TO TAILSTOCK", "swings toward the headstock in air, and the words"),
        (r"SWUNG TO HEADSTOCK\?", "SWUNG TO TAILSTOCK?", "swings toward the headstock in air, and the words"),
        (r" to -4\.95 and", " to -3.95 and", "swings to Z -4.950 mm in air, and the words"),
    ],
)
def test_the_sense_of_arcs_is_proved_in_air(old: str, new: str, what: str, dialect: str, folder: Path) -> None:
    text = text_of(dialect, "none", folder)
    assert what in found(swap(text, old, new), "none", folder, dialect)[0]


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_dated_fact_that_the_head_repeats_stands_for_the_proof(dialect: str, folder: Path) -> None:
    text = text_of(dialect, "proved", folder)
    assert f"ARCS PROVED, {DATE}" in text.upper()
    assert "ARC NEXT" not in text.upper()
    assert re.search(r"G[23] X", text)
    assert found(text, "proved", folder, dialect) == []
    for changed in (swap(text, DATE, "2026-05-03"), swap(text, "arcs proved", "arcs are known")):
        assert "was not proved in air" in found(changed, "proved", folder, dialect)[0]
    assert "was not proved in air" in found(text, "none", folder, dialect)[0]


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize(("facts", "height"), [("lines", "0.002"), ("coarse", "0.02")])
def test_lines_in_place_of_arcs(facts: str, height: str, dialect: str, folder: Path) -> None:
    text = text_of(dialect, facts, folder)
    assert not re.search(r"G[23] X|ARC NEXT", text)
    assert f"AT MOST {height} STANDING" in text.upper()
    assert found(text, facts, folder, dialect) == []
    assert "arcs are said as lines" in found(text_of(dialect, "none", folder), facts, folder, dialect)[0]


def test_lines_that_leave_more_than_is_stated_are_found(folder: Path) -> None:
    path = folder / "lines" / "1.ngc"
    text_of("rs274ngc", "lines", folder)
    path.write_text(text_of("rs274ngc", "coarse", folder))
    verdict = judge_program(str(path), str(PART), 1, shop_with("lines", folder / "lines"))
    assert {f.kind for f in verdict.simulation.findings} == {"uncut"}


@given(
    radius=st.floats(0.05, 20), height=st.floats(0.001, 0.02), begin=st.sampled_from([0, 90, 180, 270]),
    part=st.floats(5, 90), turn=st.sampled_from([1, -1]),
)  # fmt: skip
def test_lines_are_never_on_the_finished_side_nor_further_off_than_said(
    radius: float, height: float, begin: int, part: float, turn: int
) -> None:
    """Metal lies on the left of a path toward the headstock, and on the right of one that comes back."""

    def at(degrees: float) -> Point:
        return Point(radius * math.cos(math.radians(degrees)), 30 + radius * math.sin(math.radians(degrees)))

    arc = Arc(at(begin), at(begin + turn * part), Point(0, 30), turn)
    path = lines_for((arc,), height)
    assert path[0].start == arc.start
    assert path[-1].end == arc.end
    filled = (turn > 0) == (arc.end.z < arc.start.z)  # the centre is in the metal
    for piece in path:
        assert isinstance(piece, Line)
        for share in (0, 0.25, 0.5, 0.75, 1):
            z = piece.start.z + share * (piece.end.z - piece.start.z)
            x = piece.start.x + share * (piece.end.x - piece.start.x)
            off = math.hypot(z, x - 30) - radius
            off = off if filled else -off
            assert -1e-9 <= off <= height + 1e-9
