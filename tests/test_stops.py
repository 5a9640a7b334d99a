"""Stops that a shop needs, speed and feed, on lathe and mill: taken out or scaled, they are missed."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from cam.job import judge_mill_program, judge_program, make_job
from cam.rs274 import read_program
from cam.rs274.halts import halts_of, lost_halts
from cam.rs274.model import Rules
from posts.dialect import dialect_names
from tests.specimens import SAMPLES, but_waits, some

PART = SAMPLES / "orrery-drum-arbor.toml"
KEPT = Path(__file__).parent / "sheets" / "kept"
NAMES = ("1", "2", "square", "cross-hole")
DIALECTS = dialect_names()

pytestmark = pytest.mark.usefixtures("files_read_once")


@cache
def programs(dialect: str, part: str = str(PART)) -> dict[str, str]:
    job = make_job(part, dialect=dialect, mill_dialect=dialect)
    mill = {w.name: w.text for w in job.mill.works} if job.mill else {}
    return {str(w.setting.number): w.text for w in job.works} | mill


def judge(name: str, text: str, folder: Path, dialect: str = "rs274ngc", part: Path = PART):
    """The verdict on a text, as the command line has it."""
    file = folder / f"{name}.ngc"
    file.write_text(text)
    if name.isdigit():
        return judge_program(str(file), str(part), int(name), dialect=dialect)
    return judge_mill_program(str(file), str(part), name, dialect=dialect)


def kinds(verdict) -> set[str]:
    return {f.kind for f in verdict.simulation.findings}


def warned(verdict) -> set[str]:
    return {f.kind for f in verdict.simulation.warnings}


def code(text: str, pattern: str, new: str, count: int = 0) -> str:
    """The program with words of its code changed, comments left alone."""
    left = count or len(text)
    lines = []
    for row in text.split("\n"):
        changed, made = (row, 0) if row.startswith("(") or not left else re.subn(pattern, new, row, count=left)
        left -= made
        lines.append(changed)
    result = "\n".join(lines)
    assert result != text, pattern
    return result


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("name", NAMES)
def test_programs_as_written_have_every_stop(name: str, dialect: str, tmp_path: Path) -> None:
    verdict = judge(name, programs(dialect)[name], tmp_path, dialect)
    assert verdict.problems == ()
    assert not but_waits(verdict.warnings, dialect)


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("word", ["M0", "M5"])
def test_all_stops_or_all_spindle_stops_taken_out_are_found(name: str, word: str, dialect: str, tmp_path: Path) -> None:
    text = code(programs(dialect)[name], rf"^(N\d+ )?{word}$", "")
    assert kinds(judge(name, text, tmp_path, dialect)) & {"no proof", "spindle on", "unknown tool"}
    assert judge(name, text, tmp_path, dialect).problems


def each_stop(text: str) -> list[tuple[int, str]]:
    """Every stop: index of its line, and the comments before it."""
    lines = text.split("\n")
    found = []
    for k, row in enumerate(lines):
        if re.fullmatch(r"(N\d+ )?M0", row):
            words, back = "", k - 1
            while lines[back].startswith("("):
                words, back = lines[back] + words, back - 1
            found.append((k, words.upper()))
    return found


def without_stop(text: str, line: int, *, words: bool = True) -> str:
    """Take a stop out of a program, by the index of its line, with the comments before it or without."""
    lines = text.split("\n")
    lines[line] = ""
    back = line - 1
    while words and lines[back].startswith("("):
        lines[back], back = "", back - 1
    return "\n".join(lines)


@pytest.mark.parametrize("dialect", some(DIALECTS, "rs274ngc"))
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("words", some(["alone", "with its words"], "alone"))
def test_every_single_stop_is_missed(name: str, words: str, dialect: str, tmp_path: Path) -> None:
    """Belt, tool, turn by hand and proof are refused; a stop that is there to measure is a warning."""
    text = programs(dialect)[name]
    for line, said in each_stop(text):
        verdict = judge(name, without_stop(text, line, words=words != "alone"), tmp_path, dialect)
        needed = re.search("SET THE BELT|PROVE [XZA]", said) or ("MOUNT TOOL" in said and "TOOL 1" not in said)
        needed = needed or re.search(r"TURN THE WORK TO (90|180|270) DEG", said)
        if needed:
            assert verdict.problems, (line, said)
        elif words == "alone":
            assert verdict.problems or verdict.warnings, (line, said)


def test_a_measuring_stop_left_out_with_its_words_is_a_warning(tmp_path: Path) -> None:
    text = programs("rs274ngc")["1"]
    assert text.count("STOP to measure") >= 4
    for line, said in each_stop(text):
        if "STOP TO MEASURE" not in said:
            continue
        verdict = judge("1", without_stop(text, line), tmp_path)
        assert verdict.problems == ()
        assert warned(verdict) in ({"not measured"}, set())
        last = line == max(k for k, words in each_stop(text) if "STOP TO MEASURE" in words)
        assert bool(warned(verdict)) is bool(last or "LAST CUT AIMS" in said), said


def test_a_slip_left_out_before_a_last_cut_is_a_warning(tmp_path: Path) -> None:
    text = programs("rs274ngc")["1"]
    assert not judge("1", text, tmp_path).warnings
    tries = [(line, said) for line, said in each_stop(text) if "TRY A SLIP" in said]
    assert len(tries) == 3
    for line, said in tries:
        verdict = judge("1", without_stop(text, line), tmp_path)
        assert verdict.problems == ()
        assert warned(verdict) == {"not tried"}, said  # on a body too


def test_a_belt_that_nobody_moves(tmp_path: Path) -> None:
    text = programs("rs274ngc")["1"]
    faster = text.replace("S600 M3", "S1000 M3")
    (found, *_) = [f for f in judge("1", faster, tmp_path).simulation.findings if f.kind == "belt"]
    assert found.what.startswith("starts the spindle at 1000 rev/min, and no stop says to set the belt to B1: ")
    assert "the last one named puts it on A2" in found.what
    told = faster.replace("SET THE BELT TO A2, ABOUT 600", "SET THE BELT TO B1, ABOUT 1000")
    assert "belt" not in kinds(judge("1", told, tmp_path))


@pytest.mark.parametrize("dialect", some(DIALECTS, "rs274ngc", "eia274d"))
@pytest.mark.parametrize(("shown", "what"), [
    ("B2, ABOUT 1800 REV/MIN", "no stop says to set the belt to A2: the last one named puts it on B2"),
    ("A2 OR B2, ABOUT 600 REV/MIN", "names more than one position: A2 or B2"),
    ("A2, ABOUT 1800 REV/MIN", "starts the spindle at 600 rev/min, and the stop before says 1800"),
    ("C7", "names no position that this lathe has"),
])  # fmt: skip
def test_what_is_shown_of_the_belt_decides(shown: str, what: str, dialect: str, tmp_path: Path) -> None:
    """The title of the pass that follows still says the right one."""
    text = programs(dialect)["1"]
    assert re.search(r"600 rpm on A2", text, re.IGNORECASE)
    wrong = text.replace("SET THE BELT TO A2, ABOUT 600 REV/MIN", f"SET THE BELT TO {shown}")
    assert wrong != text
    found = [f for f in judge("1", wrong, tmp_path, dialect).simulation.findings if f.kind in ("belt", "speed said")]
    assert what in found[0].what
    assert len({f.line for f in found}) == len(found)


@pytest.mark.parametrize("width", [40, 24])
@pytest.mark.parametrize("names", [("low", "low 2"), ("low 2", "low"), ("pulley pair 3, low", "pulley pair 3, high"),
                                   ("1", "2"), ("600", "320")])  # fmt: skip
def test_a_belt_whose_name_begins_another_or_is_cut_is_set(names: tuple[str, str], width: int, tmp_path: Path) -> None:
    shop = (SAMPLES / "shop.toml").read_text().replace("# message_width = 40", f"message_width = {width}")
    for old, new in zip(("A1", "A2"), names, strict=True):
        shop = shop.replace(f'name = "{old}"', f'name = "{new}"')
    (tmp_path / "shop.toml").write_text(shop)
    job = make_job(str(PART), str(tmp_path / "shop.toml"))
    (tmp_path / "1.ngc").write_text(job.works[0].text)
    assert judge_program(str(tmp_path / "1.ngc"), str(PART), 1, str(tmp_path / "shop.toml")).problems == ()


@pytest.mark.parametrize("dialect", ["rs274ngc", "eia274d"])
@pytest.mark.parametrize("names", [("1", "2"), ("seat", "belt")])
def test_a_section_called_after_a_belt_or_gear_sets_none(names: tuple[str, str], dialect: str, tmp_path: Path) -> None:
    """The head speaks of the belt, and so may the name of what is measured, of positions that are called so too."""
    shop, part = (SAMPLES / "shop.toml").read_text(), PART.read_text()
    for old, new in zip(("A1", "A2"), names, strict=True):
        shop = shop.replace(f'name = "{old}"', f'name = "{new}"')
    for old, new in (("front seat", "gear seat 1"), ("front pivot", "belt 2 pivot 1"), ("drum body", "speed 600")):
        part = part.replace(f'"{old}"', f'"{new}"')
    (tmp_path / "shop.toml").write_text(shop)
    (tmp_path / "part.toml").write_text(part)
    job = make_job(str(tmp_path / "part.toml"), dialect=dialect)
    assert job.works[0].problems == ()


def test_a_stop_that_mounts_another_tool_than_is_called(tmp_path: Path) -> None:
    text = programs("rs274ngc")["2"]
    wrong = text.replace("MSG, MOUNT TOOL 2", "MSG, MOUNT TOOL 1")
    (found,) = [f for f in judge("2", wrong, tmp_path).simulation.findings if f.kind == "tool change"]
    assert found.what == "goes on with tool 2, and the stop before says to mount tool 1"


@pytest.mark.parametrize("dialect", some(DIALECTS, "rs274ngc", "eia274d"))
def test_a_square_says_how_the_hole_stands_to_flat_1_or_it_is_missed(dialect: str, tmp_path: Path) -> None:
    text = programs(dialect)["square"]
    head, stop = text[: text.index("M0\n")], text[text.index("M0\n") :]
    points = re.compile(r"hook hole points straight up", re.IGNORECASE)
    assert points.search(re.sub(r"\)\n\(\.\. ", " ", head))
    assert re.search(r"TURN THE WORK TO 0 DEG, HOLE STRAIGHT UP", stop)
    for wrong in ("hook hole lies straight up", "hook hole points 90 deg clockwise of straight up"):
        damaged = head + points.sub(wrong, stop)
        assert damaged != text
        (found,) = judge("square", damaged, tmp_path, dialect).simulation.findings
        assert found.kind == "not lined up"
        assert found.what.endswith("how hook hole stands: hook hole points straight up, flat 1 on top")


def test_a_tool_changed_by_hand(tmp_path: Path) -> None:
    """A grooving tool follows the knife; the stop between must say so."""
    text = programs("rs274ngc")["2"]
    assert judge("2", text, tmp_path).problems == ()
    for old, new in ((r"M0\nT2 M6", "T2 M6"), ("MOUNT TOOL 2: .*[)]", "DO SOMETHING)")):
        damaged, count = re.subn(old, new, text)
        assert count
        (found,) = [f for f in judge("2", damaged, tmp_path).simulation.findings if f.kind == "tool change"]
        assert found.what.endswith("no stop since tool 1 says to mount it")
        assert found.tool == 2


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_proof_that_half_of_it_would_not_stay_out_of_the_work(dialect: str, tmp_path: Path) -> None:
    """X19 proves radius words over a bar of radius 8: taken for a diameter the tip stands at 9.5. X9 would not do."""
    text = programs(dialect)["1"]
    halved = code(text, r"G0 X19\.0", "G0 X9.0", 1)
    found = [f for f in judge("1", halved, tmp_path, dialect).simulation.findings if f.kind == "no proof"]
    assert "proves X at radius 9.000 mm: a control that takes it for a diameter stands at 4.500 mm" in found[0].what


FEEDS = ["F0.01", "F99999.0", "ten"]
SPEEDS = ["S99999", "twice", "none"]


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("how", FEEDS)
def test_every_feed_otherwise_is_found(name: str, how: str, dialect: str, tmp_path: Path) -> None:
    text = programs(dialect)[name]
    if how == "ten":
        text = re.sub(r"(?<=\bF)[\d.]+", lambda m: f"{10 * float(m[0]):.4f}", text)
    else:
        text = re.sub(r"\bF[\d.]+", how, text)
    assert "feed" in kinds(judge(name, text, tmp_path, dialect))


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("how", SPEEDS)
def test_every_speed_otherwise_is_found(name: str, how: str, dialect: str, tmp_path: Path) -> None:
    text = programs(dialect)[name]
    if how == "twice":
        text = re.sub(r"(?<=\bS)\d+", lambda m: f"{2 * int(m[0])}", text)
    elif how == "none":
        text = re.sub(r"\bS\d+ ", "", text)
    else:
        text = re.sub(r"\bS\d+", how, text)
    verdict = judge(name, text, tmp_path, dialect)
    assert kinds(verdict) & {"speed", "spindle off"} or verdict.program.problems


@pytest.mark.parametrize("name", some(["square", "cross-hole"], "cross-hole"))
def test_each_single_feed_and_speed_of_the_mill_is_looked_at(name: str, tmp_path: Path) -> None:
    text = programs("rs274ngc")[name]
    lines = text.split("\n")
    for k, row in enumerate(lines):
        for word, new in ((r"F[\d.]+", "F999.0"), (r"F[\d.]+", "F0.1"), (r"S\d+", "S9000"), (r"S\d+", "S100")):
            if row.startswith("(") or not re.search(word, row):
                continue
            damaged = "\n".join([*lines[:k], re.sub(word, new, row), *lines[k + 1 :]])
            found = kinds(judge(name, damaged, tmp_path))
            said_again = word.startswith("S") and re.match(r"\(---- pass", lines[k + 1])  # the pass says it anew
            assert found & {"feed", "speed"} or said_again or new == "F0.1", (k + 1, row, new)


def test_a_mill_tool_that_is_not_proved_in_air(tmp_path: Path) -> None:
    text = programs("rs274ngc")["cross-hole"]
    lines = text.split("\n")
    proofs = [k for k, words in each_stop(text) if "PROVE Z IN AIR" in words]
    assert len(proofs) == 3
    for k in proofs:
        assert "no proof" in kinds(judge("cross-hole", "\n".join([*lines[:k], "", *lines[k + 1 :]]), tmp_path))


def test_roughing_coarser_than_the_tool_is_for_is_said(tmp_path: Path) -> None:
    text = programs("rs274ngc")["1"].replace("F36.0", "F90.0")
    verdict = judge("1", text, tmp_path)
    assert verdict.problems == ()
    assert {f.what for f in verdict.simulation.warnings} == {
        "cuts at 0.150 mm/rev; right-hand knife is for 0.060 mm/rev at most"
    }


@pytest.mark.parametrize("name", ["1", "2", "square", "cross-hole"])
def test_a_word_whose_point_is_lost_is_found_on_its_line(name: str, tmp_path: Path) -> None:
    """X19.0 for a proof in air becomes X190: no slide of this small lathe goes there, and no table of a small mill."""
    lines = programs("rs274ngc")[name].split("\n")
    places = {word: k for k, row in enumerate(lines) if row[:1] == "G" for word in re.findall(r"[XYZR]-?\d+\.\d+", row)}
    far = {word: k for word, k in places.items() if abs(int(word[1:].replace(".", ""))) > 300}
    assert len(far) >= 3
    for word, k in far.items():
        text = "\n".join([*lines[:k], lines[k].replace(word, word.replace(".", "")), *lines[k + 1 :]])
        verdict = judge(name, text, tmp_path)
        found = [f.line for f in verdict.simulation.findings if f.kind == "beyond travel"]
        unread = [p.where.line for p in verdict.program.problems]  # an arc or a cycle that cannot be
        assert (found or unread) == [k + 1], (k + 1, word)


RULES = Rules(standard="NISTIR 6556", x_words="radius", turns=True)


def test_the_words_of_a_stop_are_those_since_the_motion_or_stop_before() -> None:
    text = "G21 G90\n(head B2)\nG0 X9\n(set the belt to)\n(  A2, 600 rpm)\nM0\n(mount tool 2)\nM0\nM2\n"
    program = read_program(text, RULES)
    one, two = halts_of(program)
    assert one.names("a2", "B1")
    assert one.names("600")
    assert not one.names("B2", "A")
    assert two.names("Tool 2")
    assert not two.names("A2", "")


def test_words_that_promise_a_stop() -> None:
    text = "(STOP and look)\nM0\nG21 G90\n(MSG, look)\nG0 X1\n(tell: then go on)\nG0 X2\n(STOP)\nM2\n"
    assert lost_halts(read_program(text, RULES)) == [4, 6, 8]
    text = "(skim a bar, then)\n(  stop, measure it)\nG21 G90\nG0 X1\nM2\n"
    assert lost_halts(read_program(text, RULES)) == []
    text = "(STOP, turn it)\n(MSG, turn it)\n(STOP, measure it)\n(MSG, measure it)\nM0\n(STOP)\nM0\nM2\n"
    assert lost_halts(read_program(text, RULES)) == [1]


def test_every_tool_of_the_mill_is_told_to_be_touched_beside_what_is_cut() -> None:
    text = re.sub(r"\)\n\(\.\. ", " ", programs("rs274ngc")["cross-hole"])
    said = re.findall(r"its Z is ([\d.]+) mm on the round at X (-?[\d.]+) mm and Y 0, beside what is cut", text)
    assert len(set(said)) == 1
    assert len(said) == 3  # the end mill, whose flat is 6 wide, the spot drill and the drill
    assert said[0][0] == "6.99"
    drilled = re.search(r"G8[13] X(-?[\d.]+)", text)
    assert abs(float(said[0][1]) - float(drilled[1])) >= 3.5
    assert "laid along the round over what is cut" in text[text.index("MOUNT TOOL 2") :]
    assert "laid along the round" not in text[: text.index("MOUNT TOOL 2")]


def test_a_name_that_reads_like_a_turn_of_the_work_turns_nothing() -> None:
    text = "G21\nG17 G90 G94\nT1 M6\n(---- pass 1 of 2: TURN THE WORK TO 90 DEG)\n{}M0\nG0 X1\nM2\n"
    assert read_program(text.format(""), RULES).turns == ()
    for words in ("(TURN THE WORK TO 45 DEG)\n", "(MSG, TURN THE WORK TO 45 DEG, flat 1 on top)\n",
                  "(- TURN THE WORK TO 45 DEG, FLAT 1 ON TOP)\n"):  # fmt: skip
        assert [t.angle for t in read_program(text.format(words), RULES).turns] == [45.0]


def test_a_section_that_the_text_says_cannot_be_measured_is_not_missed(tmp_path: Path) -> None:
    part, shop = (str(KEPT / f"taper-over-an-undercut.{kind}.toml") for kind in ("part", "shop"))
    work = make_job(part, shop).works[1]
    words = next(row for row in work.text.split("\n") if "S2 CANNOT BE MEASURED" in row)
    for text, found in ((work.text, False), (work.text.replace(words, "(NO WORDS)"), True)):
        file = tmp_path / "setting-2.ngc"
        file.write_text(text)
        verdict = judge_program(str(file), part, 2, shop)
        assert verdict.problems == ()
        assert any("no stop to measure it stands before" in p.what for p in verdict.warnings) == found


def test_none_of_several_turned_as_one_that_the_text_says_cannot_be_measured_is_missed(tmp_path: Path) -> None:
    """The bar is hardly thicker than both, which one cut turns: its words name the first of them before an "and"."""
    text, shop = (KEPT / "bar-thinner-than-a-cut.part.toml").read_text(), str(KEPT / "bar-thinner-than-a-cut.shop.toml")
    first = (
        '[[section]]\nname = "fore and aft"\nrole = "body"\ndiameter = "9.81 mm"\nlength = "9 mm"\nfinish = "turn"\n'
    )
    part = tmp_path / "part.toml"
    part.write_text(text.replace('"20.00000 mm"', '"11 mm"').replace("[[section]]", f"{first}[[section]]"))
    work = make_job(str(part), shop).works[0]
    said = " ".join(re.sub(r"\)\n\((?:\.\. )?", " ", work.text).split())
    words = "S3 AND FORE AND AFT CANNOT BE MEASURED"
    assert words in said.upper()
    for text, missed in ((work.text, 0), (work.text.replace("CANNOT BE MEASURED", "IS MEASURED"), 2)):
        file = tmp_path / "setting-1.ngc"
        file.write_text(text)
        verdict = judge_program(str(file), str(part), 1, shop)
        assert sum("no stop to measure" in p.what for p in verdict.warnings) == missed
