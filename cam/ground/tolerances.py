"""What differs too little to count: each with its reason; mm where nothing else is said.

How far work may stray from what is wanted is no such thing: it stands where it is decided.
"""

ROUNDING = 1e-9
"""Rounding of sums of floats: a thousand additions of lengths up to 100 mm stray by less."""
EXACT = 1e-12
"""Rounding of a single float, in mm, or as a share or a slope: as near as bisections and corners of polygons come."""
ONE_HEIGHT = 1e-10
"""Heights that differ by less are one: a cut run again takes nothing and keeps the first cut's number."""
AS_GIVEN = 1e-6
"""Lengths given as the same: far above rounding, in inches too, and below the finest that anybody writes."""
AS_RECORDED = 5e-7
"""Half of the last digit of a record."""
AS_DRAWN = 1e-4
"""Ends of strokes in a drawing that meet: drawings keep some digits fewer than they are made with."""
AS_PRINTED = 0.0005
"""Half of the last digit of what is printed to a micrometre."""
AS_SKETCHED = 0.005
"""Half of the last digit of what is printed to a hundredth."""
AS_PROGRAMMED = 2e-3
"""Ends of a planned and of a programmed motion: both are rounded to program words, an inch to a tenth of a thou."""
