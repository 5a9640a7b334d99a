"""`endshake new-shop`: a shop file from answers, each refused where it is given."""

from __future__ import annotations

from pathlib import Path

import pytest

from cam.begin.form import Ask, Asking, Tree
from cam.begin.shop_questions import ask_more, ask_shop, shop_form
from cam.shop import read_shop
from tests.test_begin import converse
from tests.test_cli import run

FORM = shop_form("my.toml")

HAND = {
    "are lengths without a unit": "in",
    "is the lathe worked by hand": "hand",
    "lathe, name": "bench lathe",
    "lathe, swing:": "5 1/2",
    "lathe, swing over slide": "3",
    "lathe, between centres": "10",
    "lathe, tool post": "front",
    "lathe, rapid clearance": "0.02",
    "lathe, contact clearance": "0.004",
    "X slide, reading": "dial",
    "X slide, habit": "diameter",
    "X slide, counts": "up",
    "X slide, division": "1 thou",
    "X slide, turn": "100 thou",
    "X slide, backlash": "0.002",
    "Z slide, reading": "dial",
    "Z slide, counts": "up",
    "Z slide, division": "1 thou",
    "Z slide, turn": "100 thou",
    "Z slide, backlash": "3 thou",
    "spindle, power": "1/3 hp",
    "spindle: its speeds": ["A1, 320", "A2, 600", "B1, 1000", ""],
    "feed, least": "0.0004",
    "feed, most": "0.006",
    "tailstock, barrel diameter": "7/8",
    "tailstock, barrel extension": "1",
    "tailstock, body radius": "1.75",
    "headstock, plate diameter": "2.75",
    "headstock, centre projection": "1.2",
    "a centre for the tailstock": ["dead centre", "half centre", ""],
    **{
        f"{name}, {key}": answer
        for name in ("dead centre", "half centre")
        for key, answer in {
            "kind": "dead" if name == "dead centre" else "half",
            "cone angle": "60",
            "point diameter": "0.5",
            "body diameter": "0.5",
            "reach": "1.25",
            "fastest surface": "20",
            "lubricant": "grease",
        }.items()
    },
    "half centre, flat:": "0.024",
    "half centre, flat length": "0.8",
    "a carrier": ["small carrier", ""],
    "small carrier, swing": "1.25",
    "small carrier, width": "0.3",
    "small carrier, grip": "1/8, 5/8",
    "small carrier, fastest": "600",
    "a collet or chuck": "",
    "a tool of the lathe": ["right-hand knife", ""],
    "right-hand knife, kind": "turning",
    "right-hand knife, shape": "D",
    "right-hand knife, material": "HSS",
    "right-hand knife, hand": "right",
    "right-hand knife, nose radius": "0.004",
    "right-hand knife, approach": "93",
    "right-hand knife, edge": "0.28",
    "right-hand knife, minimum cut": "0.0008",
    "right-hand knife, deepest cut": "0.03",
    "right-hand knife, rough feed": "2.4 thou/rev",
    "right-hand knife, finish feed": "1.2 thou/rev",
    "right-hand knife, holder:": "-0.04, 0.4, 0.24, 1",
    "right-hand knife, tool post:": "0.5, 1.2, 1, 3",
    "right-hand knife, another box": "",
    "is there a mill": "no",
}
"""How a question begins -> its answers, the last again where it is asked more often."""
CONVERTED = {
    **HAND,
    "is the lathe worked by hand": "converted",
    "lathe control, dialect": "rs274ngc",
    "control, dialect": "rs274ngc",
    "control, x words": "radius",
    "control, units": "mm",
    "control, rapid": "800 mm/min",
    "spindle, feeds per revolution": "no",
    "spindle, constant surface speed": "no",
    "is there a mill": "yes",
    "mill: does the work's block lie in a vice": "yes",
    "mill: has it dials or readouts": "yes",
    **{
        f"mill, {key}": answer
        for key, answer in {
            "name": "bench mill", "dialect": "rs274ngc", "units": "mm", "rapid:": "600 mm/min", "slowest": "300",
            "fastest": "2500", "square by": "tipped block", "shim distance": "50 mm", "tap cycle": "no",
            "crown": "0.0005 mm",
            "rapid clearance": "0.5 mm", "contact clearance": "0.5 mm",
        }.items()
    },
    **{
        f"mill {axis} slide, {key}": answer
        for axis in "XYZ"
        for key, answer in {
            "reading": "dial", "counts": "up", "division": "0.02 mm", "turn": "2 mm", "backlash": "0.05 mm",
        }.items()
    },
    **{
        f"mill block, {key}": answer
        for key, answer in {
            "name": "collet block", "length": "60 mm", "across": "38 mm", "nose diameter": "32 mm",
            "nose length": "16 mm", "grip:": "3 mm, 16 mm", "grip length": "24 mm",
        }.items()
    },
    "mill vice, jaws below axis": "6 mm",
    "mill vice, jaws beyond block": "-10 mm",
    "mill vice, width": "120 mm",
    "a cutter of the mill": ["6 mm end mill", ""],
    **{
        f"6 mm end mill, {key}": answer
        for key, answer in {
            "kind": "end mill", "material": "HSS", "diameter": "6 mm", "flutes": "12 mm", "stick out": "30 mm",
            "shank diameter": "6 mm", "holder diameter": "24 mm", "teeth": "4", "minimum cut": "0.02 mm",
            "deepest cut": "0.3 mm", "feed per tooth": "0.01 mm",
        }.items()
    },
}  # fmt: skip


class Person:
    """Answers from a table; counts what was asked."""

    def __init__(self, answers: dict[str, str | list[str]]) -> None:
        self.answers = answers
        self.asked: dict[str, int] = {}

    def __call__(self, ask: Ask) -> str:
        found = [key for key in self.answers if ask.words.startswith(key)]
        assert len(found) == 1, (ask.words, found)
        answers = self.answers[found[0]]
        at = self.asked.setdefault(found[0], 0)
        self.asked[found[0]] += 1
        return answers if isinstance(answers, str) else answers[min(at, len(answers) - 1)]


def through(person: Person) -> Tree:
    asking = ask_shop(shop_form("my.toml"))
    ask = next(asking)
    while True:
        assert ask.problems == (), ask.problems
        try:
            ask = asking.send(person(ask))
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]


def test_a_hand_lathe_in_inches_is_asked_for_nothing_that_only_a_control_needs(tmp_path: Path) -> None:
    person = Person(HAND)
    text = FORM.text(through(person), explained=True)
    (tmp_path / "shop.toml").write_text(text)
    shop = read_shop(tmp_path / "shop.toml")
    assert set(person.asked) == set(HAND)
    assert shop.lathe.swing.text == "5 1/2 in"
    assert shop.centres[0].kind == "plain"
    assert [(o.name, len(o.polygon)) for o in shop.tools[0].outlines] == [("holder", 4), ("tool post", 4)]


def test_a_converted_lathe_and_its_mill_are_asked_for(tmp_path: Path) -> None:
    person = Person(CONVERTED)
    (tmp_path / "shop.toml").write_text(FORM.text(through(person), explained=True))
    shop = read_shop(tmp_path / "shop.toml")
    assert shop.lathe.control.kind == "stepper"
    assert shop.milling is not None


def after(asking: Asking, *answers: str) -> Ask:
    """The question that is put after some answers."""
    ask = next(asking)
    for answer in answers:
        ask = asking.send(answer)
    return ask


@pytest.mark.parametrize(
    ("answers", "what"),
    [
        (("feet",), "this is not one of the answers"),
        (("mm", "hand", "lathe", "big"), "swing"),
        (("mm", "hand", "lathe", "-140"), "negative"),
        (("mm", "hand", "lathe", "140", "150"), "swing_over_slide"),
        (("mm", "hand", "lathe", "140", "80", "250", "below"), "tool_post"),
    ],
)
def test_an_answer_that_breaks_a_rule_is_refused_at_its_question(answers: tuple[str, ...], what: str) -> None:
    before = after(ask_shop(shop_form("my.toml")), *answers[:-1])
    refused = after(ask_shop(shop_form("my.toml")), *answers)
    assert refused.words == before.words
    assert any(what in str(problem) for problem in refused.problems), refused.problems


@pytest.mark.parametrize(
    ("sizes", "what"),
    [
        ("1, 10, 6", "these are 3 sizes"),
        ("1, 10, 25, 6", "it would end before it begins"),
        ("-10, 1, 6, 25", "no width"),
        ("1, ten, 6, 25", "cannot be read"),
    ],
)
def test_a_box_that_is_none_is_refused(sizes: str, what: str) -> None:
    asking = ask_more(shop_form("my.toml"), {"tool": []}, "tool")
    person = Person(HAND)
    ask = next(asking)
    while not ask.words.startswith("right-hand knife, holder"):
        ask = asking.send(person(ask))
    assert any(what in str(problem) for problem in asking.send(sizes).problems)


def test_the_same_name_twice_is_refused() -> None:
    ask = after(ask_more(shop_form("my.toml"), {"carrier": [{"name": "dog"}]}, "carrier"), "mm", "dog")
    assert ask.words.startswith("a carrier")
    assert "already" in str(ask.problems[0])


# At a terminal ----------------------------------------------------------------------------------------


def typed(person: Person) -> list[str]:
    """What a person types, question after question."""
    asking, said = ask_shop(shop_form("my.toml")), []
    ask = next(asking)
    while True:
        said.append(person(ask))
        try:
            ask = asking.send(said[-1])
        except StopIteration:
            return said


def test_a_first_session_at_a_hand_lathe_ends_in_a_file_that_can_be_added_to_and_drawn(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    said = typed(Person(HAND))
    at = said.index("5 1/2")
    wandering = [*said[:at], "7", "show", "back", "", "5,5", *said[at:]]
    status, text = converse("new-shop", "my.toml", answers=wandering)
    assert status == 0, text
    assert 'swing = "7 in"' in text
    assert "nothing is taken for granted here" in text
    assert "decimals are written with a point" in text
    assert "look at each tool: endshake plot --tool 1 --shop my.toml" in text
    assert read_shop("my.toml").lathe.swing.text == "5 1/2 in"
    before = Path("my.toml").read_text()
    status, text = converse(
        "new-shop", "my.toml", "--add", "carrier", answers=["mm", "big one", "46", "9", "8, 18", "600"]
    )
    assert status == 0, text
    assert Path("my.toml").read_text().startswith(before)
    assert [c.name for c in read_shop("my.toml").carriers] == ["small carrier", "big one"]
    svg = run("plot", "--tool", "1", "--shop", "my.toml").out
    assert "holder: from 0.04 in to 0.4 in toward the tailstock" in svg
    assert "begins 0.24 in behind the tip, ends 1 in behind it" in svg
    assert run("plot", "--tool", "7", "--shop", "my.toml").err.startswith("my.toml: the shop file has no such tool")


def test_a_session_that_ends_early_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    status, _ = converse("new-shop", "my.toml", answers=["mm", "hand", "\x04"])
    assert status == 1
    assert list(tmp_path.iterdir()) == []


def test_where_nobody_can_answer_it_says_so() -> None:
    answer = run("new-shop", "my.toml")
    assert answer.status == 2
    assert "nobody is there to answer" in answer.err


PART = [
    "in", "silver steel", "between centres",
    "front pivot, pivot, 0.236, 0.25, -0.0004 / -0.0012", "body, body, 0.5, measured", "back",
    "drum, body, 0.5, measured, ±0.002", "back pivot, pivot, 0.157, 0.25, -0.0004 / -0.0012", "",
    "4 1/4", "fillet up to 0.008", "chamfer 0.3", "show", "chamfer 0.008", "turn", "0.55", "2.75", "half centre", "0.2",
    "between plates", "frame", "drum", "drum", "1.2, 1.201, 1.199", "±0.001",
    "inside micrometer", "-0.004", "0.004", "0.008", "0.012", "±0.001", "0", "0", "",
]  # fmt: skip
"""A first part in inches, with what a person gets wrong on the way."""


def test_a_first_half_hour_from_an_empty_folder_to_printed_sheets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No file is edited by hand; what is wrong is refused at its question, with the rule that it breaks."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "shop.toml").write_text(FORM.text(through(Person(HAND)), explained=True))
    status, text = converse("new", "arbor.toml", answers=PART)
    assert status == 0, text
    said = " ".join(text.split())
    assert 'corners = "4 1/4 in"' in said
    assert 'the chamfer on the A edge of section "drum" is larger than its step' in said
    assert "sections: drum, body, 0.5, measured, ±0.002" in said
    assert "leave out the minus sign" in said
    assert 'tolerance = "-0.0004 / -0.0012 in"' in Path("arbor.toml").read_text()
    assert 'end_shake = { least = "0.004 in", aim = "0.008 in", most = "0.012 in" }' in Path("arbor.toml").read_text()
    assert "next: endshake make arbor.toml" in said
    assert run("make", "arbor.toml", "--out", "arbor").out.startswith("done")
    assert run("summary", "arbor.toml", "--print", "arbor.html", "--paper", "Letter").status == 0
