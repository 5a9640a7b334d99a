"""Plane geometry of the half-section: lines, arcs, parallel curves; convex polygons by shapely."""
