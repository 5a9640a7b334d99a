"""In which order a setting's operations are done: edges last of all, or beside their sections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import count

from cam.plan.bench import Bench
from cam.plan.model import Operation, Pass
from cam.plan.speeds import settle_speeds
from cam.plan.times import count_belts

Maybe = Sequence[Operation | None]


def settle_order(
    begun: Maybe, finishing: Sequence[Operation], edges: Sequence[tuple[int, Pass]], ended: Maybe, bench: Bench
) -> tuple[Operation, ...]:
    """Put all operations in order, settle their speeds and number their passes.

    Edges come after all finishing, as a hand swings the tool once for all of them; where a control makes the moves and
    it saves changing the belt, each comes beside its section.

    Args:
        begun, ended: the operations before and after finishing and edges. finishing: that of each run, the last run
            first.
        edges: each with the index of the run after whose finishing it can be cut.
    """
    last = Operation(name="break the edges", passes=tuple(p for _, p in edges))
    orders = [_settle([*begun, *finishing, last, *ended], bench)]
    if bench.shop.lathe.control.kind == "stepper":
        orders.append(_settle([*begun, *_beside(finishing, edges), *ended], bench))
    return min(orders, key=lambda done: count_belts([p for o in done for p in o.passes]))


def _beside(finishing: Sequence[Operation], edges: Sequence[tuple[int, Pass]]) -> list[Operation]:
    """Return every finishing operation with the edges that can be cut after it."""
    found: list[Operation] = []
    for index, operation in zip(range(len(finishing) - 1, -1, -1), finishing, strict=True):
        own = tuple(p for after, p in edges if after == index)
        name = "break the edges beside " + operation.name.removeprefix("finish ")
        found += [operation, Operation(name=name, passes=own)]
    return found


def _settle(operations: Maybe, bench: Bench) -> tuple[Operation, ...]:
    """Return the operations that have passes, at speeds for the least time, numbered through."""
    kept = [o for o in operations if o is not None and o.passes]
    number = count(1)
    numbered = [replace(o, passes=tuple(replace(p, number=next(number)) for p in o.passes)) for o in kept]
    return settle_speeds(numbered, bench.shop, bench.material)
