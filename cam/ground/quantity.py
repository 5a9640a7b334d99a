"""A number that remembers what the user wrote."""

from __future__ import annotations

from cam.ground.problem import Problem, Where


class Quantity(float):
    """A value in the inside unit of its kind, with the user's own text and its line.

    Inside units: mm, degrees, mm/rev, rev/min, N, W, s, mm/min. Arithmetic gives plain floats.

    Attributes:
        text: as written in the file, for example "1 1/8 in".
        where: the line that gave it.
    """

    __slots__ = ("text", "where")
    text: str
    where: Where

    def __new__(cls, value: float, text: str, where: Where) -> Quantity:
        """Keep the value (in the inside unit), the text and where it stands."""
        new = super().__new__(cls, value)
        new.text = text
        new.where = where
        return new

    def __getnewargs__(self) -> tuple[float, str, Where]:  # type: ignore[override]
        return float(self), self.text, self.where


def misfit(what: str, allowed: str = "", fix: str = "", **written: Quantity) -> Problem:
    """Return a problem with quantities of a file, at the line of the first.

    Args:
        what, allowed, fix: as in `Problem`.
        written: the quantities, each by its key; they are shown as they are written.
    """
    where = next(iter(written.values())).where
    given = ", ".join(f'{key} = "{value.text}"' for key, value in written.items())
    return Problem(where=where, what=what, given=given, allowed=allowed, fix=fix)
