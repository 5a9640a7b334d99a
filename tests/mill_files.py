"""Part and shop files of parts that the mill works on: the texts that stand between the samples' own tables."""

from __future__ import annotations

SQUARE = """
[section.square]
flats = 4
across = "4.2 mm"
at = "10 mm"
taper = "0.004 in/in per side"
corners = "round"
tolerance = "±0.01 mm"
allowance = "0.02 mm"
flats_end = "0.1 mm"
key = "4.24 mm"
grip = "drum body"
grip_length = "21 mm"
"""

HOLE = """
[[cross_hole]]
name = "hook hole"
section = "drum body"
shoulder = "drum body"
face = "A"
distance = "8 mm"
angle = "0 deg"
thread = "M3"
depth = "5 mm"
lead = "bottoming"
chips = "0.5 mm"
flat_depth = "0.2 mm"
grip = "drum body"
grip_length = "12 mm"
"""

MILL = """
[mill]
name = "bench mill"
dialect = "rs274ngc"
units = "mm"
rapid = "600 mm/min"
slowest = "300 rpm"
fastest = "2500 rpm"
square_by = "tipped block"
shim_distance = "60 mm"
crown = "0.0005 mm"
tap_cycle = false
rapid_clearance = "0.5 mm"
contact_clearance = "0.5 mm"

[mill.block]
name = "collet block"
length = "60 mm"
across = "38 mm"
sides = 4
nose_diameter = "32 mm"
nose_length = "16 mm"
grip = ["3 mm", "16 mm"]
grip_length = "24 mm"

[mill.vice]
jaws_below_axis = "6 mm"
jaws_beyond_block = "-10 mm"
width = "120 mm"

[[cutter]]
number = 1
name = "6 mm end mill"
kind = "end mill"
material = "HSS"
diameter = "6 mm"
flutes = "12 mm"
stick_out = "30 mm"
shank_diameter = "6 mm"
holder_diameter = "24 mm"
teeth = 4
minimum_cut = "0.02 mm"
deepest_cut = "0.3 mm"
feed_per_tooth = "0.01 mm"

[[cutter]]
number = 2
name = "4 mm spot drill"
kind = "spot drill"
material = "HSS"
diameter = "4 mm"
point_angle = "90 deg"
flutes = "12 mm"
stick_out = "35 mm"
shank_diameter = "4 mm"
holder_diameter = "24 mm"
feed = "0.03 mm/rev"

[[cutter]]
number = 3
name = "2.6 mm drill"
kind = "drill"
material = "HSS"
diameter = "2.6 mm"
point_angle = "118 deg"
flutes = "30 mm"
stick_out = "40 mm"
shank_diameter = "2.6 mm"
holder_diameter = "24 mm"
feed = "0.03 mm/rev"

[[cutter]]
number = 4
name = "M3 tap"
kind = "tap"
material = "HSS"
thread = "M3"
flutes = "11 mm"
stick_out = "40 mm"
shank_diameter = "3.15 mm"
holder_diameter = "24 mm"
"""
