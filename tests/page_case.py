"""What both tests of the page need: its data, its outlines, and a browser to open it in."""

from __future__ import annotations

import json
import math
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

CHROMIUM = ("chromium", "chromium-browser")
"""Names under which Debian and its relatives install the browser."""

FLAGS = (
    "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


def data_of(page: str) -> dict[str, Any]:
    """Return the data that the page's script reads."""
    found = re.search(r'<script type="application/json" id="job">(.*?)</script>', page, re.S)
    assert found
    data: dict[str, Any] = json.loads(found[1])
    return data


def heights(pieces: list[list[float]], end: float, z: float) -> float:
    """Return the height at z of an outline of the page's data."""
    for k, (start, low, high, *arc) in enumerate(pieces):
        stop = pieces[k + 1][0] if k + 1 < len(pieces) else end
        if start < z < stop:
            if not arc:
                return low + (high - low) * (z - start) / (stop - start)
            r, half = abs(arc[0]), math.hypot(stop - start, high - low) / 2
            rise = math.sqrt(max(r * r - half * half, 0)) * math.copysign(1, arc[0])
            dz, dx = (stop - start) / (2 * half), (high - low) / (2 * half)
            cz, cx = (start + stop) / 2 + rise * dx, (low + high) / 2 - rise * dz
            return cx + math.copysign(math.sqrt(max(r * r - (z - cz) ** 2, 0)), arc[0])
    return math.nan


NUMBER = r"(-?\d+(?:\.\d+)?)"


def pieces_of(path: str) -> tuple[list[list[float]], float]:
    """Return the outline that a path of the page draws, as its data has it: pieces, and the z at the end."""
    pieces: list[list[float]] = []
    z = x = 0.0
    steps = re.findall(rf"M{NUMBER} {NUMBER}|L{NUMBER} {NUMBER}|A{NUMBER} {NUMBER} 0 0 ([01]) {NUMBER} {NUMBER}", path)
    assert "".join(re.findall("[A-Z]", path)) == "M" + re.sub("[^LA]", "", path) + "Z"
    for row in steps:
        numbers = [float(v) for v in row if v]
        to_z, to_x = numbers[-2], -numbers[-1] + 0.0
        if len(numbers) > 2:
            pieces.append([z, x, to_x, numbers[0] if numbers[2] else -numbers[0]])
        elif to_z > z and (row[2] or row[3]):
            pieces.append([z, x, to_x])
        z, x = to_z, to_x
    return pieces, z


@contextmanager
def open_browser() -> Iterator[Any]:
    """Return Chromium as the system has it, without a window.

    Where there is none its tests are skipped, but fail where CI is set; NO_BROWSER holds a reason to skip there too.
    """
    path = next((found for name in CHROMIUM if (found := shutil.which(name))), None)
    if path is None:
        why = "no chromium here to open the page in: apt-get install chromium"
        if os.environ.get("CI") and not os.environ.get("NO_BROWSER"):
            pytest.fail(why)
        pytest.skip(why)
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - only where there is a browser

    root = getattr(os, "geteuid", lambda: 1)() == 0  # root cannot use the sandbox
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=list(FLAGS), chromium_sandbox=not root)
        yield browser
        browser.close()
