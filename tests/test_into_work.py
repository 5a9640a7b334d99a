"""What carries the edge stays out of the work: post and holder by the plan, the trailing edge where a slip is tried."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cam.job import make_job
from cam.job.model import RefusedError
from tests.specimens import SAMPLES

SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
FILLETED = (Path(__file__).parent / "sheets" / "fillet-arbor.toml").read_text(encoding="utf-8")
CHUCK = """
[[chuck]]
name = "wide chuck"
kind = "chuck"
nose_diameter = "80 mm"
nose_length = "50 mm"
grip = ["2 mm", "70 mm"]
grip_length = "6 mm"
fastest = "1500 rpm"
"""
DISC = """name = "disc"
shop = "shop.toml"
corners = "fillet up to 0.2 mm"
edges = "chamfer 0.2 mm"
finish = "turn"
[stock]
material = "brass"
diameter = "{bar} mm"
length = "28 mm"
[holding]
method = "chuck"
chuck = "wide chuck"
free_end = "A"
stick_out = "20 mm"
facing = "0.5 mm"
[[section]]
name = "boss"
role = "plain"
diameter = "30 mm"
length = "6 mm"
[[section]]
name = "disc"
role = "plain"
diameter = "{bar} mm"
length = "21 mm"
finish = "as stock"
"""


def write(folder: Path, part: str, shop: str) -> str:
    """A part file beside its shop file."""
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    (folder / "part.toml").write_text(part, encoding="utf-8")
    return str(folder / "part.toml")


def changed(changes: dict[str, str]) -> str:
    """The filleted arbor with other figures."""
    part = 'shop = "shop.toml"\n' + FILLETED
    for old, new in changes.items():
        assert old in part
        part = part.replace(old, new)
    return part


def test_facing_a_disc_that_the_post_would_run_into_is_refused(tmp_path: Path) -> None:
    """The post is 25 mm behind the tip, which goes 0.12 past the axis: the work may be 49.76 thick."""
    make_job(write(tmp_path, DISC.format(bar="49.7"), SHOP + CHUCK))
    with pytest.raises(RefusedError) as refused:
        make_job(write(tmp_path, DISC.format(bar="60"), SHOP + CHUCK))
    (problem,) = refused.value.problems
    assert problem.what == "facing the free end in setting 1 brings the tool post 5.12 mm into the work"
    assert "60 mm thick" in problem.given


def test_extra_length_that_a_pass_turns_down_stands_in_no_way(tmp_path: Path) -> None:
    """What may be left there is the bar; 4.6 mm above the tip the tool's head runs over it."""
    thick = {'"12 mm"\nlength': '"15 mm"\nlength', '= "8 mm': '= "4 mm'}
    changes = thick | {"60 mm": "55 mm", '"6 mm"\n[[': '"9 mm"\n[[', '"12 mm"\nfinish': '"4 mm"\nfinish'}
    make_job(write(tmp_path, changed(changes), SHOP))


@pytest.mark.parametrize("body", ["8.28", "8.32"])
def test_no_slip_is_tried_where_the_trailing_edge_would_stand_in_what_a_plunge_left(body: str, tmp_path: Path) -> None:
    changes = {'6 mm"\ntol': '6.4 mm"\ntol', "11 mm": f"{body} mm", '= "8 mm': '= "5 mm', "let 0.5": "let 0.8"}
    shop = SHOP
    for key, value in (("deepest_cut", "1.5 mm"), ("minimum_cut", "0.05 mm")):
        shop = re.sub(rf'(?m)^{key} = "[^"]*"', f'{key} = "{value}"', shop, count=1)
    assert make_job(write(tmp_path, changed(changes), shop)).problems == ()


@pytest.mark.parametrize(("fillet", "body", "clearance"), [("0.4", "6.8", "0.3"), ("0.6", "7.2", "0.2")])
def test_a_cut_comes_in_at_feed_over_the_stair_of_the_fillet_beside_it(
    fillet: str, body: str, clearance: str, tmp_path: Path
) -> None:
    """The stair is higher than the body's last cut, and reaches past the place where that comes in."""
    part, shop = 'shop = "shop.toml"\n' + FILLETED, SHOP
    for old, new in (
        ("11 mm", f"{body} mm"),
        ("fillet 0.5", f"fillet {fillet}"),
        ('"8 mm', '"6 mm'),
        ("to 0.4", "to 0.2"),
    ):
        assert old in part
        part = part.replace(old, new, 1)
    for key, value in (("rapid_clearance", clearance), ("nose_radius", "0.03")):
        shop = re.sub(rf'(?m)^{key} = "[^"]*"', f'{key} = "{value} mm"', shop, count=1)
    assert make_job(write(tmp_path, part, shop)).problems == ()
