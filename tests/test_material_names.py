"""Materials by any usual name, and American words where a person types."""

from __future__ import annotations

import tomllib
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from cam.ground.material_names import find_material, fold, usual_names
from cam.ground.problem import ProblemError
from cam.job import make_job, write_job_summary
from cam.lengths import read_part
from cam.lengths.thermal import expansion_of, find_expansion
from cam.plan import plan_job
from cam.plan.why import answer_why
from cam.setting import settle
from cam.shop.materials import built_in_materials
from tests.specimens import SAMPLES, sample, shop_from
from tests.test_cli import run
from tests.test_shop import OWN_MATERIAL, errors_of

NAMES = Path(__file__).parent.parent / "cam" / "ground" / "material_names.toml"
SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("row", "names"),
    [
        ("free-cutting steel", "EN1A, en1a, EN 1A, 230M07, 12L14, 12l14, Free cutting Steel, FREE-CUTTING STEEL"),
        ("brass", "CZ121, cz 121, CW614N, C360, C36000, Brass, free-machining brass"),
        ("silver steel", "silver steel, drill rod, Drill Rod, 1.2210"),
        ("gauge plate", "Gauge Plate, ground flat stock, O1"),
        ("mild steel", "EN3B, 070M20, 1018, bright mild steel"),
        ("EN8", "en8, EN 8, 080M40, 1045"),
        ("stainless 303", "303, 1.4305, 303S31"),
        ("6082 aluminium", "6082, 6082-T6, HE30, 6082 aluminum"),
        ("2011 aluminium", "2011, 2011 Aluminum"),
    ],
)
def test_one_row_goes_by_every_usual_name(row: str, names: str) -> None:
    materials = shop_from(SHOP).materials
    for name in names.split(", "):
        assert materials[name] is materials[row]
        assert name in materials


@pytest.mark.parametrize("name", ["EN9", "EN1B", "CZ12", "", "steel", "unobtainium"])
def test_what_is_no_name_of_a_row_is_none(name: str) -> None:
    materials = shop_from(SHOP).materials
    assert name not in materials
    assert materials.get(name) is None
    with pytest.raises(KeyError):
        materials[name]


def test_every_name_has_a_row_a_source_and_one_meaning() -> None:
    rows = tomllib.loads(NAMES.read_text(encoding="utf-8"))
    assert all(set(row) == {"row", "source"} and row["source"] for row in rows.values())
    assert {row["row"] for row in rows.values()} <= set(built_in_materials())
    assert {fold(name) for name in built_in_materials()}.isdisjoint(map(fold, rows))
    assert max(Counter(map(fold, rows)).values()) == 1
    assert len(usual_names()) == len(rows)
    assert find_material("CZ121", ["gold"]) is None


def test_an_own_row_goes_before_a_usual_name_and_takes_its_place() -> None:
    own = shop_from(SHOP + OWN_MATERIAL.replace('"brass"', '"CZ 121"')).materials
    assert own["cz121"].source == "own trials"
    assert own["brass"].source != "own trials"
    assert own["CW614N"] is own["brass"]
    replaced = shop_from(SHOP + OWN_MATERIAL.replace('"brass"', '"Brass"')).materials
    assert replaced["C360"].source == replaced["brass"].source == "own trials"
    assert len(replaced) == len(built_in_materials())
    with pytest.raises(ProblemError, match="there are two materials"):
        shop_from(SHOP + OWN_MATERIAL + OWN_MATERIAL.replace('"brass"', '"BRASS"'))


def test_the_plan_is_the_same_by_any_name_and_the_page_says_the_one_written(tmp_path: Path) -> None:
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8").replace("shop.toml", str(SAMPLES / "shop.toml"))
    old = 'material = "silver steel"'
    assert old in text
    pages = []
    for name in ("free-cutting steel", "EN1A"):
        path = tmp_path / "pin.toml"
        path.write_text(text.replace(old, f'material = "{name}"'), encoding="utf-8")
        job = make_job(str(path))
        cuts = [line for line in job.works[0].text.splitlines() if not line.startswith("(")]
        pages.append((write_job_summary(job), cuts, answer_why(job.plan, 1, 1)))
    (page, program, why), (own_page, own_program, own_why) = pages
    assert program == own_program
    assert page.count("free-cutting steel") == own_page.count("EN1A") > 0
    assert "free-cutting steel" not in own_page
    assert "Free-cutting steel with HSS" in why
    assert "EN1A, which is free-cutting steel, with HSS" in " ".join(own_why.split())


def test_a_strange_material_is_refused_by_its_name() -> None:
    part, shop = sample("crank-pin")
    with pytest.raises(ProblemError, match='no material called "EN1Z"'):
        settle(replace(part, stock=replace(part.stock, material="EN1Z")), shop)


def test_growth_is_known_by_any_name() -> None:
    assert expansion_of("CZ121") == expansion_of("brass")
    assert expansion_of("12L14") == expansion_of("mild steel")
    assert expansion_of("drill rod") == expansion_of("Silver Steel")
    assert find_expansion("EN1Z") is None
    for name, row in built_in_materials().items():
        assert row.expansion == pytest.approx(expansion_of(name).rate, abs=expansion_of(name).doubt), name


# American words ---------------------------------------------------------------------------------------


def test_kinds_of_centre_are_taken_in_american_words() -> None:
    text = SHOP.replace('kind = "revolving"', 'kind = "Live"').replace('kind = "plain" ', 'kind = "dead" ')
    assert text != SHOP
    assert [c.kind for c in shop_from(text).centres] == ["plain", "half", "revolving"]
    assert errors_of(text.replace('"Live"', '"live"')) == []
    assert errors_of(text.replace('"Live"', '"lively"'))
    with pytest.raises(ProblemError, match="kind is one of a few words"):
        shop_from(SHOP.replace('kind = "revolving"', 'kind = "lively"'))


def test_a_part_is_taken_in_american_words(tmp_path: Path) -> None:
    text = (SAMPLES / "moon-carriage-spindle.toml").read_text(encoding="utf-8")
    path = tmp_path / "spindle.toml"
    changed = text.replace('"between centres"', '"between centers"').replace('"half centre"', '"half center"')
    changed = changed.replace('material = "silver steel"', 'material = "drill rod"')
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    part, shop = read_part(str(path)), sample("crank-pin")[1]
    assert part.holding.method == "between centres"
    plan = plan_job(part, shop)
    ours = plan_job(read_part(str(SAMPLES / "moon-carriage-spindle.toml")), shop)
    assert [c.path for s in plan.settings for c in s.passes] == [c.path for s in ours.settings for c in s.passes]
    assert plan.settings[0].setting.tail_centre == ours.settings[0].setting.tail_centre


def test_new_takes_american_words(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    answer = run(
        *("new", str(path), "--shop", str(SAMPLES / "shop.toml"), "--holding", "between centers"),
        *("--tail-centre", "half center", "--material", "Drill Rod", "--extra-length", "4 mm"),
        *("--stock-diameter", "12 mm", "--stock-length", "70 mm", "--corners", "fillet up to 0.2 mm"),
        *("--edges", "chamfer 0.2 mm", "--finish", "turn", "--section", "front pivot, pivot, 5 mm, 6 mm"),
        *("--section", "body, body, 11 mm, 40 mm", "--section", "back pivot, pivot, 5 mm, 6 mm"),
    )
    assert answer.status == 0, answer.err
    assert read_part(str(path)).holding.method == "between centres"
    assert 'material = "Drill Rod"' in path.read_text(encoding="utf-8")
