"""Names in letters beyond plain ASCII: programs and pages print them without, and know them by what is printed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from cam.ground.letters import in_ascii, known_by
from cam.job import make_job
from cam.job.outputs import job_files
from tests.specimens import SAMPLES, some

NAMES = ("siège", "Lagerfläche", "Ø 5", "vorderer Sitz ä", "ß")
SECTIONS = {"crank-pin": "arm seat", "orrery-drum-arbor": "front seat", "drum-hook": "shank"}


@pytest.mark.parametrize("part", SECTIONS)
@pytest.mark.parametrize("name", some(NAMES, "siège", "ß"))
def test_a_section_of_such_a_name_is_made_with_every_page(part: str, name: str, tmp_path: Path) -> None:
    text = (SAMPLES / f"{part}.toml").read_text("utf-8")
    assert f'"{SECTIONS[part]}"' in text
    shutil.copy(SAMPLES / "shop.toml", tmp_path)
    (tmp_path / f"{part}.toml").write_text(text.replace(f'"{SECTIONS[part]}"', f'"{name}"'), "utf-8")
    files = job_files(make_job(str(tmp_path / f"{part}.toml")))  # a program or page that cannot be worked by is refused
    assert in_ascii(name).lower() in files["setting-1.ngc"].decode("ascii").lower()


@pytest.mark.parametrize(("name", "printed"), [("Ø 5", "o5"), ("siège", "siege"), ("座 5", "5"), ("座", "")])
def test_a_name_is_known_by_the_letters_and_figures_that_are_printed(name: str, printed: str) -> None:
    assert known_by(name) == known_by(in_ascii(name)) == printed
