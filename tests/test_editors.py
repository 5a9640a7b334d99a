"""What an editor knows of a part or shop file: the first line leads to a schema, and the file is right by that."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from jsonschema import Draft202012Validator

from tests.specimens import one_in
from tests.test_begin import MATRIX, common_of
from tests.test_cli import run

ROOT = Path(__file__).parent.parent
SAMPLES = sorted((ROOT / "samples").glob("*.toml"))
LINK = "#:schema "


def linked(path: Path) -> dict[str, Any]:
    """The schema that a file's first line names, found from there as an editor finds it."""
    first = path.read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith(LINK)
    target = urlsplit(first.removeprefix(LINK))
    assert target.scheme in ("", "file")
    return schema_at((Path(unquote(target.path)) if target.scheme else path.parent / target.path).resolve())


@cache
def schema_at(place: Path) -> dict[str, Any]:
    """The schema of a file, which nobody changes."""
    schema = json.loads(place.read_text(encoding="utf-8"))
    assert isinstance(schema, dict)
    Draft202012Validator.check_schema(schema)
    return schema


def faults(path: Path) -> list[str]:
    return [e.message for e in Draft202012Validator(linked(path)).iter_errors(tomllib.loads(path.read_text("utf-8")))]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_every_sample_leads_to_its_schema_and_is_right_by_it(path: Path) -> None:
    assert faults(path) == []
    assert not Path(path.read_text(encoding="utf-8").splitlines()[0].removeprefix(LINK)).is_absolute()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_the_schema_marks_a_key_that_nobody_reads(path: Path) -> None:
    schema = linked(path)
    values = {**tomllib.loads(path.read_text(encoding="utf-8")), "nobody": "reads this"}
    assert any("nobody" in e.message for e in Draft202012Validator(schema).iter_errors(values))


@pytest.mark.parametrize("name", one_in(4, MATRIX))
def test_a_new_part_leads_to_its_schema_and_is_right_by_it(name: str, tmp_path: Path) -> None:
    file = tmp_path / "new.toml"
    assert run("new", str(file), *common_of(name), *MATRIX[name]).status == 0
    assert faults(file) == []


def test_the_commented_part_leads_to_its_schema_and_is_right_by_it(tmp_path: Path) -> None:
    file = tmp_path / "new.toml"
    assert run("new", str(file)).status == 0
    assert faults(file) == []


def test_an_editor_marks_what_is_still_to_be_said(tmp_path: Path) -> None:
    drawing, file = tmp_path / "pin.dxf", tmp_path / "new.toml"
    assert run("dxf", str(ROOT / "samples" / "crank-pin.toml"), "--out", str(drawing)).status == 0
    assert run("new", str(file), "--from-dxf", str(drawing)).status == 0
    assert any("'?'" in fault for fault in faults(file))
