"""How any text is written in plain ASCII: what is printed, and by what a judge knows a name again in a text."""

from __future__ import annotations

import re
from unicodedata import normalize

_SIGNS = str.maketrans({
    "×": "x", "·": ".", "–": "-", "—": "-", "−": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "…": "...", "°": " deg",
    "ø": "o", "Ø": "O", "⌀": "dia ", "µ": "u", "μ": "u", "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE",
    "đ": "d", "ł": "l", "Ł": "L", "±": "+/-", "≤": "<=", "≥": ">=", "⁄": "/", "\u00a0": " ",
})  # fmt: skip
"""Signs other than accented letters, and what stands for them in plain ASCII."""


def in_ascii(text: str) -> str:
    """Return the text in printable ASCII on one line.

    Accents are taken off, control characters become spaces, and "?" stands for a sign without a likeness.
    """
    if not text.isascii():
        text = normalize("NFKD", text.translate(_SIGNS))
        text = "".join(c for c in text.translate(_SIGNS) if not 0x300 <= ord(c) < 0x370)
    if text.isprintable() and text.isascii():
        return text
    return re.sub("[^ -~]", "?", re.sub(r"[\s\x00-\x1f\x7f]", " ", text))



def known_by(name: str) -> str:
    """Return a name's letters and figures as they are printed, small: two spellings of it are one by these."""
    return "".join(c for c in in_ascii(name).lower() if c.isalnum())
