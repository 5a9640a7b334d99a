"""A number that remembers what the user wrote."""

from __future__ import annotations

from cam.ground.problem import Where


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
