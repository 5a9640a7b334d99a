"""Whatever a name holds, nothing that a terminal obeys or that turns the direction of writing leaves by any door.

Every text that the schemas leave free is tried: a new field of a part or shop file is tried by itself, once a file here
has it, and a test fails until one does.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from cam.cli.answers import complain, say, warn
from cam.ground.problem import Problem, ProblemError, Where
from cam.job import make_job, read_given
from cam.mill.settle import settle_mill
from cam.plan import plan_job
from tests.specimens import record_samples
from tests.test_cli import Answer, run

ROOT = Path(__file__).parent.parent
WILD = "\\u001b]0;x\\u0007\\u001b[31m\\u202e\\u2066\\u200f\\u009b2J\\ufeff\\u007f"
"""Terminal escapes of both kinds and marks of direction, as TOML spells them."""
OWN = """
[[material]]
name = "odd steel"
hss = { least = "20 m/min", most = "30 m/min" }
carbide = { least = "60 m/min", most = "100 m/min" }
kc11 = "1700 N/mm2"
mc = 0.25
modulus = "207 GPa"
source = "own trials"
"""
LOOSE = '[[span.loose]]\nname = "brass washer"\nthickness = "0.3 mm"\nuncertainty = "±0.01 mm"\n\n'
SLIP = '[[measurement.plus]]\nname = "slip"\nvalue = "0.02 mm"\nuncertainty = "±0.001 mm"\n\n'
WARM = 'part_temperature = "20 ± 2 degC"\nin_use = ["5 degC", "30 degC"]\n'
ROWS = ("dies =", "[lathe.threading]", 'by = "encoder"', "fastest =", "acceleration =")
MORE = {
    "shop": (*((f"# {row}", row) for row in ROWS),
             ("\n# Materials of one's", f"{OWN}\n#")),
    "pin": (('material = "silver steel"', 'material = "odd steel"'),),
    "drum": (("[holding.end_b]", '[holding.end_b]\ncentre_hole = "A 1/2.12"'),
             ("[[hole]]", f"{LOOSE}[[hole]]"),
             ("[[measurement.less]]", f"{SLIP}[[measurement.less]]"),
             ('[[measurement]]', '[[measurement]]\ntemperature = "24 ± 1 degC"\nmaterial = "brass"'),
             ('tolerance = "±0.02 mm" ', f'{WARM}tolerance = "±0.02 mm" ')),
}  # fmt: skip
"""What is changed in a file so that it has every free text that a plan can have: old, new."""
REFUSED = (('name = "hook hole"', 'name = "hook hole"\nshoulder = "drum body"\ndiameter = "2.5 mm"'),
           ('plate = "3 mm"', 'plate = "3 mm"\nfit = "H7/f7"'))  # fmt: skip
"""What is changed in the drum so that it has every other, in vain."""
PARTS = {
    "drum": "orrery-drum-arbor.toml",
    "pin": "crank-pin.toml",
    "hook": "drum-hook.toml",
    "spindle": "moon-carriage-spindle.toml",
}
TRIED = [pytest.param(name, marks=() if name == "drum" else pytest.mark.slow) for name in PARTS]
"""The one that has the most kinds of text is tried every time."""
HEADED = [
    pytest.param(name, dialect, marks=() if both in (("drum", "rs274ngc"), ("hook", "eia274d")) else pytest.mark.slow)
    for both in product(PARTS, ("rs274ngc", "eia274d")) for name, dialect in (both,)
]  # fmt: skip
"""One of either dialect every time."""
FILES = {"shop", "lathe.control.dialect", "mill.dialect"}
"""Free texts that name a file: a wild one is none that is there."""


def free_texts(schema: dict[str, Any]) -> set[str]:
    """Every place of a schema that takes any text at all, "section.name"."""
    found = set[str]()

    def walk(node: Any, at: tuple[str, ...], inside: tuple[str, ...]) -> None:
        if not isinstance(node, dict):
            return
        if "$ref" in node:
            name = node["$ref"].rpartition("/")[2]
            if name not in inside:
                walk(schema["$defs"][name], at, (*inside, name))
            return
        for key in ("oneOf", "anyOf", "allOf"):
            for one in node.get(key, ()):
                walk(one, at, inside)
        for key, value in node.get("properties", {}).items():
            walk(value, (*at, key), inside)
        walk(node.get("items"), at, inside)
        if node.get("type") == "string" and not {"enum", "const", "pattern"} & node.keys():
            found.add(".".join(at))

    walk(schema, (), ())
    return found


FREE = {
    kind: free_texts(json.loads((ROOT / f"cam/{kind}/{kind}.schema.json").read_text(encoding="utf-8")))
    for kind in ("part", "shop")
}


def texts_of(value: Any, at: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a file with its place, as free_texts names it."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from texts_of(inner, f"{at}.{key}".lstrip("."))
    elif isinstance(value, list):
        for inner in value:
            yield from texts_of(inner, at)
    elif isinstance(value, str):
        yield at, value


class Pair:
    """A part and a shop file in the working directory, which may be made wild."""

    def __init__(self, name: str, *, whole: bool = True) -> None:
        samples = Path("samples")
        self.paths = samples / PARTS[name], samples / "shop.toml"
        self.whole = [path.read_text(encoding="utf-8") for path in self.paths]
        changes = (*MORE.get(name, ()), *(() if whole else REFUSED if name == "drum" else ()))
        for place, rows in ((0, changes), (1, MORE["shop"])):
            for old, new in rows:
                assert old in self.whole[place], old
                self.whole[place] = self.whole[place].replace(old, new, 1)

    def free(self) -> list[str]:
        """Every text that stands where any may."""
        both = zip(("part", "shop"), self.whole, strict=True)
        rows = [(kind, *row) for kind, whole in both for row in texts_of(tomllib.loads(whole))]
        return sorted({text for kind, at, text in rows if at in FREE[kind] - FILES})

    def write(self, wild: list[str], by: str = "") -> None:
        """Write both files with these texts made wild wherever they stand; by: begun with that instead."""
        for path, whole in zip(self.paths, self.whole, strict=True):
            text = whole
            for one in wild:
                text = text.replace(json.dumps(one, ensure_ascii=False), f'"{made_wild(one, by)}"')
            path.write_text(text, encoding="utf-8")

    def refused(self, wild: list[str], by: str = "") -> tuple[Problem, ...]:
        """Why the files cannot be read so, or the part not be planned."""
        self.write(wild, by)
        try:
            part, shop = read_given(str(self.paths[0]))
            plan_job(part, shop)
            settle_mill(part, shop)
        except ProblemError as error:
            return error.problems
        return ()

    def taken(self, texts: list[str], by: str = "") -> list[str]:
        """Those of some texts that can be made wild, all at once: what a problem gives, or else its line, cannot."""
        while problems := self.refused(texts, by):
            wild = {one: plain(tomllib.loads(f'x = "{made_wild(one, by)}"')["x"]) for one in texts}
            said = [plain(p.given) for p in problems]
            held = [one for one in texts if any(wild[one] in given for given in said)]
            rows = [row for p in problems for row in self.line_of(p)]
            held = held or [one for one in texts if any(json.dumps(one, ensure_ascii=False) in row for row in rows)]
            assert held, [str(p) for p in problems]
            texts = [one for one in texts if one not in held]
        return texts

    def line_of(self, problem: Problem) -> list[str]:
        """The line that a problem names, as it is when nothing is wild."""
        both = [whole for path, whole in zip(self.paths, self.whole, strict=True) if path.name in problem.where.path]
        return [whole.splitlines()[problem.where.line - 1] for whole in both if problem.where.line]


def plain(text: str) -> str:
    """What of a text any printer shows."""
    return "".join(sign for sign in text if sign.isprintable() and sign != "?")


def made_wild(text: str, by: str) -> str:
    """A text with wild signs in it, or begun with something, as TOML spells it."""
    return f"{by}{text}" if by else f"{text[:20]}{WILD}{text[20:40]}"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "samples").mkdir()
    for path in (ROOT / "samples").glob("*.toml"):
        (tmp_path / "samples" / path.name).write_bytes(path.read_bytes())
    record_samples(tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def check_text(text: str, door: str) -> None:
    wild = sorted({sign for sign in text if not sign.isprintable() and sign not in "\n\f"})
    assert not wild, f"{door} let out {wild}: {re.findall('.{0,60}' + re.escape(wild[0]) + '.{0,20}', text)[:3]}"


def check_answer(answer: Answer, door: str) -> None:
    check_text(answer.out, f"{door}, on the output,")
    check_text(answer.err, f"{door}, on the error output,")


DOORS = (
    ("check", "{part}"), ("check", "{part}", "--json"), ("make", "{part}", "--out", "made"),
    ("summary", "{part}"), ("notebook", "{part}"),
    ("summary", "{part}", "--print", "summary.html", "--paper", "A4"),
    ("notebook", "{part}", "--print", "notebook.html", "--paper", "A4"),
    ("program", "{part}", "--setting", "1"), ("program", "{part}", "--setting", "1", "--dialect", "eia274d"),
    ("program", "{part}", "--mill", "square"), ("plot", "{part}"), ("plot", "{part}", "--out", "plot.svg"),
    ("view", "{part}"), ("view", "{part}", "--out", "view.html"), ("why", "{part}"), ("history", "{part}"),
    ("record", "{part}", "no such name", "1 mm"), ("dxf", "{part}", "--out", "part.dxf"),
    ("simulate", "made/setting-1.ngc", "--part", "{part}", "--setting", "1", "--backlash", "shop"),
    ("simulate", "made/setting-1.ngc", "--part", "{part}", "--setting", "2"),
    ("compare", "{part}", "samples/whole.toml", "--out", "changes.svg"), ("compare", "made", "{part}", "--json"),
)  # fmt: skip


@pytest.mark.parametrize("name", TRIED)
def test_no_name_reaches_a_terminal_or_a_file_as_it_is(here: Path, name: str) -> None:
    pair = Pair(name)
    pair.write([])
    Path("samples/whole.toml").write_text(pair.whole[0], encoding="utf-8")
    wild = pair.taken(pair.free())
    assert len(wild) > 12
    pair.write(wild)
    for door in DOORS:
        answer = run(*(word.format(part=pair.paths[0]) for word in door))
        check_answer(answer, " ".join(door))
        if door[0] in ("make", "summary", "notebook"):
            assert answer.status == 0, answer.err
    for path in here.rglob("*"):
        if path.is_file() and path.suffix not in (".toml", ".log"):
            check_text(path.read_text(encoding="utf-8"), path.name)


@pytest.mark.parametrize(("name", "dialect"), HEADED)
def test_no_comment_of_a_program_begins_with_a_word_from_a_name(here: Path, name: str, dialect: str) -> None:
    """Some controls take a comment for a command by its first word. The message word is ours, and stands no oftener."""

    def heads(wild: str) -> list[str]:
        short = pair.taken(free, wild)
        assert len(short) > 8
        pair.write(short, wild)
        job = make_job(str(pair.paths[0]), dialect=dialect, mill_dialect=dialect)
        works = (*job.works, *(() if job.mill is None else job.mill.works))
        return [line for work in works for line in re.findall(r"^\((.*)\)$", work.text, re.MULTILINE)]

    pair = Pair(name)
    free = pair.taken(pair.free(), "ZQX, ")
    assert len(free) > 12
    shown = [line.startswith("MSG") for line in heads("ZQX, ")].count(True)
    assert (shown > 0) == (dialect == "rs274ngc")
    assert [line.startswith("MSG") for line in heads("MSG, ")].count(True) == shown
    for wild in ("ZQX,x " * 3, "z q x , " * 5, "ZQX: " * 9):
        lines = heads(wild)
        assert any("zqx" in line.lower().replace(" ", "") for line in lines)
        assert not [line for line in lines if re.match(r"\s*(zqx|z q x|q x ,|x ,|x z)", line, re.IGNORECASE)]
        assert not [line for line in lines if line.startswith(" ")]


@pytest.mark.parametrize("name", PARTS)
def test_no_problem_says_a_text_as_it_is(here: Path, name: str) -> None:
    """Every text of both files made wild at once, those of choices and quantities too."""
    pair = Pair(name, whole=False)
    pair.write(sorted({text for whole in pair.whole for _, text in texts_of(tomllib.loads(whole))}, key=len)[::-1])
    answer = run("check", str(pair.paths[0]))
    assert answer.status == 1
    assert answer.err.count("?]0;x??[31m") > 20
    check_answer(answer, "check")
    check_answer(run("check", str(pair.paths[0]), "--json"), "check --json")


def test_every_free_text_of_the_schemas_is_tried(here: Path) -> None:
    tried = {"part": set[str](), "shop": set[str]()}
    for name in PARTS:
        for kind, whole in zip(tried, Pair(name, whole=False).whole, strict=True):
            tried[kind] |= {at for at, _ in texts_of(tomllib.loads(whole))}
    for kind, there in tried.items():
        assert sorted(FREE[kind] - there) == [], f"give a {kind} file of this test these keys"


def test_what_is_said_to_a_person_is_filtered(capsys: pytest.CaptureFixture[str]) -> None:
    wild = "a\x1b[2J\u202e\x9b\r\x07b"
    problem = Problem(where=Where(path=wild, line=1), what=wild, given=wild, allowed=wild, fix=wild)
    complain([problem])
    warn([problem])
    say(wild + "\n")
    said = capsys.readouterr()
    check_text(said.out + said.err, "the terminal")
    assert "a?[2J????b" in said.out


def test_a_record_that_holds_wild_names_is_the_same_data(here: Path) -> None:
    from cam.ground.files import is_whole_record, seal_record  # noqa: PLC0415

    wild = "a\x1b\u202e\x9b\x7f\\\n\N{MICRO SIGN}\U000e0041"
    text = seal_record({"name": wild}, {}).decode()
    check_text(text, "the record")
    assert json.loads(text)["name"] == wild
    assert "\N{MICRO SIGN}" in text
    assert is_whole_record(text.encode())
