"""Frozen data are data classes in all that is used of them; the standard library's own are the reference."""

from __future__ import annotations

import copy
import dataclasses
import pickle
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.frozen import Row, frozen, widened


@frozen
class Ours:
    """A place with a name."""

    z: float
    x: float
    name: str = "none"
    more: tuple[int, ...] = ()

    @property
    def sum(self) -> float:
        """Of both."""
        return self.z + self.x


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Theirs:
    """A place with a name."""

    z: float
    x: float
    name: str = "none"
    more: tuple[int, ...] = ()

    @property
    def sum(self) -> float:
        """Of both."""
        return self.z + self.x


VALUES = st.fixed_dictionaries(
    {"z": st.floats(allow_nan=False), "x": st.integers()},
    optional={"name": st.text(max_size=3), "more": st.tuples(st.integers())},
)


def change_name(value: Any) -> Any:
    return dataclasses.replace(value, name="new")


@given(VALUES, VALUES)
def test_they_do_as_data_classes_do(one: dict[str, Any], other: dict[str, Any]) -> None:
    ours, theirs = (Ours(**one), Ours(**other)), (Theirs(**one), Theirs(**other))
    assert (ours[0] == ours[1]) == (theirs[0] == theirs[1])
    assert hash(ours[0]) == hash(theirs[0])
    assert repr(ours[0]) == repr(theirs[0]).replace("Theirs", "Ours")
    assert ours[0].sum == theirs[0].sum
    for use in (copy.copy, copy.deepcopy, lambda v: pickle.loads(pickle.dumps(v)), dataclasses.replace):
        assert use(ours[0]) == ours[0]
    assert dataclasses.asdict(ours[0]) == dataclasses.asdict(theirs[0])  # type: ignore[call-overload]
    assert change_name(ours[0]) == Ours(**{**one, "name": "new"})


def test_they_say_of_themselves_what_data_classes_say() -> None:
    assert dataclasses.is_dataclass(Ours)
    ours, theirs = dataclasses.fields(Ours), dataclasses.fields(Theirs)  # type: ignore[arg-type]
    assert [(f.name, f.type, f.default, f.kw_only) for f in ours] == [
        (f.name, f.type, f.default, f.kw_only) for f in theirs
    ]
    for name in ("__slots__", "__match_args__", "__doc__", "__module__", "__annotations__"):
        assert getattr(Ours, name) == getattr(Theirs, name)
    assert Ours.__qualname__ == "Ours"
    assert Ours(z=1.0, x=2.0) != Theirs(z=1.0, x=2.0)
    assert Ours(z=1.0, x=2.0) != (1.0, 2.0, "none", ())


@pytest.mark.parametrize("kind", [Ours, Theirs])
def test_they_cannot_change(kind: Any) -> None:
    value = kind(z=1.0, x=2.0)
    with pytest.raises(dataclasses.FrozenInstanceError):
        value.z = 3.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        del value.z
    with pytest.raises((AttributeError, TypeError)):
        value.other = 3.0
    assert not hasattr(value, "__dict__")


@pytest.mark.parametrize("kind", [Ours, Theirs])
@pytest.mark.parametrize("given_values", [{}, {"z": 1.0}, {"z": 1.0, "x": 2.0, "y": 3.0}, {"name": "a", "q": 1}])
def test_wrong_names_are_refused(kind: Any, given_values: dict[str, Any]) -> None:
    with pytest.raises(TypeError):
        kind(**given_values)
    with pytest.raises(TypeError):
        kind(1.0, 2.0)


def test_one_that_is_longer_has_all_names_of_its_base() -> None:
    @frozen
    class Longer(Ours):
        y: float
        extra: str = "none"

    short = Ours(z=1.0, x=2.0)
    long = widened(short, Longer, y=3.0)
    names = [f.name for f in dataclasses.fields(short)]
    assert isinstance(long, Ours)
    assert [f.name for f in dataclasses.fields(long)] == [*names, "y", "extra"]
    assert [getattr(long, n) for n in names] == [getattr(short, n) for n in names]
    assert dataclasses.replace(long, x=5.0) == widened(dataclasses.replace(short, x=5.0), Longer, y=3.0)
    assert long != short
    assert copy.copy(long) == long
    assert "y=3.0, extra='none'" in repr(long)
    with pytest.raises(TypeError):
        Longer(z=1.0, x=2.0)
    with pytest.raises(dataclasses.FrozenInstanceError):
        long.y = 4.0  # type: ignore[misc]


def test_they_inherit_from_nothing_that_is_not_frozen() -> None:
    with pytest.raises(TypeError, match="Longer has a base"):

        @frozen
        class Longer(str):
            y: float


@pytest.mark.slow
def test_a_type_checker_takes_them_for_data_classes(tmp_path: Path) -> None:
    (tmp_path / "use.py").write_text(
        "from dataclasses import replace\n"
        "from tests.test_frozen import Ours\n"
        "a = replace(Ours(z=1.0, x=2.0), x=3.0)\n"
        "a.x = 4.0\n"
        "Ours(z='1', x=2.0)\n"
        "Ours(1.0, 2.0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--config-file=", "--follow-imports=silent", str(tmp_path / "use.py")],
        cwd=Path(__file__).parent.parent, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert [line.split(": ")[0].rpartition(":")[2] for line in done.stdout.splitlines()[:-1]] == ["4", "5", "6"], done


# Rows -------------------------------------------------------------------------------------------------


class Place(Row):
    """A row."""

    z: float
    x: float
    name: str = ""

    @property
    def sum(self) -> float:
        return self.z + self.x


class Standard(NamedTuple):
    """The same by the standard library."""

    z: float
    x: float
    name: str = ""

    @property
    def sum(self) -> float:
        return self.z + self.x


def test_a_row_is_as_a_named_tuple():
    for values, named in (((1.0, 2.0), {}), ((1.0,), {"x": 2.0}), ((), {"z": 1.0, "x": 2.0, "name": "a"})):
        one, two = Place(*values, **named), Standard(*values, **named)
        assert one == two == tuple(one)
        assert hash(one) == hash(two)
        assert repr(one) == repr(two).replace("Standard", "Place")
        assert (one.z, one.x, one.name, one.sum) == (two.z, two.x, two.name, two.sum)
        assert one._replace(x=5.0) == two._replace(x=5.0)
        assert one._asdict() == two._asdict()
        assert pickle.loads(pickle.dumps(one)) == one
        assert type(copy.copy(one)) is Place
    assert Place._fields == Standard._fields
    assert Place._field_defaults == Standard._field_defaults
    z, x, _ = Place(1.0, 2.0)
    assert (z, x) == (1.0, 2.0)
    match Place(1.0, 2.0):
        case Place(z, x):
            assert (z, x) == (1.0, 2.0)


@pytest.mark.parametrize(
    ("values", "named"), [((), {}), ((1.0,), {}), ((1.0, 2.0, "", 4), {}), ((1.0, 2.0), {"y": 1}), ((1.0,), {"z": 1})]
)
def test_a_row_wants_its_values_as_a_named_tuple_does(values, named):
    for kind in (Place, Standard):
        with pytest.raises(TypeError):
            kind(*values, **named)
    with pytest.raises(AttributeError):
        Place(1.0, 2.0).z = 3.0


def test_rows_of_any_length_are_as_named_tuples():
    for count in range(14):
        names = {f"n{k}": "int" for k in range(count)}
        ours: Any = type(Row)("Rows", (Row,), {"__annotations__": names, "__module__": __name__})
        theirs: Any = NamedTuple("Rows", [(n, int) for n in names])  # type: ignore[misc]
        values = list(range(count))
        assert ours(*values) == ours(**dict(zip(names, values, strict=True))) == ours._make(values) == theirs(*values)
        assert repr(ours(*values)) == repr(theirs(*values))
        for few in (values[:-1] if values else [1], [*values, 1]):
            with pytest.raises(TypeError):
                ours(*few)


def test_a_default_before_a_place_without_one_is_refused():
    body = {"__annotations__": {"a": "int", "b": "int"}, "a": 1, "__module__": __name__}
    with pytest.raises(TypeError, match="Bad has a place"):
        type(Row)("Bad", (Row,), body)
