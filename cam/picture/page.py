"""The page that steps through a job: one HTML file with everything in it, which asks for nothing from anywhere.

The script is plain JavaScript, in the order of SCRIPTS. The page forbids itself every request, and every script and
style but its own two, by their hashes (W3C, Content Security Policy Level 3, 2.3.1, hash-source).
"""

from __future__ import annotations

import hashlib
import json
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from cam.ground.version import VERSION
from cam.picture.draft import clean
from cam.plan.choose import BETWEEN
from posts.environment import TEMPLATES, find_markup

if TYPE_CHECKING:
    from cam.ground.problem import Problem
    from cam.part.model import Part

SCRIPTS = (
    "view_shapes.js", "view_words.js", "view_labels.js", "view_figure.js", "view_mill.js", "view_trace.js", "view.js",
    "view_play.js", "view_hands.js",
)  # fmt: skip
"""The scripts in the order in which they stand on the page; the last one begins."""


def draw_page(part: Part, views: Sequence[dict[str, Any]], problems: Sequence[Problem]) -> str:
    """Make the whole page as HTML text.

    Args:
        part: part whose page it is.
        views: one for each setting or other thing to step through, as `turning_data` makes them.
        problems: why the job may not be cut; empty where it may.

    Returns:
        HTML 5; the same input gives the same bytes.
    """
    name = clean(part.name)
    data = {
        "name": name,
        "unit": part.unit,
        "problems": [_problem(p) for p in problems],
        "views": list(views),
    }
    script, style = _joined(SCRIPTS), _read("view.css")
    return find_markup("view.html.j2").render(
        title=name, refused=bool(problems), version=VERSION, policy=policy_of(script, style), style=style,
        script=script, data=embed(data),
    )  # fmt: skip


def _problem(problem: Problem) -> dict[str, Any]:
    """Return a problem with its ways out one by one; the file by name only, so that the page is the same anywhere."""
    where = replace(problem.where, path=PurePath(problem.where.path).name)
    return {
        "where": clean(str(where)),
        "file": clean(where.path),
        "line": where.line,
        "what": clean(problem.what),
        "given": clean(problem.given),
        "allowed": clean(problem.allowed),
        "fix": [clean(m) for m in problem.fix.split(BETWEEN) if m.strip()],
    }


def embed(data: Any) -> str:
    """Write data as JSON that may stand in a script element: nothing in it can end the element or begin another."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def policy_of(script: str, style: str) -> str:
    """Return the Content-Security-Policy of a page: it may run this script and wear this style alone."""
    only = f"script-src '{_hash(script)}'; style-src '{_hash(style)}'"
    return f"default-src 'none'; {only}; base-uri 'none'; form-action 'none'"


def _hash(text: str) -> str:
    return "sha256-" + b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _joined(names: Sequence[str]) -> str:
    """Join scripts into one, in a function of its own so that nothing of them is seen from outside."""
    return '"use strict";(() => {\n' + "".join(_read(name) for name in names) + "})();\n"


@lru_cache(maxsize=8)
def _read(name: str) -> str:
    return (TEMPLATES / name).read_text(encoding="utf-8")
