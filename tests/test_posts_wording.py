"""Numbers and words as they may stand in program text and on the page."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import RangeError
from posts.dialect import dialect_names, load_dialect
from posts.layout import BREAK, END, HEAD, HEIGHT, KEEP, WIDTH, paginate, table
from posts.wording import LONGEST, comment_lines, number, own_beginnings, plain, wrap

NUMBERS = [
    (0.0, 4, "0.0"), (-0.0, 4, "0.0"), (-0.00001, 4, "0.0"), (4.0, 4, "4.0"), (-12.5, 4, "-12.5"), (1e-7, 4, "0.0"),
    (123456.7, 4, "123456.7"), (0.1 + 0.2, 4, "0.3"), (2.00006, 4, "2.0001"), (1000.0, 0, "1000"), (-0.4, 0, "0"),
    (1e15, 2, "1000000000000000.0"), (0.00394, 5, "0.00394"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "decimals", "text"), NUMBERS)
def test_numbers_are_plain_figures(value: float, decimals: int, text: str) -> None:
    assert number(value, decimals) == text


@given(st.floats(-1e6, 1e6), st.integers(0, 6), st.integers(0, 6))
def test_a_printed_number_is_the_number_rounded(value: float, decimals: int, least: int) -> None:
    text = number(value, decimals, min(least, decimals))
    assert abs(float(text) - value) <= 0.5 * 10.0**-decimals * (1 + 1e-9) + 1e-9
    assert set(text) <= set("-.0123456789")
    assert not (float(text) == 0 and text.startswith("-"))
    places = text.partition(".")[2]
    assert min(least, decimals) <= len(places) <= decimals
    assert not (len(places) > min(least, decimals) and places.endswith("0"))
    assert float(number(float(text), decimals, min(least, decimals))) == float(text)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_not_printed(value: float) -> None:
    with pytest.raises(RangeError):
        number(value, 3)


PLAIN = [
    ("Öl–Drehung", "Ol-Drehung"), ("½", "1/2"),
    ("Ørsted", "Orsted"), ("⌀6 ±0.01", "dia 6 +/-0.01"), ("µm", "um"), ("a\tb\x00c\n", "a b c "),
    ("日本", "??"), ("naïve", "naive"), ("“x”", '"x"'), ("straße", "strasse"), ("plain ~ text", "plain ~ text"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "want"), PLAIN)
def test_text_is_put_in_plain_ascii(text: str, want: str) -> None:
    assert plain(text) == want


@given(st.text())
def test_plain_text_is_one_printable_line_and_stays_as_it_is(text: str) -> None:
    found = plain(text)
    assert all(" " <= c <= "~" for c in found)
    assert len(found) <= 18 * LONGEST  # one sign may stand for several letters
    assert plain(found[:LONGEST]) == found[:LONGEST]


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126)), st.integers(8, 80))
def test_wrapped_lines_are_short_and_lose_nothing(text: str, width: int) -> None:
    lines = wrap(text, width, "  ")
    assert all(len(line) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_wrapping_into_nothing_still_ends() -> None:
    assert "".join(wrap("abc def", 1, "  ")).replace(" ", "") == "abcdef"


@given(st.text(max_size=300), st.booleans(), st.sampled_from(dialect_names()))
def test_comments_are_whole_short_and_hold_only_what_the_dialect_allows(text: str, message: bool, name: str) -> None:
    dialect = load_dialect(name)
    allowed = set(dialect.text("COMMENT_CHARACTERS"))
    for line in comment_lines(text, dialect, message=message):
        assert line.startswith("(")
        assert line.endswith(")")
        assert set(line[1:-1]) <= allowed
        assert not set("()%;\n\r") & set(line[1:-1])
        assert len(line) <= dialect.count("COMMENT_MOST") + 4
        if name == "eia274d":
            assert line == line.upper()
        if not message:
            assert not "".join(line.split()).upper().startswith("(MSG,")


def test_a_comment_that_looks_like_a_message_is_none() -> None:
    # NISTIR 6556 3.3.4: white space and small letters are allowed in "MSG,"
    for text in ("MSG, go", "msg,go", " M s g , go"):
        (line,) = comment_lines(text, load_dialect("rs274ngc"))
        assert line.startswith("(- ")


COMMANDS = (
    "MSG", "DEBUG", "PRINT", "LOG", "LOGOPEN", "LOGAPPEND", "LOGCLOSE", "PROBEOPEN", "PROBECLOSE", "ABORT", "DPRNT",
    "POPEN", "PCLOS", "PY", "AXIS", "BELL", "FILE", "CALL", "INFO", "WARN",
)  # fmt: skip
"""Words that some control takes for a command at the head of a comment. From memory; no list is complete."""


@given(
    st.lists(st.sampled_from(COMMANDS) | st.text(max_size=12), max_size=40).map(", ".join),
    st.booleans(), st.sampled_from(dialect_names()),
)  # fmt: skip
def test_no_line_of_a_comment_begins_with_a_word_that_is_not_ours(text: str, message: bool, name: str) -> None:
    """Wherever a text is broken into lines: a sign stands there, a figure, or the message word, which is only ours."""
    dialect = load_dialect(name)
    shown = message and bool(dialect.text("MESSAGE"))
    for n, line in enumerate(comment_lines(text, dialect, message=message)):
        inside = line[1:-1]
        if shown:
            assert inside.startswith("MSG, ")
        else:
            assert not inside[:1].isalpha() or (n == 0 and inside.lower().startswith(own_beginnings())), line
            assert inside[:1] != " "


def test_our_own_beginnings_are_no_commands() -> None:
    own = own_beginnings()
    assert {"part:", "setting", "stop to measure, the spindle standing still."} <= set(own)
    assert all(len(begun) > 2 and begun.isprintable() for begun in own)
    assert not [begun for begun in own for word in COMMANDS if begun.split()[0].strip(",:.").upper() == word]


def test_a_dialect_without_our_signs_has_another() -> None:
    dialect = load_dialect("rs274ngc")
    facts = dict(dialect.facts)
    for allowed, begun in ((" abcdefghijklmnopqrstuvwxyz/", "/ "), (" abcdefghijklmnopqrstuvwxyz0", "0 ")):
        facts["COMMENT_CHARACTERS"] = facts["COMMENT_CHARACTERS"]._replace(value=allowed)
        own = dataclasses.replace(dialect, facts=facts)
        lines = list(comment_lines("print " * 30, own))
        assert len(lines) > 2
        assert all(line.startswith(f"({begun}print") for line in lines)


# Pages


@given(
    st.lists(st.lists(st.text(st.sampled_from("ab "), max_size=30).map(str.strip), max_size=30), max_size=8),
    st.lists(st.integers(0, 150), max_size=3),
)
def test_pages_are_no_longer_than_the_paper_and_lose_nothing(paragraphs: list[list[str]], rows: list[int]) -> None:
    text = "\n\n".join("\n".join(line for line in p if line) for p in paragraphs)
    for n, count in enumerate(rows):
        body = "".join(f"{BREAK}\nrow {n} {k}\n" for k in range(count))
        text += f"\n{HEAD}\nhead {n}\n{body}{END}\n"
    paged = paginate([("title", text)])
    wanted = [line for line in text.split("\n") if line.strip() and line[0] != BREAK]
    pages = paged.split("\f")
    assert all(len(page.splitlines()) <= HEIGHT for page in pages)
    found = []
    for n, page in enumerate(p for p in pages if p):
        lines = page.splitlines()
        assert lines[0].startswith("title" if n == 0 else "title, continued")
        assert lines[0].endswith(f"page {n + 1} of {len(pages)}")
        assert lines[2].strip()
        found += lines[2:]
    kept = [line for line in found if line.strip()]
    assert [line for line in kept if not line.startswith("head")] == [w for w in wanted if not w.startswith("head")]


def test_a_table_that_runs_on_has_its_head_on_every_page() -> None:
    rows = "\n".join(f"{BREAK}\nrow {k}" for k in range(3 * HEIGHT))
    pages = paginate([("t", f"before\n\n{HEAD}\nhead\n{rows}\n{END}\nafter")]).split("\f")
    assert len(pages) == 4
    for page in pages:
        assert page.splitlines().count("head") == 1
    assert "after" in pages[-1]


@pytest.mark.parametrize("count", range(HEIGHT - 8, HEIGHT + 2))
def test_a_foot_is_never_alone_on_its_page(count: int) -> None:
    """However long a text is: what stands before the empty line that is kept goes over with it."""
    rows = f"\n{BREAK}\n".join(f"row {k}" for k in range(count))
    last = paginate([("t", f"{rows}\n{KEEP}\nfoot")]).split("\f")[-1].splitlines()
    assert last[-3:] == [f"row {count - 1}", "", "foot"]


def test_what_follows_a_table_has_no_head_over_it() -> None:
    rows = "\n".join(f"{BREAK}\nrow {k}" for k in range(HEIGHT - 10))
    after = "\n\n".join(["after"] * HEIGHT)
    pages = paginate([("t", f"{HEAD}\nhead\n{rows}\n{END}\n\n{after}")]).split("\f")
    assert [page.splitlines().count("head") for page in pages] == [1, 0, 0]


def test_a_table_leaves_out_empty_columns_and_breaks_the_wide_one() -> None:
    lines = table([["1", "a name " * 20, "", "4.00"]], ("", "name", "none", "size"), right="rllr")
    assert "none" not in lines[0]
    assert all(len(line) <= WIDTH for line in "\n".join(lines).split("\n"))
    assert lines[1].count("\n") >= 1
    assert lines[1].split("\n")[0].endswith("4.00")
