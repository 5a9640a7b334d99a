"""Letters: their heights, how much room a text takes, and what of it may stand in the picture."""

from __future__ import annotations

SIZES = {"title": 5.0, "verdict": 4.2, "end": 4.2, "distance": 3.6, "part": 2.9, "text": 2.8, "small": 2.6, "tick": 2.5}
"""Letter heights by style, mm: 2.5 mm is 7 point."""
BOLD = {"title", "verdict", "end", "distance", "part"}

_NARROW = dict.fromkeys("iIjlft.,:;'|!()[]{}-/\\ r\"", 0.38)
_WIDE = dict.fromkeys("mwMW@%", 0.95) | dict.fromkeys("ABCDEGHKNOPQRUVXYZ&+=<>~", 0.75)
_ADVANCE = _NARROW | _WIDE
"""Width of a character in ems, from above, for the wide sans-serif faces that the template asks for."""


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Room a text takes, mm, estimated from above."""
    return size * (1.1 if bold else 1.0) * sum([_ADVANCE.get(c, 0.65 if c < "\u0250" else 1.0) for c in text])


def clean(text: str) -> str:
    """Text that may stand in XML 1.0 and cannot reorder what stands beside it, on one line.

    What XML forbids (control characters, lone surrogates) and marks that turn the direction of writing become
    the replacement sign; white space of any kind becomes one space. Markup is escaped by the template.
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    out = "".join("\ufffd" if _forbidden(c) else c for c in text if c not in "\r")
    return " ".join(out.split())


def _forbidden(c: str) -> bool:
    code = ord(c)
    if code < 32:
        return c not in "\t\n"
    return (
        127 <= code < 160
        or 0xD800 <= code < 0xE000
        or code in (0xFFFE, 0xFFFF)
        or 0x200B <= code <= 0x200F
        or 0x202A <= code <= 0x202E
        or 0x2066 <= code <= 0x2069
    )


def fit(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """The text, or as much of its beginning as fits into room mm, with three points after it."""
    if text_width(text, size, bold=bold) <= room:
        return text
    room -= text_width("...", size, bold=bold)
    used, kept = 0.0, ""
    for c in text:
        used += text_width(c, size, bold=bold)
        if used > room:
            break
        kept += c
    return kept.rstrip() + "..."


def wrap(text: str, size: float, room: float) -> list[str]:
    """The text in lines of at most room mm, broken between words, too long a word cut short."""
    lines: list[str] = []
    for word in text.split(" "):
        if lines and text_width(f"{lines[-1]} {word}", size) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(fit(word, size, room))
    return lines
