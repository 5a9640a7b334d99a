"""The trade's words, British beside American, in one table for what is printed and for reading what was typed.

What is printed is British, and the American word stands in brackets where the term first stands on a page: "carrier
(dog)". Where a person types, both are taken. Words that both sides of the ocean share are not in the table.

Source: workshop usage, common practice, no source; every row is in everyday use in either language.
"""

from __future__ import annotations

import re
from functools import cache

AMERICAN = {
    "aluminium": "aluminum",
    "callipers": "calipers",
    "carrier": "dog",
    "catch plate": "drive plate",
    "dead centre": "dead center",
    "half centre": "half center",
    "parting tool": "cutoff tool",
    "revolving centre": "live center",
    "second tap": "plug tap",
    "silver steel": "drill rod",
    "slip gauges": "gauge blocks",
    "slips": "gauge blocks",
}
"""The American term for each British one; singular, except for what is only spoken of in the plural."""

TYPED = {
    "between centers": "between centres",
    "center": "centre",
    "centers": "centres",
    "dead": "plain",
    "dro": "readout",
    "handwheel": "dial",
    "hard": "plain",  # a centre, hardened or left soft
    "high speed steel": "HSS",
    "high-speed steel": "HSS",
    "inch": "in",
    "imperial": "in",
    "inches": "in",
    "metric": "mm",
    "millimeters": "mm",
    "millimetres": "mm",
    "live": "revolving",
    "manual": "hand",
    "soft": "plain",
    "solid": "plain",
    "tungsten carbide": "carbide",
    "plug": "second",  # a tap's lead; some in Britain call the bottoming tap so, which is why the page says both words
}
"""The British word for each American one that is taken where a person types but never printed; also parts of terms."""

_BRITISH = {american: british for british, american in reversed(AMERICAN.items())} | TYPED


def both(term: str) -> str:
    """Return the term with its American word in brackets, as it first stands on a page: "carrier (dog)".

    Args:
        term: British, as in the table; a term that is not in the table is the same in both and is returned as it is.
    """
    american = AMERICAN.get(term)
    return term if american is None else f"{term} ({american})"


def british(word: str) -> str:
    """Return the British term for what a person typed, in either language: "Live Center" gives "revolving centre".

    Args:
        word: a whole term, not a sentence; capitals and outer spaces do not matter in an American one. A word that is
            no American term of the table is returned as it is.
    """
    return _BRITISH.get(" ".join(word.lower().split()), word)


@cache
def _terms() -> re.Pattern[str]:
    longest = sorted(AMERICAN, key=len, reverse=True)
    return re.compile(rf'"[^"]*"|\b({"|".join(map(re.escape, longest))})(s?)\b(?! \()', re.IGNORECASE)


def say_both_once(text: str, said: set[str]) -> str:
    """Return the text with the American word in brackets after each term that has not been said yet on this page.

    What stands in double quotes is somebody's own name for a thing and is left as it is.

    Args:
        text: a page, or a part of it; the parts of one page are given in their order.
        said: British terms that the page has explained; those of this text are added. Start a page with an empty set.
    """

    def explain(found: re.Match[str]) -> str:
        if found[1] is None or (term := found[1].lower()) in said:
            return found[0]
        said.add(term)
        return f"{found[0]} ({AMERICAN[term]}{found[2]})"

    return _terms().sub(explain, text)
