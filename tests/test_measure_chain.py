"""The chain of lengths: solved back, told apart, and refused in words; numpy's rank and least squares as oracle."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.lengths.chain import Chain, Equation, Member, gather_equations, solve_chain, span_total
from cam.lengths.thermal import at_reference
from cam.part.read_spans import parse_temperature
from cam.part.spans import Measurement, Span, StandOff
from tests.measured import NO_STAND_OFF, loose, measurement, members, span
from tests.specimens import HERE, quantity


def solved(
    parts: tuple[Member, ...], *spans: Span, taken: dict[str, Measurement] | None = None, cut=None, **more
) -> Chain:
    names = [p.name for p in parts]
    real = [Equation("actual", n, names.index(n), names.index(n) + 1, v, "", 0, HERE) for n, v in (cut or {}).items()]
    taken = taken or {"between plates": measurement(45.0)}
    stand_offs = {s.name: (s.stand_off_a or NO_STAND_OFF, s.stand_off_b or NO_STAND_OFF) for s in spans}
    return solve_chain(parts, (*real, *gather_equations(parts, spans, taken, stand_offs, **more)))


def lengths(chain: Chain) -> dict[str, float | None]:
    return {s.name: s.value for s in chain.lengths}


def says(parts, *spans, **more) -> str:
    with pytest.raises(ProblemError) as caught:
        solved(parts, *spans, **more)
    return str(caught.value)


# By hand -----------------------------------------------------------------------------------------------


def test_a_span_is_the_distance_less_end_shake_stand_off_and_loose_parts():
    off = StandOff(0.1, 0.113, 0.12, "fillet 0.2 mm")
    frame = span("b", "c", loose=(loose(0.5, 0.01), loose(1.0, 0.01, "boss")), stand_off_a=off, stand_off_b=off)
    assert span_total(frame, measurement(45.02, 45.04, 45.03), (off, off)) == pytest.approx(
        45.03 - 0.2 - 2 * 0.113 - 1.5, abs=1e-12
    )


def test_what_is_not_given_is_solved_from_span_total_and_lengths():
    parts = members(a=6.0, b=None, c=32.0, d=None)
    chain = solved(parts, span("b", "c"), total=quantity(60.0))
    assert lengths(chain) == pytest.approx({"a": 6.0, "b": 12.8, "c": 32.0, "d": 9.2}, abs=1e-12)
    assert [t.equation.title for t in chain.lengths[1].terms] == ['span "frame"', 'the length of "c"']
    assert chain.total("b", "c") == pytest.approx(44.8, abs=1e-12)
    assert chain.total("a", "d") == pytest.approx(60.0, abs=1e-12)


def test_spans_that_overlap_are_solved_together():
    """b + c = 20, c + d = 30, b + c + d = 41.8: none of the three is fixed by one equation alone."""
    taken = {n: measurement(v, name=n) for n, v in (("one", 20.2), ("two", 30.2), ("three", 42.0))}
    spans = (
        span("b", "c", name="one", measurement="one"), span("c", "d", name="two", measurement="two"),
        span("b", "d", name="three", measurement="three"),
    )  # fmt: skip
    chain = solved(members(b=None, c=None, d=None), *spans, taken=taken)
    assert lengths(chain) == pytest.approx({"b": 11.8, "c": 8.2, "d": 21.8}, abs=1e-12)


def test_a_warm_frame_is_brought_to_20_degrees():
    taken = measurement(100.023, temperature=parse_temperature("40 ± 1 degC", HERE), material="silver steel")
    assert at_reference(taken) == pytest.approx(100.0, abs=1e-5)
    chain = solved(members(a=None), span("a", "a"), taken={"between plates": taken})
    assert lengths(chain)["a"] == pytest.approx(99.8, abs=1e-5)


# What is to be measured------------------------------------------------------------------------------------


def test_a_measurement_to_be_taken_leaves_what_rests_on_it_open_and_nothing_else():
    parts = members(a=6.0, b=None, c=32.0, d=8.0)
    chain = solved(parts, span("b", "c"), taken={"between plates": measurement(after=1)})
    assert lengths(chain) == {"a": 6.0, "b": None, "c": 32.0, "d": 8.0}
    assert chain.lengths[1].to_be_measured == ("between plates",)
    assert chain.to_be_measured == ("between plates",)
    assert chain.total("b", "c") is None
    assert chain.total("c", "d") == 40.0


def test_a_total_may_be_known_though_its_sections_wait():
    """a + b = 30 by the total; where the shoulder between them comes is to be measured: the total is not."""
    parts = members(a=None, b=None)
    chain = solved(parts, span("a", "a"), taken={"between plates": measurement(after=1)}, total=quantity(30.0))
    assert lengths(chain) == {"a": None, "b": None}
    assert chain.total("a", "b") == 30.0


def test_what_a_redundant_measurement_to_be_taken_must_come_to_is_said():
    chain = solved(members(a=10.0, b=20.0), span("a", "b"), taken={"between plates": measurement(after=1)})
    assert chain.expected == {"between plates": 30.0}
    assert not chain.to_be_measured


# Actual lengths -----------------------------------------------------------------------------------------


def test_an_actual_length_moves_the_section_that_the_span_solves():
    parts = members(a=6.0, b=7.5, c=None)
    before = solved(parts, span("b", "c"))
    after = solved(parts, span("b", "c"), cut={"b": 7.56})
    assert lengths(before)["c"] == pytest.approx(37.3)
    assert lengths(after) == pytest.approx({"a": 6.0, "b": 7.56, "c": 37.24})


def test_a_span_whose_sections_are_all_cut_is_finished_and_no_contradiction():
    chain = solved(members(a=None, b=None), span("a", "b"), cut={"a": 10.0, "b": 34.74})
    ((equation, longer),) = chain.finished
    assert equation.name == "frame"
    assert longer == pytest.approx(-0.06)


# Refused in words ---------------------------------------------------------------------------------------


def test_what_nothing_fixes_is_named_with_what_fixes_only_its_sum():
    text = says(members(a=6.0, b=None, c=None, d=None), span("b", "c"))
    assert 'nothing fixes the lengths of "b", "c" and "d"' in text
    assert 'span "frame" fixes only the sum of "b" and "c"' in text
    assert "2 more lengths or spans are needed" in text
    assert 'give "b", "c" or "d" a length' in text


def test_one_length_is_named_alone():
    text = says(members(a=6.0, b=None))
    assert 'nothing fixes the length of "b"' in text
    assert "one more length or span is needed" in text


def test_a_contradiction_names_its_loop_and_by_how_much():
    text = says(members(a=6.0, b=7.5, c=37.5), span("b", "c"))
    assert 'span "frame", the length of "b" and the length of "c" contradict each other by 0.200 mm' in text
    assert 'span "frame" says 44.800 mm; the length of "b" 7.500 mm + the length of "c" 37.500 mm = 45.000 mm' in text
    assert "measure again" in text


def test_a_contradiction_within_the_errors_of_measuring_says_so():
    taken = {"one": measurement(45.0, name="one"), "two": measurement(45.03, name="two")}
    spans = span("a", "a", name="one", measurement="one"), span("a", "a", name="two", measurement="two")
    text = says(members(a=None), *spans, taken=taken)
    assert 'span "two" and span "one" contradict each other by 0.030 mm' in text
    assert "their errors of measuring, ±0.040 mm together, could explain it" in text


def test_every_contradiction_and_every_free_length_is_told_at_once():
    parts = members(a=6.0, b=7.5, c=37.5, d=None, e=None, f=3.0)
    text = says(parts, span("b", "c"), span("b", "b", name="seat"), taken={"between plates": measurement(45.0)})
    assert text.count("contradict each other") == 2
    assert 'nothing fixes the lengths of "d" and "e"' in text


def test_no_length_left_is_refused_with_the_sum():
    text = says(members(a=6.0, b=46.0, c=None), span("b", "c"))
    assert 'no length is left for "c"' in text
    assert 'span "frame" 44.800 mm - the length of "b" 46.000 mm = -1.200 mm' in text


# Laws ---------------------------------------------------------------------------------------------------

SIZES = st.lists(st.floats(0.05, 80.0), min_size=1, max_size=9)


def true_equations(draw, sizes: list[float], count: int) -> list[Equation]:
    """Distances of a part whose true section lengths are sizes, between random faces."""
    found = []
    for at in range(count):
        start = draw(st.integers(0, len(sizes) - 1))
        end = draw(st.integers(start + 1, len(sizes)))
        found.append(Equation("span", f"s{at}", start, end, math.fsum(sizes[start:end]), "", 0.02, HERE))
    return found


def unknown(sizes: list[float]) -> tuple[Member, ...]:
    return members(**{f"n{i}": None for i in range(len(sizes))})


def matrix(equations: list[Equation], size: int) -> np.ndarray:
    return np.array([[float(e.start <= at < e.end) for at in range(size)] for e in equations])


@given(st.data(), SIZES)
def test_a_consistent_chain_gives_back_its_measurements_and_a_poor_one_is_refused_as_the_rank_says(data, sizes):
    equations = true_equations(data.draw, sizes, data.draw(st.integers(1, 14)))
    system = matrix(equations, len(sizes))
    rank = int(np.linalg.matrix_rank(system))
    if rank < len(sizes):
        with pytest.raises(ProblemError) as caught:
            solve_chain(unknown(sizes), equations)
        missing = len(sizes) - rank
        assert ("one more" if missing == 1 else f"{missing} more") in str(caught.value)
        null = np.linalg.svd(system)[2][rank:]  # a section is free just where the null space moves it
        free = {f"n{at}" for at in range(len(sizes)) if np.abs(null[:, at]).max() > 1e-9}
        line = str(caught.value).splitlines()[0]
        assert {name for name in (f"n{i}" for i in range(len(sizes))) if f'"{name}"' in line} == free
        return
    chain = solve_chain(unknown(sizes), equations)
    for e in equations:
        back = math.fsum(s.value for s in chain.lengths[e.start : e.end] if s.value is not None)
        assert back == pytest.approx(e.value, abs=1e-9)
        assert chain.total(f"n{e.start}", f"n{e.end - 1}") == pytest.approx(e.value, abs=1e-9)
    best = np.linalg.lstsq(system, np.array([e.value for e in equations]), rcond=None)[0]
    assert [s.value for s in chain.lengths] == pytest.approx(list(best), abs=1e-8)


@given(st.data(), SIZES)
def test_a_redundant_consistent_measurement_changes_nothing(data, sizes):
    equations = true_equations(data.draw, sizes, 12)
    assume(np.linalg.matrix_rank(matrix(equations, len(sizes))) == len(sizes))
    chain = solve_chain(unknown(sizes), equations)
    more = true_equations(data.draw, sizes, 3)
    assert solve_chain(unknown(sizes), equations + more) == chain


@given(st.data(), SIZES, st.floats(1e-5, 0.5))
def test_one_wrong_member_of_a_loop_is_always_found_and_the_loop_holds_it(data, sizes, error):
    equations = true_equations(data.draw, sizes, data.draw(st.integers(2, 14)))
    at = data.draw(st.integers(0, len(equations) - 1))
    others = equations[:at] + equations[at + 1 :]
    system = matrix(others, len(sizes))
    bound = np.linalg.matrix_rank(matrix(equations, len(sizes))) == np.linalg.matrix_rank(system)
    wrong = [*equations]
    wrong[at] = equations[at]._replace(value=equations[at].value + error)
    texts = []
    try:
        solve_chain(unknown(sizes), wrong)
    except ProblemError as caught:
        texts = [str(p) for p in caught.problems if "contradict" in p.what]
    assert bool(texts) == bool(bound)
    assert all(f'"s{at}"' in text for text in texts)


@given(st.data(), SIZES)
def test_what_is_to_be_measured_is_what_changes_with_its_value(data, sizes):
    """A length rests on a measurement if and only if it moves when that measurement moves."""
    equations = true_equations(data.draw, sizes, 12)
    assume(np.linalg.matrix_rank(matrix(equations, len(sizes))) == len(sizes))
    at = data.draw(st.integers(0, len(equations) - 1))
    pending = [*equations]
    pending[at] = equations[at]._replace(value=None, to_be_measured="later")
    chain = solve_chain(unknown(sizes), pending)
    if not chain.to_be_measured:
        assert chain.expected["later"] == pytest.approx(equations[at].value, abs=1e-9)
        return
    others = [e for e in equations if e is not equations[at]]
    if np.linalg.matrix_rank(matrix(others, len(sizes))) == len(sizes):
        assert not chain.to_be_measured
        return
    null = np.linalg.svd(matrix(others, len(sizes)))[2][-1]
    moving = {f"n{i}" for i in range(len(sizes)) if abs(null[i]) > 1e-9}
    assert {s.name for s in chain.lengths if s.value is None} == moving


@given(st.floats(20.0, 200.0), st.floats(-10.0, 40.0))
def test_bringing_to_20_degrees_is_undone_by_growing_back(length, temperature):
    taken = measurement(length, temperature=parse_temperature(f"{temperature:.2f} ± 1 degC", HERE), material="brass")
    cold = at_reference(taken)
    assert cold * (1 + 19.5e-6 * (float(f"{temperature:.2f}") - 20)) == pytest.approx(length, rel=1e-12)
    assert replace(taken, temperature=None).mean == length
