"""`endshake new-shop`: a shop file from answers, each refused where it is given."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from cam.begin.form import Asking, FormQuestion
from cam.begin.shop_questions import ask_more, ask_shop, shop_form
from cam.shop import read_shop
from tests.specimens import SAMPLES
from tests.test_begin import converse
from tests.test_cli import run

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
DIAL = {"reading": "dial", "counts": "up", "division": "0.02", "turn": "2", "backlash": "0.05"}
CONVERTED = {
    "are lengths without a unit": "mm",
    "is the lathe worked by hand": "converted",
    "lathe, name": "bench lathe",
    "lathe, swing:": "140",
    "lathe, swing over slide": "80",
    "lathe, between centres": "250",
    "lathe, tool post": "front",
    "lathe, rapid clearance": "0.5",
    "lathe, contact clearance": "0.1",
    "control, dialect": "rs274ngc",
    "control, x words": "radius",
    "control, units": "mm",
    "control, rapid": "800",
    **{
        f"{axis} slide, {key}": answer
        for axis in "XZ"
        for key, answer in DIAL.items()
    },
    "X slide, habit": "diameter",
    "spindle, power": "250 W",
    "lathe: can more be said of this control": "no",
    "mill: can more be said of this control": "no",
    "spindle, feeds per revolution": "no",
    "spindle, constant surface speed": "no",
    "spindle: its speeds": ["A1, 320", "A2, 600", "B1, 1000", "B2, 1800", ""],
    "feed, least": "0.01",
    "feed, most": "0.15",
    "tailstock, barrel diameter": "22",
    "tailstock, barrel extension": "25",
    "tailstock, body radius": "45",
    "headstock, plate diameter": "70",
    "headstock, centre projection": "30",
    "a centre for the tailstock": ["dead centre", ""],
    **{
        f"dead centre, {key}": answer
        for key, answer in {
            "kind": "dead", "cone angle": "60", "point diameter": "12", "body diameter": "12", "reach": "32",
            "fastest surface": "6", "lubricant": "grease",
        }.items()
    },
    "a carrier": ["small dog", "middle dog", ""],
    **{
        f"{name} dog, {key}": answer
        for name, sizes in (("small", ("32", "7", "3, 9")), ("middle", ("46", "9", "8, 18")))
        for key, answer in zip(("swing", "width", "grip", "fastest"), (*sizes, "600"), strict=True)
    },
    "a collet or chuck": "",
    "a tool of the lathe": ["right-hand knife", ""],
    **{
        f"right-hand knife, {key}": answer
        for key, answer in {
            "kind": "turning", "shape": "D", "material": "HSS", "hand": "right", "nose radius": "0.1",
            "approach": "93", "edge": "7", "minimum cut": "0.02", "deepest cut": "0.75", "rough feed": "0.06",
            "finish feed": "0.03", "holder:": "-1, 10, 6, 25", "tool post:": "12, 30, 25, 80", "another box": "",
        }.items()
    },
    "is there a mill": "yes",
    "mill: does the work's block lie in a vice": "yes",
    "mill: has it dials or readouts": "yes",
    **{
        f"mill, {key}": answer
        for key, answer in {
            "name": "bench mill", "dialect": "rs274ngc", "units": "mm", "rapid:": "600", "slowest": "300",
            "fastest": "2500", "square by": "tipped block", "shim distance": "50", "crown": "0.0005", "tap cycle": "no",
            "rapid clearance": "0.5", "contact clearance": "0.5",
        }.items()
    },
    **{
        f"mill {axis} slide, {key}": answer
        for axis in "XYZ"
        for key, answer in DIAL.items()
    },
    **{
        f"mill block, {key}": answer
        for key, answer in {
            "name": "collet block", "length": "60", "across": "38", "nose diameter": "32",
            "nose length": "16", "grip:": "3 to 16", "grip length": "24",
        }.items()
    },
    "mill vice, jaws below axis": "6",
    "mill vice, jaws beyond block": "-10",
    "mill vice, width": "120",
    "a cutter of the mill": ["6 mm end mill", "4 mm spot drill", "2.6 mm drill", ""],
    **{
        f"{name}, {key}": answer
        for name, own in {
            "6 mm end mill": {
                "kind": "end mill", "diameter": "6", "flutes": "12", "stick out": "30", "shank diameter": "6",
                "teeth": "4", "minimum cut": "0.02", "deepest cut": "0.3", "feed per tooth": "0.01",
            },
            "4 mm spot drill": {
                "kind": "spot drill", "diameter": "4", "point angle": "90", "flutes": "12", "stick out": "35",
                "shank diameter": "4", "feed:": "0.03",
            },
            "2.6 mm drill": {
                "kind": "drill", "diameter": "2.6", "point angle": "118", "flutes": "30", "stick out": "40",
                "shank diameter": "2.6", "feed:": "0.03",
            },
        }.items()
        for key, answer in {"material": "HSS", "holder diameter": "24", **own}.items()
    },
}  # fmt: skip


class Person:
    """Answers from a table; counts what was asked."""

    def __init__(self, answers: dict[str, str | list[str]]) -> None:
        self.answers = answers
        self.asked: dict[str, int] = {}

    def __call__(self, ask: FormQuestion) -> str:
        found = [key for key in self.answers if ask.words.startswith(key)]
        assert len(found) == 1, (ask.words, found)
        answers = self.answers[found[0]]
        at = self.asked.setdefault(found[0], 0)
        self.asked[found[0]] += 1
        return answers if isinstance(answers, str) else answers[min(at, len(answers) - 1)]


FACTS = {
    "lathe: can more be said of this control": "yes",
    "control, tool change": "word",
    "control, tool word": "tool",
    "control, tool zeros": "",
    "control, arcs": "lines",
    "control, arc height": "0.005 mm",
    "control, message width": "32",
    "control, comment width": "",
    "control, line ends": "CRLF",
    "lathe: words that mean something else": "g71 2026-05-02",
    "lathe: other words that it stands in": "G90 2026-05-03",
    "mill: can more be said of this control": "yes",
    "mill, tool change": "stop",
    "mill, tool zeros": "one",
    "mill, message width": "",
    "mill, comment width": "60",
    "mill, line ends": "",
    "mill: words that mean something else": "",
    "mill: other words that it stands in": "",
    "mill: the date on which its rotary axis": "2026-05-04",
}
"""What a tool word would be is not asked of a control without one, nor arcs of a mill."""


@pytest.mark.slow
def test_every_fact_of_a_control_is_asked_for(tmp_path: Path) -> None:
    person, form = Person({**CONVERTED, **FACTS}), shop_form("my.toml")
    asking, tree = ask_shop(form), None
    ask = next(asking)
    while tree is None:
        assert ask.problems == (), ask.problems
        try:
            ask = asking.send(person(ask))
        except StopIteration as done:
            tree = done.value
    (tmp_path / "shop.toml").write_text(form.text(tree, explained=True))
    shop = read_shop(tmp_path / "shop.toml")
    assert set(FACTS) <= set(person.asked)
    facts = shop.lathe.control.facts
    assert (facts.tool_word, facts.tool_zeros, facts.arcs, facts.arc_height) == ("tool", "each", "lines", 0.005)
    assert "lathe: the date on which its arcs" not in person.asked  # no arc is said, so none is proved
    assert (facts.message_width, facts.line_ends, facts.leave_out) == (32, "CRLF", ("G71",))
    assert facts.stands == (("G71", "2026-05-02"), ("G90", "2026-05-03"))
    assert shop.milling is not None
    facts = shop.milling.mill.facts
    assert (facts.tool_change, facts.tool_zeros, facts.comment_width) == ("stop", "one", 60)
    assert facts.proved == (("rotary axis", "2026-05-04"),)


@pytest.mark.parametrize(("answer", "what"), [("G71", "a date each"), ("G64 2026-05-02", "G64"), ("G71 May", "date")])
def test_a_fact_that_cannot_be_is_refused_at_its_question(answer: str, what: str) -> None:
    person = Person({**CONVERTED, **FACTS})
    asking = ask_shop(shop_form("my.toml"))
    ask = next(asking)
    while not ask.words.startswith("lathe: words that mean something else"):
        ask = asking.send(person(ask))
    refused = asking.send(answer)
    assert refused.words == ask.words
    assert any(what in str(problem) for problem in refused.problems), refused.problems


def after(asking: Asking, *answers: str) -> FormQuestion:
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
        (("mm", "hand", "lathe", "140", "80", "250", "below"), "tool_post is one of a few words"),
        (("in", "hand", "lathe", "4000"), "at most 393.7008 in"),
    ],
)
def test_an_answer_that_breaks_a_rule_is_refused_at_its_question(answers: tuple[str, ...], what: str) -> None:
    before = after(ask_shop(shop_form("my.toml")), *answers[:-1])
    refused = after(ask_shop(shop_form("my.toml")), *answers)
    assert refused.words == before.words
    assert any(what in str(problem) for problem in refused.problems), refused.problems


WRONG = {
    "is the lathe": ("cnc mill", "this is not one of the answers"),
    "lathe, swing:": ("4000", "at most 393.7008 in"),
    "X slide, reading": ("knob", "reading is one of a few words"),
    "X slide, backlash": ("0,002", 'did you mean "0.002"?'),
    "spindle, power": ("0.25 W", 'did you mean "0.25 hp"?'),
    "spindle: its speeds": ("fast", "this is not a name and a speed"),
    "tailstock, barrel extension": ("30", "the barrel leaves no room for work"),
    "headstock, plate diameter": ("9", "at most swing, 5 1/2 in"),
    "dead centre, cone angle": ("6", "at least 30 deg"),
    "dead centre, reach": ("0.3", "at least 0.4331 in"),
    "small carrier, swing": ("12.5", '"small carrier" does not clear the bed'),
    "right-hand knife, nose radius": ("0.4", 'did you mean "0.4 mm"?'),
    "right-hand knife, deepest cut": ("0.3", "at most 0.28 in"),
}
"""How a question begins -> an answer that this lathe cannot have, and the rule that it breaks."""
TAKEN = {
    "is the lathe": ("manual", 'kind = "hand"'),
    "X slide, reading": ("handwheel", 'reading = "dial"'),
    "dead centre, kind": ("soft", 'kind = "plain"'),
    "half centre, kind": ("HALF", 'kind = "half"'),
    "right-hand knife, material": ("high speed steel", 'material = "HSS"'),
    "right-hand knife, hand": ("right-handed", 'hand = "right"'),
}
"""How a question begins -> an answer in the words of the trade, and what comes of it."""
EXAMPLES = {"lathe, swing:": "for example 5.5 in", "dead centre, fastest surface": "for example 20 ft/min"}
"""How a question begins -> the example beside it, as a person who thinks in inches would say it."""


def test_what_a_lathe_cannot_have_is_refused_at_its_question_and_the_trade_s_words_are_taken() -> None:
    person, asking = Person({**HAND, "a collet or chuck": ""}), ask_shop(shop_form("my.toml"))
    ask, tables = next(asking), [dict(WRONG), dict(TAKEN), dict(EXAMPLES)]
    while tables[0] or tables[1]:
        wrong, taken, example = (
            next((table.pop(key) for key in list(table) if ask.words.startswith(key)), None) for table in tables
        )
        if example:
            assert ask.hint == example
        if wrong:
            refused = asking.send(wrong[0])
            assert refused.words == ask.words
            assert wrong[1] in "\n".join(map(str, refused.problems))
            assert all(str(problem).startswith("this answer: ") for problem in refused.problems)
        right = person(ask)
        ask = asking.send(taken[0] if taken else right)
        if taken:
            assert taken[1] in ask.so_far
    assert tables[2] == {}


def at(person: Person, words: str) -> tuple[Asking, FormQuestion]:
    """A session as far as the question that begins so."""
    asking = ask_shop(shop_form("my.toml", ("eia274d", "rs274ngc")))
    ask = next(asking)
    while not ask.words.startswith(words):
        ask = asking.send(person(ask))
    return asking, ask


def test_a_dialect_that_there_is_not_is_refused_at_its_question() -> None:
    asking, ask = at(Person(CONVERTED), "control, dialect")
    assert ask.hint == "eia274d, rs274ngc"
    assert asking.send("iso 9").problems
    assert 'dialect = "eia274d"' in asking.send("eia").so_far


def test_a_name_is_told_as_it_was_given() -> None:
    asking = ask_more(shop_form("my.toml"), {"chuck": []}, "chuck")
    ask = after(asking, "in", "2 mm collet")
    assert ask.words.startswith("2 mm collet, kind")


@pytest.mark.parametrize(
    ("sizes", "what"),
    [
        ("1, 10, 6", "this is 3 sizes, and a box has four"),
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
        assert ask.problems == (), ask.problems
        said.append(person(ask))
        try:
            ask = asking.send(said[-1])
        except StopIteration:
            return said


def test_a_session_that_ends_early_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    status, _ = converse("new-shop", "my.toml", answers=["mm", "hand", "\x04"])
    assert status == 1
    assert list(tmp_path.iterdir()) == []


def test_again_gives_what_was_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    twice = ["90000", "-1"]
    answers = [
        "mm",
        "by hand",
        "first",
        "140",
        "80",
        "back",
        "back",
        "back",
        "second",
        "again",
        "again",
        *twice,
        "show",
    ]
    _, text = converse("new-shop", "my.toml", answers=[*answers, "\x04"])
    said = text.partition("#:schema")[0].rpartition("[lathe]")[2]
    assert 'name = "second"' in said
    assert 'swing = "140 mm"' in said
    assert 'swing_over_slide = "80 mm"' in said
    assert text.count("this question was not answered before") == 1
    assert text.count("if it is an earlier answer that is wrong, back goes to it") == 1


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


@pytest.mark.slow
def test_a_first_session_at_a_hand_lathe_from_an_empty_folder_to_printed_sheets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No file is edited by hand; what is wrong is refused at its question, with the rule that it breaks."""
    monkeypatch.chdir(tmp_path)
    person = Person(HAND)
    said = typed(person)
    assert set(person.asked) == set(HAND)  # nothing that only a control needs
    at = said.index("5 1/2")
    wandering = [*said[:at], "7", "show", "back", "", "5,5", *said[at:]]
    status, text = converse("new-shop", "shop.toml", answers=wandering)
    assert status == 0, text
    assert 'swing = "7 in"' in text
    assert "nothing is taken for granted here" in text
    assert "decimals are written with a point" in text
    assert "look at each tool: endshake plot --tool 1 --shop shop.toml" in text
    shop = read_shop("shop.toml")
    assert shop.lathe.swing.text == "5 1/2 in"
    assert shop.centres[0].kind == "plain"
    assert [(o.name, len(o.polygon)) for o in shop.tools[0].outlines] == [("holder", 4), ("tool post", 4)]
    svg = run("plot", "--tool", "1", "--shop", "shop.toml").out
    assert "holder: from 0.04 in to 0.4 in toward the tailstock" in svg
    assert "begins 0.24 in behind the tip, ends 1 in behind it" in svg
    assert ">centre body<" in svg
    Path("short.toml").write_text(Path("shop.toml").read_text().replace('reach = "1.25 in"', 'reach = "0.5 in"'))
    assert ">centre body<" not in run("plot", "--tool", "1", "--shop", "short.toml").out  # it is shorter than its name
    assert run("plot", "--tool", "7", "--shop", "shop.toml").err.startswith("shop.toml: the shop file has no such tool")
    status, text = converse("new", "arbor.toml", answers=PART)
    assert status == 0, text
    said_there = " ".join(text.split())
    assert 'corners = "4 1/4 in"' in said_there
    assert 'the chamfer on the A edge of section "drum" is larger than its step' in said_there
    assert "sections: drum, body, 0.5, measured, ±0.002" in said_there
    assert "leave out the minus sign" in said_there
    assert "aim: what is aimed at (for example 0.008 in)" in said_there
    assert 'tolerance = "-0.0004 / -0.0012 in"' in Path("arbor.toml").read_text()
    assert 'end_shake = { least = "0.004 in", aim = "0.008 in", most = "0.012 in" }' in Path("arbor.toml").read_text()
    assert "next: endshake make arbor.toml" in said_there
    assert run("make", "arbor.toml", "--out", "arbor").out.startswith("done")
    assert run("summary", "arbor.toml", "--print", "arbor.html", "--paper", "Letter").status == 0


def test_a_shop_grows_by_one_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copy(SAMPLES / "shop.toml", "my.toml")
    before = Path("my.toml").read_text()
    status, text = converse(
        "new-shop", "my.toml", "--add", "dog", answers=["inches", "big one", "2", "0.4", "0.5, 1", "500"]
    )
    assert status == 0, text
    assert Path("my.toml").read_text().startswith(before)
    assert [c.name for c in read_shop("my.toml").carriers][-1] == "big one"


ARBOR = [
    "mm", "EN1A", "between centers",
    "winding square, square blank, 5.2, 16, +0 / -0.05", "front pivot, pivot, 6, 6, -0.01 / -0.03",
    "body, body, 14, measured", "back pivot, pivot, 4, 6, -0.01 / -0.03", "",
    "hook hole", "4.2", "hook hole", "fillet up to 0.2", "chamfer 0.2", "turn", "6.03", "8", "0.3 deg",
    "0.3 deg included", "round", "±0.01", "0.02", "0.1", "body", "21", "body", "A", "8", "0 deg", "thread M3", "5",
    "0.3", "body", "12", "bottoming", "0.5", "16", "64", "0",
    "between plates", "frame", "body", "body", "30.22, 30.23, 30.21", "±0.02", "inside micrometer, all pillars home",
    "0.12", "0.22", "0.32", "±0.02",
    "front plate", "front pivot", "3", "as it is", "chamfer 0.3", "chamfer 0.2", "6.03",
    "back plate", "back pivot", "3", "open", "broach", "1:100", "inside", "0.2", "0", "0.01", "chamfer 0.3",
    "chamfer 0.2", "0.02", "0.04", "0.06", "",
]  # fmt: skip
"""A first part in mm, with a square and a cross hole; twice an answer is none."""


@pytest.mark.slow
def test_a_first_session_at_a_converted_lathe_and_mill_from_an_empty_folder_to_programs_and_sheets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    person = Person(CONVERTED)
    status, text = converse("new-shop", "shop.toml", answers=typed(person))
    assert status == 0, text
    assert set(person.asked) == set(CONVERTED)
    assert "mill Z slide, counts: up: the number rises as the cutter goes down" in " ".join(text.split())
    status, text = converse("new", "arbor.toml", answers=ARBOR)
    assert status == 0, text
    assert text.count("1 problem") == 2  # a name for a size, and a taper that is neither per side nor included
    assert "it makes: closest " in text
    assert run("make", "arbor.toml", "--out", "arbor").out.startswith("done")
    assert {"setting-1.ngc", "setting-2.ngc", "square.ngc", "cross-hole.ngc"} <= {
        p.name for p in Path("arbor").iterdir()
    }
    assert run("summary", "arbor.toml", "--print", "arbor.html", "--paper", "A4").status == 0
    printed = Path("arbor.html").read_text()
    assert "THE SQUARE, ON THE MILL" in printed.upper()
    assert "HOOK HOLE" in printed.upper()
