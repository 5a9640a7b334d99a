"""The sheet of one setting, as blocks: drawing, how the work is held, zeros, dials, cautions, rows, what follows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cam.geometry.path import ends_of
from cam.ground.figures import Figures
from cam.ground.frozen import Row
from cam.plan.model import Plan, SettingPlan
from cam.plan.warn_size import bar_behind
from cam.setting.model import Setting
from cam.shop.model import Lathe, Tool
from posts.pages.after import counted_from, cut_off, edges_left, finished_sizes, finishing, made_length, measured_once
from posts.pages.blocks import Block, Drawing, Page
from posts.pages.cuts import RowMaker
from posts.pages.dial_words import x_dial, z_dial
from posts.pages.foot import foot_of, in_both
from posts.pages.landed import as_landed
from posts.pages.readings import SlideScale
from posts.pages.script import blocks_of
from posts.wording import plain

LANDS = 0.02
"""How near a dial lands to its plan, mm."""
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
    once = tuple(measured_once(left, figures, rows))
    landed = finished_before(plan, index, figures)
    later = said.milled and plan.part.goes_back
    finished = landed if later else tuple(map(once_stoned, landed))
    then = plan.settings[index + 1].setting if index + 1 < len(plan.settings) else None
    part, lathe = plan.part, plan.shop.lathe
    own: dict[str, Iterable[Block]] = {
        "drawing": [Drawing(kind="setting", setting=left, finished=finished)],
        "dials": dials(lathe, maker, figures), "rows": rows, "measured": once,
        "strip": [Drawing(kind="strip", setting=left), Drawing(kind="bar")],
    }  # fmt: skip
    blocks = blocks_of(
        "setting", own, setting=setting, left=left, once=once, then=then, part=part, lathe=lathe, figures=figures,
        holding=part.holding, gripped=_gripped(setting, landed, finished),
        datum=plain(setting.datum_words).removeprefix("Z zero is "),
        finished_there=any(f'"{s.name}"' in setting.grip and s.role != "square blank" for s in part.sections),
        tools=tools_of([planned]), rear=REAR, starts=maker.starts, closest=said.closest, milled=said.milled,
        travel=[_place(z, maker.scales.z, figures) for z in travel(planned)],
        coarse=list(dict.fromkeys(map(plain, maker.coarse))), finishing=finishing,
        thread_by_hand=any(s.by == "die" for s in part.threads) or plan.settings[-1].setting.hand_threads,
        length=figures.place(made_length(plan)), cut_off=[*cut_off(plan, figures), *edges_left(plan.part)],
        counted_from=counted_from(part, left, then, figures), behind=bar_behind(part, setting),
    )  # fmt: skip
    return Page(
        kind="setting",
        title=f"SETTING {setting.number} of {plan.count}, {setting.end} END",
        part=plain(plan.part.name),
        blocks=in_both(blocks),
        number=setting.number,
        foot=foot_of(plan),
    )


def finished_before(plan: Plan, index: int, figures: Figures) -> tuple[Setting, ...]:
    """Return the earlier settings with the diameters that they leave as their dials land."""
    earlier = plan.settings[:index]
    return tuple(as_landed(planned.setting, RowMaker(plan, planned, figures).lands(), {}) for planned in earlier)


def once_stoned(setting: Setting) -> Setting:
    """Return an earlier setting with its cylinders as file, stone and burnisher leave them."""
    sizes = {
        t.section.name: min(2 * t.radius_near, finished_sizes(t.section, setting.end)[0])
        for t in setting.turned
        if t.section.finish.route[1:]
    }
    return as_landed(setting, sizes, {})


def _gripped(setting: Setting, landed: Sequence[Setting], finished: Sequence[Setting]) -> float:
    """Return the diameter that is gripped, mm, as an earlier setting has left it; extra length is not finished."""
    for as_turned, as_finished in zip(landed, finished, strict=True):
        for t, then in zip(as_turned.turned, as_finished.turned, strict=True):
            if not t.is_taper and abs(2 * t.radius_near - setting.grip_diameter) < LANDS:
                return 2 * (then if setting.grip == f'"{t.section.name}"' else t).radius_near
    return setting.grip_diameter


def tools_of(plans: Sequence[SettingPlan]) -> list[Tool]:
    """Return the tools in the order in which they come into use."""
    return list({cut.tool.number: cut.tool for planned in plans for cut in planned.passes}.values())


def dials(lathe: Lathe, maker: RowMaker, figures: Figures) -> Iterator[Block]:
    """Say how both slides are set, leaving out one that a control moves and that has neither dial nor readout."""
    if maker.has(lathe.x):
        yield x_dial(lathe, maker.scales, figures)
    if maker.has(lathe.z):
        yield z_dial(lathe, maker.scales, figures, anew=touched_anew(maker.planned))


def touched_anew(planned: SettingPlan) -> bool:
    """Tell whether a tool is touched on the work again: another one, or the same with the top slide set over."""
    tools = {cut.tool.number for cut in planned.passes}
    return len(tools) > 1 or any(t.is_taper for t in planned.setting.turned)


def _place(z: float, scale: SlideScale, figures: Figures) -> str:
    """Say a Z, with its reading where the dial shows it."""
    reading = scale.mark(z, "near")
    if not reading.text or reading.text.startswith("-") or scale.slide.reading != "dial" or "-" in reading.text:
        return f"Z {figures.place(z)}"
    return f"Z {figures.place(reading.at)} ({reading.text})"


def travel(planned: SettingPlan) -> tuple[float, float]:
    """Return the least and greatest Z that the tool's point reaches in the passes of a setting, mm."""
    places = [p.z for c in planned.passes for p in (*c.approach, *c.leave)]
    places += [p.z for c in planned.passes for p in ends_of(c.path)]
    return min(places), max(places)
