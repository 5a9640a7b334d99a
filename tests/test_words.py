"""The trade's words hold: no text for a person says a word that has been replaced by the trade's own.

Every string in cam/ and posts/ and every template is searched, docstrings and comments left out. What may say such
a word nevertheless stands in EXCUSED, with its reason.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from tests.test_layers import nodes_of

ROOT = Path(__file__).parent.parent

REPLACED = {
    r"lost motion": "backlash",
    r"root of squares": "root-sum-square, likely spread",
    r"\b(err|errs|aim|aimed) long\b": "leave it full",
    r"fixed cent(re|er)": "dead centre",
    r"rotating cent(re|er)": "revolving centre",
    r"driving plate": "catch plate",
    r"side play": "side shake",
    r"\breliefs?\b": "undercut",
    r"\bround \d|\bedges? round\b": "radius",
    r"\bsemi\b(?!-finish)": "semi-finish",
    r"\btak(e|en|ing) up again\b": "starting again at a pass",
    r"\bnoughts?\b|\b(of|as|to|minus) nothing\b": "zero",
    r"(?<!cam[./])\bjudg(e|es|ed|ing|e?ment)\b": "checked",  # the room is called so
    r"\bmend(s|ed|ing)?\b": "fix",
    r"\bwritten, whole\b": "complete",
    r"\bworks? of the mill\b|\bthe mill's works?\b": "milling operation",
    r"\bprogram texts?\b": "program",
    r"\bspare\b": "extra length",
    r"\bangle\b.{0,12}\bfree\b": "any",
    r"\bleft standing\b|\bleft.?overs?\b": "uncut",
    r"\bpending\b|\bwait(s|ing)? for\b": "to be measured",
    r"\bset it to so much less\b|\bso much (less|more|thicker|thinner)\b(?! that)": "subtract the difference",
}
"""What is no longer said, and what is said in its place."""
ANY = re.compile("|".join(REPLACED), re.IGNORECASE)

EXCUSED = {
    ("cam/cli/__init__.py", "judging"): "the name of a module",
    ("cam/plan/choose.py", " to spare)"): "room, not metal",
    ("posts/pages/__init__.py", "judge X"): "an estimate by eye; until the page is blocks",
    ("posts/pages/__init__.py", "semi"): "a column too narrow for the word; until the page is blocks",
    ("posts/print_words.py", "semi"): "a column too narrow for the word; until the page is blocks",
}
"""By file and by a piece of the text: why it may say so."""


def texts_of(path: Path) -> Iterator[tuple[int, str]]:
    """Every string of a module that is no docstring, with its line; of f-strings their fixed pieces.

    What the command line's docstrings say, its help says.
    """
    nodes = nodes_of(path)
    silent = {id(n.value) for n in nodes if isinstance(n, ast.Expr) and isinstance(n.value, ast.Constant)}
    if path.parent.name == "cli":
        silent = {id(n.body[0].value) for n in nodes if isinstance(n, ast.Module) and n.body}  # type: ignore[attr-defined]
    for node in nodes:
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            yield node.lineno, node.value


def lines_of(path: Path) -> Iterator[tuple[int, str]]:
    """Every line of a template without its comments."""
    text = re.sub(r"\{#.*?#\}|/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    for number, line in enumerate(text.splitlines(), 1):
        yield number, re.sub(r"(^|\s)//.*", "", line) if path.suffix == ".js" else line


def said(path: Path) -> Iterator[str]:
    name = path.relative_to(ROOT).as_posix()
    for line, text in texts_of(path) if path.suffix == ".py" else lines_of(path):
        for pattern, better in REPLACED.items() if ANY.search(" ".join(text.split())) else ():
            for found in re.finditer(pattern, " ".join(text.split()), re.IGNORECASE):
                if not any(file == name and piece in text for file, piece in EXCUSED):
                    yield f"{name}:{line}: {found[0]!r} in {text[:90]!r}; say {better!r}"


FILES = sorted(
    path
    for pattern in (
        "cam/**/*.py",
        "posts/**/*.py",
        "cam/**/*.json",
        "templates/*",
        "samples/*.toml",
        "[a-z]*/README.md",
        "cam/*/README.md",
        "README.md",
    )
    for path in ROOT.glob(pattern)
    if path.is_file() and path.suffix != ".pyc"
)


def test_no_text_says_a_word_that_has_been_replaced() -> None:
    assert not [found for path in FILES for found in said(path)]
