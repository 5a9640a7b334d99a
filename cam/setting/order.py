"""Which end is turned first, and which sections with it."""

from __future__ import annotations

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, problem
from cam.part.checks import is_groove
from cam.part.features import End
from cam.part.model import EndHolding, Part
from cam.setting.words import say


@frozen
class Halves:
    """The part's sections, by the end from which they can be turned.

    An undercut between two larger sections belongs to neither end: it is cut with the section outward of it.

    Attributes:
        a: indices of the sections that can be turned only from the A end, from that end inward.
        b: likewise for the B end.
        group: the thickest cylinders side by side, or with a groove between them, in order from A; either end
            will do for them. Empty where the thickest section is a taper, which is then the last of a or b.
        bought: True where the group is left as stock.
    """

    a: tuple[int, ...]
    group: tuple[int, ...]
    b: tuple[int, ...]
    bought: bool

    def of(self, end: End) -> tuple[int, ...]:
        """Return the sections that can be turned only from this end, from it inward."""
        return self.a if end == "A" else self.b


def other(end: End) -> End:
    """Return the opposite end."""
    return "B" if end == "A" else "A"


def both_ends(part: Part) -> tuple[tuple[End, EndHolding | None], ...]:
    """Return how the part is held while each end is turned."""
    return ("A", part.holding.end_a), ("B", part.holding.end_b)


def find_halves(part: Part) -> Halves:
    """Divide the part at its thickest section."""
    sections, top = part.sections, part.thickest
    size = sections[top].thickest
    if not sections[top].as_stock and sections[top].is_taper:
        cut = top + 1 if sections[top].diameter_b > sections[top].diameter_a else top
        return Halves(
            a=_solid(part, range(cut)), group=(), b=_solid(part, range(len(sections) - 1, cut - 1, -1)), bought=False
        )
    end = top
    while (n := _next_solid(part, end)) is not None and sections[n].diameter_a == sections[n].diameter_b == size:
        end = n
    group = _solid(part, range(top, end + 1))
    bought = all(sections[i].as_stock for i in group)
    after = _solid(part, range(len(sections) - 1, end, -1))
    return Halves(a=_solid(part, range(top)), group=group, b=after, bought=bought)


def _next_solid(part: Part, index: int) -> int | None:
    """Return the next section toward the B end, past a groove between the two; None after the last."""
    found = index + 2 if index + 1 < len(part.sections) and is_groove(part, index + 1) else index + 1
    return found if found < len(part.sections) else None


def _solid(part: Part, indices: range) -> tuple[int, ...]:
    return tuple(i for i in indices if not is_groove(part, i))


Share = tuple[tuple[int, ...], tuple[int, ...]]
"""The indices turned in the first and in the last setting, each from its end inward."""


def share_sections(halves: Halves, first: End) -> tuple[Share, ...]:
    """Return the ways to share the sections between the settings, the better one first.

    The thickest sections go with the first setting, which leaves a finished shoulder to measure from, unless
    they reach to the last end: then the last setting can turn their edges there. The other way is kept
    for where a carrier has no room.
    """
    early, late = halves.of(first), halves.of(other(first))
    group = halves.group if first == "A" else tuple(reversed(halves.group))
    if halves.bought or not group:
        return ((early, late),)
    with_first = ((*early, *group), late)
    with_last = (early, (*late, *reversed(group)))
    if not early:
        return (with_first,)
    return (with_first, with_last) if late else (with_last, with_first)


def implied_first(part: Part, halves: Halves) -> tuple[End, str] | None:
    """Return the end that must be turned first by what the carriers may grip, and why; None if that is open.

    While the first end is turned, there is bare stock to grip and nothing finished; later it is the other way round.
    """
    found: dict[End, str] = {}
    bought = any(s.as_stock for s in part.sections)
    for end, holding in both_ends(part):
        grip = holding.grip if holding is not None else ""
        if grip == "stock" and not bought:
            found.setdefault(end, "while it is turned, the carrier is to grip the stock")
        names = [
            part.sections[i].name for i in (*halves.of(other(end)), *halves.group) if not part.sections[i].as_stock
        ]
        if grip in names:
            found[other(end)] = f'while the {end} end is turned, the carrier is to grip "{grip}"'
    return next(iter(found.items())) if len(found) == 1 else None


def weakness(part: Part, halves: Halves, end: End) -> float:
    """Return how easily an end bends: the sum of length / diameter**4 of its finished sections, mm**-3.

    The bending of a round bar under a given moment goes with length / diameter**4 (Euler and Bernoulli); the
    factor 64 / (pi E) is the same for both ends.
    """
    sections = (part.sections[i] for i in halves.of(end))
    return sum((s.end - s.start) / min(s.diameter_a, s.diameter_b) ** 4 for s in sections)


def tell_weakness(part: Part, halves: Halves) -> str:
    """Say the weakness of both ends in words."""
    words = []
    for end in ("A", "B"):
        names = [part.sections[i] for i in halves.of(end)]
        thin = min((min(s.diameter_a, s.diameter_b) for s in names), default=0.0)
        least = f", down to {say(thin, part)}" if names else ""
        words.append(f"{weakness(part, halves, end):.3g} at the {end} end{least}")
    return f"sum of length / diameter^4 {words[0]}; {words[1]}"


def check_halves_meet(part: Part, first: tuple[int, ...], last: tuple[int, ...]) -> list[Problem]:
    """Check that the two settings meet at a shoulder: a joint in a smooth surface would show."""
    if not first or not last:
        return []
    i, j = sorted((first[-1], last[-1]))
    one, two = part.sections[i], part.sections[j]
    if j != i + 1 or one.diameter_b != two.diameter_a:
        return []
    what = f'"{one.name}" and "{two.name}" meet at one diameter, but are turned in different settings'
    given = f"{say(one.diameter_b, part)} at both sides of the joint"
    fix = f"put a short cylinder of {say(one.diameter_b + 0.2, part)} or more between them, or a step"
    return [problem(two.where, what, given, "a step where the settings meet", fix)]
