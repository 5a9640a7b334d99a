"""What follows the rows of a setting: burrs, later steps, what comes next, and what is measured once at the end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cam.ground.figures import Figures
from cam.plan.model import Plan
from cam.setting.model import Setting, Turned
from posts.pages.blocks import BLANK, Block, FigureTable, Head, MeasureBlock, Words
from posts.pages.figures import limits_of
from posts.pages.lists import listed, sentence
from posts.screw_pages import next_words as screw_next
from posts.wording import plain


def after_blocks(
    plan: Plan, index: int, setting: Setting, figures: Figures, milled: Sequence[str], rows: Iterable[Block]
) -> Iterator[Block]:
    """Yield what follows the last row of a setting; setting is given as the slides leave it."""
    yield Head(words="AFTERWARDS")
    yield Words(words="Burrs off. Let it cool before a length is measured.")
    yield from _later(plan, setting, figures, milled)
    yield from (Words(words=words) for words in next_words(plan, index, figures, milled))
    yield from _at_the_end(setting, figures, rows)


def _later(plan: Plan, setting: Setting, figures: Figures, milled: Sequence[str]) -> Iterator[Block]:
    """Say what file, stone and burnisher still do, when and how."""
    for t in setting.turned:
        route = t.section.finish.route[1:]
        if not route:
            continue
        end = t.section.diameter_a if setting.end == "A" else t.section.diameter_b
        done = end + (t.section.tolerance.middle if t.section.tolerance else 0.0)
        limits = limits_of(t.section, figures)
        sizes = f"{figures.size(2 * t.end_radius)} to {figures.size(done)}{f' ({limits})' if limits else ''}"
        face = t.section.finish.on_face
        off = f", and {figures.fine(face)} off the shoulder's face" if face else ""
        what = f"{plain(t.section.name)}: {listed(route)} {sizes}{off}, {later_when(plan, milled)}"
        yield Words(words=sentence(what))


def later_when(plan: Plan, milled: Sequence[str]) -> str:
    """Say when file, stone and burnisher follow.

    Args:
        milled: what the mill cuts before that, by name.
    """
    if milled:
        cut = f"{listed(milled)} {'are' if len(milled) > 1 else 'is'} cut"
        when = f"once {cut}, back between the same centres"
    elif plan.part.holding.method == "between centres":
        when = "now, between the same centres"
    elif plan.part.holding.part_off == "blade":
        when = "before the last pass parts it off, in the same hold"
    else:
        when = "now, in the same hold"
    return f"{when}, at the slowest speed."


def next_words(plan: Plan, index: int, figures: Figures, milled: Sequence[str]) -> Iterator[str]:
    """Say what follows this setting."""
    if index + 1 < len(plan.settings):
        then = plan.settings[index + 1].setting
        if then.carrier is not None:
            yield (
                f"Turn end for end: {plain(then.carrier.name)} on {plain(then.grip)}, {then.end} end to the tailstock; "
                "wipe centres and holes first."
            )
        return
    if plan.part.to_be_measured:
        yield f"STOP HERE: {plain(listed(plan.part.to_be_measured))} is to be measured: MEASURE NEXT, the last page."
        return
    if milled and plan.part.milled is not None:
        yield f"Now the mill: {listed(milled)}, by the pages that follow."
    yield from _end_words(plan, figures)
    yield "Wash off grit and oil before any pivot meets its hole."


def _end_words(plan: Plan, figures: Figures) -> Iterator[str]:
    """Say how the part comes off its bar, or how its extra lengths are cut off."""
    length = figures.place(made_length(plan))
    if plan.part.screwed is not None:
        yield screw_next(plan)
    elif plan.part.holding.part_off == "blade":
        yield f"The last pass has parted it off, {length} from the finished end: dress that end of its pip."
    elif plan.part.holding.part_off == "saw":
        yield f"Saw it off last, a little more than {length} from the finished end, and dress that end to length."
    elif plan.part.holding.method != "between centres":
        yield f"Saw or part it off last, {length} from the finished end, and dress that end."
    yield from (f"{text[0].upper()}{text[1:]}." for text in cut_off(plan, figures))


def made_length(plan: Plan) -> float:
    """Return the length of the complete part as it is to be made, mm."""
    return plan.part.length + plan.settings[0].setting.longer


def cut_off(plan: Plan, figures: Figures) -> list[str]:
    """Say how the extra lengths are cut off when all work between centres is done."""
    holding = plan.part.holding
    extra = [
        f"{figures.place(end.extra_length)} at the {name} end"
        for name, end in (("A", holding.end_a), ("B", holding.end_b))
        if end is not None and end.extra_length > 0
    ]
    if not extra or holding.method != "between centres":
        return []
    return [
        f"last of all, saw or part off the extra length, {listed(extra)}, centre holes and all, and dress to "
        f"{figures.place(made_length(plan))} over both ends; no work between centres after that"
    ]


def _at_the_end(setting: Setting, figures: Figures, rows: Iterable[Block]) -> Iterator[Block]:
    """Yield the table of what is measured once at the end: all sizes without a measure after their last cut."""
    named = [(b, name) for b in rows if isinstance(b, MeasureBlock) for name in b.name.split(" and ")]
    done = {(b.of, name) for b, name in named if b.last}
    said = {(b.of, name): f"({b.least} to {b.most})" for b, name in named if b.least}
    table = []
    for t in setting.turned:
        name = plain(t.section.name)
        if ("diameter", name) not in done:
            aim, limits = _diameter(t, figures)
            even = t.radius_near == t.radius_far
            table.append((name, aim, limits or (said.get(("diameter", name), "") if even else ""), BLANK))
        if t.far_kind == "shoulder" and ("shoulder", name) not in done:
            aim, limits = _length(t, figures)
            table.append((f"shoulder past {name}", aim, limits or said.get(("shoulder", name), ""), BLANK))
    if table:
        yield Words(words="Once, at the end:")
        yield FigureTable(heads=("", "", "", ""), align="lrll", rows=tuple(table))


def _diameter(t: Turned, figures: Figures) -> tuple[str, str]:
    """Return the aim and limits of a diameter as turned."""
    if t.radius_near != t.radius_far:
        return f"{figures.size(2 * t.end_radius)} / {figures.size(2 * t.radius_far)}", ""
    if t.section.tolerance is None:
        return figures.size(2 * t.radius_near), ""
    nominal = t.section.diameter_a + t.section.finish.on_diameter
    limits = figures.limits(nominal + t.section.tolerance.lower, nominal + t.section.tolerance.upper)
    return figures.size(2 * t.radius_near), f"({' to '.join(limits)})"


def _length(t: Turned, figures: Figures) -> tuple[str, str]:
    """Return the aim and limits of a shoulder's distance from Z 0."""
    if t.far_limits is None:
        return figures.place(abs(t.far)), ""
    limits = figures.limits_along(*t.far_limits)
    return figures.place(abs(t.far)), f"({' to '.join(limits)})"
