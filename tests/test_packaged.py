"""Every file that the modules read at run time is installed with them, not only found in a checkout."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent


def data_files() -> list[Path]:
    """Return all files below the packages but Python's own."""
    found = (f for top in ("cam", "posts", "templates") for f in (ROOT / top).rglob("*") if f.is_file())
    return [f for f in found if f.suffix != ".py" and f.parent.name != "__pycache__"]


def is_packaged(file: Path, patterns: dict[str, list[str]]) -> bool:
    """Tell whether one of the patterns of the nearest package above a file has it."""
    package = next(folder for folder in file.parents if (folder / "__init__.py").is_file())
    inside = file.relative_to(package)
    name = ".".join(package.relative_to(ROOT).parts)
    asked = [*patterns.get("*", []), *patterns.get(name, [])]
    return any(inside.match(p) and len(Path(p).parts) == len(inside.parts) for p in asked)


def test_every_data_file_is_installed() -> None:
    patterns = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"]
    files = data_files()
    assert ROOT / "cam" / "rs274" / "standards" / "nistir6556.toml" in files
    assert [str(f.relative_to(ROOT)) for f in files if not is_packaged(f, patterns)] == []


def test_a_file_in_a_folder_that_no_pattern_names_would_be_missed() -> None:
    """`*` is for what lies in a package's own folder alone."""
    file = ROOT / "cam" / "rs274" / "standards" / "any.toml"
    assert not is_packaged(file, {"*": ["*.toml"]})
    assert is_packaged(file, {"cam.rs274": ["standards/*.toml"]})
