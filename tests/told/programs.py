"""Small program texts, each with one thing wrong or changed, and all that the reader makes of each.

Motions are told with what each changes of what it carries; of a text that is spoilt on purpose a check sum of its
motions stands for them, and all that is said of it stands in full. The lines can be followed with NISTIR 6556 at hand.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from zlib import crc32

from cam.ground.problem import Problem, ProblemError
from cam.rs274 import Motion, Program, Rules, read_program
from cam.rs274.begin import begin_at
from cam.rs274.halts import begun_told, halts_of, head_told, lost_halts, proved_in_head, stops_told, wide_messages
from tests import test_rs274_eia as eia
from tests import test_rs274_errors as ngc
from tests.test_rs274 import NGC, START

NGC_BY_TURN = replace(NGC, x_words="diameter")
EIA = Rules(standard="EIA-274-D", x_words="diameter")
ISO = Rules(standard="ISO 6983-1 with NISTIR 6556", x_words="diameter")
HELD = (
    "start",
    "plane",
    "feed",
    "feed_mode",
    "rpm",
    "surface_speed",
    "spindle",
    "tool",
    "offset",
    "system",
    "top_slide",
)
WORD = re.compile(r"[A-Z%#][-+.0-9=\[\]*/]*")
FIGURE = re.compile(r"(?<=[A-Z])-?[0-9.]*[0-9]")

TURNED = """%
(PART A)
G21 G18 G40 G49 G80 G90 G94
G10 L2 P1 X100 Y10 Z50
T1 M6
G54 G43 H2
S900 M3 F120
G0 X20 Y0 Z5
G1 X8 Z-1.5
G3 X10 Z-2.5 I0 K-1
G1 Z-9
G2 X12 Z-10 I1 K0
G91 G1 X0.5 Z-0.25 F60
X0.5
G90 G0 X20
G92 X22 Z6
X18
G92 X19
X17
G92.2
X16
G92.3
X15
G92.1
#1=#5221 #2=[3-1]
X#2
M2
%
"""
PLACED = """G21 G17 G40 G49 G80 G90 G94
G10 L2 P1 X100 Y10 Z50
G10 L2 P2 X90 Y20 Z60
G54 G0 X5 Y6 Z7
G55 X4 Y5 Z6
G53 G0 X1 Y2 Z3
G53 G1 X2 Z1 F90
X9 Y8 Z7
G19 G2 Y9 Z8 J1 K0
G17 G3 X8 Y8 R1.5
X9 Y9 R-1.5
G28 X3
G0 X5 Y5 Z5
G30
G0 T2 M6 S500 M4
X5 Y5 Z5
G49 G4 P0.5
M1
G20 G93
G1 X1 F2
G94 F20
X0.5 Y0.25
M60
M30
"""
DRILLED = """G21 G17 G40 G49 G80 G90 G94 G98
S300 M3 F90
G0 X1 Y2 Z9
G81 X4 Y5 Z1.5 R2.8
X6
G99 G82 X2 Z1 R3 P0.5 L2
G83 X3 Z-1 R2 Q0.9
G91 G81 X1 Y1 Z-0.6 R1.8 L3
G90 G84 X5 Z0 R3
G85 X6 Z1 R3
G86 X7 Z1 R3 P1
G88 X8 Z1 R3 P1
G89 X9 Z1 R3 P1
G87 X4 Y5 Z0 R2 I-0.5 J0.25 K0.75
G91 G87 X1 Y1 Z-3 R1 I0.5 J0.5 K1
G90 G92 X3 Y4 Z5
G98 G81 X4 Z1 R2
G80
G18 G82 X4 Y0 Z3 R6 P0
G19 G83 X-3 Y1 Z2 R1 Q1.5
G80
M5
M2
"""
LATHE = """%
N10 G71 G18 G40 G80 G90 G95
N20 T0101
N30 G97 S800 M3
N40 G0 X8. Z2. F0.1
N50 G1 Z-9.
N60 G2 X10. Z-10. I1. K0.
N70 G3 X12. Z-11. I0. K-1.
N80 G33 Z-12. K0.5
N90 G91 G1 X1. Z-0.5
N100 G90 G0 X20. M8
N110 G92 S1500
N120 G96 S60
N130 G1 X10. F0.2
N140 T0202 M6
N150 G4 F1.5
N160 G0 X30. Z4.
N165 G92 X31. Z5.
N170 G94 G97 S600 M4
N180 G0 X28. F90.
N190 G17 G83 X2. Z-3. R1. Q1.5
N200 G80 G70
N210 G0 X1. Z0.5
N220 M1
N230 M0
N240 G1 X0.5 F2. M5
N250 M30
%
"""
BASES: dict[str, tuple[str, Rules]] = {
    "turned": (TURNED, NGC_BY_TURN), "placed": (PLACED, NGC_BY_TURN), "drilled": (DRILLED, NGC), "lathe": (LATHE, EIA),
}  # fmt: skip


def figure(value: float | None) -> str:
    """Return a figure to a millionth; "?" for one that is not known."""
    if value is None:
        return "-"
    return "?" if math.isnan(value) else f"{round(value, 6) + 0.0:.9g}"


def places(values: tuple[float, ...]) -> str:
    """Return the figures of a place."""
    return " ".join(map(figure, values))


def motion_lines(motions: tuple[Motion, ...]) -> Iterator[str]:
    """Yield a line for each motion: what it does, and what it carries if that is not what the one before carried."""
    before: dict[str, object] = {}
    for m in motions:
        held = {name: getattr(m, name) for name in HELD}
        held["start"] = places(m.start)
        news = [f"{k} {figure(v) if isinstance(v, float) else v}" for k, v in held.items() if v != before.get(k)]
        arc = f" round {places(m.centre)} turn {m.turn}" if m.centre else ""
        dwell = f" {figure(m.seconds)} s" if m.seconds else ""
        yield f"  {m.line} {m.kind} to {places(m.end)}{arc}{dwell}" + "".join(f"; {n}" for n in news)
        before = {**held, "start": places(m.end)}


def problem(found: Problem) -> str:
    """Return a problem on one line."""
    parts = [found.what, *(f"{k} {v!r}" for k in ("given", "allowed", "fix", "kind") if (v := getattr(found, k)))]
    return f"  {found.where.line}:{found.where.column}: {'; '.join(parts)}"


def said_lines(program: Program) -> Iterator[str]:
    """Yield what is said of a text: its problems and what it leaves to the control."""
    yield from map(problem, program.problems)
    yield from (f"  {n.line}: {n.kind}: {n.what}" for n in program.notes)


def told(name: str, program: Program, *, short: bool = False, known: tuple[str, ...] = ()) -> Iterator[str]:
    """Yield all of a text as it was read; short: a check sum of its motions in their place, and what is not known."""
    rows = list(motion_lines(program.motions))
    mark = f" {len(rows)} motions {crc32(chr(10).join(rows).encode()):08x}" if short else ""
    yield f"# {name}:{mark}"
    yield from () if short else rows
    said = tuple(said_lines(program))
    yield from (row for row in said if row not in known)
    yield from (f"  not{row}" for row in known if row not in said)
    if not short:
        yield f"  {program.lines} lines by {program.standard}; comments {program.comments}"


def texts() -> Iterator[str]:
    """Yield the good texts, motion for motion."""
    for name, (text, rules) in BASES.items():
        yield from told(name, read_program(text, rules))
    yield from told("turned, by radii", read_program(TURNED, NGC))
    yield from told("drilled, by diameters and in inches", read_program(DRILLED.replace("G21", "G20"), NGC_BY_TURN))
    yield from told("lathe, in inches", read_program(LATHE.replace("G71", "G70"), EIA))
    yield from told("lathe, by radii", read_program(LATHE, replace(EIA, x_words="radius")))


def slips(text: str) -> Iterator[tuple[str, str]]:
    """Yield a text with each word left out, each figure moved by one in its last place, and lines changed about."""
    rows = text.splitlines(keepends=True)
    for n, row in enumerate(rows):
        head, line, tail = "".join(rows[:n]), f"{n + 1}", "".join(rows[n + 1 :])
        for found in WORD.finditer(row):
            if "(" not in row:
                yield f"{line} less {found[0]}", f"{head}{row[: found.start()]}{row[found.end() :]}{tail}"
        for found in FIGURE.finditer(row):
            new = f"{found[0][:-1]}{(int(found[0][-1]) + 1) % 10}"
            yield f"{line} {found[0]} -> {new}", f"{head}{row[: found.start()]}{new}{row[found.end() :]}{tail}"
        yield f"{line} and the next", "".join([*rows[:n], *rows[n : n + 2][::-1], *rows[n + 2 :]])


def spoilt(name: str) -> Iterator[str]:
    """Yield what is made of a text with each slip in it."""
    text, rules = BASES[name]
    known = tuple(said_lines(read_program(text, rules)))
    for words, wrong in slips(text):
        yield from told(words, read_program(wrong, rules), short=True, known=known)


def rows(table: list, start: str, rules: Rules, *, at: int) -> Iterator[str]:
    """Yield what is made of the wrong and of the right line of each rule."""
    for row in table:
        for line in (row[at], row[-1]) if isinstance(row[-1], str) else (row[at],):
            short = line.replace(" " * 251, " ... ") if len(line) > 99 else line
            yield from told(ascii(short), read_program(f"{start}{line}\nM2\n", rules), short=True)


def rules_told() -> Iterator[str]:
    """Yield what is said of each rule's bad line and of its neighbour."""
    head = "\n".join(eia.START) + "\n"
    yield from rows(ngc.PAIRS, START, NGC, at=1)
    yield from rows(ngc.AFTER_A_MOVE, f"{START}{ngc.AT}\n", NGC, at=1)
    yield from rows(eia.PAIRS, head, EIA, at=1)
    yield from rows(eia.THREADS, f"{head}S100 M3\nG0 X6. Z2.\n", EIA, at=1)
    yield from rows(eia.AFTER_A_MOVE, f"{head}G0 X8. Z0. F0.1\n", EIA, at=1)
    for what, *pair in (*ngc.UNPLACED, *eia.UNSAID):
        start, rules = (START, NGC) if (what, *pair) in ngc.UNPLACED else ("%\n", EIA)
        for lines in pair:
            text = start + "\n".join(lines) + "\nM2\n"
            yield from told(" / ".join(lines), read_program(text, rules), short=True)
    for text, rules in FORMS:
        yield from told(ascii(text), read_program(text, rules), short=True)


AFTER = "G0 X1 Y2 Z3 F100\n"
FORMS: tuple[tuple[str, Rules], ...] = (
    *(
        (text, NGC)
        for text in (
            "",
            "\n",
            "%",
            "%\n%",
            "\n%\nG21\n%",
            "G21",
            "G21\nM2\nrubbish",
            "%\nG21\nM2\n\nrubbish",
            "%\nM2\nG0\n%\nX",
            " \t%\nG21\n% \nX",
            "G21\rG0 X1\r\nM2",
            "/G21\nM2",
            "/N5G21\nM2",
            "(\u00e9)g21\nM2",
            "(\u00e9)\u0131\nM2",
            "X1\nX2\nG1 X3\nX4\nG1 X5\nM2",
            "G0 X1\nG1 Z1\nG2 X3 I1\nG81 Z1 R2\nM6\nG43\nM2",
            f"{START}{AFTER}G1 X2O\nG91 X1\nZ1\nG90 X1\nG2 X3 Z1 I1\nM2",
            f"{START}{AFTER}G1 X2 I1\nG91 X1\nZ1\nG90 X5\nG91 X1\nM2",
            f"{START}{AFTER}G20 X1 I1\nG0 X1\nG1 X2\nM2",
            f"{START}{AFTER}G18 X1 I1\nG2 X2 K1\nG2 X2 Y1 I1\nM2",
            f"{START}{AFTER}G93 X1 I1\nG1 X2\nG94 X2\nM2",
            f"{START}{AFTER}G98 X1 I1\nG81 Z1 R2 X1 Y1\nM2",
            f"{START}{AFTER}M3 X1 I1\nX1 Y1 G84 Z1 R3\nM2",
            f"{START}{AFTER}M4 X1 I1\nX1 Y1 G84 Z1 R3\nM2",
            f"{START}{AFTER}G55 X1 I1\nG91 Y1\nM2",
            f"{START}{AFTER}T5 X1 I1\nM6\nG91 Y1\nM2",
            f"{START}{AFTER}F0 G1 X1 I1\nG1 X5\nM2",
            f"{START}{AFTER}S-3\nM3\nM2",
            f"{START}{AFTER}G81 X1 I1\nX2 Y2 Z1\nM2",
            f"{START}M2 I1\nX\n",
            f"{START}M30 G1\nX\n",
            f"{START}M0 I1\nX\n",
            f"{START}G0 X\nG0 X\nM2",
            f"{START}G0 X1  \t I1\nM2",
            f"{START}G0 X1 (a\nM2",
            f"{START}G0 X1 ( a \nM2",
            f"{START}G10 L2 P1 X1\nG10 L2 P1 X2\nG0 X1\nG10 L2 P1 X2\nG10 L2 P1 Y2\nG10 L2 P2 X2 Z1\nG55 X1\nM2",
            f"{START}{AFTER}G10 L2 P2 X3\n#1=#5221\n#1=#5241\nG0 X#1\nM2",
            f"{START}G54\n#1=#5220\nG0 X#1\nG59.3 X#5220\nM2",
            f"{START}{AFTER}G92 X2\nG0 X#5211 Y#5213\nM2",
            "G20\nG0 X1 F1\nG92 X2\nG0 X#5211\nM2",
            f"{START}{AFTER}G43 H1\nG43 H1 X1\nG43 H2\nG49\nG43 H0\nZ1\nG91 Z1\nM2",
            f"{START}G92 X1\nG92.1\nM2",
            f"{START}{AFTER}G92 X1\nG92.1\nG92.3\nX9\nM2",
            f"{START}{AFTER}G28\nG91 X1\nM2",
            f"{START}{AFTER}G83 Z-9996 R3 Q3\nM2",
            f"{START}{AFTER}G83 Z-9997 R3 Q3\nM2",
            f"{START}{AFTER}G83 Z-10 R3 Q3 L714\nM2",
            f"{START}{AFTER}G81 R2 Z1 L1666 G99\nM2",
            f"{START}{AFTER}G81 R2 Z1 L1667 G99\nM2",
            f"{START}{AFTER}G2 X3 Y2.002001 I1\nM2",
            f"{START}{AFTER}G2 X3.00201 I1\nX1 I-1.003\nM2",
            f"{START}{AFTER}G2 X1 Y2 I1\nX3 R1\nX3 Y4 R1\nM2",
            f"{START}{AFTER}G3 X3 Y4 R2\nG2 X1 Y2 R-2\nM2",
            f"{START}{AFTER}G18 G3 X3 Z5 R2\nG19 Y4 Z7 R-3\nM2",
            f"{START}{AFTER}G91 G28 Y1\nM2",
            f"{START}G0 X[7 MOD -4]Y[-7 MOD -4]Z[-8 MOD 4]\nM2",
            f"{START}G0 XROUND[-2.5]YROUND[0.49]ZATAN[1]/[-1]\nM2",
            f"{START}G0 X[2**[-2]]Y[[-2]**3]Z[0 XOR 3]\nX[1 OR 0]Y[0 OR 0]Z[1 AND 0]\nX[1 XOR 3]Y[8/2/2]Z[9-3-2]\nM2",
            f"{START}#1=2 #2=#1\nG0 X#1\nG0 X#2\nM2",
            f"{START}#5399=2\nM2",
            f"{START}#5160=2\nG0 X#5160\nM2",
            f"{START}#5161=2\nM2",
            f"{START}G0 X#0\nM2",
            f"{START}G0 X#5399\nM2",
            f"{START}G0 X1000000000\nM2",
            f"{START}G0 X1000000000.5\nM2",
            f"{START}G0 X[10**9]\nM2",
            f"{START}G0 X[10**9+1]\nM2",
            f"{START}G0 X-1000000001\nM2",
            f"{START}G0 XSQUARE[2]\nM2",
            f"{START}G0 XFUPPER[2]\nM2",
            f"{START}N99999 G0 X1\nN1 G0 X1 N2\nM2",
            f"{START}G0 X1 M1.00009\nM2",
            f"{START}M1.0002\nM2",
            f"{START}S1 T0 M6\nT1\nM6 S2\nG0 X1\nM2",
            f"{START}T1\nG0 X1\nM2",
            f"{START}T-0.5\nM2",
            f"{START}{AFTER}G41\nG17 G42 D1\nM2",
            f"{START}G18\nG41\nM2",
            f"{START}G53 X1\nG91 G53 G0 X1\nG90 G53 G1 X1\nM2",
            f"{START}G4 P0\nG4 P-0.1\nG4 P2 X1\nM2",
            f"{START}G0 X1\nG38.2 X2\nM2",
            f"{START}{AFTER}G92 Y5\n#1=#5212\nG0 X#1\nG92.2\nG92.3\nY1\nG92 Z9\nZ#5213\nG92.2\nG92.3\nZ1\nM2",
            *(f"{START}G10 L2 P1 X100 Y10 Z50\nG92 {a}5\nG53 G0 X1 Y3 Z4\nX2 Y2 Z2\nM2" for a in "XYZ"),
            f"{START}G10 L2 P1 X100\nG92 X5\nG10 L2 P1 X90\nX7 G0\nM2",
            f"{START}G10 L2 P2 X3 Y4 Z5\nG0 X#5241 Y#5242 Z#5243\nM2",
            f"{START}G0 X[-$2345678901234567890]\nG0 X1 ((a)\nG0.0001 X1\nT0.0001 M6\nM2",
            f"{START}{AFTER}G83 Z-9994 R3 Q3 G99\nM2",
            f"{START}{AFTER}M3 G87 Z1 R3 I1 J1 K2 G99\nZ2.5\nM2",
            "G20 G17 G40 G49 G80 G90 G94\nG0 X0 Y0 F9\nG2 X2.00019 I1\nX0.0004 I-1\nM2",
            f"{START}N\nN1.5 X\n/N000001 G0 X1\n(a)N5\nN-1\nM2",
            f"{START}G0 X123456789 Y12345678. Z-1234567\nX1234567890\nX-999999999.9\nX100000000.\nM2",
            f"{START}{AFTER}G33 Z1 K1\nM2",
            f"{START}G92 S5 X1\nM2",
            f"{START}G93 F1\nG1 X1\nG1 X1 F0\nM2",
            f"{START}G1 X1 F0\nG1 X1 F1\nM2",
            "G21 G91\nG0 X1\nM2",
            "G21\nG0 X1\nG91\nX1\nG90\nG91 X1\nM2",
            "G21 G0 X1\nM2",
            "G21 G17\nG0 X1\nM2",
            "G21 G40 G80\nG55 G0 X1\nM2",
            "G21 G40 G80 G17\nT1 M6\nG0 X1\nM2",
            "G21 G40 G80 G17\nG0\nT1\nX1 G0\nM2",
            f"{START}G0 X1 {' ' * 249}\nG0 X2 {' ' * 250}\nG0 X3 {' ' * 251}\nM2",
            *(f"{START}" + "X\n" * n for n in (199, 200, 201)),
            f"{START}((a)\nG0 X1 (one(two) and more that is not shown)\nG0 X2 (it goes on and on and never closes\nM2",
            f"{START}NM2",
            f"{START}G0 E2 V3 X1\nM2",
            f"{START}G[100+200+300+400+0.05] X1\nG0 X[1 2 + 3 + 4 + 5 + 6 + 7 + 8]\nXATAN[1],[2]\nM2",
            f"{START}G0 X1 (and so much more before it that it is not shown to its very end) T1\nM2",
        )
    ),
    *(
        (f"{START}{AFTER}G0 X9 (STOP. MOUNT TOOL 2)\nM0\nG91 X1\nM2", replace(NGC, by_stop=b, one_zero=z))
        for b in (True, False)
        for z in (True, False)
    ),
    (f"{START}(MOUNT TOOL 3)\nG0 X1\nM0\nM2", replace(NGC, by_stop=True)),
    *(
        (
            f"{head}{START}{AFTER}(STOP. MOUNT TOOL 2)\nM0\nG91 X1\nM5\nM0\nX2\nM2",
            replace(NGC, by_stop=True, one_zero=z),
        )
        for head in ("", "(MOUNT TOOL 4)\nM0\n")
        for z in (True, False)
    ),
    (f"{START}(MOUNT TOOL 3)\nG0 X1\nM5\nM0\nX2\nM2", replace(NGC, by_stop=True)),
    ("G20 G17 G40 G49 G80 G90 G94\nG0 X0 Y0 F9\nG2 X1 Y1 R1\nG3 X2 R-0.6\nM2", NGC),
    (f"{START}S0\nS0.5 M3\nG0 X1\nM2", NGC),
    (f"{START}{AFTER}X5 G92\nG0 X7\nM2", NGC),
    ("%\nG71 G90 G18 G40 G80\nG97 S0.5 M3\nX5. G92 S9\nM30\n%", EIA),
    ("%\nG71 G90 G18 G40 G80\nG0 X1. Z1.\nG1 X2.\nX3.\nM30\n%", EIA),
    (f"{START}T1 M6\nT1 M6\nT2 M6\nG0 X1 T3\nM6\nG91 X1\nM2", replace(NGC, once=True)),
    (f"{START}T1 M6\nG0 X1\nM6\nX2\nT2 M6\nG91 X1\nM2", replace(NGC, one_zero=True)),
    (f"{START}G40 T1\nM06\nG40 (G40)\nM6\nM2", replace(NGC, other=("G40", "M6"), by_stop=True)),
    (f"{START}G400\nG4.0\nG04 P1 (M6)\nT1\nM2", replace(NGC, other=("G4",), by_stop=True)),
    (
        f"{START}G0 X1 (12345678901) (and so much more that it is not shown to its very end, but to sixty)\nM2",
        replace(NGC, comment_width=10),
    ),
    ("%\nG97 S1 M3\nG71\nG33 Z1.\nM30\n%", EIA),
    ("%\nG97 S1 M3\nG90\nG33 Z1.\nM30\n%", EIA),
    ("%\nG71\nT1\nT01\nT12\nT001\nT0101\nT0112\nT1201\nT10101\nM30\n%", EIA),
    (f"(1234567890)\n{START}(12345678901) (a)\n(12345678901)\nM2", replace(NGC, comment_width=10)),
    ("%\nG71 G90 G95 G18 G40 G80\nT0101\nT0101\nT0102\nT0202\nG0 X1.\nM6\nM30\n%", replace(EIA, once=True)),
    ("%\nG71 G90 G95 G18 G40 G80\nT0101\nG0 X1.\nT0101\nX2.\nT0201\nX3.\nM30\n%", replace(EIA, one_zero=True)),
    ("%\nG71 G90 G95 G18 G40 G80\nG0 X1. Z1.\nM6\nX2.\nM30\n%", replace(EIA, in_use=2)),
    ("%\nG71 G90 G95 G18 G40 G80\nG0 X1. Z1.\nM6\nM30\n%", replace(EIA, in_use=2, one_zero=True)),
    ("%\nG71 G90 G95 G18 G40 G80\nG0 X1. Z1.\nM0\nM30\n%", replace(EIA, in_use=2, by_stop=True)),
    ("%\nG71 G90\nG92 S-1\nG92 S9 X1.\nG97\nS5\nG96 S-2.\nM3\nM5\nG97 M3\nM30\n%", EIA),
    ("%\nG71 G90 G95 G18 G40 G80\nG96 S50 M3\nG97\nS9 M4\nG96\nG92 S8\nS5\nG92 S7\nM30\n%", EIA),
    (
        "%\nG71 G90 G95 G17 G40 G80\nG0 X1. Z5. F1.\nG81 Z1. R2."
        "\nG83 Z1. R2. Q0.7\nG85 X3. Z1. R2.\nG84 Z1. R2.\nM30\n%",
        EIA,
    ),
    (
        "%\nG71 G90 G95 G18 G40 G80\nG97 S1 M3\nG0 X8. Z0. F0.1"
        "\nG33 X8.00001 Z-1. K1.\nG33 X8.1 Z-1. K1.\nG33 Z0. K0\nM30\n%",
        EIA,
    ),
    (
        "%\nG97 S1 M3\nG33 Z1. K1.\nG71\nG33 Z1. K1.\nG90 G0 Z1."
        "\nG33 K1.\nG33 X1. K1.\nG33 Z2.\nG91 G33 Z1. K2.\nM5\nG33 Z1. K1.\nM30\n%",
        EIA,
    ),
    ("%\nG71 G90 G95 G18 G40 G80\nG0 X8. Z0.\nG4\nG4 F-1.\nG4 F2.\nG4 F2. X1.\nG1 X1.\nM30\n%", EIA),
    ("(A)\n%\nG71\nM30\n%", EIA),
    ("G71\nM30", EIA),
    ("%\nG71\n%", EIA),
    ("%\nG71\nM30\n", EIA),
    ("%G71\nM30\n%", EIA),
    ("", EIA),
    *(
        (
            f"(G90 stands at the start, {day})\n(g94 STANDS at the start 2026-05-02)\n(- G17 STANDS 2026-05-02)\n"
            f"{first}G0 X1\nG1 X2 F9\nM2",
            replace(NGC, stands=tuple((w, "2026-05-02") for w in ("G90", "G94", "G17", "G99.9"))),
        )
        for day in ("2026-05-02", "2026-05-03")
        for first in ("", "G21\n", "(.. G21 STANDS 2026-05-02)\n")
    ),
    *(
        (
            f"%\n({word} STANDS AT THE START, 2026-05-02)\nG0 X1. Z1.\nS9 M3\nG1 X2. F1.\nG2 X3. Z2. I1.\nM30\n%",
            replace(EIA, stands=((word, "2026-05-02"),)),
        )
        for word in ("G70", "G71", "G90", "G94", "G95", "G97", "G17", "G18", "G19", "G40", "G80")
    ),
    *(
        (f"%\n{said}G0 X1. Z1.\nX2. Z2.\nM30\n%", replace(ISO, units=units))
        for said in ("", "G90 G94 G18 G40 G80\n")
        for units in ("mm", "in")
    ),
)

BEGUN = """%
(ENDSHAKE 1. PART A)
(SHOP FILE B)
(HELD BETWEEN CENTRES. X PROVED)
(.. 2026-05-02. Z PROVED 2026-05-03)
G21 G18 G40 G49 G80 G90 G94
(STOP: PROVE X.)
(- THE TIP STANDS AT 20)
(.. OR STOP)
N5 M0
T1 M6
G0 X20 Y0
N6 M0 (PROVE Z)
G0 Z5
(---- PASS 1 OF 3)
(TOOL 1 IN THE POST)
(begun here: belt 2)
N10 G21 G18 G40 G49 G80 G90 G94 S900 M3
(one)
(  and more)
G0 X9 F50 (past)
G1 Z-5
G0 X20
G55 X21
G54 X20 Z3
(STOP. MEASURE THE PIVOT.)
(.. 5.00)
N11 M5
M0
(---- Pass 2 of 3)
(STOP. OLD)
(STOP. NEW: TOOL 2 IN THE SPINDLE AND CALLED, THEN GO ON)
N20 G21 G18 G40 G49 G80 G90 G94 S900 M3
(MSG, MEASURE. 12345678901)
M0
G0 X8
Z4
T2 M6
G0 X9
G1 X7 F50
(---- PASS 12 OF 3)
(TOOL 2 IN THE POST)
M3
(---- PASS 3 OF 3)
N30 G21 (TOOL 2 IN THE POST) S900 M3
G18 G40 G49 G80 G90 G94
G1 X6 F50
(STOP. NEVER COMES)
G0 X20
M5
(STOP. MEASURE)
(STOP. AND AGAIN)
N31 M0
(LAST. THEN GO ON)
(STOP. TOO LATE)
G0 Z5
(MSG, end)
M2
%
"""


def begun() -> Iterator[str]:
    """Yield what is made of a program begun at each pass, and what its stops say."""
    for rules in (NGC, NGC_BY_TURN, replace(NGC, by_stop=True), replace(NGC, one_zero=True), EIA):
        for number in (1, 2, 3, 4, 12):
            name = f"pass {number}, {rules.standard} {rules.x_words} {rules.by_stop} {rules.one_zero}"
            try:
                found = begin_at(BEGUN, rules, "program", number)
            except ProblemError as error:
                yield f"# {name}:"
                yield from map(problem, error.problems)
                continue
            yield from told(f"{name}: first {found.first}, line {found.line}", found.program)
            yield f"  said {found.said}; words {found.words!r}; reground {found.reground}"
            yield f"  rest {len(found.rest.motions)}, {found.rest.comments[:2]}"
    for text in (
        "G21\nM2\n",
        "(PASS 1 OF 2)\nM2\n",
        "(PASS 1 OF 2)",
        "(PASS 1 OF 2)\n N1 G21\nX1\n",
        "(PASS 2 OF 3)\nn7 g21\nm2\n",
        f"{START}T1 M6\nG54 G0 X9 Y8 Z7\nM0\nT2 M6\n(PASS 2 OF 2)\nN2 {START[:-1]} T2 M6\nG54 G0 X1\nM2\n",
    ):
        for number in (1, 2):
            try:
                found = begin_at(text, NGC, "program", number)
                yield from told(ascii(text), found.program)
            except ProblemError as error:
                yield from (ascii(text), *map(problem, error.problems))


HEADED = "(A)\nG21 (B)\n(C)\nM2\n"
BARE = (
    "(A)\nM0\nM0\nM2\n",
    "G21 G90\nG0 X1 (STOP. A)\nG0 X2\nM0 (STOP. B)\nM0\nM2\n",
    "G21 G90\n(STOP. A)\nM0 (STOP. B)\nG0 X2 (STOP. C)\nM0\nM2 (STOP. D)\n",
)


def stops() -> Iterator[str]:
    """Yield the stops of a program with their words, and words of stops that never come."""
    texts = [BEGUN, *BARE, *(text for words, text in slips(BEGUN) if "next" in words), HEADED]
    for n, text in enumerate(texts):
        program = read_program(text, NGC)
        halts = [f"  {h.number} {h.line} {h.spindle} {h.words!r} {h.said}" for h in halts_of(program)]
        mark = f" {len(halts)} halts {crc32(chr(10).join(halts).encode()):08x}" if n else ""
        yield f"# {n}{mark}: lost {lost_halts(program)}"
        if text in (BEGUN, HEADED):
            yield f"  head {head_told(text, program)}"
        if not n:
            yield from halts
            yield from (f"  {told!r}" for told in stops_told(text, program))
            again = text.replace("(---- PASS 3 OF", "(BEGUN HERE: BELT 2)\n(.. A1)\n(STOP. NO MORE)\n(---- PASS 3 OF")
            thrice = again.replace("(---- PASS 12", "(BEGUN HERE: BELT 3)\n(---- PASS 12")
            alike = "".join(f"N{n} G21\n(BEGUN HERE: BELT 2)\nM0\n" for n in (1, 2, 3))
            for said in (again, thrice, alike):
                yield from (f"  {told!r}" for told in begun_told(said, read_program(said, NGC)))
            yield from (f"  {width} {list(wide_messages(program, width))}" for width in (19, 20, 21, 22))
            for sense in ("X", "Z", "Y"):
                days = {d: proved_in_head(program, sense, ((sense, f"2026-05-0{d}"),)) for d in (2, 3)}
                yield f"  {sense} proved {days}"
            for halt in halts_of(program):
                yield f"  {[halt.names(w) for w in ('prove x', 'PROVE', 'prove z', 'tool', '', '5.00')]}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "program texts": texts, "program rules": rules_told, "programs begun": begun, "program stops": stops,
    **{f"spoilt {name}": partial(spoilt, name) for name in BASES},
}  # fmt: skip
