"""A lathe's known cone, taken into account: what is left of each section when its middle comes out right.

Between centres, a lathe whose tailstock stands off the axis turns every cylinder into a cone. X is set true at one
place (`Setting.cone_z`); what is turned elsewhere comes out larger or smaller. Each run gets one correction of X, at
its middle, and keeps the cone itself: by hand that is one setting of the dial, and no slide with stick and play follows
a slope of a fraction of a micrometre per millimetre.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cam.setting.model import Setting, Turned


def cone_radius(setting: Setting, z: float) -> float:
    """Return how much larger than X says a radius turned at z comes out, mm; zero if no cone is taken into account."""
    return setting.cone / 2 * (z - setting.cone_z)


def runs_of(turned: Sequence[Turned]) -> Iterator[tuple[Turned, ...]]:
    """Yield the sections that are turned in one go: neighbours that are cylinders of one radius."""
    run: list[Turned] = []
    for t in turned:
        if run and not (run[-1].far_kind == "level" and not (run[-1].is_taper or t.is_taper)):
            yield tuple(run)
            run = []
        run.append(t)
    yield tuple(run)


def lean(turned: Sequence[Turned], cone: float) -> tuple[Turned, ...]:
    """Return sections as a lathe with a cone leaves them, each run right at its middle.

    Args:
        cone: growth of the diameter toward the tailstock, mm per mm.
    """
    if not cone:
        return tuple(turned)
    leaning: list[Turned] = []
    for run in runs_of(turned):
        middle = (run[0].near + run[-1].far) / 2
        for t in run:
            near, far = (cone / 2 * (z - middle) for z in (t.near, t.far))
            face = t.far_radius if t.far_kind == "shoulder" else t.far_radius + far
            leaning.append(replace(t, radius_near=t.radius_near + near, radius_far=t.radius_far + far, far_radius=face))
    pairs = zip(leaning, [*leaning[1:], None], strict=True)
    return tuple(replace(t, far_radius=n.radius_near) if t.far_kind == "shoulder" and n else t for t, n in pairs)
