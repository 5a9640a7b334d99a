"""Where the tailstock centre is set again, because roughing has warmed the work: sheet and program both ask for it."""

from __future__ import annotations

from cam.plan.model import SettingPlan


def warm_before(plan: SettingPlan) -> frozenset[int]:
    """Return the numbers of the passes before which the tailstock centre is slackened and set again.

    Those are the first to finish anything after roughing; none where no tailstock centre stands in the work.
    """
    if plan.setting.tail_centre is None:
        return frozenset()
    found, roughed = set(), False
    for cut in plan.passes:
        if cut.kind == "rough":
            roughed = True
        elif roughed and cut.kind in ("semi-finish", "finish"):
            roughed = False
            found.add(cut.number)
    return frozenset(found)
