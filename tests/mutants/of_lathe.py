"""Changes to the lathe's judge that make no difference that anybody could notice, each with the reason."""

from __future__ import annotations

OF_LATHE: dict[tuple[str, str], dict[str, str]] = {
    ("cam/judge/clearance.py", "find_gap"): {
        (
            "piece[0] - z1 if piece[0] > z1 else z0 - piece[1]  ->  piece[0] - z1 if not piece[0] > z1 else z0 - "
            "piece[1]"
        ): "it only takes longer",
        "piece[0] > z1  ->  piece[0] >= z1": "it only takes longer",
        "piece[0] > z1  ->  piece[0] < z1": "it only takes longer",
        "dz >= best  ->  dz > best": "as far as the best: passed over further on",
        "dz > 0.0  ->  dz >= 0.0": "just beside it the height alone counts, as before",
        "dx > 0.0  ->  dx >= 0.0": "just as high the way along alone counts, as before",
        "dz * dz + dx * dx >= best * best  ->  dz * dz + dx * dx > best * best": "as far as the best",
        "dz * dz + dx * dx  ->  dz * dz - dx * dx": "it only takes longer",
    },
    ("cam/judge/clearance.py", "_to_piece"): {
        "k + 1 < len(metal.pieces)  ->  k + 1 > len(metal.pieces)": "a corner inside a taller neighbour is farther off",
        "left + ONE_HEIGHT  ->  left - ONE_HEIGHT": "where both are as high the piece before has the corner",
        "right + ONE_HEIGHT  ->  right - ONE_HEIGHT": "where both are as high the next piece has the corner",
    },
    ("cam/judge/clearance.py", "_from_place"): {
        "t > 0.0  ->  t >= 0.0": "as near either way",
        "t < square  ->  t <= square": "as near either way",
        "away < least  ->  away <= least": "the sides of a convex core share their nearest point",
    },
    ("cam/judge/clearance.py", "_to_ring"): {
        "z < z0  ->  z <= z0": "no distance along",
        "z > z1  ->  z >= z1": "no distance along",
        "x > top  ->  x >= top": "no height above it",
    },
    ("cam/judge/clearance.py", "_to_line"): {
        "t < 0.0  ->  t <= 0.0": "just at its end",
        "gap[0] < best[0]  ->  gap[0] <= best[0]": "which of two corners as near is named",
    },
    ("cam/judge/clearance.py", "_to_arc"): {
        "bend > 0  ->  bend >= 0": "an arc bends one way or the other",
        "away > 0.0  ->  away >= 0.0": "at its centre no arc is looked at, as x - q is zero",
        "(x - q) * bend > 0.0  ->  (x - q) * bend >= 0.0": "level with its centre only ends are near",
        "(x - q) * bend  ->  (x - q) / bend": "by one, either way",
    },
    ("cam/judge/clearance.py", "outline_distance"): {
        (
            "pieces[k][0] - z > best or z - pieces[k][1] > best  ->  pieces[k][0] - z > best and z - pieces[k][1]"
            " > best"
        ): "it only takes longer",
        "pieces[k][0] - z > best  ->  pieces[k][0] - z >= best": "just as far off",
        "z - pieces[k][1] > best  ->  z - pieces[k][1] >= best": "just as far off",
        "k < middle  ->  k <= middle": "nothing was found before the middle one",
    },
    ("cam/judge/clearance.py", "_feet"): {
        "(x - q) * piece[2] > 0.0  ->  (x - q) * piece[2] >= 0.0": "level with its centre only ends are near",
        "(x - q) * piece[2]  ->  (x - q) / piece[2]": "by one, either way",
    },
    ("cam/judge/clearance.py", "find_tip"): {
        "away < least - 1e-09  ->  away <= least - 1e-09": "as near either way",
    },
    ("cam/judge/clearance.py", "_between"): {
        "away < least - 1e-09  ->  away <= least - 1e-09": "as near either way",
        "side[0] + side[2]  ->  side[0] - side[2]": "where the ways cross says the same",
        "side[1] + side[3]  ->  side[1] - side[3]": "where the ways cross says the same",
        "dz * side[3] - dx * side[2]  ->  dz * side[3] + dx * side[2]": "an end of the side says the same",
        "abs(cross) > 1e-12  ->  abs(cross) >= 1e-12": "an end of the side says the same",
        (
            "((z - side[0]) * side[3] - (x - side[1]) * side[2]) / cross  ->  ((z - side[0]) * side[3] - (x - "
            "side[1]) * side[2]) * cross"
        ): "an end of the side says the same",
        (
            "(z - side[0]) * side[3] - (x - side[1]) * side[2]  ->  (z - side[0]) * side[3] + (x - side[1]) * side[2]"
        ): "an end of the side says the same",
        "z - side[0]  ->  z + side[0]": "an end of the side says the same",
        "x - side[1]  ->  x + side[1]": "an end of the side says the same",
    },
    ("cam/judge/envelope.py", "height"): {
        "square > 0.0  ->  square >= 0.0": "the root of zero is zero",
    },
    ("cam/judge/envelope.py", "crest"): {
        "r > 0.0  ->  r >= 0.0": "asked of slopes alone",
        "piece[2] > 0  ->  piece[2] >= 0": "asked of arcs alone",
    },
    ("cam/judge/envelope.py", "_circle_circle"): {
        "across <= 0.0  ->  across < 0.0": "circles that only touch do not cross",
    },
    ("cam/judge/envelope.py", "_lies_below"): {
        "0.5 * (z0 + middle)  ->  0.5 / (z0 + middle)": "of two that touch one lies below all along",
        "z0 + middle  ->  z0 - middle": "of two that touch one lies below all along",
    },
    ("cam/judge/sizes.py", "_distance"): {
        "normal_x < 0  ->  normal_x <= 0": "between its ends no edge stands square to the axis",
    },
    ("cam/judge/surfaces.py", "check_faces"): {
        "tool.approach - 90.0  ->  tool.approach + 90.0": "half a turn more has the same tangent",
    },
    ("cam/judge/surfaces.py", "_cutter"): {
        "2 * ON_SIZE  ->  2 / ON_SIZE": "only the first piece beside the foot is taken",
    },
}
"""Of each function in a module every such change, with the reason why it changes nothing."""
