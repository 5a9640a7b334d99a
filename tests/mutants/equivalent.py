"""Changes that were looked at and make no difference that anybody could notice, each with the reason."""

from __future__ import annotations

import re

from tests.mutants.of_lathe import OF_LATHE

EQUIVALENT: dict[tuple[str, str, str], str] = {
    ("cam/rs274/execute.py", "run_block", "len(g) > (MOTION in g)  ->  len(g) >= (MOTION in g)"): (
        "the modes of a line that says none are set to nothing: it only takes longer"
    ),
    ("cam/rs274/read.py", "_ProgramReader.__init__", "0  ->  1"): "a text without lines has no line that is too long",
    ("cam/rs274/read.py", "recover", "1  ->  2"): (
        "after a line that cannot be read any tool will do: no motion is kept, and only missing words are looked for"
    ),
    ("cam/rs274/begin.py", "_from_line", "0  ->  1"): "a text that names a pass and has an N line has a first line",
    **{
        ("cam/rs274/words.py", "read_comment", change): "a comment that begins on the line never ends on its first sign"
        for change in ("close < 0  ->  close <= 0", "0  ->  1")
    },
    ("cam/rs274/words.py", "read_odd", "0.0  ->  1"): "the value counts only after a letter",
    **{
        ("cam/rs274/words.py", f"Block.{name}", change): "asked only of lines that hold such a word"
        for name, change in (("motion_at", "-1  ->  +1"), ("motion_at", "1  ->  2"), ("g_at", "-1  ->  +1"))
    },
    **{
        (f"cam/rs274/{file}.py", within, "1  ->  2"): "an index below zero is none, whichever it is"
        for file, within in (("words", "Block.m_at"), ("begin", "_line_of"), ("cycles", "read_back_bore"))
    },
    ("cam/rs274/read.py", "", "1.0  ->  2.0"): "no motion with that speed or feed is kept",
    **{
        ("cam/rs274/read.py", "", change): "any other code than that of steps, or of surface speed, means the same"
        for change in ("900  ->  1800", "970  ->  1940")
    },
    ("cam/rs274/cycles.py", "read_hole", "0.0  ->  1"): "the step of a cycle that has none is not looked at",
    ("cam/rs274/offsets.py", "read_system", "0.0  ->  1"): "neither is the 2 that it must be",
    ("cam/rs274/offsets.py", "choose_system", "code <= 590  ->  code < 590"): "both sides give 6 for G59",
    **{
        ("cam/rs274/expressions.py", "read_function", change): "no function has a name so short or so long"
        for change in ("6  ->  12", "0  ->  1", "bracket > 0  ->  bracket >= 0")
    },
    ("cam/moves/make.py", "_corners", "1e-09  ->  2e-09"): "a billionth of a line",
    ("cam/judge/clearance.py", "find_gap", "dx >= best  ->  dx > best"): "as far as the best: passed over further on",
    ("cam/judge/surfaces.py", "_loose_z", "1e-06  ->  2e-06"): "a millionth of a millimetre of play",
    ("cam/judge/play.py", "", "0.001  ->  0.002"): (
        "a piece of an arc 2 um long that goes straight is off by 5 nm at most, on a radius of 0.1 mm or more"
    ),
    ("cam/rs274/words.py", "Block.g_at", "1  ->  2"): "an index below zero is none, whichever it is",
    ("cam/rs274/arcs.py", "", "1e-12  ->  2e-12"): "a billionth of a thousandth of a radius",
    (
        "cam/rs274/words.py",
        "read_comment",
        "(inner := text.find('(', at + 1, close)) > 0  ->  (inner := text.find('(', at + 1, close)) >= 0",
    ): ("looked for from the second sign of the line on, so it is never the first"),
    ("cam/rs274/words.py", "read_block", "digits > SHORT  ->  digits >= SHORT"): (
        "a number of nine digits is looked at as well, and none is too great"
    ),
    ("cam/moves/make.py", "", "1e-09  ->  2e-09"): "a billionth of a millimetre",
    ("cam/moves/make.py", "_Hand.__init__", "0  ->  1"): "the first pass' tool takes its place before it is looked at",
    (
        "cam/moves/make.py",
        "_Hand._rapid",
        "to.x >= self.at.x  ->  to.x > self.at.x",
    ): "where X stays it is not said, before or after Z",
    (
        "cam/moves/make.py",
        "_Hand._path",
        "end.x > piece.start.x  ->  end.x >= piece.start.x",
    ): "no piece of a path has no length",
    ("cam/moves/make.py", "_corners", "arc.turn > 0  ->  arc.turn >= 0"): "an arc turns one way or the other",
    (
        "cam/judge/milled.py",
        "extremes",
        "abs(values[i] - values[k]) < EXACT  ->  abs(values[i] - values[k]) <= EXACT",
    ): ("floors that differ by exactly a billionth of a micrometre"),
    ("cam/judge/milled.py", "_slices", "4  ->  8"): "no section is shorter than 4 um, where this would pass one over",
    ("cam/judge/milled.py", "_flat_at", "1e-09  ->  2e-09"): "a billionth of a flat's width",
    ("cam/sheet/standing.py", "_face_level", "0.25  ->  0.5"): "a square face is at one place at any height",
    ("cam/sheet/standing.py", "_face_level", "2.0  ->  4.0"): "a square face is at one place at any height",
    ("cam/judge/mill_metal.py", "standing_over", "(end - start) / 2  ->  (end - start) * 2"): (
        "looked at in more slices: it only takes longer"
    ),
    (
        "cam/sheet/mill.py",
        "_MillReader.flat_row",
        "abs(_angle_up(said.get('turn', ''), square) - angle) <= 0.01  ->  "
        "abs(_angle_up(said.get('turn', ''), square) - angle) < 0.01",
    ): "an angle that is off by exactly a hundredth of a degree",
    (
        "cam/judge/milled.py",
        "same_angle",
        "abs(turned_from(one, other)) < SAME_ANGLE  ->  abs(turned_from(one, other)) <= SAME_ANGLE",
    ): "angles that differ by exactly a millionth of a degree",
    (
        "cam/judge/milled.py",
        "_places_on",
        "abs(_off_flat(face.angle, square)) < SAME_ANGLE  ->  abs(_off_flat(face.angle, square)) <= SAME_ANGLE",
    ): "angles that differ by exactly a millionth of a degree",
    ("cam/judge/milled.py", "", "1e-06  ->  2e-06"): "no program says a millionth of a degree",
    ("cam/judge/milled.py", "_close_in", "height(inward) >= height(least)  ->  height(inward) > height(least)"): (
        "two heights that are the same to the last bit"
    ),
    ("cam/judge/milled.py", "_places_on", "21  ->  42"): "places beyond the round, where nothing is wanted",
    (
        "cam/judge/milled.py",
        "_off_flat",
        "angle + step / 2  ->  angle - step / 2",
    ): "a whole step less, which drops out",
    ("cam/judge/milled.py", "wanted_top", "x >= work.wall  ->  x > work.wall"): "no station lies just on the wall",
    (
        "cam/judge/milled.py",
        "wanted_top",
        "section is None or abs(y) > section.top  ->  section is None and abs(y) > section.top",
    ): "asked only for places on the work",
    ("cam/judge/milled.py", "_line_at", "across_at(work.square, flat.x) / 2  ->  across_at(work.square, flat.x) * 2"): (
        "only where the search for a floor begins; it closes in from anywhere"
    ),
    ("cam/judge/milled.py", "_line_at", "1 - 1e-09  ->  1 + 1e-09"): "a billionth of a flat's width",
    ("cam/judge/milled.py", "_line_at", "1e-09  ->  2e-09"): "a billionth of a flat's width",
    (
        "cam/judge/milled.py",
        "_line_at",
        "flat_width_at(work.square, flat.x) / 2 * (1 - 1e-09)  ->  "
        "flat_width_at(work.square, flat.x) / 2 / (1 - 1e-09)",
    ): "a billionth of a flat's width",
    ("cam/judge/milled.py", "_judge_spot", "wide > hole.diameter + tolerance  ->  wide >= hole.diameter + tolerance"): (
        "a spot that is too wide by exactly the tolerance"
    ),
    (
        "cam/judge/milled.py",
        "_drills",
        "abs(cutter.diameter - hole.diameter) <= DEEP_ENOUGH  ->  abs(cutter.diameter - hole.diameter) < DEEP_ENOUGH",
    ): "a drill that is too wide by exactly the tolerance",
    ("cam/judge/milled.py", "_judge_lead", "b.line < first.line  ->  b.line <= first.line"): (
        "a spot and a hole are never made on one line"
    ),
    ("cam/judge/driven.py", "_missing", "n > max(cuts)  ->  n >= max(cuts)"): "a cut is no stop",
    ("cam/judge/driven.py", "_was_seen", "t.line < first  ->  t.line <= first"): "a turn stands on its own line",
    ("cam/judge/driven.py", "_over", "abs(y) <= s.top  ->  abs(y) < s.top"): "a tool just over the side of the round",
    ("cam/rs274/turns.py", "_turns_by_hand", "0  ->  1"): "lines count from 1",
    (
        "cam/judge/mill.py",
        "_MillRun.check_near",
        "near.distance < self.clearance  ->  near.distance <= self.clearance",
    ): "what is just as near as is allowed has been passed over before",
    ("cam/judge/mill.py", "_MillRun.cut", "sweep.z1 < sweep.z0  ->  sweep.z1 <= sweep.z0"): (
        "a tool that stays over one place has moved up or down"
    ),
    ("cam/judge/mill.py", "_along_ray", "1e-12  ->  2e-12"): "closed in to less than an atom either way",
    ("cam/judge/mill.py", "_edges_of", "abs(y) < top  ->  abs(y) <= top"): "the edge of a path just on the round",
    ("cam/judge/mill.py", "radius_at", "math.cos(turn) > SAME_ANGLE  ->  math.cos(turn) >= SAME_ANGLE"): (
        "a ray along a face to exactly a millionth"
    ),
    (
        "cam/judge/mill.py",
        "radius_at",
        "lowest_at(face.sweeps, work, x) < radius * math.cos(turn)  ->  "
        "lowest_at(face.sweeps, work, x) <= radius * math.cos(turn)",
    ): "a face just at the radius takes nothing off",
    ("cam/judge/mill_metal.py", "floor_under", "z1 < z0  ->  z1 <= z0"): "a level path is as high at either end",
    ("cam/judge/mill_metal.py", "floor_of", "sweep[2] < least  ->  sweep[2] <= least"): "no lower than the least",
    ("cam/judge/mill_metal.py", "floor_of", "sweep[5] < least  ->  sweep[5] <= least"): "no lower than the least",
    ("cam/judge/mill_metal.py", "_in_slice", "7  ->  14"): "places beyond the round stand no higher than those on it",
    (
        "cam/judge/mill_metal.py",
        "standing_over",
        "low >= highest  ->  low > highest",
    ): "metal as high as the end is none",
    ("cam/setting/solids.py", "", "40  ->  80"): "narrowed down further than a float can tell",
    ("cam/setting/solids.py", "reach_of", "256  ->  512"): "more is kept: it only takes less time",
    ("cam/setting/solids.py", "_narrow", "found < best.distance  ->  found <= best.distance"): "just as near",
    (
        "cam/setting/solids.py",
        "_narrow",
        "distance(1.0 - NEXT) >= distance(1.0)  ->  distance(1.0 - NEXT) > distance(1.0)",
    ): "as near all along the way: its end has been looked at",
    ("cam/setting/solids.py", "_narrow", "distance(NEXT) >= distance(0.0)  ->  distance(NEXT) > distance(0.0)"): (
        "as near all along the way: its end has been looked at"
    ),
    ("cam/lengths/chain.py", "", "1e-06  ->  2e-06"): "lengths that contradict each other by two nanometres",
    ("cam/lengths/probability.py", "_of_widest", "x > 0  ->  x >= 0"): "zero lies within the errors",
    ("cam/lengths/probability.py", "_smear.upto", "place <= 0  ->  place < 0"): "at zero the area is zero either way",
    ("cam/lengths/seats.py", "_nose", "r <= corner.radius + ROUNDING  ->  r < corner.radius + ROUNDING"): (
        "a nose larger than its corner by exactly the rounding"
    ),
    ("cam/lengths/solved.py", "_allowances", "span.fitting_allowance > 0  ->  span.fitting_allowance >= 0"): (
        "an allowance of nothing moves nothing"
    ),
    ("cam/lengths/limits.py", "_fix", "needed >= LEAST_BETTER  ->  needed > LEAST_BETTER"): "exactly the least",
    (
        "cam/lengths/holes.py",
        "_warnings",
        "plan.contact < LEAST_CONTACT * plan.wall  ->  plan.contact <= LEAST_CONTACT * plan.wall",
    ): "a contact of exactly the least",
    ("cam/lengths/behind.py", "_table_of", "0  ->  1"): "the line of no table, which is not looked at",
    ("cam/sheet/standing.py", "", "0.0001  ->  0.0002"): "the last digit of any page is fifty times as large",
    ("cam/sheet/standing.py", "", "0.0002  ->  0.0004"): "the last digit of any page is larger",
    ("cam/sheet/thread.py", "_Page.__init__", "0.0  ->  1"): "passes without heads are not judged, and heads set it",
    (
        "cam/sheet/thread.py",
        "_Page.take_tool",
        "abs(tool.included - self.thread.angle) > 0.1  ->  abs(tool.included - self.thread.angle) >= 0.1",
    ): "an angle off by exactly a tenth of a degree",
    (
        "cam/sheet/thread.py",
        "_Page.turning",
        "abs(float(found['rpm']) - fastest) > 0.5 + 1e-09  ->  abs(float(found['rpm']) - fastest) >= 0.5 + 1e-09",
    ): "a speed that differs by exactly half a turn and a margin for arithmetic",
    ("cam/sheet/thread.py", "_Page.turning", "0.5 + 1e-09  ->  0.5 - 1e-09"): "a margin for arithmetic",
    (
        "cam/sheet/thread.py",
        "_Page.other_wires",
        "abs(float(found['each']) - each) > 0.006  ->  abs(float(found['each']) - each) >= 0.006",
    ): "a figure off by exactly the margin",
    (
        "cam/sheet/thread.py",
        "_Page.judge_passes",
        "now - depth > most + step / 2.0  ->  now - depth >= most + step / 2.0",
    ): "deeper by exactly what is allowed, in sums of floats",
    (
        "cam/sheet/thread.py",
        "_Page.judge_passes",
        "now * now - depth * depth > most * most + step * now  ->  "
        "now * now - depth * depth >= most * most + step * now",
    ): "an area of exactly what is allowed, in sums of floats",
    (
        "cam/sheet/thread.py",
        "_Page.judge_last",
        "3.0 * step > wanted.most - wanted.least  ->  3.0 * step >= wanted.most - wanted.least",
    ): "limits of exactly three divisions, in sums of floats",
    (
        "cam/sheet/model.py",
        "Figure.says",
        "abs(self.value - value) <= self.half + more  ->  abs(self.value - value) < self.half + more",
    ): "a figure off by exactly half a digit and a margin for arithmetic",
    ("cam/sheet/notebook.py", "_words", "m.least and m.most  ->  m.least or m.most"): "a limit never stands alone",
    ("cam/sheet/limits.py", "_drawn_out", "far <= last.far  ->  far < last.far"): "drawn out by nothing",
    (
        "cam/sheet/limits.py",
        "_drawn_out",
        "p.end.z >= far  ->  p.end.z > far",
    ): "a piece that ends there is drawn to its end next",
    ("cam/sheet/standing.py", "_levels", "max(z0, face) < z1  ->  max(z0, face) <= z1"): "a stretch of no length",
    (
        "cam/sheet/standing.py",
        "_check_own_limits",
        "min(under, over) < -spare  ->  min(under, over) <= -spare",
    ): "a limit off by exactly the margin",
    (
        "cam/sheet/standing.py",
        "_check_own_limits",
        "abs(under - over) > spare  ->  abs(under - over) >= spare",
    ): "limits that differ by exactly the margin",
    ("cam/sheet/standing.py", "_moved", "last.far > 0  ->  last.far >= 0"): "no shoulder stands at Z 0",
    ("cam/sheet/edges.py", "", "0.0002  ->  0.0004"): "straight pieces that stray from a round by 0.4 um",
    ("cam/sheet/edges.py", "", "16  ->  32"): "more places are looked at",
    ("cam/sheet/edges.py", "_off", "abs(past) < off[at]  ->  abs(past) <= off[at]"): "just as far off",
    (
        "cam/sheet/edges.py",
        "_apart",
        "max(math.dist(on, piece.start), math.dist(on, piece.end)) <= reach  ->  "
        "max(math.dist(on, piece.start), math.dist(on, piece.end)) < reach",
    ): "just at an end, as far from that",
    ("cam/sheet/edges.py", "_cuts", "z0 <= high  ->  z0 < high"): "a stretch that only meets the edge",
    ("cam/sheet/edges.py", "_cuts", "z1 >= low  ->  z1 > low"): "a stretch that only meets the edge",
    ("cam/sheet/edges.py", "_stands", "metal.at(z) > x  ->  metal.at(z) >= x"): "metal just as high",
    (
        "cam/sheet/edges.py",
        "_stands",
        "metal.at(z, before=True) > x  ->  metal.at(z, before=True) >= x",
    ): "metal just as high",
    (
        "cam/sheet/edges.py",
        "_slants",
        "ends[1] - ends[0] < 2 * (high - low)  ->  ends[1] - ends[0] <= 2 * (high - low)",
    ): "a taper exactly twice as long as its edge",
    (
        "cam/sheet/edges.py",
        "_out",
        "way.z * chord.z + way.x * chord.x < 0.0  ->  way.z * chord.z + way.x * chord.x <= 0.0",
    ): "a round never stands square to its chord",
    (
        "cam/sheet/edges.py",
        "_apart",
        "1.0  ->  2.0",
    ): "a place that is the centre itself is as far from all of the round",
    ("cam/sheet/edges.py", "_onward", "1.0  ->  2.0"): "no piece of a round has no length",
    (
        "cam/judge/milled.py",
        "wanted_top",
        "abs(x - hole.x) <= hole.flat_size / 2  ->  abs(x - hole.x) < hole.flat_size / 2",
    ): "a place just at the end of a flat",
    ("cam/lengths/chain.py", "_order.key", "0  ->  1"): "what is cut comes before what is wanted in the list already",
    ("cam/lengths/chain.py", "_order.key", "2  ->  4"): "only the order of the ranks counts",
    (
        "cam/sheet/mill.py",
        "_spots",
        "wide < SPOT * hole.diameter  ->  wide <= SPOT * hole.diameter",
    ): "a spot of exactly the least width",
    (
        "cam/lengths/seats.py",
        "check_span",
        "span.fitting_allowance > 0  ->  span.fitting_allowance >= 0",
    ): "a fitting allowance of nothing is refused before",
    ("cam/judge/milled.py", "_is_at", "hole.angle + 180  ->  hole.angle - 180"): "a whole turn less",
    ("cam/judge/mill.py", "_MillRun.add", "x + y + z  ->  x + y - z"): "not known where any of them is not",
    ("cam/judge/milled.py", "judge_gouges", "0.0  ->  1"): "a place of nothing, which is not looked at",
    (
        "cam/judge/mill_metal.py",
        "_in_slice",
        "work.frame.to_machine(x, radius)[1] - low <= found.depth  ->  "
        "work.frame.to_machine(x, radius)[1] - low < found.depth",
    ): "no deeper than what is found already",
    ("cam/setting/solids.py", "gap", "above >= 0.0  ->  above > 0.0"): "just level with the top, as near either way",
    ("cam/setting/solids.py", "gap", "plan >= 0.0  ->  plan > 0.0"): "just beside it, as near either way",
    (
        "cam/setting/solids.py",
        "reach_of",
        "frame.sin < 0.0  ->  frame.sin <= 0.0",
    ): "a level frame has been answered before",
    ("cam/setting/solids.py", "_nearest_to", "last < best.distance  ->  last <= best.distance"): "just as near",
    ("cam/setting/solids.py", "_nearest_to", "first < best.distance  ->  first <= best.distance"): "just as near",
    ("cam/setting/solids.py", "", "0.0001  ->  0.0002"): "a share as small",
    ("cam/judge/mill.py", "_along_ray", "new - reach  ->  new + reach"): "it only takes longer",
    ("cam/judge/milled.py", "_close_in", "INWARD * (high - low)  ->  INWARD / (high - low)"): "a step as small",
    (
        "cam/lengths/probability.py",
        "_of_widest",
        "TAIL * standard  ->  TAIL / standard",
    ): "in the tail the sum comes to the same",
    ("cam/lengths/probability.py", "_look_up", "place <= 0  ->  place < 0"): "the curve begins at zero",
    ("cam/sheet/mill.py", "_MillReader.read_slide", "1  ->  2"): "figures are read without turns",
    ("cam/sheet/mill.py", "_MillReader.__init__", "100.0  ->  200.0"): "a hand begins farther out",
    (
        "cam/sheet/standing.py",
        "_moved",
        "found.face * (1 if last.far > 0 else -1)  ->  found.face / (1 if last.far > 0 else -1)",
    ): "by one, either way",
    (
        "cam/judge/milled.py",
        "wanted_top",
        "abs(y) > section.top  ->  abs(y) >= section.top",
    ): "a place just on the round, where it has no height",
    (
        "cam/judge/milled.py",
        "_top_of_square",
        "y * aside > half  ->  y * aside >= half",
    ): "a place just on an upright flat",
    ("cam/judge/mill_metal.py", "standing_over", "1  ->  2"): "one more slice, or one a millionth farther on",
    ("cam/judge/driven.py", "check_chip", "0.0  ->  1"): "no feed a turn is known of a spindle that stands",
    (
        "cam/sheet/standing.py",
        "_met_along",
        "sum((n for at, n in levels if abs(at - one[0]) < THIN)) + 1e-06 * one[1]  ->  sum((n for "
        "at, n in levels if abs(at - one[0]) < THIN)) - 1e-06 * one[1]",
    ): "which of two that are as long in all is named",
    (
        "cam/sheet/standing.py",
        "_met_along",
        "1e-06 * one[1]  ->  1e-06 / one[1]",
    ): "which of two that are as long in all is named",
    ("cam/sheet/standing.py", "_plain", "near > far  ->  near >= far"): "an edge and a corner that meet exactly",
    (
        "cam/sheet/judge.py",
        "_Judge.allowed",
        "finding.amount <= self.spare(finding.at.z, uncut=finding.kind == 'uncut') + 2.0 * "
        "TOLERANCE  ->  finding.amount < self.spare(finding.at.z, uncut=finding.kind == 'uncut') + "
        "2.0 * TOLERANCE",
    ): "a finding of exactly what is allowed",
    (
        "cam/lengths/chain.py",
        "_check_lengths",
        "solved.value < LEAST_LENGTH  ->  solved.value <= LEAST_LENGTH",
    ): "a length of exactly the least",
    ("cam/setting/solids.py", "gap", "beside < radius  ->  beside <= radius"): "just beside it, as near either way",
    ("cam/judge/milled.py", "", "0.0001  ->  0.0002"): "a share as small",
    ("cam/judge/milled.py", "_flat_at", "1 - 1e-09  ->  1 + 1e-09"): "a billionth of a flat's width",
    (
        "cam/judge/milled.py",
        "_flat_at",
        "flat_width_at(square, x) / 2 * (1 - 1e-09)  ->  flat_width_at(square, x) / 2 / (1 - 1e-09)",
    ): "a billionth of a flat's width",
    **{
        ("cam/judge/milled.py", "_close_in", change): "a step as small, and to the same side"
        for change in (
            "1  ->  2",
            "INWARD * (high - low) * (1 if least == low else -1)  ->  "
            "INWARD * (high - low) / (1 if least == low else -1)",
        )
    },
    (
        "cam/judge/milled.py",
        "extremes",
        "1  ->  2",
    ): "looked for in more places; what is level is least already",
    **{
        ("cam/judge/milled.py", "_top_of_square", change): "a flat that is upright to exactly a billionth"
        for change in ("upright > 1e-09  ->  upright >= 1e-09", "abs(upright) <= 1e-09  ->  abs(upright) < 1e-09")
    },
    ("cam/judge/milled.py", "_top_of_square", "y * aside  ->  y / aside"): "of an upright flat, where it is 1 or -1",
    ("cam/judge/milled.py", "_line_at", "2  ->  4"): (
        "only where the search for a floor begins; the other one, the half width, is noticed"
    ),
    ("cam/judge/milled.py", "_too_deep", "top > -AIR  ->  top >= -AIR"): "minus infinity less any floor is the same",
    ("cam/judge/milled.py", "_slices", "end - start < 4 * NEAR_END  ->  end - start <= 4 * NEAR_END"): (
        "a stretch of exactly two micrometres"
    ),
    ("cam/judge/milled.py", "_slices", "1  ->  2"): "one slice more: of a short stretch, or beyond its end",
    **{
        ("cam/judge/milled.py", "judge_seats", change): "a flat's middle lies on its section, so there is a place"
        for change in ("-AIR  ->  +AIR", "0.0  ->  1")
    },
    ("cam/judge/milled.py", "_judge_tap", "b.line < tap.line  ->  b.line <= tap.line"): (
        "a drill and a tap are never sunk on one line"
    ),
    ("cam/rs274/turns.py", "with_turns", "line < last  ->  line <= last"): "a turn stands alone on its line",
    ("cam/judge/mill.py", "_MillRun.__init__", "0  ->  1"): "the number of a motion is set before it is asked",
    ("cam/judge/mill.py", "_MillRun.add", "x + y  ->  x - y"): "not known where any of them is not",
    (
        "cam/judge/mill.py",
        "_MillRun.check_near",
        "self.closest.distance > self.clearance  ->  self.closest.distance >= self.clearance",
    ): "as near either way",
    ("cam/judge/mill.py", "_MillRun.cut", "sweep.z1 >= sweep.z0  ->  sweep.z1 > sweep.z0"): (
        "a tool that stays over one place has moved up or down"
    ),
    ("cam/judge/mill.py", "_MillRun.bore", "0.0  ->  1"): "no feed, and 1 mm a minute, are not a tap's",
    ("cam/judge/mill.py", "radius_at", "radius * math.cos(turn)  ->  radius / math.cos(turn)"): (
        "looked at where nothing is taken off as well: it only takes longer"
    ),
    ("cam/judge/mill.py", "_edges_of", "p + side * s.r  ->  p - side * s.r"): "both sides of it are looked at",
    **{
        ("cam/judge/mill.py", "_bends", change): "a bend within a fiftieth of a degree, or of exactly a micrometre"
        for change in (
            "last - ray < FINEST  ->  last - ray <= FINEST",
            "last - ray  ->  last + ray",
            "abs((y - y0) * (z1 - z0) - (z - z0) * (y1 - y0)) < STRAIGHT * length  ->  "
            "abs((y - y0) * (z1 - z0) - (z - z0) * (y1 - y0)) <= STRAIGHT * length",
        )
    },
    **{
        ("cam/judge/mill.py", "_along_ray", change): "closed in to less than an atom either way"
        for change in (
            "8  ->  16",
            "reach * upright  ->  reach / upright",
            "abs(new - reach) < 1e-12  ->  abs(new - reach) <= 1e-12",
        )
    },
    ("cam/judge/driven.py", "check_stops", "n >= begun.first  ->  n > begun.first"): (
        "where a program is begun no place is known yet, so its first motion cuts nothing"
    ),
    ("cam/judge/driven.py", "check_drive", "0.0  ->  1"): "no feed, and 1 mm a minute, are slower than any rapid",
    ("cam/judge/driven.py", "check_chip", "fast > most  ->  fast >= most"): "a speed of exactly the most",
    ("cam/judge/driven.py", "_shows_sense", "2 * angle + 180.0  ->  2 * angle - 180.0"): "a whole turn less",
    (
        "cam/judge/driven.py",
        "_shows_sense",
        "abs((2 * angle + 180.0) % 360.0 - 180.0) >= SAME_ANGLE_DEGREES  ->  "
        "abs((2 * angle + 180.0) % 360.0 - 180.0) > SAME_ANGLE_DEGREES",
    ): "half a turn to exactly a hundredth of a degree",
    ("cam/judge/mill_metal.py", "floor_at", "3  ->  6"): "on a slope of 1 in 100 the rest is below a picometre",
    ("cam/judge/mill_metal.py", "_in_slice", "top - end > found.depth  ->  top - end >= found.depth"): (
        "metal just as high: looked at once more; the second, which would tell the last such place, is noticed"
    ),
    (
        "cam/setting/solids.py",
        "gap",
        "0.0  ->  1",
    ): "below the top, so that what is beside is the greater; the others are noticed",
    ("cam/setting/solids.py", "gap", "off < 0.0  ->  off <= 0.0"): "just touching, nothing either way",
    **{
        ("cam/setting/solids.py", "_nearest_to", change): "looked at more closely: it only takes longer"
        for change in (
            "above + height  ->  above - height",
            "away >= best.distance  ->  away > best.distance",
            "(first + last - length) / 2 < best.distance  ->  (first + last - length) / 2 <= best.distance",
            "first + last  ->  first - last",
        )
    },
    (
        "cam/setting/solids.py",
        "_narrow",
        "distance(NEXT) >= distance(0.0) or distance(1.0 - NEXT) >= distance(1.0)  ->  "
        "distance(NEXT) >= distance(0.0) and distance(1.0 - NEXT) >= distance(1.0)",
    ): "closes in on an end that has been looked at: it only takes longer",
    ("cam/setting/solids.py", "_narrow", "1.0  ->  2.0"): (
        "the same; the one that would end the search early is noticed"
    ),
    ("cam/plan/stiffness.py", "spring_of_overhang", "start < at  ->  start <= at"): (
        "a load where a section begins does not bend it"
    ),
    ("cam/lengths/limits.py", "_chance", "64  ->  128"): "more is kept: it only takes less time",
    (
        "cam/lengths/chain.py",
        "_close",
        "abs(other - equation.value) > AGREE  ->  abs(other - equation.value) >= AGREE",
    ): ("lengths that contradict each other by exactly a nanometre"),
    ("cam/lengths/journal.py", "_ask", "found.st_size > MOST_BYTES  ->  found.st_size >= MOST_BYTES"): (
        "a log of exactly twenty million bytes"
    ),
    (
        "cam/lengths/probability.py",
        "chance_of",
        "1.0  ->  2.0",
    ): "a chance is above one by rounding alone, and is so cut",
    (
        "cam/lengths/probability.py",
        "_of_widest",
        "abs(x) > half + TAIL * standard  ->  abs(x) >= half + TAIL * standard",
    ): "at exactly eight standard deviations",
    ("cam/lengths/records.py", "_shoulder_at", "at < top  ->  at <= top"): "the thickest has no shoulder anyway",
    ("cam/lengths/stand_off.py", "stand_off", "edge.size < radius  ->  edge.size <= radius"): (
        "a fillet of nothing stands off by nothing"
    ),
    **{(*place, change): why for place, changes in OF_LATHE.items() for change, why in changes.items()},
}
"""Each (module, function, change), with the reason why it changes nothing."""


MARGINS = (
    "AS_GIVEN|CREST|DEEP|DEEP_ENOUGH|EDGE|EXACT|FACE|INWARD|IN_STEP|LAST|LEFT|MEASURED|MOVED|ONE_HEIGHT|PITCH_OFF|"
    "ROUNDED|ON_SIZE|ROUNDING|SAME_ANGLE|SAME_LEAD|SAME_SPEED|SHIM_OFF|SHORT|SLIVER|SPARE|STEEP|SUMMED|THIN|TINY|"
    "TOLERANCE"
)
"""Names of lengths, angles and shares within which two computed figures count as one, or metal counts as none."""
SUM = r"[^<>=!]+"
RULES: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"(?P<value>\d(?:\.\d+)?e-(?:0[6-9]|[1-9]\d))  ->  \S+"), "a margin for arithmetic, of a millionth"),
    (
        re.compile(
            rf"(?P<a>{SUM}) (?P<sign>[<>])(?P<same>=?) (?P<b>{SUM})  ->  (?P=a) (?P=sign)(?!(?P=same) )=? (?P=b)"
        ),
        "a computed figure that differs from another by exactly a margin",
    ),
)
"""Changes of a kind that changes nothing, with the reason; of comparisons those where a margin is named."""


def changes_nothing(path: str, within: str, words: str) -> bool:
    """Tell whether a change was judged to make no difference: listed by itself, or of a kind that makes none."""
    if (path, within, words) in EQUIVALENT:
        return True
    small, edge = (rule.fullmatch(words) for rule, _ in RULES)
    return small is not None or (edge is not None and re.search(rf"\b(?:{MARGINS})\b", words) is not None)
