"""Frozen, keyword-only, slotted data classes that cost next to nothing to define.

`dataclasses.dataclass` writes and compiles the text of seven methods for each class, which takes 0.3 to 0.5 ms each
time that a program starts; sixty classes take a third of the time that `make` may take. Here all classes share their
methods. Otherwise they are the same: mypy takes them for data classes (PEP 681), and `dataclasses.replace`, `fields`
and `asdict` work on them, as do pickle and copy.

    @frozen
    class Corner:
        \"\"\"...\"\"\"

        radius: float
        text: str = ""

`Row` does the same for named tuples: `class Limits(Row)` in place of `class Limits(NamedTuple)`.
"""

from __future__ import annotations

from dataclasses import FrozenInstanceError, make_dataclass
from operator import attrgetter, itemgetter
from types import FunctionType
from typing import TYPE_CHECKING, Any, TypeVar, dataclass_transform

__all__ = ["Row", "frozen", "widened"]

T = TypeVar("T")


@dataclass_transform(frozen_default=True, kw_only_default=True)
def frozen(cls: type[T]) -> type[T]:
    """Make a class of annotated names into a frozen data class. Defaults are values that cannot change.

    A class may have one base, which is frozen too; the names of the base then come before its own.

    Raises:
        TypeError: the class has another base.
    """
    base: Any = cls.__bases__[0]
    if len(cls.__bases__) != 1 or not (base is object or hasattr(base, "__frozen_slots__")):
        raise TypeError(f"{cls.__qualname__} has a base that is not frozen")
    names = tuple(cls.__annotations__)
    body = {k: v for k, v in vars(cls).items() if k not in ("__dict__", "__weakref__", *names)}
    defaults = {name: vars(cls)[name] for name in names if name in vars(cls)}
    made: Any = type(cls.__name__, (base,), {**_METHODS, **body, "__slots__": names, "__qualname__": cls.__qualname__})
    made.__frozen_defaults__ = {**getattr(base, "__frozen_defaults__", {}), **defaults}
    made.__frozen_types__ = {**getattr(base, "__frozen_types__", {}), **cls.__annotations__}
    own = tuple((name, vars(made)[name].__set__) for name in names)
    made.__frozen_slots__ = (*getattr(base, "__frozen_slots__", ()), *own)
    every = [*made.__frozen_types__]
    made.__frozen_get__ = attrgetter(*every) if len(every) > 1 else None  # all values at once
    result: type[T] = made
    return result


def widened(value: Any, kind: type[T], **more: Any) -> T:
    """Make a value of a kind whose base is the value's own class: it has the same fields and more."""
    return kind(**{name: getattr(value, name) for name, _ in value.__frozen_slots__}, **more)


def _init(self: Any, **values: Any) -> None:
    slots = self.__frozen_slots__
    if len(values) != len(slots):
        values = {**self.__frozen_defaults__, **values}
    try:
        for name, put in slots:
            put(self, values[name])
    except KeyError:
        missing = [name for name, _ in slots if name not in values]
        raise TypeError(f"{type(self).__name__} wants {' and '.join(missing)}") from None
    if len(values) > len(slots):
        unknown = sorted(values.keys() - {name for name, _ in slots})
        raise TypeError(f"{type(self).__name__} has no {' and no '.join(unknown)}")


def _values(self: Any) -> tuple[Any, ...]:
    if self.__frozen_get__ is not None:
        return self.__frozen_get__(self)  # type: ignore[no-any-return]
    return tuple(getattr(self, name) for name, _ in self.__frozen_slots__)


def _equal(self: Any, other: object) -> bool:
    return _values(self) == _values(other) if other.__class__ is self.__class__ else NotImplemented


def _hash(self: Any) -> int:
    return hash(_values(self))


def _show(self: Any) -> str:
    return f"{type(self).__qualname__}({', '.join(f'{n}={getattr(self, n)!r}' for n, _ in self.__frozen_slots__)})"


def _refuse_setting(self: Any, name: str, value: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_deleting(self: Any, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _set_state(self: Any, state: tuple[Any, ...]) -> None:
    for (_, put), value in zip(self.__frozen_slots__, state, strict=True):
        put(self, value)


class _Fields:
    """`__dataclass_fields__`, made by the standard library itself, and only when it is asked for.

    The library is told to write no methods, since each would be compiled.
    """

    def __get__(self, instance: object, owner: Any) -> Any:
        defaults = owner.__frozen_defaults__
        rows = [(n, kind, *([defaults[n]] if n in defaults else [])) for n, kind in owner.__frozen_types__.items()]
        like: Any = make_dataclass(
            owner.__name__, rows, namespace={"__doc__": "-"}, init=False, repr=False, eq=False, kw_only=True
        )
        owner.__dataclass_fields__ = like.__dataclass_fields__
        return like.__dataclass_fields__


_METHODS = {
    "__init__": _init,
    "__eq__": _equal,
    "__hash__": _hash,
    "__repr__": _show,
    "__setattr__": _refuse_setting,
    "__delattr__": _refuse_deleting,
    "__getstate__": _values,
    "__setstate__": _set_state,
    "__match_args__": (),
    "__dataclass_fields__": _Fields(),
}


if TYPE_CHECKING:
    from typing import NamedTuple as Row
else:
    try:
        from _collections import _tuplegetter as _place  # as quick as a slot, where there is one
    except ImportError:  # pragma: no cover

        def _place(at: int, doc: str | None) -> property:
            return property(itemgetter(at), doc=doc)

    _tuple = tuple.__new__
    _NEW = (
        lambda _cls: _tuple(_cls, ()),
        lambda _cls, a: _tuple(_cls, (a,)),
        lambda _cls, a, b: _tuple(_cls, (a, b)),
        lambda _cls, a, b, c: _tuple(_cls, (a, b, c)),
        lambda _cls, a, b, c, d: _tuple(_cls, (a, b, c, d)),
        lambda _cls, a, b, c, d, e: _tuple(_cls, (a, b, c, d, e)),
        lambda _cls, a, b, c, d, e, f: _tuple(_cls, (a, b, c, d, e, f)),
        lambda _cls, a, b, c, d, e, f, g: _tuple(_cls, (a, b, c, d, e, f, g)),
        lambda _cls, a, b, c, d, e, f, g, h: _tuple(_cls, (a, b, c, d, e, f, g, h)),
        lambda _cls, a, b, c, d, e, f, g, h, i: _tuple(_cls, (a, b, c, d, e, f, g, h, i)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j: _tuple(_cls, (a, b, c, d, e, f, g, h, i, j)),
    )
    """How a row of so many places is made. A class has its own with the names of its places put in."""

    class _Rows(type):
        """Makes a class of tuples with named places, without compiling anything."""

        def __new__(cls, name: str, bases: tuple[type, ...], body: dict[str, Any]) -> type:
            if not bases:
                return super().__new__(cls, name, bases, body)
            names = tuple(body.get("__annotations__", ()))
            defaults = {n: body[n] for n in names if n in body}
            places = {n: _place(at, None) for at, n in enumerate(names)}
            rest = {"_fields": names, "_field_defaults": defaults, "__match_args__": names, "__slots__": ()}
            own = {"__new__": _new_of(name, names, defaults)} if len(names) < len(_NEW) else {}
            return type(name, (tuple,), {**_ROW_METHODS, **own, **body, **places, **rest})

    class Row(metaclass=_Rows):
        """A tuple with named fields, like typing.NamedTuple, which compiles a text for each class and annotation."""

    def _new_of(name: str, names: tuple[str, ...], defaults: dict[str, Any]) -> FunctionType:
        if names[len(names) - len(defaults) :] != (*defaults,):
            raise TypeError(f"{name} has a place without a default after one that has one")
        code = _NEW[len(names)].__code__.replace(co_varnames=("_cls", *names), co_name="__new__")
        return FunctionType(code, globals(), name, tuple(defaults.values()))

    def _row_new(cls: Any, *values: Any, **named: Any) -> Any:
        names = cls._fields
        if named or len(values) != len(names):
            wanted = {**cls._field_defaults, **dict(zip(names, values, strict=False)), **named}
            if len(values) > len(names) or set(wanted) != set(names) or set(names[: len(values)]) & set(named):
                raise TypeError(f"{cls.__name__} wants {', '.join(names)}")
            values = tuple(wanted[n] for n in names)
        return _tuple(cls, values)

    def _row_make(cls: Any, values: Any) -> Any:
        return cls(*values)

    def _row_replace(self: Any, **named: Any) -> Any:
        return type(self)(**{**dict(zip(self._fields, self, strict=True)), **named})

    def _row_show(self: Any) -> str:
        return f"{type(self).__name__}({', '.join(f'{n}={v!r}' for n, v in zip(self._fields, self, strict=True))})"

    def _row_values(self: Any) -> tuple[Any, ...]:
        return tuple(self)

    _ROW_METHODS = {
        "__new__": _row_new,
        "__repr__": _row_show,
        "__getnewargs__": _row_values,
        "_make": classmethod(_row_make),
        "_replace": _row_replace,
        "_asdict": lambda self: dict(zip(self._fields, self, strict=True)),
    }
