"""The sheet of one setting, as blocks: drawing, how the work is held, zeros, dials, cautions, rows, what follows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from cam.ground.figures import Figures
from cam.ground.frozen import Row
from cam.part.model import Part
from cam.plan.model import Plan, SettingPlan
from cam.setting.model import Setting
from cam.shop.model import Lathe, Tool
from posts.pages.after import after_blocks
from posts.pages.blocks import Banner, Block, Caution, Drawing, Fact, Page
from posts.pages.cuts import RowMaker
from posts.pages.dial_words import x_dial, z_dial
from posts.pages.drawing import LANDS
from posts.pages.foot import foot_of, in_both
from posts.pages.landed import as_landed
from posts.pages.readings import SlideScale
from posts.wording import plain

REAR = "in the rear post, upside down, its cutting edge below; the spindle forward, the top of the work toward you"
"""How a tool is set in a rear post while the spindle runs as usual; common practice, no source."""


class SettingKnown(Row):
    """What is known of a setting besides its plan.

    Attributes:
        closest: how close its program comes to what holds the work, in words; "" where that was not judged.
        milled: the names of what the mill still does to the part when turning is done, in order.
    """

    closest: str = ""
    milled: Sequence[str] = ()


def setting_page(plan: Plan, index: int, figures: Figures, said: SettingKnown) -> Page:
    """Make the page of one setting."""
    planned = plan.settings[index]
    setting = planned.setting
    maker = RowMaker(plan, planned, figures)
    rows = tuple(maker.blocks())
    left = as_landed(setting, maker.lands(), maker.stops)
    finished = finished_before(plan, index, figures)
    blocks = [
        *turned_round(setting),
        Drawing(kind="setting", setting=left, finished=tuple(finished.items())),
        *held(setting, plan.part, figures, finished),
        Fact(label="Z 0", words=zero_words(setting, figures)),
        *tools(planned, plan.shop.lathe, figures),
        *dials(plan.shop.lathe, maker, figures),
        *_program(plan, planned),
        *cautions(plan, planned, maker, figures, said.closest),
        *rows,
        *after_blocks(plan, index, left, figures, said.milled, rows),
        Drawing(kind="strip", setting=left),
        Drawing(kind="bar"),
    ]
    return Page(
        kind="setting",
        title=f"SETTING {setting.number} of {plan.count}, {setting.end} END",
        part=plain(plan.part.name),
        blocks=in_both(blocks),
        number=setting.number,
        foot=foot_of(plan),
    )


# Who holds what


def turned_round(setting: Setting) -> Iterator[Banner]:
    """Say that the work has been turned end for end, which a glance at two cylinders does not show."""
    if setting.number > 1:
        other = "A" if setting.end == "B" else "B"
        yield Banner(
            words=f"TURNED END FOR END: the {other} end, finished, is at the HEADSTOCK now; cut the {setting.end} end."
        )


def finished_before(plan: Plan, index: int, figures: Figures) -> dict[str, float]:
    """Return, by section, the diameters that earlier settings leave as their dials land, mm."""
    found: dict[str, float] = {}
    for planned in plan.settings[:index]:
        found |= RowMaker(plan, planned, figures).lands()
    return found


def held(setting: Setting, part: Part, figures: Figures, finished: Mapping[str, float]) -> Iterator[Block]:
    """Say what holds the work, the headstock first; finished: as finished_before returns it."""
    if setting.chuck is not None:
        out = figures.place(setting.stock_end_z - setting.grip_near)
        yield Fact(
            label="LEFT",
            words=f"{plain(setting.grip)}, at least {figures.about(setting.chuck.grip_length)} inside; the bar stands "
            f"out {out} from its front.",
        )
        return
    other = "A" if setting.end == "B" else "B"
    assert setting.carrier is not None
    planned = setting.grip_diameter
    grip = next((d for d in finished.values() if abs(d - planned) < LANDS), planned)
    yield Fact(
        label="LEFT",
        words=f"{other} end on the headstock centre; {plain(setting.carrier.name)} on {plain(setting.grip)}, "
        f"{figures.size(grip)} diameter{packing_of(setting, part, figures)}.",
    )
    if setting.tail_centre is not None:
        flat = ", its flat toward the tool" if setting.tail_centre.kind == "half" else ""
        lubricant = setting.tail_centre.lubricant
        grease = f" {plain(lubricant)} in the hole," if lubricant else ""
        yield Fact(
            label="RIGHT",
            words=f"{setting.end} end on the {plain(setting.tail_centre.name)}{flat},{grease} no end play, barrel "
            "short, locked.",
        )


def zero_words(setting: Setting, figures: Figures) -> str:
    """Say where Z is zero, and how it is found."""
    if setting.chuck is not None:
        sawn = figures.place(setting.stock_end_z)
        return f"the finished free end, which is faced first. The bar's end as sawn is Z {sawn}."
    return plain(setting.datum_words).removeprefix("Z zero is ")


def packing_of(setting: Setting, part: Part, figures: Figures) -> str:
    """Say in a clause what goes under a carrier's screw; "" for bare stock, and for a blank that is milled later."""
    if not setting.protection:
        finished = any(f'"{s.name}"' in setting.grip and s.role != "square blank" for s in part.sections)
        return ", thin soft metal under its screw" if finished else ""
    thick = figures.about(setting.protection)
    return f", {thick} of soft copper or aluminium, or a split brass sleeve, under its screw"


def tools(planned: SettingPlan, lathe: Lathe, figures: Figures) -> Iterator[Block]:
    """Yield the tools in the order in which they come into use, the one in the post first."""
    for tool in tools_of([planned]):
        wide = f", {figures.fine(tool.width)} wide" if tool.width else ""
        rear = f"; {REAR}" if lathe.tool_post == "rear" else ""
        words = f"{plain(tool.name)}, nose {figures.fine(tool.nose_radius)}{wide}{rear}"
        yield Fact(label=f"TOOL {tool.number}", words=words)


def tools_of(plans: Sequence[SettingPlan]) -> list[Tool]:
    """Return the tools in the order in which they come into use."""
    return list({cut.tool.number: cut.tool for planned in plans for cut in planned.passes}.values())


# Dials, program, cautions


def dials(lathe: Lathe, maker: RowMaker, figures: Figures) -> Iterator[Block]:
    """Say how both slides are set, leaving out one that a control moves and that has neither dial nor readout."""
    if maker.has(lathe.x):
        yield x_dial(lathe, maker.scales, figures)
    if maker.has(lathe.z):
        yield z_dial(lathe, maker.scales, figures)
    if maker.starts:
        reads = {"dial": "DIAL", "readout": "READOUT", "none": "SLIPS"}[lathe.z.reading]
        words = ", ".join(f"{start}: {reading}" for start, reading in maker.starts.items())
        yield Fact(label=f"FROM BY {reads}", words=words)


def _program(plan: Plan, planned: SettingPlan) -> Iterator[Block]:
    """Name the program that makes the same passes."""
    control = plan.shop.lathe.control
    if control.kind == "stepper":
        words = "radii" if control.x_words == "radius" else "diameters"
        yield Fact(label="PROGRAM", words=f"setting-{planned.setting.number}.ngc, X in {words}; starts at any N.")


def cautions(plan: Plan, planned: SettingPlan, maker: RowMaker, figures: Figures, closest: str) -> Iterator[Block]:
    """Yield the cautions of this setting."""
    setting = planned.setting
    what = "carrier" if setting.carrier else "jaws"
    ends = " and ".join(_place(z, maker.scales.z, figures) for z in travel(planned))
    yield Caution(
        words=f"Spindle off, X clear, tool to {ends}: turn the work round by hand, {what}, holder and post must clear."
    )
    if setting.carrier:
        yield Caution(words="Carrier covered, sleeves and hands away.")
    if closest:
        yield Caution(words=f"Closest: {plain(closest)}.")
    if maker.coarse:
        named = ", ".join(dict.fromkeys(plain(name) for name in maker.coarse))
        yield Caution(words=f"Dial coarser than the limits of {named}: measure, creep up on it, stone to size.")


def _place(z: float, scale: SlideScale, figures: Figures) -> str:
    """Say a Z, with its reading where the dial shows it."""
    reading = scale.mark(z, "near")
    if not reading.text or reading.text.startswith("-") or scale.slide.reading != "dial" or "-" in reading.text:
        return f"Z {figures.place(z)}"
    return f"Z {figures.place(reading.at)} ({reading.text})"


def travel(planned: SettingPlan) -> tuple[float, float]:
    """Return the least and greatest Z that the tool's point reaches in the passes of a setting, mm."""
    places = [p.z for c in planned.passes for p in (*c.approach, *c.leave)]
    places += [p.z for c in planned.passes for s in c.path for p in (s.start, s.end)]
    return min(places), max(places)
