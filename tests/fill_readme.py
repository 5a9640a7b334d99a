"""`python -m tests.fill_readme` renews what README.md and the guide show; tests/test_readme.py checks it.

Each answer is the block after a marker `<!-- shown: NAME -->`; each picture stands in samples/pictures.
"""

from __future__ import annotations

import contextlib
import re
import shlex
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from typer.testing import CliRunner

from cam.cli import app

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
GUIDE = sorted([*ROOT.glob("cam/**/README.md"), *ROOT.glob("posts/README.md"), *ROOT.glob("samples/README.md")])
"""The files that `endshake guide` opens, and the list of samples."""
PICTURES = ROOT / "samples" / "pictures"
MEASURED = ("record", "samples/orrery-drum-arbor.toml", "between plates", "46.22; 46.23; 46.21 mm")
DRAWN = {
    "drum-arbor.svg": (MEASURED, ("plot", "samples/orrery-drum-arbor.toml")),
    "refused.svg": (("plot", "samples/too-near-the-centre.toml"),),
}
"""Each picture, with the commands whose last one draws it."""


def block(text: str, marker: str) -> str:
    """Return the fenced block after a marker."""
    found = _pattern(marker).search(text)
    assert found, f"README.md has no block after <!-- {marker} -->"
    return found[2]


def shown(text: str) -> dict[str, str]:
    """Return what the program answers now, by marker."""
    made = _answer(*shlex.split(block(text, "command 1").rpartition("&&")[2])[1:])
    verbs = re.search(r"Commands:\n(.*?)\n\n", _answer("--help"), re.S)
    assert verbs
    return {"shown: make": made, "shown: help": verbs[1] + "\n"}


def pictures() -> dict[str, str]:
    """Return what the tool draws now, by file name."""
    drawn = {}
    for name, commands in DRAWN.items():
        with _samples_here():
            for words in commands:
                done = CliRunner().invoke(app, list(words), prog_name="endshake")
                assert done.exit_code == (1 if name == "refused.svg" else 0), done.output
        drawn[name] = done.stdout
    return drawn


def _answer(*words: str) -> str:
    with _samples_here():
        done = CliRunner().invoke(app, list(words), prog_name="endshake", env={"COLUMNS": "80"})
    assert done.exit_code == 0, done.output
    return done.stdout


@contextlib.contextmanager
def _samples_here() -> Iterator[None]:
    """Work in a directory of its own with the samples in it."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        shutil.copytree(ROOT / "samples", "samples")
        yield


def _pattern(marker: str) -> re.Pattern[str]:
    return re.compile(rf"(^<!-- {marker} -->\n```[a-z]*\n)(.*?)(^```$)", re.M | re.S)


def main() -> None:
    """Write README.md and its pictures anew."""
    answers = shown(README.read_text(encoding="utf-8"))
    for file in (README, *GUIDE):
        text = file.read_text(encoding="utf-8")
        for marker, answer in answers.items():
            text = _pattern(marker).sub(lambda m, answer=answer: m[1] + answer + m[3], text)  # type: ignore[misc]
        file.write_text(text, encoding="utf-8")
    PICTURES.mkdir(exist_ok=True)
    for name, svg in pictures().items():
        (PICTURES / name).write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    main()
