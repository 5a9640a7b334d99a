"""Random screws, threaded by die, by change wheels and by program, on lathes with X dials of every kind."""

from __future__ import annotations

from pathlib import Path
from random import Random

from hypothesis import strategies as st

from cam.ground.frozen import Row
from cam.ground.problem import ProblemError
from cam.part.model import Part
from cam.part.threads import find_thread
from cam.plan import plan_job
from cam.plan.model import Plan
from cam.shop.model import Shop
from tests.sheets.jobs import _dialled
from tests.specimens import part_from, shop_from

SHOP = (Path(__file__).parent.parent.parent / "samples" / "shop.toml").read_text(encoding="utf-8")
THREADS = ["M2", "M2.5", "M3", "M4", "M3 x 0.35", "2 BA", "4 BA", "6 BA", "4-40", "6-32"]
WHEELS = "wheels = [20, 21, 25, 30, 32, 35, 38, 40, 40, 45, 47, 50, 53, 55, 59, 60, 63, 66, 73, 80, 127]"
LEADSCREWS = ["3 mm", "1.5 mm", "0.125 in"]
WAYS = ["die", "wheels", "program"]
VEE = """
[[tool]]
number = 4
name = "threading tool"
kind = "threading"
material = "HSS"
hand = "right"
included = "{included} deg"
nose_radius = "{nose} mm"
width = "0.8 mm"
edge = "3 mm"
minimum_cut = "0.01 mm"
deepest_cut = "{deepest} mm"
outline = "tip only"
"""


class Screw(Row):
    """A planned screw."""

    part: Part
    shop: Shop
    plan: Plan


def _part(rng: Random, name: str, by: str, unit: str) -> str:
    thread = find_thread(name)
    head, length = thread.diameter + rng.choice([1.0, 2.0, 3.0]), rng.choice([6.0, 8.0, 12.0])

    def said(mm: float) -> str:
        return f'"{mm / 25.4:.4f} in"' if unit == "in" else f'"{mm:.2f} mm"'

    undercut = f"undercut {2 * thread.pitch + 1:.2f} mm wide {0.65 * thread.pitch:.2f} mm deep"
    corner = f'corner_b = "{undercut}"\n' if by == "die" else ""  # else it is worked out
    return f"""
name = "screw"
edges = "chamfer 0.1 mm"
[stock]
material = "EN1A"
diameter = {said(head + 1.0)}
length = "60 mm"
[holding]
method = "collet"
chuck = "6 mm collet"
free_end = "A"
stick_out = "25 mm"
facing = "0.5 mm"
part_off = "saw"
[[section]]
name = "shank"
role = "plain"
thread = "{name}"
thread_by = "{"die" if by == "die" else "single point"}"
length = {said(length)}
{corner}finish = "turn"
[[section]]
name = "head"
role = "plain"
diameter = {said(head)}
length = {said(3.0)}
finish = "turn"
"""


def _shop(rng: Random, name: str, by: str) -> str:
    thread = find_thread(name)
    text = _dialled(rng, SHOP.replace('grip = ["5.9 mm", "6.0 mm"]', 'grip = ["1 mm", "12 mm"]', 1))
    if by != "die":
        table = 'by = "encoder"\nfastest = "320 rpm"\nacceleration = "100 mm/s2"\n'
        if by == "wheels":
            table = f'by = "change wheels"\nfastest = "320 rpm"\nleadscrew = "{rng.choice(LEADSCREWS)}"\n{WHEELS}\n'
        text = text.replace("[lathe.x]\n", f"[lathe.threading]\n{table}\n[lathe.x]\n", 1)
    return text + VEE.format(included=thread.angle, nose=f"{0.135 * thread.pitch:.3f}", deepest=rng.choice([0.05, 0.1]))


def screw_texts(number: int) -> tuple[str, str]:
    """Return the texts of a part and of a shop."""
    rng = Random(number)
    name, by, unit = rng.choice(THREADS), rng.choice(WAYS), rng.choice(["mm", "in"])
    return _part(rng, name, by, unit), _shop(rng, name, by)


SCREW_JOBS = st.builds(screw_texts, st.integers(0, 2**48))


def plan_screw(part_text: str, shop_text: str) -> Screw | None:
    """Plan a random screw; None where it is refused."""
    try:
        part, shop = part_from(part_text), shop_from(shop_text)
        return Screw(part, shop, plan_job(part, shop))
    except ProblemError:
        return None
