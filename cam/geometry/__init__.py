"""Plane geometry of the half-section: lines, arcs, convex polygons, parallel curves. Pure Python."""
