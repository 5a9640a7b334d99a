"""Part files with a fault each, named for it: the reader says what, where, and how to fix it.

Each file in tests/bad/part begins with its expected problems, one `# expect:` line for each, in any order;
pieces of one message are separated by " | ". No other problem may be reported.
"""

from __future__ import annotations

import random
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.problem import Problem, ProblemError
from cam.ground.source import parse_source
from cam.lengths import part_of, read_part
from cam.part import Part

HERE = Path(__file__).parent
BAD = sorted((HERE / "bad" / "part").glob("*.toml"))
SAMPLES = [p for p in sorted((HERE.parent / "samples").glob("*.toml")) if p.name != "shop.toml"]


def expected(path: Path) -> list[list[str]]:
    rows = path.read_text(encoding="utf-8").splitlines()
    return [row.removeprefix("# expect: ").split(" | ") for row in rows if row.startswith("# expect: ")]


def problems_of(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(ProblemError) as caught:
        read_part(path)
    return caught.value.problems


def test_there_are_enough():
    assert len(BAD) >= 30


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_the_fault_is_found_and_nothing_else(path):
    problems = problems_of(path)
    texts = [str(problem) for problem in problems]
    pieces = expected(path)
    assert pieces
    for wanted in pieces:
        found = [text for text in texts if all(piece in text for piece in wanted)]
        assert len(found) == 1, f"{wanted}\n--- said:\n" + "\n".join(texts)
        texts.remove(found[0])
    assert texts == []


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_every_problem_is_in_the_house_style(path):
    for problem in problems_of(path):
        assert problem.where.path == str(path)
        assert problem.where.line > 0 or "the file has no" in problem.what
        assert problem.allowed or problem.fix, problem
        assert problem.what[0] != problem.what[0].upper() or not problem.what[0].isalpha()
        assert not problem.what.endswith(".")
        assert all(row.isprintable() and len(row) <= 220 for row in str(problem).splitlines())


# Any text at all --------------------------------------------------------------------------------------


def read_text(content: bytes) -> Part | None:
    with suppress(ProblemError):
        return part_of(parse_source(content, "x.toml"))
    return None


@pytest.mark.slow
def test_huge_and_deep_files(tmp_path):
    big = tmp_path / "big.toml"
    big.write_bytes(b'name = "x"\n' + b"# " + b"x" * 10_000_000)
    assert "too large" in str(problems_of(big)[0])
    junk = tmp_path / "junk.toml"
    junk.write_bytes(random.Random(1).randbytes(5000))
    assert "no text file" in str(problems_of(junk)[0])
    deep = tmp_path / "deep.toml"
    deep.write_text("section = " + "[" * 50_000)
    assert "nested too deeply" in str(problems_of(deep)[0])
    deep.write_text("section = " + "[" * 60 + "]" * 60)
    assert "nested too deeply" in str(problems_of(deep))
    deep.write_text("section = " + "[" * 9 + "]" * 9)
    assert "section is a list of tables" in str(problems_of(deep))
    many = tmp_path / "many.toml"
    many.write_text('[[section]]\nname = "x"\n' * 5000)
    assert "there are 5000 [[section]]" in str(problems_of(many))
    chain = tmp_path / "chain.toml"
    chain.write_text("".join(f'[[section]]\nname = "s{n}"\nlike = "s{n + 1}"\n' for n in range(200)))
    assert 'there is no section called "s200"' in "\n".join(map(str, problems_of(chain)))


@settings(deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes(content):
    assert read_text(content) is None


@settings(deadline=None)
@given(st.text(max_size=300))
def test_any_text(text):
    assert read_text(text.encode("utf-8", "surrogatepass")) is None


TEXTS = [path.read_text(encoding="utf-8") for path in SAMPLES]
WORDS = [
    *sorted({word for text in TEXTS for word in text.replace("=", " ").split()}),
    *('"nan mm"', '"1e308 mm"', '"0 mm"', '"1e-300 mm"', "nan", "-1", "[]", "{}", "true", '""', "[[section]]"),
]


@settings(deadline=None)
@given(st.data())
def test_mutated_samples(data):
    """Words taken out, put in or exchanged: a problem or a part, never anything else."""
    rows = data.draw(st.sampled_from(TEXTS)).split("\n")
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(rows) - 1))
        words = rows[at].split(" ")
        match data.draw(st.sampled_from(["drop", "double", "word", "swap", "cut"])):
            case "drop":
                del rows[at : at + data.draw(st.integers(1, 3))]
            case "double":
                rows.insert(data.draw(st.integers(0, len(rows))), rows[at])
            case "word":
                words[data.draw(st.integers(0, len(words) - 1))] = data.draw(st.sampled_from(WORDS))
                rows[at] = " ".join(words)
            case "swap":
                other = data.draw(st.integers(0, len(rows) - 1))
                rows[at], rows[other] = rows[other], rows[at]
            case "cut":
                rows[at] = rows[at][: data.draw(st.integers(0, max(len(rows[at]) - 1, 0)))]
        rows = rows or [""]
    part = read_text("\n".join(rows).encode())
    assert part is None or part.sections[-1].end > 0


VALUE_KEYS = [
    (row.split("=")[0].strip(), at, number)
    for number, text in enumerate(TEXTS)
    for at, row in enumerate(text.split("\n"))
    if "=" in row.split("#")[0]
]


VALUES = [
    *('"nan mm"', '"inf"', "nan", "-inf", "1", "1.5", "true", "[]", '["1 mm"]', "{}", '""', '"  "', "1979-05-27"),
    *('"0 mm"', '"-1 mm"', '"1e-12 mm"', '"9 m"', '"1,5 mm"', '"x\\u0000y"', f'"{"x" * 999}"', '"+0 / -1 mm"'),
    *('"undercut 1 mm wide 1 mm deep"', '"radius 9 mm"', '"fillet 9 mm"', '"turn, file, stone, burnish"', '"as stock"'),
    *('"A"', '"B"', '"chuck"', '"collet"', '"body"', '"undercut"', '"square blank"', '"stock"', '"0.5 mm copper"'),
]


@settings(deadline=None)
@given(st.sampled_from(VALUE_KEYS), st.sampled_from(VALUES))
def test_any_value_in_any_place(place, value):
    key, at, number = place
    rows = TEXTS[number].split("\n")
    rows[at] = f"{key} = {value}"
    read_text("\n".join(rows).encode())
