"""Files as text: every value has its line, every fault its problem, nothing a traceback."""

from __future__ import annotations

import math
import os
import re
import socket
import tomllib
import tracemalloc
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.inputs import read_input
from cam.ground.problem import Problem, ProblemError
from cam.ground.source import MOST_BYTES, Table, line_index, parse_source, read_source
from cam.ground.source.table import closest
from cam.ground.units import ANGLE, LENGTH, SPEED

SAMPLES = sorted((Path(__file__).parent.parent / "samples").glob("*.toml"))


def leaves(value, path=()):
    """Every value that holds no others, with its path."""
    if isinstance(value, dict | list):
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for key, item in items:
            yield from leaves(item, (*path, key))
    else:
        yield path, value


# The line of every value ------------------------------------------------------------------------------


def with_lines_for_values(text: str) -> str:
    """The text with every value replaced by its own line number, so that tomllib itself tells the lines."""
    rows = []
    for number, row in enumerate(text.split("\n"), 1):
        bare = re.sub(r"^((?:[^\"#]|\"[^\"]*\")*)#.*$", r"\1", row)
        quoted = re.sub(r'"[^"]*"', f'"{number}"', bare)
        rows.append(re.sub(r"= (?:true|false|[0-9.]+)\b", f'= "{number}"', quoted))
    return "\n".join(rows)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_every_value_of_the_samples_has_its_line(path):
    text = path.read_text(encoding="utf-8")
    lines = line_index(text)
    values = list(leaves(tomllib.loads(with_lines_for_values(text))))
    assert [path for path, _ in values] == [path for path, _ in leaves(tomllib.loads(text))]
    assert len(values) > 10
    assert {path: lines[path] for path, _ in values} == {path: int(line) for path, line in values}


HARD = """\
# a comment with = and [brackets] and "quotes
title = "x"   # 2
a.b."c.d" = 1 # 3
'q # k'.'"' = 2
list = [ # 5
  "one", # 6, with a ] in a comment
  ["two", 'thr#ee'], # 7

  # nothing
  { x = 1, "y z" = [ 10,
     11 ] } # 10 and 11
] # 12
text = \"\"\"
 [not.a.table]
 key = "no"\\
 "" \\\"\"\" end""\"\"\"
raw = '''
 [[nor.this]]
 # nor that '' '''
after = 1979-05-27 07:32:00 # 20
[table."dotted name".last]
x = { p = { q = 1 } } # 22
[[many]]
v = 1 # 24
[many.sub]
w = 2 # 26
[[many.sub.deep]] # 27
[[many.sub.deep]] # 28
u = 3 # 29
[[many]] # 30
v = 4 # 31
"""


def test_hard_places():
    lines = line_index(HARD.replace("\n", "\r\n"))
    assert lines == line_index(HARD)
    expected = {
        ("title",): 2,
        ("a",): 3,
        ("a", "b", "c.d"): 3,
        ("q # k", '"'): 4,
        ("list",): 5,
        ("list", 0): 6,
        ("list", 1, 1): 7,
        ("list", 2): 10,
        ("list", 2, "x"): 10,
        ("list", 2, "y z", 0): 10,
        ("list", 2, "y z", 1): 11,
        ("text",): 13,
        ("raw",): 17,
        ("after",): 20,
        ("table",): 21,
        ("table", "dotted name", "last"): 21,
        ("table", "dotted name", "last", "x", "p", "q"): 22,
        ("many",): 23,
        ("many", 0): 23,
        ("many", 0, "v"): 24,
        ("many", 0, "sub", "w"): 26,
        ("many", 0, "sub", "deep", 0): 27,
        ("many", 0, "sub", "deep", 1): 28,
        ("many", 0, "sub", "deep", 1, "u"): 29,
        ("many", 1): 30,
        ("many", 1, "v"): 31,
    }
    assert {path: lines[path] for path in expected} == expected
    assert {path for path, _ in leaves(tomllib.loads(HARD))} <= set(lines)


class Mark:
    """A scalar in a text being built: quotes around the number of the line where it starts."""

    def __init__(self, before: str, after: str) -> None:
        self.before, self.after = before, after


SCALARS = st.sampled_from(
    [("", ""), ('"', '"'), ("'", "'"), ('"""', '"""'), ("'''", "'''"), ('"""\n\n', '\n"""'), ("'''\n", "\n\n'''")]
).map(lambda quotes: [Mark(*quotes)])
GAPS = st.sampled_from(["", " ", "\n", ' # ] } , = [x] "\n', "\r\n\t", "\n\n# '''\n"])
SPACES = st.sampled_from(["", " ", "\t "])


def arrays(items):
    def build(parts):
        tokens: list[object] = ["["]
        for before, item, after in parts:
            tokens += [before, *item, after, ","]
        return [*tokens, "]"]

    return st.lists(st.tuples(GAPS, items, GAPS), max_size=4).map(build)


def inline_tables(items):
    def build(parts):
        tokens: list[object] = ["{"]
        for at, (dotted, space, item) in enumerate(parts):
            tokens += ["," if at else "", space, f"k{at}.' x'" if dotted else f'"k {at}"', space, "=", space, *item]
        return [*tokens, "}"]

    return st.lists(st.tuples(st.booleans(), SPACES, items), max_size=3).map(build)


VALUES = st.recursive(SCALARS, lambda items: arrays(items) | inline_tables(items), max_leaves=8)
HEADERS = st.sampled_from(
    ["[t{n}]", "[[list]]", "[list.t{n}]", "[ a{n} . 'b c' ]", '["t {n}"."\\u00e9"]', "[[ list . in ]]"]
)
STATEMENTS = st.lists(
    st.tuples(st.none() | HEADERS, st.sampled_from(["k{n}", "'k {n}'", '"\\u0041{n}"', "k{n} . d . e"]), GAPS, VALUES),
    min_size=1,
    max_size=8,
)


def build_text(statements) -> str:
    tokens: list[object] = ["[[list]]\nheader = ", Mark("", ""), " # -1\n"]
    for n, (header, key, gap, value) in enumerate(statements):
        if header:
            tokens += [header.format(n=n), "\nheader = ", Mark("", ""), " # -1\n"]
        tokens += [key.format(n=n), " = ", *value, gap, "\n"]
    text = ""
    for token in tokens:
        marked = isinstance(token, Mark)
        text += f"{token.before}{text.count(chr(10)) + 1}{token.after}" if marked else str(token)
    return text


@settings(deadline=None)
@given(STATEMENTS)
def test_any_file_has_the_line_of_every_value(statements):
    text = build_text(statements)
    lines = line_index(text)
    for path, value in leaves(tomllib.loads(text)):
        line = int(str(value))
        assert lines[path] == line, text
        if path[-1] == "header":
            assert lines[path[:-1]] == line - 1, text


@settings(deadline=None)
@given(st.text(alphabet="ab=[]{}\"'.,#\\\n 1-", max_size=40))
def test_whatever_tomllib_takes_has_lines(text):
    try:
        values = tomllib.loads(text)
    except ValueError:
        return
    lines = line_index(text)
    assert {path for path, _ in leaves(values)} <= set(lines)
    assert all(1 <= line <= text.count("\n") + 1 for line in lines.values())


# Files ------------------------------------------------------------------------------------------------


def problem_of(call, *args) -> Problem:
    with pytest.raises(ProblemError) as caught:
        call(*args)
    assert len(caught.value.problems) == 1
    return caught.value.problems[0]


BAD_CONTENT = [  # content, line, piece of the message
    (b"x" * (MOST_BYTES + 1), 0, "too large to be right"),
    (b"\x7fELF\x02\x01\x00\x00", 1, "this is no text file"),
    (b"a = 1\nb = '\xff'\n", 2, "byte 0xff"),
    (b"a = 1\nb = 6 mm\n", 2, 'put the quantity in quotes: diameter = "6 mm"'),
    (b'a = 1\nb = 1/4"\n', 2, "put the quantity in quotes"),
    (b'b = "1/4""\n', 1, "write in for inches"),
    (b"material = silver steel\n", 1, "put the text in quotes"),
    (b"a = 1\nb = 2\na = 3\n", 3, "may be written only once"),
    (b"[a]\n[b]\n[a]\n", 3, "may be written only once"),
    (b"a = \n", 1, "this is not TOML"),
    (b"a = [1,\n2\n", 3, "this is not TOML"),
    (b'a = "x\n', 1, "this is not TOML"),
    (b"a = 1\x01\n", 1, "this is not TOML"),
    (b"\na = " + b"[" * 40_000, 2, "nested too deeply"),
    (b"a = " + b"{ a = " * 40_000, 1, "nested too deeply"),
    (b"# c\n" + b"a." * 20_000 + b"a = 1", 2, "nested too deeply"),
    (b'[b]\n"x" . ' + b"'a'. " * 20_000 + b"a = 1", 2, "nested too deeply"),
    (b"a = '''\n\n'''\n[" + b"a." * 20_000 + b"a]", 4, "nested too deeply"),
    (b"b = 1\na = " + b"[" * 200 + b"1, " * 60_000 + b"]" * 200, 2, "nested too deeply"),
    (b"a = " + b"9" * 5000, 0, "cannot be read"),
]


@pytest.mark.parametrize(("content", "line", "piece"), BAD_CONTENT, ids=[row[2][:24] for row in BAD_CONTENT])
def test_bad_content(content, line, piece):
    problem = problem_of(parse_source, content, "x.toml")
    assert piece in str(problem)
    assert problem.where.line == line
    assert problem.where.path == "x.toml"
    assert all(len(row) < 160 for row in str(problem).splitlines())


def test_bad_names(tmp_path):
    assert "no such file" in problem_of(read_source, tmp_path / "none.toml").what
    assert "a folder" in problem_of(read_source, tmp_path).what
    assert "cannot be read" in problem_of(read_source, "a\0b").what
    assert "cannot be read" in problem_of(read_source, "x" * 5000).what
    big = tmp_path / "big.toml"
    big.write_bytes(b"# " + b"x" * 10_000_000)
    assert "too large" in problem_of(read_source, big).what


def test_a_good_file_is_kept_whole(tmp_path):
    path = tmp_path / "good.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\nb = 2\r\n")
    source = read_source(path)
    assert source.values == {"a": 1, "b": 2}
    assert source.lines[("b",)] == 2
    assert source.path == str(path)
    assert str(source.where(("b", 3, "x"))) == f"{path}:2"
    assert str(source.where(())) == str(path)


def test_the_digest_is_sha_256():
    # NIST, example values for FIPS 180-4: SHA-256 of no bytes at all
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert parse_source(b"", "x.toml").digest == empty


@settings(deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(content):
    with suppress(ProblemError):
        assert parse_source(content, "x.toml").values == tomllib.loads(content.decode("utf-8-sig"))


# Tables -----------------------------------------------------------------------------------------------


def table(text: str) -> tuple[Table, list[Problem]]:
    problems: list[Problem] = []
    return Table(parse_source(text.encode(), "x.toml"), problems), problems


def only(problems: list[Problem]) -> str:
    assert len(problems) == 1, "\n".join(map(str, problems))
    return str(problems[0])


def test_a_quantity_keeps_text_and_line():
    root, problems = table('[stock]\n# x\ndiameter = "1/4 in"\n')
    size = root.table("stock").quantity("diameter", LENGTH, over=True)
    assert (size, size.text, size.where.line) == (6.35, "1/4 in", 3)
    root.close()
    assert problems == []


def test_a_missing_key_says_where_and_how():
    root, problems = table("name = 'x'\n[stock]\n")
    size = root.table("stock").quantity("diameter", LENGTH, example="16 mm")
    assert math.isnan(size)
    assert only(problems) == (
        'x.toml:2: [stock] has no diameter\n  fix      write it in [stock] (line 2) as diameter = "16 mm"'
    )
    problems.clear()
    root.text("material", example="silver steel")
    assert 'before the first [table], as material = "silver steel"' in only(problems)
    problems.clear()
    lacking = root.table("holding", why="how is it held")
    lacking.quantity("extra_length", LENGTH)
    lacking.text("x")
    lacking.choice("y", ("a", "b"))
    lacking.table("z").pair("q")
    assert only(problems) == (
        "x.toml: the file has no [holding]; how is it held\n  fix      write a line [holding] and its keys below it"
    )


WRONG = [  # toml, how it is read, piece of the only problem
    ('a = "6"', lambda t: t.quantity("a", LENGTH), 'did you mean "6 mm" or "6 in"?'),
    ("a = 6", lambda t: t.quantity("a", LENGTH), "given    a = 6"),
    ("a = nan", lambda t: t.quantity("a", LENGTH), "a number that exists"),
    ('a = "0 mm"', lambda t: t.quantity("a", LENGTH, over=True), "too small"),
    ('a = "-1 mm"', lambda t: t.quantity("a", LENGTH), "may not be negative"),
    ('a = "2 in"', lambda t: t.quantity("a", LENGTH, most=25.4), "at most 1 in"),
    ('a = "6 mm"', lambda t: t.quantity("a", SPEED), "a rotational speed is wanted here"),
    ("", lambda t: t.quantity("a", ANGLE), 'a = "6 deg"'),
    ('a = "#99"', lambda t: t.drill("a"), "no drill of that number"),
    ("", lambda t: t.drill("a"), "No. 30"),
    ('a = "h6"', lambda t: t.limits("a"), "limits cannot be read"),
    ('a = ["9 mm", "3 mm"]', lambda t: t.pair("a"), "smaller one first"),
    ('a = ["9 mm"]', lambda t: t.pair("a"), "two lengths"),
    ('a = ["9 mm", 3]', lambda t: t.pair("a"), "a[1]: this length has no unit"),
    ('a = [["0 mm", "0 mm"], ["1 mm"], ["1 mm", "1 mm"]]', lambda t: t.points("a"), "point 2 of a"),
    ('a = [["0 mm", "0 mm"]]', lambda t: t.points("a"), "3 to 100 points"),
    ("a = 1", lambda t: t.text("a"), "a is a text"),
    ('a = " "', lambda t: t.text("a"), "a is empty"),
    (f'a = "{"x" * 300}"', lambda t: t.text("a"), "300 characters"),
    ('a = "pivit"', lambda t: t.choice("a", ("pivot", "seat")), 'did you mean "pivot"?'),
    ("a = 1", lambda t: t.choice("a", ("pivot", "seat")), "allowed  pivot, seat"),
    ('a = "true"', lambda t: t.flag("a"), "without quotes"),
    ("a = 1.0", lambda t: t.integer("a", most=9), "a whole number"),
    ("a = true", lambda t: t.integer("a", most=9), "0 to 9"),
    ("a = 10", lambda t: t.integer("a", most=9), "0 to 9"),
    ("a = nan", lambda t: t.number("a", least=0, most=9), "without a unit"),
    ("a = 1", lambda t: t.table("a"), "a is a table"),
    ("a = 1", lambda t: t.tables("a"), "a list of tables"),
    ("a = [1]", lambda t: t.tables("a"), "each begun by a line [[a]]"),
    ("", lambda t: t.tables("a"), "the file has no [[a]]"),
    ("a = " + "[" * 9 + "]" * 9, lambda t: t.text("a"), "a = [[[...]]]"),
    ("a = 1", lambda t: t.refuse("a", "a has no meaning here"), "a has no meaning here"),
]


@pytest.mark.parametrize(("text", "read", "piece"), WRONG, ids=[f"{row[0][:16]}-{row[2][:16]}" for row in WRONG])
def test_wrong_values_give_one_problem(text, read, piece):
    root, problems = table(text)
    read(root)
    root.close()
    assert piece in only(problems)


def test_right_values():
    root, problems = table(
        'p = ["3 mm", "9 mm"]\npts = [["-1 mm", "0 in"], ["1 mm", "0 mm"], ["0 mm", "1 cm"]]\nf = false\n'
        'i = 3\nn = 0.25\nlim = "±1 thou"\nd = "letter F"\nang = "60 deg"\n'
    )
    assert root.pair("p") == (3.0, 9.0)
    assert root.points("pts") == ((-1.0, 0.0), (1.0, 0.0), (0.0, 10.0))
    assert root.flag("f") is False
    assert root.integer("i", most=9) == 3
    assert root.number("n", least=0, most=1) == 0.25
    assert root.limits("lim") == (-0.0254, 0.0254)
    assert root.drill("d") == pytest.approx(0.257 * 25.4)
    assert root.quantity("ang", ANGLE).text == "60 deg"
    assert root.quantity("none", LENGTH, default=0.5) == 0.5
    assert root.text("none2", default="") == ""
    assert root.choice("none3", ("a", "b"), default="a") == "a"
    assert root.tables("none4", fewest=0) == []
    assert not root.has("none5")
    root.close()
    assert problems == []


def test_unknown_keys_are_named_with_what_was_meant():
    root, problems = table(
        'corner = "x"\n[stock]\ndiametre = "6 mm"\nedges = "sharp"\nzzz = 1\n[[section]]\nname = "a"\nlenght = 1\n'
    )
    root.known("corners", "edges")
    stock = root.table("stock")
    stock.known("diameter")
    for section in root.tables("section"):
        section.known("name", "length")
    root.close()
    text = "\n".join(str(problem) for problem in sorted(problems))
    assert 'x.toml:1: the file has no key "corner"' in text
    assert 'did you mean "corners"?' in text
    assert 'x.toml:3: [stock] has no key "diametre"' in text
    assert 'did you mean "diameter"?' in text
    assert "it belongs at the top of the file; a key belongs to the [table] line above it" in text
    assert "leave it out" in text
    assert 'x.toml:8: [[section]] "a" has no key "lenght"' in text
    assert len(problems) == 5


def test_a_question_mark_is_what_is_still_to_be_said() -> None:
    problems: list[Problem] = []
    source = parse_source(b'size = "?"\nkind = "?"\nname = "?"\ntext = "?"\nlimits = "?"\n', "x.toml")
    table = Table(source, problems)
    table.quantity("size", LENGTH)
    table.choice("kind", ("seat", "pivot"))
    table.text("text")
    table.limits("limits")
    assert table.text("name") == "?"
    assert [(p.where.line, p.what) for p in problems] == [
        (1, "size is still to be said"),
        (2, "kind is still to be said"),
        (4, "text is still to be said"),
        (5, "limits is still to be said"),
    ]
    assert problems[1].allowed == "seat, pivot"


# Files of every kind and size ------------------------------------------------------------------------------------


def test_what_is_no_file_is_not_waited_for(tmp_path):
    """A pipe, a socket, a device: opened, each would wait for ever, or give for ever."""
    os.mkfifo(tmp_path / "pipe.toml")
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(str(tmp_path / "socket.toml"))
        for path in (tmp_path / "pipe.toml", tmp_path / "socket.toml", "/dev/zero", "/dev/tty", "/dev/full"):
            if Path(path).exists():
                assert "a pipe or a device" in problem_of(read_source, str(path)).what


def test_a_file_exchanged_for_a_pipe_between_asking_and_opening_is_refused(tmp_path, monkeypatch):
    path = tmp_path / "a.toml"
    path.write_text("a = 1")
    real = os.open

    def exchange(name, *more):
        path.unlink()
        os.mkfifo(path)
        return real(name, *more)

    monkeypatch.setattr("cam.ground.inputs.os.open", exchange)
    assert "a pipe or a device" in problem_of(read_source, str(path)).what


def test_a_file_that_says_it_is_empty_and_is_not_is_cut_off(tmp_path):
    """Files of the system's own say nothing of their length."""
    assert len(read_input("/proc/self/maps", 10_000_000)) > 1000
    with pytest.raises(ProblemError, match="too large to be right"):
        read_input("/proc/self/maps", 1000)


@pytest.mark.parametrize("depth", [1, 15])
def test_what_looks_deep_and_is_text_is_read(depth):
    name = ".".join("word" for _ in range(40))
    rows = f"{name} = 1", f"c{'.c' * depth} = {'[' * depth}{']' * depth}"
    text = f'a = "{name}" # {name}\nb = """\n{rows[0]}\n"""\n"{name}" = 1\n{rows[1]}\n'
    source = parse_source(text.encode(), "x.toml")
    assert source.values["a"] == name
    assert name in source.values


@pytest.mark.slow
def test_reading_takes_room_and_time_that_grow_with_the_text():
    """The worst that was found: every key as deep as may be, in a file as long as may be; in room, not in seconds."""
    deep = ".".join(["a"] * 15)
    rows = "".join(f"{deep}.k{n} = 1\n" for n in range(5500))
    assert len(rows) < MOST_BYTES
    tracemalloc.start()
    try:
        parse_source(rows.encode(), "x.toml")
        assert tracemalloc.get_traced_memory()[1] < 60_000_000
    finally:
        tracemalloc.stop()


def test_of_very_many_unknown_keys_the_first_are_told_and_how_many_there_are():
    problems: list[Problem] = []
    table = Table(parse_source("".join(f"k{n} = 1\n" for n in range(20_000)).encode(), "x.toml"), problems)
    table.text("name", default="x")
    table.close()
    assert len(problems) == 51
    assert problems[-1].what == "19950 more keys, from here on, are not known"
    assert problems[-1].where.line == 51


@pytest.mark.parametrize(
    ("word", "known", "near"),
    [
        ("2 mm collet", ["6 mm collet", "carrier"], ""),
        ("6mm colet", ["6 mm collet"], "6 mm collet"),
        ("half center 60", ["half centre"], "half centre"),
        ("diametre", ["diameter", "length"], "diameter"),
    ],
)
def test_no_name_with_other_numbers_is_offered_instead(word: str, known: list[str], near: str) -> None:
    assert closest(word, known) == near
