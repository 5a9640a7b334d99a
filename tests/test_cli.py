"""The command line as a person or a script meets it: words, streams, exit status, files."""

from __future__ import annotations

import json
import os
import pty
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

import cam.cli.answers
import cam.judge
from cam.cli import EXAMPLES, app
from cam.ground.version import VERSION
from cam.judge.model import Finding
from posts.dialect import dialect_names
from tests.specimens import record_samples

ROOT = Path(__file__).parent.parent
VERBS = tuple(EXAMPLES)
GOOD = "samples/crank-pin.toml"
"""The quickest sample to make."""


class Answer:
    """What a command line came back with."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err

    @property
    def told(self) -> str:
        """What the error output says, its broken lines joined again."""
        return re.sub(r"\n {11}", " ", self.err)

    @property
    def data(self) -> object:
        return json.loads(self.out)


def run(*words: str) -> Answer:
    """The command line in this process; a fault of our own fails the test with its traceback."""
    result = CliRunner().invoke(app, list(words), prog_name="endshake", env={"COLUMNS": "80"})
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return Answer(result.exit_code, result.stdout, result.stderr)


def good(*words: str) -> str:
    """What a command line answers that is done without a word on the error output."""
    answer = run(*words)
    assert (answer.status, answer.err) == (0, "")
    return answer.out


def refused(*words: str) -> Answer:
    """The answer to a command line that is refused."""
    answer = run(*words)
    assert (answer.status, answer.out) == (1, "")
    return answer


def python(*words: str, **more: object) -> subprocess.CompletedProcess[bytes]:
    """Python as a process of its own, with this package."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), **more.pop("env", {})}  # type: ignore[dict-item]
    return subprocess.run([sys.executable, *words], capture_output=True, env=env, check=False, **more)


def start(*words: str, **more: object) -> subprocess.CompletedProcess[bytes]:
    """The command line as a process of its own."""
    return python("-m", "cam", *words, **more)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working directory of its own with the samples in it, and what they wait for recorded."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    record_samples(tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_version_is_said() -> None:
    assert run("--version").out == f"endshake {VERSION}\n"


def test_no_verb_shows_help_and_is_a_wrong_command_line() -> None:
    answer = run()
    assert answer.status == 2
    assert all(f"\n  {verb} " in answer.out + answer.err for verb in VERBS)


@pytest.mark.parametrize(
    "words",
    [("history", "arbor.toml", "--piece", "first", "--piece", "second"),
     ("record", "arbor.toml", "a", "1 mm", "--piece", "first", "--piece=second"),
     ("program", "crank-pin.toml", "--setting", "1", "--setting", "2"),
     ("check", "crank-pin.toml", "--shop", "one.toml", "--shop", "two.toml")],
)  # fmt: skip
def test_an_option_that_counts_once_is_not_taken_twice(words: tuple[str, ...]) -> None:
    answer = run(*words)
    assert answer.status == 2
    option = next(w for w in words if w.startswith("--"))
    assert f"{option} is given more than once, and only one of them would count: say it once" in " ".join(
        answer.err.split()
    )


def test_an_option_that_counts_each_time_is_taken_twice() -> None:
    """Of summary, --piece names a batch."""
    assert "is given more than once" not in run("summary", "none.toml", "--piece", "a", "--piece", "b").err


@pytest.mark.parametrize("verb", VERBS)
def test_the_help_of_each_verb_has_its_example(verb: str) -> None:
    answer = run(verb, "--help")
    assert answer.status == 0
    assert EXAMPLES[verb] in answer.out.replace("\n    ", " ")
    assert "\b" not in answer.out


@pytest.mark.slow
def test_every_example_works_in_turn(here: Path) -> None:
    """In the order of the help: what simulate judges, make has written."""
    for verb in VERBS:
        if verb in ("new-shop", "watch"):  # it asks, it stays: tests/test_begin_shop.py, tests/test_watch.py
            continue
        command, *words = shlex.split(EXAMPLES[verb])
        answer = run(*words)
        assert command == "endshake"
        assert (verb, answer.status, answer.err if verb != "make" else "") == (verb, 0, answer.err)
        assert answer.out


@pytest.mark.parametrize(
    "words",
    [
        ("mak",),
        ("make",),
        ("make", GOOD),
        ("program", GOOD),
        ("program", GOOD, "--setting", "two"),
        ("simulate", "x.ngc"),
        ("check", GOOD, "--bogus"),
        ("check", GOOD, "more"),
    ],
)
def test_a_wrong_command_line_exits_2_on_the_error_output(here: Path, words: tuple[str, ...]) -> None:
    answer = run(*words)
    assert (answer.status, answer.out) == (2, "")
    assert "Usage: endshake" in answer.err


def test_a_mistyped_verb_is_answered_with_the_near_one() -> None:
    assert "make" in run("mak").err.split("Usage", 1)[1]


def test_make_writes_the_folder_and_says_how_close_it_came(here: Path) -> None:
    answer = run("make", GOOD, "--out", "build/pin")
    assert answer.status == 0
    names = sorted(p.name for p in Path("build/pin").iterdir())
    assert names == ["plan.json", "plot.svg", "setting-1.ngc", "summary.txt"]
    assert re.findall(r"^\w+", answer.out, re.M) == ["done", "closest", "time", "next"]
    assert len(answer.out.splitlines()) == 4
    assert re.search(r"^closest +\d+\.\d+ (mm|in), .* to .*, setting-1\.ngc:\d+$", answer.out, re.M)
    assert "in air first, a hand on the stop" in answer.out
    again = run("make", GOOD, "--out", "build/pin", "--more")
    assert again.status == 0
    assert "nothing was written" in again.out
    assert all(name in again.out for name in names)


def test_make_without_a_folder_gives_the_command_to_type(here: Path) -> None:
    answer = run("make", "samples/crank-pin.toml", "--shop", "samples/my shop.toml")
    assert answer.status == 2
    assert "endshake make samples/crank-pin.toml --shop 'samples/my shop.toml' --out build/crank-pin" in answer.err


def test_make_keeps_what_was_changed_by_hand(here: Path) -> None:
    run("make", GOOD, "--out", "pin")
    with Path("pin/setting-1.ngc").open("a") as file:
        file.write("(mine)\n")
    Path("samples/crank-pin.toml").write_text(Path("samples/crank-pin.toml").read_text() + "# changed\n")
    answer = run("make", GOOD, "--out", "pin")
    assert (answer.status, answer.out) == (1, "")
    assert "pin/setting-1.ngc: was changed since endshake wrote it" in answer.err
    assert Path("pin/setting-1.ngc").read_text().endswith("(mine)\n")
    assert run("make", GOOD, "--out", "pin", "--replace").status == 0
    assert not Path("pin/setting-1.ngc").read_text().endswith("(mine)\n")


TAKEN = [  # a command line, and which file it would write over: each is one that it reads
    (("plot", "pin.svg", "--out", "pin.svg"), "pin.svg"),
    (("plot", "pin.svg", "--out", "./shop.svg"), "shop.svg"),
    (("plot", "--tool", "1", "--shop", "shop.svg", "--out", "shop.svg"), "shop.svg"),
    (("view", "pin.html", "--out", "link.html"), "pin.html"),
    (("view", "pin.html", "--out", "hard.html"), "pin.html"),
    (("summary", "pin.html", "--paper", "A4", "--print", "shop.html"), "shop.html"),
    (("notebook", "pin.html", "--paper", "A4", "--print", "pin.html"), "pin.html"),
    (("dxf", "pin.dxf", "--out", "pin.dxf"), "pin.dxf"),
    (("dxf", "pin.dxf", "--shop", "own.dxf", "--out", "own.dxf"), "own.dxf"),
    (("compare", "pin.html", "pin.svg", "--out", "pin.svg"), "pin.svg"),
]


@pytest.mark.parametrize(("words", "kept"), TAKEN, ids=lambda word: word if isinstance(word, str) else word[0])
def test_what_a_job_is_made_from_is_never_written_over(here: Path, words: tuple[str, ...], kept: str) -> None:
    for kind in ("svg", "html", "dxf"):
        shutil.copy("samples/shop.toml", f"shop.{kind}")
        Path(f"pin.{kind}").write_text(Path(GOOD).read_text("utf-8").replace("shop.toml", f"shop.{kind}"), "utf-8")
    shutil.copy("samples/shop.toml", "own.dxf")
    Path("link.html").symlink_to("pin.html")
    Path("hard.html").hardlink_to("pin.html")
    before = Path(kept).read_bytes()
    answer = refused(*words, "--replace")
    assert "is one of the files that this is made from, and would be lost" in answer.told
    assert Path(kept).read_bytes() == before


def test_a_part_file_in_the_folder_of_make_is_not_lost(here: Path) -> None:
    assert run("make", GOOD, "--out", "pin").status == 0
    Path("pin/plot.svg").unlink()
    Path("pin/plot.svg").write_text(Path(GOOD).read_text("utf-8").replace("shop.toml", "../samples/shop.toml"), "utf-8")
    answer = refused("make", "pin/plot.svg", "--out", "pin", "--replace")
    assert "pin/plot.svg: is one of the files that this is made from" in answer.told
    assert Path("pin/plot.svg").read_text("utf-8").startswith("#")


ENDINGS = [
    (("view", GOOD, "--out", "view.txt"), ".txt", ".html or .htm"),
    (("view", GOOD, "--out", "samples/crank-pin.log"), ".log", ".html or .htm"),
    (("summary", GOOD, "--paper", "A4", "--print", "pages"), "no ending", ".html or .htm"),
    (("notebook", GOOD, "--paper", "A4", "--print", "pages.pdf"), ".pdf", ".html or .htm"),
    (("dxf", GOOD, "--out", "pin.svg"), ".svg", ".dxf"),
]


@pytest.mark.parametrize(("words", "given", "allowed"), ENDINGS, ids=lambda word: word if isinstance(word, str) else "")
def test_a_file_is_called_what_it_holds(here: Path, words: tuple[str, ...], given: str, allowed: str) -> None:
    told = refused(*words).told
    assert f"given    {given}\n" in told
    assert f"allowed  {allowed}\n" in told
    assert not Path(words[-1]).exists()


def test_make_answers_a_program_in_json(here: Path) -> None:
    data = run("make", GOOD, "--out", "pin", "--json").data
    assert isinstance(data, dict)
    assert data["ok"] is True
    assert data["files"] == ["setting-1.ngc", "summary.txt", "plot.svg", "plan.json"]
    assert data["closest"]["distance_mm"] > 0
    assert data["settings"][0]["findings"] == []


def test_a_refused_part_writes_nothing_and_says_why(here: Path) -> None:
    answer = run("make", "samples/too-near-the-centre.toml", "--out", "build/x")
    assert (answer.status, answer.out) == (1, "")
    assert re.search(r"^samples/too-near-the-centre\.toml:\d+: ", answer.err, re.M)
    assert "  given    " in answer.err
    assert "  allowed  " in answer.err
    assert "  fix      " in answer.err
    assert re.search(r"^\d+ problems?$", answer.err, re.M)
    assert not Path("build").exists()
    hint = answer.err.splitlines()[-1]
    assert hint == "to see it: endshake view samples/too-near-the-centre.toml --out refused.html"
    assert run(*hint.split()[4:]).status == 1
    assert Path("refused.html").exists()


def test_a_refused_square_is_shown_by_the_picture_that_has_it(here: Path) -> None:
    answer = run("check", "samples/square-too-large.toml")
    hint = answer.err.splitlines()[-1]
    assert hint == "to see it: endshake plot samples/square-too-large.toml --out refused.svg"
    assert run(*hint.split()[4:]).status == 1
    assert "the largest that would pass" in Path("refused.svg").read_text()


def test_problems_come_as_json_where_a_program_asked(here: Path) -> None:
    for words in (("make", "--out", "x"), ("check",)):
        answer = run(words[0], "samples/too-near-the-centre.toml", *words[1:], "--json")
        assert (answer.status, answer.err) == (1, "")
        assert isinstance(answer.data, dict)
        assert answer.data["ok"] is False
        assert set(answer.data["problems"][0]) == {"path", "line", "column", "what", "given", "allowed", "fix"}


def test_check_shows_the_solved_part_and_writes_nothing(here: Path) -> None:
    before = sorted(here.rglob("*"))
    answer = run("check", "samples/orrery-drum-arbor.toml")
    assert answer.status == 0
    assert "78.000 mm long" in answer.out
    assert re.search(r"drum body +body +33\.500 mm +65\.500 mm +32 mm \(solved\) +14 mm", answer.out)
    assert "setting 1" in answer.out
    assert "setting 2" in answer.out
    assert "Z zero" in answer.out
    assert sorted(here.rglob("*")) == before


def test_summary_and_program_are_what_make_writes(here: Path) -> None:
    run("make", GOOD, "--out", "pin")
    assert run("summary", GOOD).out == Path("pin/summary.txt").read_text()
    assert run("program", GOOD, "--setting", "1").out == Path("pin/setting-1.ngc").read_text()


def test_program_in_another_dialect(here: Path) -> None:
    one, other = (run("program", GOOD, "--setting", "1", "--dialect", d).out for d in ("rs274ngc", "eia274d"))
    assert "G21" in one
    assert "G71" in other


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("program", GOOD, "--setting", "2"), "no such setting"),
        (("program", GOOD, "--setting", "1", "--dialect", "rs274"), "no such dialect"),
        (("check", "nowhere.toml"), "nowhere.toml"),
        (("check", "."), "."),
        (("check", GOOD, "--shop", "nowhere.toml"), "nowhere.toml"),
        (("simulate", "nowhere.ngc", "--part", GOOD, "--setting", "1"), "nowhere.ngc"),
        (("simulate", GOOD, "--part", GOOD, "--setting", "9"), "no such setting"),
        (("make", GOOD, "--out", "samples"), "not made by endshake"),
        (("make", GOOD, "--out", "samples/shop.toml"), "is a file"),
        (("plot", GOOD, "--out", "plot.gif"), "gif"),
        (("plot", GOOD, "--out", "nowhere/plot.svg"), "cannot be written"),
        (("make", GOOD, "--out", "samples/shop.toml/in"), "a file where a folder is wanted"),
        (("plot", GOOD, "--out", "samples/shop.toml"), "toml"),
        (("new", "samples/shop.toml"), "is there already"),
    ],
)
def test_what_cannot_be_done_is_one_problem_and_exit_1(here: Path, words: tuple[str, ...], what: str) -> None:
    answer = run(*words)
    assert (answer.status, answer.out) == (1, "")
    assert what in answer.err
    assert answer.err.endswith("1 problem\n")


def test_every_problem_of_both_files_is_in_one_report(here: Path) -> None:
    for name in ("crank-pin", "shop"):
        path = Path(f"samples/{name}.toml")
        path.write_text(path.read_text().replace(" mm", " mn", 3))
    Path("samples/crank-pin.toml").write_text(
        Path("samples/crank-pin.toml").read_text().replace(" mn", " mm").replace("length", "lenght", 1)
    )
    answer = run("check", GOOD, "--shop", "samples/shop.toml")
    assert answer.status == 1
    assert "samples/crank-pin.toml:" in answer.err
    assert answer.err.count("samples/shop.toml:") >= 2


def test_what_a_verb_does_is_said_whole_on_a_terminal_of_80_columns() -> None:
    said = run("--help").out.split("Commands:")[1].split("Start with")[0].splitlines()
    assert [line for line in said if line.endswith("...")] == []
    assert len([line for line in said if line.strip()]) == len(VERBS)


def test_a_part_without_a_shop_is_told_where_to_write_it(here: Path) -> None:
    text = Path(GOOD).read_text()
    Path("samples/lone.toml").write_text(re.sub(r"(?m)^shop = .*$", "", text))
    answer = run("check", "samples/lone.toml")
    assert answer.status == 1
    assert 'shop = "shop.toml"' in answer.err
    assert "--shop FILE" in answer.err
    assert run("check", "samples/lone.toml", "--shop", "samples/shop.toml").status == 0


def test_a_part_that_names_a_shop_that_is_not_there_is_told_which_file_names_it(here: Path) -> None:
    Path("samples/lone.toml").write_text(re.sub(r"(?m)^shop = .*$", 'shop = "mine.toml"', Path(GOOD).read_text()))
    answer = run("check", "samples/lone.toml")
    assert answer.status == 1
    assert answer.err.startswith("samples/lone.toml: the shop file that it names is not there")
    assert 'shop = "mine.toml", which is samples/mine.toml' in answer.err
    assert run("check", "samples/lone.toml", "--shop", "samples/shop.toml").status == 0


def test_an_edited_page_of_a_thread_is_judged_with_the_pages_it_stands_among(here: Path) -> None:
    text = run("summary", "samples/drum-hook.toml").out
    of_hook = ("--part", "samples/drum-hook.toml", "--setting", "1")
    assert text.count("3.051 ____") == 1
    alone = text[: text.index("DRUM HOOK: THE THREAD")]
    for name, words in (("as-made.txt", text), ("alone.txt", alone)):
        Path(name).write_text(words, encoding="utf-8")
        assert run("simulate", name, *of_hook).status == 0
    Path("edited.txt").write_text(text.replace("3.051 ____", "3.061 ____"), encoding="utf-8")
    answer = run("simulate", "edited.txt", *of_hook)
    assert answer.status == 1
    assert "may NOT be worked by" in answer.out
    assert "expects 3.061 over its wires" in answer.err


def test_simulate_judges_an_edited_program_by_line(here: Path) -> None:
    """The cut before the longest run along Z goes 0.2 mm deeper."""
    run("make", GOOD, "--out", "pin")
    lines = Path("pin/setting-1.ngc").read_text().splitlines(keepends=True)
    runs = {i: abs(float(line[4:].split()[0])) for i, line in enumerate(lines) if line.startswith("G1 Z")}
    longest = max(runs, key=lambda i: (runs[i], i))
    number = max(i for i in range(longest) if "X" in lines[i].partition("(")[0])
    lines[number] = re.sub(r"X([-.\d]+)", lambda m: f"X{float(m[1]) - 0.2:.4f}", lines[number])
    Path("edited.ngc").write_text("".join(lines))
    good = run("simulate", "pin/setting-1.ngc", "--part", GOOD, "--setting", "1")
    assert (good.status, good.err) == (0, "")
    assert "may be cut" in good.out
    bad = run("simulate", "edited.ngc", "--part", GOOD, "--setting", "1")
    assert bad.status == 1
    assert "may NOT be cut" in bad.out
    assert re.search(rf"^edited\.ngc:({number + 1}|{longest + 1}): ", bad.err, re.M)
    data = run("simulate", "edited.ngc", "--part", GOOD, "--setting", "1", "--json").data
    assert isinstance(data, dict)
    assert data["ok"] is False
    assert {number + 1, longest + 1} & {p["line"] for p in data["problems"]}


@pytest.mark.parametrize("data", [b"\xff\xfe\x00G1", b"\x00" * 100, b"", b"G1 X1 " * 2_000_000, "G1 \u2205".encode()])
def test_simulate_takes_no_harm_from_junk(here: Path, data: bytes) -> None:
    Path("junk.ngc").write_bytes(data)
    answer = run("simulate", "junk.ngc", "--part", GOOD, "--setting", "1")
    assert answer.status == 1
    assert "junk.ngc" in answer.err


def test_plot_draws_svg_to_the_output_or_a_file(here: Path) -> None:
    assert run("plot", GOOD).out.startswith(("<svg", "<?xml"))
    assert run("plot", GOOD, "--out", "pin.svg").status == 0
    assert Path("pin.svg").read_text() == run("plot", GOOD).out


def test_plot_draws_a_refused_part_and_exits_1(here: Path) -> None:
    answer = run("plot", "samples/too-near-the-centre.toml", "--out", "refused.svg")
    assert answer.status == 1
    assert "may NOT be cut" in answer.out
    assert "samples/too-near-the-centre.toml:" in answer.err
    assert "<svg" in Path("refused.svg").read_text()


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "magic"), [("png", b"\x89PNG\r\n\x1a\n"), ("pdf", b"%PDF-")])
def test_plot_converts(here: Path, kind: str, magic: bytes) -> None:
    assert run("plot", GOOD, "--out", f"pin.{kind}").status == 0
    assert Path(f"pin.{kind}").read_bytes().startswith(magic)


def test_dialects_are_listed(here: Path) -> None:
    answer = run("dialects")
    assert all(f"{name}\n" in answer.out for name in dialect_names())
    data = run("dialects", "--json").data
    assert isinstance(data, list)
    assert [d["name"] for d in data] == list(dialect_names())


def test_make_takes_a_dialect_for_each_machine(here: Path) -> None:
    part = "samples/orrery-drum-arbor.toml"
    made = run("make", part, "--out", "built", "--dialect", "eia274d", "--mill-dialect", "rs274ngc")
    assert made.status == 0
    assert Path("built/setting-1.ngc").read_text() == run("program", part, "--setting", "1", "--dialect", "eia274d").out
    assert "G20" in Path("built/square.ngc").read_text() or "G21" in Path("built/square.ngc").read_text()
    wrong = run("make", part, "--out", "not-built", "--dialect", "none")
    assert (wrong.status, Path("not-built").exists()) == (1, False)


def test_a_new_part_file_is_a_good_one(here: Path) -> None:
    assert run("new", "samples/my-arbor.toml").status == 0
    assert run("new", "-").out.startswith("#")
    answer = run("check", "samples/my-arbor.toml", "--shop", "samples/shop.toml")
    assert (answer.status, answer.err) == (0, answer.err)
    assert "my-arbor" in answer.out


def test_a_hostile_name_reaches_no_terminal(here: Path) -> None:
    text = Path(GOOD).read_text()
    name = r'name = "x) M3 \\u001b[31m \\u202e("'
    Path("samples/odd.toml").write_text(re.sub(r"(?m)^name = .*$", name, text, count=1))
    for words in (("check", "samples/odd.toml"), ("make", "samples/odd.toml", "--out", "odd")):
        answer = run(*words)
        assert answer.status == 0
        assert "\x1b" not in answer.out + answer.err
        assert "\u202e" not in answer.out + answer.err
    assert "\x1b" not in "".join(p.read_text() for p in Path("odd").iterdir())


# What only a process of its own can show


def test_a_closed_pipe_ends_it_quietly(here: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "cam", "program", GOOD, "--setting", "1"],
        stdout=write, stderr=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False,
    )  # fmt: skip
    os.close(write)
    assert done.stderr == b""
    assert done.returncode == 1


@pytest.mark.parametrize(("env", "coloured"), [({}, True), ({"NO_COLOR": "1"}, False)])
def test_colour_only_on_a_terminal_and_not_where_it_is_not_wanted(
    here: Path, env: dict[str, str], coloured: bool
) -> None:
    control, terminal = pty.openpty()
    plain = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
    subprocess.run(
        [sys.executable, "-m", "cam", "check", "nowhere.toml"],
        stdout=subprocess.PIPE, stderr=terminal, env={**plain, "PYTHONPATH": str(ROOT), **env}, check=False,
    )  # fmt: skip
    os.close(terminal)
    text = os.read(control, 10_000)
    os.close(control)
    assert b"nowhere.toml" in text
    assert (b"\x1b[" in text) is coloured


def test_no_colour_into_a_pipe(here: Path) -> None:
    assert b"\x1b" not in start("check", "nowhere.toml").stderr


def test_a_fault_of_our_own_keeps_its_traceback(here: Path) -> None:
    script = (
        "import cam.cli, cam.job\n"
        "def fail(*_, **__): raise RuntimeError('ours')\n"
        "cam.job.make_job = fail\n"
        f"import sys; sys.argv = ['endshake', 'check', {GOOD!r}]\n"
        "cam.cli.main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False
    )
    assert done.returncode == 1
    assert b"Traceback" in done.stderr
    assert b"RuntimeError: ours" in done.stderr
    assert done.stderr.splitlines()[-1].startswith(b"this is our fault, not the part's: please send us the part file")


def test_a_program_of_ours_that_does_not_pass_is_our_fault(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who has the part file alone can mend nothing in a program; one handed in is its writer's to put right."""
    judge = cam.judge.simulate
    finding = Finding(line=20, kind="gouge", what="too deep", amount=0.1, at=None, tip=None, obstacle="", tool=1)
    monkeypatch.setattr(cam.judge, "simulate", lambda *a, **k: replace(judge(*a, **k), findings=(finding,)))
    answer = run("check", GOOD)
    assert answer.status == 1
    assert "setting-1.ngc:20: too deep" in answer.err
    assert "fix      this is our fault, not the part's: please send us the part file, the shop file" in answer.err
    assert "correct the word" not in answer.err


def test_help_imports_nothing_of_ours_and_nothing_heavy() -> None:
    script = (
        "import sys\nfrom typer.testing import CliRunner\nfrom cam.cli import app\n"
        "CliRunner().invoke(app, ['--help'])\n"
        "print(sorted({'.'.join(m.split('.')[:2]) for m in sys.modules if m.split('.')[0] in "
        "('cam', 'posts', 'templates', 'numpy', 'shapely', 'pint', 'matplotlib', 'jinja2')}))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, cwd=ROOT, check=True, text=True)
    assert done.stdout.strip() == "['cam', 'cam.cli']"


def test_make_loads_no_heavy_library_but_shapely(here: Path) -> None:
    script = (
        "import sys\nfrom typer.testing import CliRunner\nfrom cam.cli import app\n"
        "for part in ('orrery-drum-arbor', 'crank-pin'):\n"
        "    done = CliRunner().invoke(app, ['make', f'samples/{part}.toml', '--out', part])\n"
        "    assert done.exit_code == 0, done.output\n"
        "print(sorted({m.split('.')[0] for m in sys.modules} & {'scipy', 'pint', 'matplotlib'}))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False,
        text=True,
    )  # fmt: skip
    assert (done.returncode, done.stdout.strip()) == (0, "[]"), done.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_shell_completion_is_there(shell: str) -> None:
    done = start("--show-completion", shell, env={"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"})
    assert done.returncode == 0
    assert b"endshake" in done.stdout


def test_completion_offers_verbs_and_dialects() -> None:
    def complete(line: str) -> list[str]:
        env = {"_ENDSHAKE_COMPLETE": "complete_bash", "COMP_WORDS": line, "COMP_CWORD": str(line.count(" "))}
        return start(env=env).stdout.decode().split()

    assert {"make", "check", "new"} <= set(complete("endshake "))
    assert complete("endshake program part.toml --dialect r") == ["rs274ngc"]


def test_progress_shows_only_where_work_is_long(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal:
        def __init__(self) -> None:
            self.text = ""

        def isatty(self) -> bool:
            return True

        def write(self, text: str) -> None:
            self.text += text

        def flush(self) -> None:
            pass

    for wait, shown in ((60.0, False), (0.0, True)):
        terminal = Terminal()
        monkeypatch.setattr(cam.cli.answers.Progress, "WAIT", wait)
        monkeypatch.setattr(sys, "stderr", terminal)
        with cam.cli.answers.Progress() as progress:
            progress.tell("planning")
            if shown:
                progress.timer.join()
            progress.tell("simulating")
        assert ("planning" in terminal.text and "simulating" in terminal.text) is shown
        assert terminal.text.endswith("\r\x1b[K") is shown


def test_a_run_declares_its_own_verb_and_no_other() -> None:
    script = (
        "import sys, atexit, cam.cli\nsys.argv = ['endshake', 'dialects']\n"
        "atexit.register(lambda: print(sorted(m for m in sys.modules if m.startswith('cam.cli.'))))\n"
        "cam.cli.main()\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, cwd=ROOT, check=True, text=True)
    assert done.stdout.endswith("['cam.cli.answers', 'cam.cli.command', 'cam.cli.files']\n")


def test_every_verb_is_looked_for_where_it_is() -> None:
    there = {c.name or c.callback.__name__: c.callback.__module__ for c in app.registered_commands if c.callback}
    assert there == {verb: f"cam.cli.{home}" for home, verbs in cam.cli.HOMES.items() for verb in verbs}
    assert list(there) == list(EXAMPLES)


LONG = "x" * 300
ODD_NAMES = [
    ("history", ""), ("record", "", "front pivot diameter", "3 mm"), ("compare", LONG, GOOD), ("compare", GOOD, LONG),
    ("make", GOOD, "--out", "circle"), ("make", GOOD, "--out", "circle", "--replace"), ("make", GOOD, "--out", LONG),
    ("dxf", GOOD, "--out", "circle"), ("new", "circle", "--commented"), ("dxf", GOOD, "--out", "a\0b"),
    ("simulate", "a\0b", "--part", GOOD, "--setting", "1"), ("check", "long.toml"),
    ("make", GOOD, "--out", "samples/shop.toml/inside"),
]  # fmt: skip


@pytest.mark.parametrize("words", ODD_NAMES, ids=lambda words: " ".join(words).replace("\0", "zero")[:40])
def test_a_name_that_no_file_can_have_is_a_problem_and_nothing_is_written(here: Path, words: tuple[str, ...]) -> None:
    (here / "circle").symlink_to("circle")
    text = Path(GOOD).read_text("utf-8")
    (here / "long.toml").write_text(re.sub(r"(?m)^shop = .*$", f'shop = "{LONG}"', text), "utf-8")
    before = sorted(here.rglob("*"))
    answer = run(*words)
    assert answer.status == 1
    assert answer.err
    assert sorted(here.rglob("*")) == before


@pytest.mark.parametrize("path", sorted((ROOT / "samples").glob("*.toml")), ids=lambda path: path.stem)
def test_no_line_that_make_prints_is_over_a_hundred_characters(
    here: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of every sample, made or refused, on both outputs of a terminal; a shop file is refused as a part."""
    monkeypatch.setattr(cam.cli.answers, "is_terminal", lambda stream: True)
    monkeypatch.setenv("NO_COLOR", "1")
    answer = run("make", f"samples/{path.name}", "--out", "made")
    assert answer.status in (0, 1)
    for line in (answer.out + answer.err).splitlines():
        assert len(line) <= 100, line


def test_nothing_is_written_but_what_is_named(here: Path) -> None:
    """A home of one's own, empty: no verb leaves anything in it, nor in the package."""
    home = here / "home"
    home.mkdir()
    fonts = ROOT / "cam/dxf/no_fonts/ezdxf/font_manager_cache.json"
    before = fonts.read_bytes(), sorted(p.name for p in here.iterdir())
    env = {"HOME": str(home), "XDG_CACHE_HOME": "", "XDG_CONFIG_HOME": "", "APPDATA": "", "LOCALAPPDATA": ""}
    commands = (
        ("dxf", GOOD, "--out", "pin.dxf"),
        ("new", "drawn.toml", "--from-dxf", "pin.dxf", "--shop", "samples/shop.toml"),
        ("plot", GOOD, "--out", "pin.pdf"), ("make", GOOD, "--out", "made"),
    )  # fmt: skip
    script = (
        "from typer.testing import CliRunner\nfrom cam.cli import app\n"
        f"for words in {commands!r}:\n"
        "    done = CliRunner().invoke(app, words)\n"
        "    assert done.exit_code == 0, done.output\n"
    )
    done = python("-c", script, env=env)
    assert done.returncode == 0, done.stderr
    assert list(home.rglob("*")) == []
    named = {"pin.dxf", "drawn.toml", "pin.pdf", "made"}
    assert {p.name for p in here.iterdir()} == named | set(before[1])
    assert fonts.read_bytes() == before[0]
