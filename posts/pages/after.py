"""What follows the rows of a setting: burrs, later steps, what comes next, and what is measured once before those."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from cam.ground.figures import Figures
from cam.lengths.records import Target, left_on_faces, targets
from cam.lengths.solved import Solved
from cam.part.features import End
from cam.part.model import Part, Section
from cam.plan.model import Plan
from cam.setting.by_hand import edges_by_hand, finished_off
from cam.setting.model import Setting, Turned
from cam.setting.profiles import own_end_radius
from posts.pages.blocks import BLANK, Block, FigureTable, MeasureBlock, Words, of_kind
from posts.pages.figures import between, limits_of
from posts.pages.lists import listed
from posts.wording import plain

PAST = {"shoulder": "shoulder past ", "diameter": ""}
"""What stands before the name of a section, by what of it is measured."""


def made_length(plan: Plan) -> float:
    """Return the length of the complete part as it is to be made, mm."""
    return plan.part.length + plan.settings[0].setting.longer


def cut_off(plan: Plan, figures: Figures) -> list[str]:
    """Say how the extra lengths are cut off when all work between centres is done, before the mill's."""
    holding = plan.part.holding
    ends = (("A", holding.end_a), ("B", holding.end_b))
    extra = {n: figures.place(end.extra_length) for n, end in ends if end is not None and end.extra_length > 0}
    if not extra:
        return []
    same, both = len(set(extra.values())) == 1, len(extra) > 1
    where = (
        f"{extra['A']} at each end" if same and both else listed([f"{by} at the {n} end" for n, by in extra.items()])
    )
    when = "last of all" if plan.part.milled is None else "before the mill"
    return [
        f"{when}, saw or part off the extra length, {where}, {holes_off(plan)} and all, and dress to "
        f"{_dressed(plan, figures) if both else ''}{figures.place(made_length(plan))} over both ends; no "
        "work between centres after that"
    ]


def holes_off(plan: Plan) -> str:
    """Name the centre holes that come off with the extra lengths."""
    ends = (plan.part.holding.end_a, plan.part.holding.end_b)
    return "centre holes" if all(end is not None and end.extra_length > 0 for end in ends) else "centre hole"


def _dressed(plan: Plan, figures: Figures) -> str:
    """Say how long the one of two ends is dressed from its first shoulder; "" where no end has one."""
    for setting in (planned.setting for planned in plan.settings):
        finished = setting.turned[0].near - setting.turned[0].extra_length
        for t in setting.turned:
            if t.far_kind == "shoulder":
                return f"{figures.place(abs(finished - t.far))} from the {setting.end} end's shoulder, then "
    return ""


def faced_back(part: Part) -> str:
    """Say how a finished part is held to face a shoulder back at the fitting."""
    return "between the same centres" if part.holding.keeps_centres else "in a collet, running true,"


def edges_left(part: Part) -> list[str]:
    """Say which edges are made by hand once what is in their way, or what would take them off again, is off."""
    return [
        f"by hand the {e.end} end's edge of {plain(e.section.name)}"
        f"{', once to size' if finished_off(e.section, e.edge) else ''}: {plain(e.edge.text)}"
        for e in edges_by_hand(part)
    ]


def counted_from(part: Solved, left: Setting, then: Setting | None, figures: Figures) -> str:
    """Say which finished shoulders are measured and recorded before the next setting, "" for none."""
    wanted = [shoulder for shoulder in to_record(part, left, then) if not _is_recorded(part, shoulder)]
    if then is None or not wanted:
        return ""
    left_on = [(record_name(t.of), left_on_faces(part.sections, t)) for t in wanted]
    adds = "".join(
        f"; to {name} add the {figures.fine(more)} left on its face, unless that is off already"
        for name, more in left_on
        if more > 0
    )
    extra = left.turned[0].extra_length
    less = f", less the extra length {figures.place(extra)}" if extra > 0 else ""
    return (
        f"after setting {left.number} measure, from the faced {left.end} end{less}, and endshake record "
        f"{listed(record_name(t.of) for t in wanted)}{adds}; make again before setting {then.number}: its limits count "
        "from where they stand, not from where they were to"
    )


def to_record(part: Solved, left: Setting, then: Setting | None) -> list[Target]:
    """Return the finished shoulders from which the next setting counts its limits.

    A span that begins at the shoulder on which Z is zero then needs none.
    """
    shoulders = shoulders_of(left)
    if then is None or not then.spanned or not set(left.spanned) - {*shoulders[-1:]}:
        return []
    known = targets(part.sections, (), ())
    asked = [known.get(f"{n} shoulder") for n in shoulders if n in {*left.spanned, shoulders[-1]}]
    return [shoulder for shoulder in asked if shoulder is not None]


def shoulders_of(setting: Setting) -> list[str]:
    """Return the sections that end, in a setting, in a shoulder, from its tailstock end."""
    return [t.section.name for t in setting.turned if t.far_kind == "shoulder"]


def record_name(section: str) -> str:
    """Return the name, in quotes, under which the place of a section's shoulder is recorded."""
    return f'"{section} shoulder"'


def _is_recorded(part: Solved, shoulder: Target) -> bool:
    """Tell whether records give the place of a finished shoulder, under whatever names."""
    if part.measured is None:
        return False
    run = part.sections[shoulder.start : shoulder.end]
    kinds = {t.equation.kind for t in part.measured.chain.terms(run[0].name, run[-1].name)}
    return kinds <= {"actual", "total"}


def finishing(t: Turned, end: End, figures: Figures) -> str:
    """Say from which diameter to which a section is filed, stoned or burnished, of a taper at both ends.

    Args:
        end: the end of the part that was turned; a taper's diameters are said from it.
    """
    steps, limits, ends = listed(t.section.finish.route[1:]), limits_of(t.section, figures), 2 if t.is_taper else 1
    before = [figures.size(2 * radius) for radius in (t.end_radius, own_end_radius(t))][:ends]
    after = [figures.size(size) for size in finished_sizes(t.section, end)][:ends]
    within = f" ({limits})" if limits else ""
    if float(before[0]) <= float(after[0]):
        return f"{steps} lightly, only until the turning marks go, as it is {' / '.join(before)} already{within}"
    return f"{steps} {' / '.join(before)} to {' / '.join(after)}{within}"


def finished_sizes(section: Section, end: End) -> tuple[float, float]:
    """Return the diameters of a section once file, stone and burnisher are done, mm, the one toward an end first."""
    middle = section.tolerance.middle if section.tolerance else 0.0
    a, b = section.diameter_a + middle, section.diameter_b + middle
    return (a, b) if end == "A" else (b, a)


def measured_once(setting: Setting, figures: Figures, rows: Iterable[Block]) -> Iterator[Block]:
    """Yield the table of what is measured once, before later steps: all sizes without a measure after their last cut.

    It stands last, beside the strip, so the first words after the rows send a hand to it.

    Args:
        setting: as the slides leave it. rows: those of its page.
    """
    named = [((b.of, name), b) for b in of_kind(rows, MeasureBlock) for name in b.name.split(" and ")]
    done = {key for key, b in named if b.last}
    said: dict[tuple[str, str], str] = {key: f"({b.least} to {b.most})" for key, b in named if b.least}
    table = [
        (f"{PAST[of]}{name}", aim, limits, BLANK)
        for of, name, aim, limits in _sizes(setting, figures, said)
        if (of, name) not in done
    ]
    if table:
        yield Words(words="Once:")
        yield FigureTable(heads=("", "", "", ""), align="lrll", rows=tuple(table))


def _sizes(
    setting: Setting, figures: Figures, said: Mapping[tuple[str, str], str]
) -> Iterator[tuple[str, str, str, str]]:
    """Yield the sizes of a setting: of what, the section, its aim and limits; without its own, those said before."""
    for t in setting.turned:
        name = plain(t.section.name)
        aim, limits = _diameter(t, figures)
        before = said.get(("diameter", name), "") if not t.is_taper else ""
        yield "diameter", name, aim, limits or before
        if t.far_kind == "shoulder":
            aim, limits = _length(t, figures)
            yield "shoulder", name, aim, limits or said.get(("shoulder", name), "")


def _diameter(t: Turned, figures: Figures) -> tuple[str, str]:
    """Return the aim and limits of a diameter as turned."""
    if t.is_taper:
        aim, thin = f"{figures.size(2 * t.end_radius)} / {figures.size(2 * own_end_radius(t))}", t.size_limits
        return aim, f"({between(figures, *thin)} at the thin end)" if thin is not None else ""
    limits = t.section.turned_limits
    return figures.size(2 * t.radius_near), f"({between(figures, *limits)})" if limits is not None else ""


def _length(t: Turned, figures: Figures) -> tuple[str, str]:
    """Return the aim and limits of a shoulder's distance from Z 0."""
    if t.far_limits is None:
        return figures.place(abs(t.far)), ""
    limits = figures.limits_along(*t.far_limits)
    return figures.place(abs(t.far)), f"({' to '.join(limits)})"
