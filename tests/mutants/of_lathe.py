"""Changes to the lathe's judge that make no difference that anybody could notice, each with the reason."""

from __future__ import annotations

OF_LATHE: dict[tuple[str, str], dict[str, str]] = {
    ("cam/judge/clearance.py", "_between"): {
        "away < least - 1e-09  ->  away <= least - 1e-09": "as near either way",
        "side[0] + side[2]  ->  side[0] - side[2]": "where the ways cross says the same",
        "side[1] + side[3]  ->  side[1] - side[3]": "where the ways cross says the same",
        "dz * side[3] - dx * side[2]  ->  dz * side[3] + dx * side[2]": "an end of the side says the same",
        "abs(cross) > 1e-12  ->  abs(cross) >= 1e-12": "an end of the side says the same",
        (
            "((z - side[0]) * side[3] - (x - side[1]) * side[2]) / cross  ->  ((z - side[0]) * side[3] - (x "
            "- side[1]) * side[2]) * cross"
        ): "an end of the side says the same",
        (
            "(z - side[0]) * side[3] - (x - side[1]) * side[2]  ->  (z - side[0]) * side[3] + (x - side[1]) * side[2]"
        ): "an end of the side says the same",
        "z - side[0]  ->  z + side[0]": "an end of the side says the same",
        "x - side[1]  ->  x + side[1]": "an end of the side says the same",
    },
    ("cam/judge/clearance.py", "_feet"): {
        "(x - q) * piece[2] > 0.0  ->  (x - q) * piece[2] >= 0.0": "level with its centre only ends are near",
        "(x - q) * piece[2]  ->  (x - q) / piece[2]": "by one, either way",
    },
    ("cam/judge/clearance.py", "_from_place"): {
        "t > 0.0  ->  t >= 0.0": "as near either way",
        "t < square  ->  t <= square": "as near either way",
        "away < least  ->  away <= least": "the sides of a convex core share their nearest point",
    },
    ("cam/judge/clearance.py", "_to_arc"): {
        "bend > 0  ->  bend >= 0": "an arc bends one way or the other",
        "away > 0.0  ->  away >= 0.0": "at its centre no arc is looked at, as x - q is zero",
        "(x - q) * bend > 0.0  ->  (x - q) * bend >= 0.0": "level with its centre only ends are near",
        "(x - q) * bend  ->  (x - q) / bend": "by one, either way",
    },
    ("cam/judge/clearance.py", "_to_line"): {
        "t < 0.0  ->  t <= 0.0": "just at its end",
        "gap[0] < best[0]  ->  gap[0] <= best[0]": "which of two corners as near is named",
    },
    ("cam/judge/clearance.py", "_to_piece"): {
        "k + 1 < len(metal.pieces)  ->  k + 1 > len(metal.pieces)": "a corner inside a taller neighbour is farther off",
        "left + ONE_HEIGHT  ->  left - ONE_HEIGHT": "where both are as high the piece before has the corner",
        "right + ONE_HEIGHT  ->  right - ONE_HEIGHT": "where both are as high the next piece has the corner",
    },
    ("cam/judge/clearance.py", "_to_ring"): {
        "z < z0  ->  z <= z0": "no distance along",
        "z > z1  ->  z >= z1": "no distance along",
        "x > top  ->  x >= top": "no height above it",
    },
    ("cam/judge/clearance.py", "find_gap"): {
        (
            "piece[0] - z1 if piece[0] > z1 else z0 - piece[1]  ->  piece[0] - z1 if not piece[0] > z1 else "
            "z0 - piece[1]"
        ): "it only takes longer",
        "piece[0] > z1  ->  piece[0] >= z1": "it only takes longer",
        "piece[0] > z1  ->  piece[0] < z1": "it only takes longer",
        "dz >= best  ->  dz > best": "as far as the best: passed over further on",
        "dz > 0.0  ->  dz >= 0.0": "just beside it the height alone counts, as before",
        "dx > 0.0  ->  dx >= 0.0": "just as high the way along alone counts, as before",
        "dz * dz + dx * dx >= best * best  ->  dz * dz + dx * dx > best * best": "as far as the best",
        "dz * dz + dx * dx  ->  dz * dz - dx * dx": "it only takes longer",
    },
    ("cam/judge/clearance.py", "find_tip"): {
        "away < least - 1e-09  ->  away <= least - 1e-09": "as near either way",
    },
    ("cam/judge/clearance.py", "outline_distance"): {
        (
            "pieces[k][0] - z > best or z - pieces[k][1] > best  ->  pieces[k][0] - z > best and z - "
            "pieces[k][1] > best"
        ): "it only takes longer",
        "pieces[k][0] - z > best  ->  pieces[k][0] - z >= best": "just as far off",
        "z - pieces[k][1] > best  ->  z - pieces[k][1] >= best": "just as far off",
        "k < middle  ->  k <= middle": "nothing was found before the middle one",
    },
    ("cam/judge/contact.py", "_farthest"): {
        "0.0  ->  1": "the first corner says how far across",
        "far > most + 1e-09  ->  far >= most + 1e-09": "as far to a billionth",
        "far > most - 1e-09  ->  far >= most - 1e-09": "as far to a billionth",
    },
    ("cam/judge/envelope.py", "_circle_circle"): {
        "across <= 0.0  ->  across < 0.0": "circles that only touch do not cross",
    },
    ("cam/judge/envelope.py", "_lies_below"): {
        "0.5 * (z0 + middle)  ->  0.5 / (z0 + middle)": "of two that touch one lies below all along",
        "z0 + middle  ->  z0 - middle": "of two that touch one lies below all along",
    },
    ("cam/judge/envelope.py", "crest"): {
        "r > 0.0  ->  r >= 0.0": "asked of slopes alone",
        "piece[2] > 0  ->  piece[2] >= 0": "asked of arcs alone",
    },
    ("cam/judge/envelope.py", "height"): {
        "square > 0.0  ->  square >= 0.0": "the root of zero is zero",
    },
    ("cam/judge/near.py", "Surroundings._beside_work"): {
        "0.0  ->  1": "it only takes longer",
        "hit.amount <= INTO  ->  hit.amount < INTO": "an overlap of exactly a millionth",
        "-amount < best  ->  -amount <= best": "as near as the best",
    },
    ("cam/judge/near.py", "Surroundings._keep_fixed"): {
        (
            "near.distance < self.clearance - 1e-09  ->  near.distance <= self.clearance - 1e-09"
        ): "exactly as near as allowed, to a billionth",
        "self.clearance - 1e-09  ->  self.clearance + 1e-09": "exactly as near as allowed, to a billionth",
    },
    ("cam/judge/near.py", "Surroundings._nearest_of_work"): {
        (
            "move.path.end[1] < move.path.start[1]  ->  move.path.end[1] <= move.path.start[1]"
        ): "a motion that goes nowhere is not judged",
    },
    ("cam/judge/near.py", "_inside"): {
        "0.0  ->  1": "what runs in has its distance from the overlap",
    },
    ("cam/judge/near.py", "_may_reach"): {
        "box[1] + own[1]  ->  box[1] - own[1]": "it only takes longer",
    },
    ("cam/judge/near.py", "_nose_beside_work"): {
        "hit.amount > INTO  ->  hit.amount >= INTO": "an overlap of exactly a millionth",
        "-hit.along(path) < best  ->  -hit.along(path) <= best": "as near as the best",
    },
    ("cam/judge/near.py", "_toward"): {
        "0.0  ->  1": "of two places that are one, the way is none",
    },
    ("cam/judge/near.py", "find_beside"): {
        "path.end[1] < path.start[1]  ->  path.end[1] <= path.start[1]": "a motion that goes nowhere is not judged",
    },
    ("cam/judge/near.py", "worst_hit"): {
        "z0 > end + 1e-09  ->  z0 >= end + 1e-09": "a gap of a millionth of a micrometre",
    },
    ("cam/judge/play.py", "Slides._goes_straight"): {
        (
            "dx == 0.0 or dz == 0.0 or (self.x.still(dx) == 0.0 and self.z.still(dz) == 0.0)  ->  dx == 0.0 "
            "and dz == 0.0 and (self.x.still(dx) == 0.0 and self.z.still(dz) == 0.0)"
        ): "what goes straight is cut where the slides begin, to the same ends",
    },
    ("cam/judge/play.py", "_Slide.still"): {
        "change > 0  ->  change >= 0": "of no change nothing passes",
    },
    ("cam/judge/play.py", "_is_known"): {
        (
            "motion.start.x + motion.start.z + motion.end.x + motion.end.z  ->  motion.start.x + "
            "motion.start.z + motion.end.x - motion.end.z"
        ): "not known where any of them is not",
        (
            "motion.start.x + motion.start.z + motion.end.x  ->  motion.start.x + motion.start.z - motion.end.x"
        ): "not known where any of them is not",
        "motion.start.x + motion.start.z  ->  motion.start.x - motion.start.z": "not known where any of them is not",
    },
    ("cam/judge/rules.py", "ShopChecks.check_fastest"): {
        "start * end >= 0  ->  start * end > 0": "at the axis the nearest is zero either way",
    },
    ("cam/judge/run.py", "_Run._drags"): {
        "x0 + nose  ->  x0 - nose": "a height within the nose counts as faced in any case",
    },
    ("cam/judge/sizes.py", "_distance"): {
        "normal_x < 0  ->  normal_x <= 0": "between its ends no edge stands square to the axis",
    },
    ("cam/judge/sizes.py", "_face_height"): {
        "high > low  ->  high >= low": "a face of exactly that height",
    },
    ("cam/judge/sizes.py", "_halve"): {
        "40  ->  80": "halved far below what any program says already",
    },
    ("cam/judge/sizes.py", "_place_of_face"): {
        "metal.at(at) >= height  ->  metal.at(at) > height": "a face crosses a height at one place",
    },
    ("cam/judge/sizes.py", "_place_of_wall"): {
        "metal.at(at) < height  ->  metal.at(at) <= height": "a wall crosses a height at one place",
    },
    ("cam/judge/sizes.py", "_spots"): {
        "high > low  ->  high >= low": "a section of exactly that length",
    },
    ("cam/judge/stops.py", "_cut_before"): {
        "number < last  ->  number <= last": "no cut lies higher than itself",
    },
    ("cam/judge/stops.py", "_last_cut"): {
        "min(z1, high) > max(z0, low)  ->  min(z1, high) >= max(z0, low)": "a stretch of no length",
        "0.0  ->  1": "each motion has as much more",
        "1  ->  2": "below the first motion, either way",
    },
    ("cam/judge/stops.py", "_warn_of_size"): {
        "max(stops, default=0) <= last  ->  max(stops, default=0) < last": "a stop is no cut",
        "0  ->  1": "no cut comes before the second motion",
    },
    ("cam/judge/surfaces.py", "_cutter"): {
        "2 * ON_SIZE  ->  2 / ON_SIZE": "only the first piece beside the foot is taken",
    },
    ("cam/judge/surfaces.py", "check_faces"): {
        "tool.approach - 90.0  ->  tool.approach + 90.0": "half a turn more has the same tangent",
    },
    ("cam/judge/sweep.py", "_halves"): {
        "high > low  ->  high >= low": "an arc of no length",
        "z1 > z0  ->  z1 >= z0": "an arc of no length",
    },
    ("cam/judge/sweep.py", "_rounded"): {
        "after + out > here  ->  after + out >= here": "a line of no length",
    },
    ("cam/judge/sweep.py", "along_arc"): {
        "turn < 0  ->  turn <= 0": "an arc turns one way or the other",
    },
    ("cam/judge/sweep.py", "along_line"): {
        "start[0] <= end[0]  ->  start[0] < end[0]": "straight in or out both ends are looked at",
    },
    ("cam/judge/sweep.py", "find_underside"): {
        "z - corners[-1][0] < 1e-12  ->  z - corners[-1][0] <= 1e-12": "straight above, to less than an atom",
    },
    ("cam/judge/threading.py", "Threads._off_thread"): {
        "cut.path.end[0] > cut.path.start[0]  ->  cut.path.end[0] >= cut.path.start[0]": "a pass of no length",
        "lead > 0  ->  lead >= 0": "a lead is above zero",
    },
    ("cam/judge/threading.py", "Threads._out_of_step"): {
        (
            "depth * depth - last * last > (OVER_DEPTH * most) ** 2  ->  depth * depth - last * last >= "
            "(OVER_DEPTH * most) ** 2"
        ): "what comes after it asks for more",
        "depth * depth - last * last  ->  depth * depth + last * last": "what comes after it asks for more",
        "depth - last > OVER_DEPTH * most  ->  depth - last >= OVER_DEPTH * most": "a depth of exactly the most",
    },
    ("cam/judge/threading.py", "Threads.take"): {
        "0.0  ->  1": "a thread's motion has its lead",
    },
    ("cam/judge/travel.py", "_moved"): {
        "change < 0.0  ->  change <= 0.0": "no change adds nothing",
    },
    ("cam/judge/travel.py", "turning_points.turned"): {
        "2.0  ->  4.0": "those beyond half a turn come last either way",
    },
}
"""Of each function in a module every such change, with the reason why it changes nothing."""
