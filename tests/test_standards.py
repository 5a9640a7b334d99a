"""Standards as data: every word of every one is read or refused by each, and what two have in common is in both."""

from __future__ import annotations

from itertools import product

import pytest

from cam.rs274 import read_program
from cam.rs274.model import Rules
from cam.rs274.tables import CYCLES, find_standard, name_of, standard_names

WORDS = sorted({code for name in standard_names() for code, _ in find_standard(name).g.values()})
IN_COMMON = {"ISO 6983-1 with NISTIR 6556": ("NISTIR 6556", "EIA-274-D")}
"""A standard of ours -> those whose words it keeps to; EIA-274-D stands for its sister ISO 6983-1."""


@pytest.mark.parametrize("name", standard_names())
def test_a_word_of_another_standard_is_refused_with_what_to_write(name: str) -> None:
    standard = find_standard(name)
    for code in WORDS:
        text = f"%\n{name_of(code)}\nM30\n%\n"
        said = [p for p in read_program(text, Rules(standard=name, x_words="radius")).problems if p.where.line == 2]
        none = [p for p in said if p.what == f"there is no such G word in {name}"]
        assert bool(none) is (code / 10 not in standard.g), name_of(code)
        assert all(p.fix == standard.instead.get(code, "") for p in none)


@pytest.mark.parametrize(("name", "letter"), list(product(standard_names(), "ABCDEHIJKLOPQRTUVWXYZ")))
def test_a_letter_that_a_standard_has_not_is_refused(name: str, letter: str) -> None:
    text = f"%\nG1 {letter}1.0\nM30\n%\n"
    said = [p.what for p in read_program(text, Rules(standard=name, x_words="radius")).problems if p.where.line == 2]
    strange = [what for what in said if "no such letter" in what or "rotary axis" in what]
    assert bool(strange) is (letter not in find_standard(name).letters)


@pytest.mark.parametrize("name", [name for name in IN_COMMON if name in standard_names()])
def test_what_is_in_common_is_in_both_and_means_the_same(name: str) -> None:
    own, others = find_standard(name), [find_standard(other) for other in IN_COMMON[name]]
    for other in others:
        assert own.g.items() <= other.g.items()
        assert own.m.items() <= other.m.items()
        assert own.letters <= other.letters
    both = others[0].g.items() & others[1].g.items()
    left_out = {code for code, _ in dict(both - own.g.items()).values()}
    assert left_out == CYCLES | {40, 920}  # cycles, the dwell whose letter differs, the shift that is a preset
