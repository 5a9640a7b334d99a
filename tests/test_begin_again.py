"""A pass is a place to begin: belt, tool, tailstock and spindle are stopped for inside what its N line starts."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from cam.job import judge_program, make_job
from cam.plan.warm import warm_before
from posts.dialect import dialect_names, load_dialect
from tests.specimens import SAMPLES
from tests.test_cli import run

PART = SAMPLES / "orrery-drum-arbor.toml"
DIALECTS = dialect_names()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("again")


def shop_with(line: str, folder: Path) -> str:
    """A shop whose spindle table has one line more, or the wait of the sample's taken out."""
    text = re.sub(r"^spin_up.*\n", "", (SAMPLES / "shop.toml").read_text(), flags=re.M)
    path = folder / "shop.toml"
    path.write_text(text.replace("feeds_per_revolution =", f"{line}\nfeeds_per_revolution =", 1))
    return str(path)


@cache
def job_with(line: str, dialect: str, folder: Path):
    """The job in such a shop."""
    job = make_job(str(PART), shop_with(line, folder), dialect=dialect)
    assert job.problems == ()
    assert all(w.warnings == () for w in job.works)
    return job


def blocks(text: str) -> dict[int, str]:
    """What each N line of a pass starts, up to the words of the next pass."""
    parts = re.split(r"^\(---- pass (\d+) of.*\n", text, flags=re.M | re.I)
    return {int(n): rest[rest.index("\nN") :] for n, rest in zip(parts[1::2], parts[2::2], strict=True)}


def judged(text: str, line: str, dialect: str, folder: Path, number: int = 1):
    path = folder / "again.ngc"
    path.write_text(text)
    return judge_program(str(path), str(PART), number, shop_with(line, folder), dialect=dialect).simulation


@pytest.mark.parametrize("dialect", DIALECTS)
def test_what_a_person_does_before_a_pass_is_asked_inside_it(dialect: str, folder: Path) -> None:
    for work in job_with("", dialect, folder).works:
        own = blocks(work.text.upper())
        speed, tool = "", work.planned.passes[0].tool.number
        warm = warm_before(work.planned)
        assert len(warm) == 1
        for cut in work.planned.passes:
            head = own[cut.number].split("G0 X")[0]
            assert (f"SET THE BELT TO {cut.speed_name}," in head) is (cut.speed_name != speed)
            assert (f"MOUNT TOOL {cut.tool.number}" in head) is (cut.tool.number != tool)
            assert ("SET THE TAILSTOCK AGAIN" in head) is (cut.number in warm)
            speed, tool = cut.speed_name, cut.tool.number


@pytest.mark.parametrize("dialect", [d for d in DIALECTS if load_dialect(d).text("TOOL_WORD")])
def test_a_tool_set_late_is_told_what_stands(dialect: str, folder: Path) -> None:
    text = " ".join(re.sub(r"\)\n\(\.\.", "", job_with("", dialect, folder).works[1].text).upper().split())
    said = text[text.index("IF ITS ZERO WAS NOT SET BEFORE THE START") :].split("MOUNT TOOL")[0]
    assert "ON BACK SEAT, DIAMETER 7.98, Z 32 ON THE SHOULDER PAST BACK SEAT" in said
    assert "IF ITS ZERO" not in text.split("MOUNT TOOL")[0].split("IF ITS ZERO")[0]
    assert "WAS THE WORK OUT OF THE CENTRES" in text


@pytest.mark.parametrize("dialect", [d for d in DIALECTS if load_dialect(d).text("DWELL")])
def test_programs_wait_until_the_spindle_has_its_speed(dialect: str, folder: Path) -> None:
    line = 'spin_up = "1.5 s"'
    text = job_with(line, dialect, folder).works[0].text
    wait = r"^(N\d+ )?G4 [PF]1\.5\n"
    assert len(re.findall(wait, text, re.M)) == len(re.findall(r" M3$", text, re.M))
    assert "G4 " not in job_with("", dialect, folder).works[0].text
    for changed in (re.sub(wait, "", text, flags=re.M), re.sub(r"(G4 [PF])1\.5", r"\g<1>0.5", text)):
        simulation = judged(changed, line, dialect, folder)
        assert simulation.findings == ()
        assert {f.kind for f in simulation.warnings} == {"no wait"}


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_person_who_switches_the_spindle_is_asked_to(dialect: str, folder: Path) -> None:
    line = 'started = "switch"'
    text = job_with(line, dialect, folder).works[0].text
    stops = text.upper().count("SWITCH SPINDLE OFF")
    assert stops == text.upper().count("START THE SPINDLE, ") > 3
    assert "THE SPINDLE SWITCHED ON" in " ".join(re.sub(r"\)\n\(\.\.", "", text).upper().split())
    for words in ("SWITCH SPINDLE OFF", "START THE SPINDLE, "):
        changed = re.sub(rf"\(.*{words}.*\)\n(N\d+ )?M0\n", "", text, count=2, flags=re.I)
        assert changed != text
        assert "spindle switch" in {f.kind for f in judged(changed, line, dialect, folder).findings}
    assert "SWITCH" not in job_with("", dialect, folder).works[0].text.upper()


def two_knives(facts: str) -> str:
    """The sample's shop with a roughing knife beside its knife, which finishes, and a control with these facts."""
    shop = (SAMPLES / "shop.toml").read_text()
    knife = shop[shop.index("[[tool]]\nnumber = 1") : shop.index("[[tool]]\nnumber = 2")]
    rough = knife.replace("number = 1", "number = 3").replace("right-hand", "roughing")
    for key, size in (("nose_radius", "0.4"), ("minimum_cut", "0.1")):
        rough = re.sub(rf'{key} = "[\d.]+ mm"', f'{key} = "{size} mm"', rough)
    return shop.replace(knife, re.sub(r'deepest_cut = "[\d.]+ mm"', 'deepest_cut = "0.35 mm"', knife) + rough).replace(
        "[lathe.spindle]", f"{facts}\n[lathe.spindle]", 1
    )


@pytest.mark.parametrize("facts", ["", 'tool_change = "stop"\ntool_zeros = "one"'])
@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_tool_mounted_after_the_end_is_faced_is_set_on_the_faced_end(
    facts: str, dialect: str, tmp_path: Path
) -> None:  # fmt: skip
    (tmp_path / "shop.toml").write_text(two_knives(facts))
    (work,) = make_job(str(SAMPLES / "crank-pin.toml"), str(tmp_path / "shop.toml"), dialect=dialect).works
    assert [p.tool.number for p in work.planned.passes if p.kind in ("face", "rough")][::4][:2] == [1, 3]
    text = " ".join(re.sub(r"\)\n\(\.\.", "", work.text).upper().split())
    before, *later = text.split("STOP, AND PROVE THE TOOL IN THE POST")
    assert "SET Z TO 0.5 MM THERE" in before  # where the end stands as sawn: no tool that comes later finds it there
    assert "X AS SAID ABOVE, Z 0 ON THE END FACE" in before.split("---- PASS")[-1]
    park, end = work.planned.park.z, work.setting.end_z
    assert later
    for words in later:
        assert f"THE TIP STANDS {park - end:.2f} MM OUTSIDE" in words
    assert "AS IT TOUCHES, Z MUST SHOW 0, OR 0.03 OFF AT MOST" in later[0]
    assert f"THE TIP STANDS {park - work.setting.stock_end_z:.2f} MM OUTSIDE" in before  # nothing is faced there yet
    (tmp_path / "pin.ngc").write_text(work.text)
    roughing = next(p.number for p in work.planned.passes if p.kind == "rough")
    files = ("--part", str(SAMPLES / "crank-pin.toml"), "--shop", str(tmp_path / "shop.toml"))
    begun = ("--dialect", dialect, "--setting", "1", "--from-pass", str(roughing + 1), "--reground")
    said = run("simulate", str(tmp_path / "pin.ngc"), *files, *begun).out
    assert "X AS SAID ABOVE, Z 0 ON THE END FACE" in " ".join(said.upper().split())
