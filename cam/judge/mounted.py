"""What a program must say between the motions of two tools, so that a person mounts the second and sets it right."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from cam.ground.frozen import Row
from cam.judge.model import Finding
from cam.judge.report import find
from cam.rs274.halts import Halt, plain
from cam.rs274.model import MOVING, Motion
from cam.shop.machine import Facts

MOUNTS = re.compile(r"\bMOUNT TOOL ([0-9]{1,2})\b")
IN_POST = re.compile(r" TOOL ([0-9]{1,2}) IN THE POST ")


class MustSay(Row):
    """What a stop must say where all tools share one zero.

    Attributes:
        words: it must name one of these. unsaid: what is wrong where none does. first: whether for the first tool too.
    """

    words: tuple[str, ...]
    unsaid: str
    first: bool

    def missing(self, tool: int, halts: list[Halt]) -> str:
        """Say what is wrong with the stops before a tool; "" if one of them says it."""
        said = any(halt.names(*self.words) for halt in halts)
        return "" if said else f"goes on with tool {tool}: all tools share one zero, and {self.unsaid}"


ON_LATHE = MustSay(("set X and Z",), "no stop says to set X and Z anew", first=False)
ON_MILL = MustSay(("set now", "set its Z"), "no stop says what to set Z to for this one", first=True)


def check_tools(
    motions: Sequence[Motion], halts: Mapping[int, Halt], names: Mapping[int, str], facts: Facts, asked: MustSay,
    begun: str | None = None,
) -> Iterator[Finding]:  # fmt: skip
    """Check that the program stops between two tools for the second to be mounted. The first is there already.

    Where all tools share one zero, that stop tells a person to set it too.

    Args:
        names: number of a tool -> its name. begun: what a program begun at a pass says below its N line.
    """
    for motion, last, words in _changes(motions, halts):
        tool = motion.tool
        said = any(h.names(f"tool {tool}", f"T{tool}", f"T{tool:02d}", names.get(tool, "")) for h in words)
        what = _mounts_other(tool, words) if said else _not_mounted(tool, last, begun)
        if facts.tool_zeros == "one" and (last or (asked.first and begun is None)):
            what = what or asked.missing(tool, words)
        if what:
            yield find(motion.line, "tool change", what, tool=tool)


def _mounts_other(tool: int, halts: list[Halt]) -> str:
    """Say what is wrong where the last words that mount a tool mount another than the one that is called."""
    mounted = [int(n) for halt in halts for text in halt.said for n in MOUNTS.findall(plain(text))]
    other = mounted and mounted[-1] != tool
    return f"goes on with tool {tool}, and the stop before says to mount tool {mounted[-1]}" if other else ""


def _not_mounted(tool: int, last: int, begun: str | None) -> str:
    """Say what is wrong with a tool that no stop names; "" for the first, which is mounted already."""
    in_post = IN_POST.search(begun or "")
    if last:
        return f"goes on with tool {tool}, and no stop since tool {last} says to mount it"
    if in_post and int(in_post[1]) != tool:
        return f"begins with tool {tool}, and the words below the N line have tool {in_post[1]} in the post"
    return ""


def _changes(motions: Sequence[Motion], halts: Mapping[int, Halt]) -> Iterator[tuple[Motion, int, list[Halt]]]:
    """Yield each first motion of a tool, with the tool before, 0 for none, and the stops since that one's last."""
    last, words = 0, list[Halt]()
    for number, motion in enumerate(motions):
        if number in halts:
            words.append(halts[number])
        elif motion.kind in MOVING:
            if motion.tool != last:
                yield motion, last, words
            last, words = motion.tool, []
