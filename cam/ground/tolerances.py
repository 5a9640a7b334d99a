"""The differences that are too small to count, each with its reason; in mm where no other unit is given.

How far work may stray from what is wanted is another matter: that stands where it is decided.
"""

ROUNDING = 1e-9
"""The rounding of sums of floats: a thousand additions of lengths up to 100 mm stray by less."""
EXACT = 1e-12
"""The rounding of a single float, mm, or of a share or a slope: as near as bisections and corners of polygons come."""
ONE_HEIGHT = 1e-10
"""Heights that differ by less are the same: a cut run again removes no metal and keeps the first cut's number."""
AS_GIVEN = 1e-6
"""Lengths given as the same may differ by this: far above rounding, in inches too, and below the finest written."""
AS_RECORDED = 5e-7
"""Half of the last digit of a length in a record."""
AS_DRAWN = 1e-4
"""The gap at which ends of strokes in a drawing still meet: drawings keep fewer digits than they are made with."""
AS_PRINTED = 0.0005
"""Half of the last digit of a length that is printed to a micrometre."""
AS_SKETCHED = 0.005
"""Half of the last digit of a length that is printed to a hundredth of a mm."""
AS_PROGRAMMED = 2e-3
"""How far ends of a planned and a programmed motion may differ: both are rounded, an inch to a tenth of a thou."""
