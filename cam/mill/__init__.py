"""The mill's share: the tapered winding square, the cross hole, and the thread of the screw that goes in it.

Axes everywhere in this package: x along the work, zero at a named shoulder and rising toward the free end (the
tip); z upward, zero on the work's axis; y across, so that x, y, z are right-handed. Seen from the tip looking at
the body y points to the right. Indexing angles turn the work counter-clockwise as seen from the tip (ISO 841's
positive sense about +X, taken for the work), so what stands clockwise of flat 1 by an angle comes to the top at it.
"""
