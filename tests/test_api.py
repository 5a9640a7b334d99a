"""The names that `import cam` gives: cheap to import, documented, and drawn in a notebook."""

from __future__ import annotations

import inspect
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings

import cam
from cam.job import choose_dialect, judge_plan
from cam.picture.part_sheet import draw_part
from cam.plan.blind import plan_blindly
from tests.specimens import SAMPLES, drum_arbor, part_from, part_texts, too_near_the_centre

ROOT = Path(__file__).parent.parent
README = (ROOT / "cam" / "README.md").read_text(encoding="utf-8")
SVG = "{http://www.w3.org/2000/svg}"


def test_importing_the_package_imports_nothing_else() -> None:
    ours = ("cam.", "posts", "ezdxf", "jinja2")
    script = f"import sys; import cam; print(sorted(m for m in sys.modules if m.startswith({ours})))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout == "[]\n"


@pytest.mark.parametrize("name", cam.__all__)
def test_every_name_is_there_and_explained(name: str) -> None:
    thing = getattr(cam, name)
    assert name in dir(cam)
    if name != "VERSION":
        assert len(inspect.getdoc(thing) or "") > 20


def test_a_wrong_name_is_no_attribute() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'nothing'"):
        cam.nothing


def runnable() -> str:
    """The example in cam/README.md."""
    found = re.search(r"^```python\n(.*?)^```$", README, re.M | re.S)
    assert found
    return found[1]


def test_the_example_in_readme_runs(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", runnable()], capture_output=True, text=True, check=False, cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout


# Notebooks --------------------------------------------------------------------------------------------


def shown(thing: object) -> dict[str, Any]:
    """What IPython's own formatter makes of the result of a cell."""
    from IPython.core.formatters import DisplayFormatter  # noqa: PLC0415 - only here, and slow to import

    formatter = DisplayFormatter()
    data, _ = formatter.format(thing)
    return dict(data)


def test_part_plan_and_job_draw_themselves_in_a_notebook() -> None:
    part, shop = cam.read_given(str(SAMPLES / "crank-pin.toml"))
    things = [part, cam.plan_job(part, shop), cam.make_job(str(SAMPLES / "crank-pin.toml"))]
    for thing in things:
        root = ElementTree.fromstring(shown(thing)["image/svg+xml"])
        assert root.tag == f"{SVG}svg"
        assert root.findtext(f"{SVG}title") == "crank pin"
    assert shown(shop).get("image/svg+xml") is None


def test_a_plan_says_that_nothing_was_judged() -> None:
    plan = cam.plan_job(*cam.read_given(str(SAMPLES / "crank-pin.toml")))
    assert "not simulated" in shown(plan)["image/svg+xml"]


def test_a_refused_job_draws_what_it_hits() -> None:
    part, shop = too_near_the_centre()
    job = judge_plan(plan_blindly(part, shop), choose_dialect(None, shop))
    assert job.problems
    assert "REFUSED" in shown(job)["image/svg+xml"]


# The sheet of a part ----------------------------------------------------------------------------------


def words_of(svg: str) -> list[str]:
    return [t.text or "" for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_a_part_is_drawn_with_a_row_for_each_section() -> None:
    part, _ = drum_arbor()
    words = words_of(draw_part(part))
    for section in part.sections:
        assert words.count(section.name) == 1
    for text in ("square blank", "+0 / -0.05 mm", "A undercut 1 mm wide 0.2 mm deep; B chamfer 0.2 mm", "7.5 mm"):
        assert text in words


def test_what_waits_is_drawn_dashed_and_said() -> None:
    part = cam.read_part(ROOT / "samples" / "orrery-drum-arbor.toml")
    svg = draw_part(part)
    assert svg.count('class="guess"') == 2
    assert words_of(svg).count("*") == 2
    assert any('to be measured: "between plates"' in text for text in words_of(svg))


@given(part_texts())
@settings(max_examples=25, deadline=None)
def test_any_part_is_drawn_on_its_sheet(text: str) -> None:
    part = part_from(text)
    svg = draw_part(part)
    root = ElementTree.fromstring(svg)
    for path in root.iter(f"{SVG}path"):
        numbers = [int(n) for n in re.findall(r"-?\d+", path.get("d") or "")]
        assert all(-1000 <= n <= 40_000 for n in numbers)
    assert svg == draw_part(part)
