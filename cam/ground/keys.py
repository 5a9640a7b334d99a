"""The keys of a file, each declared once, in the class that holds what the file says.

    @declared
    class Carrier:
        \"\"\"A carrier (the clamp that drives work between centres).\"\"\"

        name: str = text("Part files call it by this.", "small carrier")
        swing: Quantity = length("Diameter swept by its tail and screw.", "32 mm", over=True)
        where: Where

A declaration says what the key is for, how it is written, which values are allowed, and when it is wanted. From it come
the reading with its problems (`read_as`), the JSON Schema (`schema_of`), the questions of `new-shop` and the reference.
A key that is no field, or whose field something else fills, is declared without an annotation or read by its own reader
(`own`); its form in the schema is then declared beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar, dataclass_transform, get_args

from cam.ground.frozen import Row, frozen
from cam.ground.quantity import Quantity
from cam.ground.source.table import NAN, Table
from cam.ground.trade_words import TYPED
from cam.ground.units import LENGTH, Kind, say_bounds

T = TypeVar("T")
Node = dict[str, Any]
"""A piece of a JSON Schema."""
MISSING: Any = object()
"""What stands where no value is given."""


class Only(Row):
    """When a key is wanted: where another key of its table has one of some values.

    Attributes:
        key: the other key.
        values: those with which this one is wanted.
        why: what is said of it with any other; {key}, {choice} and {value} stand for this key, the other, its value;
            with none, this key may be there all the same.
        unread: the value that counts where the other key cannot be read; without it, what stands in for that.
    """

    key: str
    values: tuple[str, ...]
    why: str
    unread: str = ""


class Bounds(Row):
    """Between which values a quantity may lie, inside unit, as `Table.quantity` takes them."""

    least: float | None = 0.0
    over: bool = False
    most: float | None = None


class By(Row):
    """Bounds that depend on another key of the table: its name, and the bounds for each of its values."""

    key: str
    bounds: Mapping[str, Bounds]


class Key:
    """One key of a file as it is declared.

    Attributes:
        name: as in the file.
        about: what it is for, one sentence.
        examples: how it may be written; messages show the first.
        read: reads it from its table by its name; None where a reader of its own does.
        node: its form in the JSON Schema.
        only: when it is wanted; None for always.
        off: the value where it is not wanted; a function makes it from the table.
        default: the value of its field where the file does not have it.
        absent: the same, for a key whose reading knows of no such value.
        needed: whether a file must have it (where it is wanted at all).
        into: the fields that its parts fill, where it is no field itself; by key where it is a table.
        how: how to find its value out.
        inner: the class of the table, or of each table, that it is.
    """

    name: str = ""
    only: Only | None = None
    off: Any = None
    default: Any = MISSING
    absent: Any = MISSING
    needed: bool
    into: Mapping[str, str] | tuple[str, ...] = ()
    how: str = ""
    inner: type | None = None

    def __init__(
        self, about: str, examples: Sequence[Any], read: Callable[[Table, str], Any] | None, node: Node, **more: Any
    ) -> None:
        """Keep what is declared; the rest by name, as in the attributes, with the name of the key as key."""
        self.about, self.examples, self.read, self.node = about, tuple(examples), read, node
        for name, value in more.items():
            if name not in (*Key.__annotations__, "key"):
                raise TypeError(f"a key has no {name}")
            setattr(self, "name" if name == "key" else name, value)
        free = self.absent is not MISSING or (self.default is not MISSING and self.only is None)
        self.needed = more.get("needed", not free)

    def __set_name__(self, owner: type, name: str) -> None:
        """Take the name of the class's attribute."""
        self.name = self.name or name

    def value(self, table: Table) -> Any:
        """Read the key, whatever else the table says."""
        if self.absent is not MISSING and not table.has(self.name):
            return self.absent
        if self.read is None:
            raise TypeError(f"{self.name} has a reader of its own")
        return self.read(table, self.name)


def _fallback(default: Any, more: Mapping[str, Any]) -> Any:
    """Return what is read where a key is not written; None, it is missed, also where it goes with another that is."""
    return None if default is MISSING or "only" in more or "absent" in more else default


def _nothing(table: Table) -> Quantity:
    return Quantity(0.0, "", table.where)


# Kinds of keys ----------------------------------------------------------------------------------------


def quantity(
    kind: Kind, about: str, *examples: str, least: float | None = 0.0, over: bool = False, most: float | None = None,
    by: By | None = None, plain: bool = False, default: float = MISSING, **more: Any,
) -> Any:  # fmt: skip
    """Declare a quantity; its field is a Quantity, or, if plain, a float.

    Args:
        kind: one of the kinds of cam.ground.units.
        least, over, most: bounds, inside unit, as `Table.quantity` takes them.
        by: other bounds for some values of another key.
        default: the value where the file does not have it.
    """
    own = Bounds(least, over, most)
    example, fallback = examples[0] if examples else "", _fallback(default, more)

    def read(table: Table, name: str) -> Any:
        found = by.bounds.get(str(table.raw(by.key)), own) if by else own
        value = table.quantity(
            name, kind, least=found.least, over=found.over, most=found.most, default=fallback, example=example
        )
        return float(value) if plain else value

    node = {"$ref": f"#/$defs/{def_of(kind)}", "bounds": _bounds_words(kind, own, by)}
    return Key(about, examples, read, node, default=default, **{"off": 0.0 if plain else _nothing, **more})


def _bounds_words(kind: Kind, own: Bounds, by: By | None) -> str:
    """Say the bounds of a quantity; where they depend on another key, with its value."""
    said: dict[str, list[str]] = {}
    for value, row in by.bounds.items() if by else [("", own)]:
        said.setdefault(say_bounds(kind, least=row.least, over=row.over, most=row.most), []).append(value)
    return "; ".join(f"{', '.join(values)}: {words}" if by else words for words, values in said.items())


def length(about: str, *examples: str, default: float = MISSING, **more: Any) -> Any:
    """Declare a length, mm; otherwise as `quantity`."""
    return quantity(LENGTH, about, *(examples or ("6 mm",)), default=default, **more)


def text(about: str, *examples: str, most: int = 200, default: str = MISSING, **more: Any) -> Any:
    """Declare a text of at most so many characters."""
    example, fallback = examples[0] if examples else "...", _fallback(default, more)
    node = {"$ref": "#/$defs/text"} if most == 200 else {"type": "string", "minLength": 1, "maxLength": most}
    return Key(about, examples, lambda table, name: table.text(name, default=fallback, most=most, example=example),
               node, default=default, off="", **more)  # fmt: skip


def choice(about: str, options: Any, *, default: Any = MISSING, american: bool = True, **more: Any) -> Any:
    """Declare one of several words, given as a tuple or as a Literal; American words for them are shown too."""
    words: tuple[str, ...] = options if isinstance(options, tuple) else get_args(options)
    fallback = _fallback(default, more)
    node = {"enum": with_american(words) if american else list(words)}
    return Key(about, (), lambda table, name: table.choice(name, words, default=fallback), node,
               default=default, **{"off": more.get("absent"), **more})  # fmt: skip


def flag(about: str, *, default: bool = MISSING, **more: Any) -> Any:
    """Declare a value that is true or false."""
    fallback = _fallback(default, more)
    return Key(about, (), lambda table, name: table.flag(name, default=fallback), {"type": "boolean"}, default=default,
               **more)  # fmt: skip


def integer(about: str, *, least: int, most: int, step: int = 1, default: int = MISSING, **more: Any) -> Any:
    """Declare a whole number; an editor marks one that is no multiple of the step."""
    fallback = _fallback(default, more)
    node = {"type": "integer", "minimum": least, "maximum": most, **({"multipleOf": step} if step > 1 else {})}
    return Key(about, (), lambda table, name: table.integer(name, least=least, most=most, default=fallback), node,
               default=default, off=0, **more)  # fmt: skip


def number(about: str, *, least: float, most: float, default: float = MISSING, scale: float = 1.0, **more: Any) -> Any:
    """Declare a number without a unit; its field is scale times what the file says."""
    fallback = _fallback(default, more)
    node = {"type": "number", "minimum": least, "maximum": most}
    return Key(about, (), lambda table, name: scale * table.number(name, least=least, most=most, default=fallback),
               node, default=default, **more)  # fmt: skip


def drill(about: str, *examples: str, plain: bool = False, **more: Any) -> Any:
    """Declare the diameter of a drill, mm: a length, or a number or letter size."""

    def read(table: Table, name: str) -> Any:
        return float(table.drill(name)) if plain else table.drill(name)

    node = {"$ref": "#/$defs/size", "bounds": "more than 0 mm"}
    return Key(about, examples or ("3 mm", "No. 30"), read, node, off=0.0, **more)


def pair(about: str, **more: Any) -> Any:
    """Declare two lengths, mm, the smaller first."""
    node = {"$ref": "#/$defs/pair", "bounds": "each more than 0 mm"}
    return Key(about, (("3 mm", "9 mm"),), lambda table, name: table.pair(name), node, **more)


def own(about: str, node: Node, *examples: Any, default: Any = MISSING, **more: Any) -> Any:
    """Declare a key that a reader of its own reads.

    Args:
        node: its form in the JSON Schema.
        more: read, where that is a function of the table and the name; otherwise whoever calls `read_as` reads it.
    """
    return Key(about, examples, more.pop("read", None), node, default=default, **more)


def table_of(
    inner: type, about: str, *, why: str = "", default: Any = MISSING, without: tuple[str, ...] = (),
    said: Mapping[str, str] | None = None, **more: Any,
) -> Any:  # fmt: skip
    """Declare a table with the keys of a class.

    Args:
        inner: the class.
        why: what a message says where a file lacks the table.
        without: keys of the class that this table does not have.
        said: key -> what it is for here, in other words than its own.
    """
    read_inside = read_keys if isinstance(more.get("into"), dict) else read_as
    node = {"without": without, "said": said or {}}
    return Key(about, (), lambda table, name: read_inside(table.table(name, why=why), inner), node, inner=inner,
               default=default, absent=default, **more)  # fmt: skip


def tables_of(inner: type, about: str, *, fewest: int = 0, most: int = 200, **more: Any) -> Any:
    """Declare a list of tables, each begun by [[key]], with the keys of a class; its field is a tuple."""
    node = {"type": "array", **({"minItems": fewest} if fewest else {}), "maxItems": most}
    return Key(about, (), lambda table, name: tuple(read_as(row, inner) for row in table.tables(name, fewest=fewest)),
               node, inner=inner, needed=bool(fewest), **more)  # fmt: skip


def within(
    inner: type, *, without: tuple[str, ...] = (), said: Mapping[str, str] | None = None, default: Any = MISSING
) -> Any:
    """Declare that the keys of another class stand in the same table, and fill a value of that class; as `table_of`."""
    node = {"without": without, "said": said or {}, "within": True}
    return Key("", (), lambda table, _: read_as(table, inner), node, inner=inner, default=default)


def one_of(*sets: tuple[str, ...], shared: tuple[str, ...] = ()) -> Node:
    """Return the rule that a table has the keys of one of several sets, and none of the others but those shared."""
    return {"oneOf": [
        needs(*own) | lacks(*(k for other in sets for k in other if k not in (*own, *shared)))
        for own in sets
    ]}  # fmt: skip


def when(key: str, values: tuple[str, ...], then: Node, otherwise: Node | None = None) -> Node:
    """Return the rule that holds where a key has one of some values, and the one that holds where it has another."""
    test = {"required": [key], "properties": {key: {"enum": with_american(values)}}}
    return {"if": test, "then": then, **({"else": otherwise} if otherwise else {})}


def needs(*names: str) -> Node:
    """Return the rule that a table has some keys."""
    return {"required": list(names)}


def lacks(*names: str) -> Node:
    """Return the rule that a table has none of some keys."""
    return {"properties": dict.fromkeys(names, False)}


# Classes of keys --------------------------------------------------------------------------------------


@dataclass_transform(
    frozen_default=True,
    kw_only_default=True,
    field_specifiers=(quantity, length, text, choice, flag, integer, number, drill, pair, own, table_of, within,
                      tables_of),
)  # fmt: skip
def declared(cls: type[T]) -> type[T]:
    """Make a frozen data class, as `frozen` does, of a class whose attributes declare the keys of a table."""
    keys = {name: value for name, value in vars(cls).items() if isinstance(value, Key)}
    for name, key in keys.items():
        delattr(cls, name)
        if name in cls.__annotations__ and key.default is not MISSING:
            setattr(cls, name, key.default)
    made: Any = frozen(cls)
    made.__frozen_keys__ = keys
    result: type[T] = made
    return result


# Reading ----------------------------------------------------------------------------------------------


def keys_of(cls: type) -> dict[str, Key]:
    """Return the attribute and the declaration of each key of a class, in order."""
    found: dict[str, Key] = cls.__frozen_keys__  # type: ignore[attr-defined]
    return found


def keys_in(cls: type) -> tuple[str, ...]:
    """Return the names of the keys of a class, as in the file, those of classes within it left out."""
    return tuple(key.name for key in keys_of(cls).values() if "within" not in key.node)


def read_as(table: Table, cls: type[T], **said: Any) -> T:
    """Read a table by the keys that a class declares, and make the class of it.

    Args:
        table: what is wrong with it is noted there.
        cls: a frozen class; a field called where gets the table's line.
        said: fields that are known already, or that the caller has read itself.
    """
    return cls(**read_keys(table, cls, **said))


def read_key(table: Table, cls: type, name: str) -> Any:
    """Read one key of a table as a class declares it, by the name of its attribute, whatever else the table says."""
    return keys_of(cls)[name].value(table)


def read_keys(table: Table, cls: type, **said: Any) -> dict[str, Any]:
    """Read a table by the keys that a class declares; return field -> value, with those that are said already."""
    values = dict(said)
    names = {name for name, _ in cls.__frozen_slots__}  # type: ignore[attr-defined]
    for field, key in keys_of(cls).items():
        if field in values or key.read is None or (field not in names and not key.into):
            continue
        value = key.value(table) if _is_wanted(table, cls, key, values) else _off(table, key)
        values |= _placed(field, key, value)
    if "where" in names:
        values.setdefault("where", table.where)
    return values


def _placed(field: str, key: Key, value: Any) -> dict[str, Any]:
    """Return the fields that a key's value fills."""
    if not key.into:
        return {field: value}
    if isinstance(key.into, tuple):
        return dict(zip(key.into, value, strict=True))
    return {name: value[inner] if value is not None else NAN for inner, name in key.into.items()}


def _is_wanted(table: Table, cls: type, key: Key, values: Mapping[str, Any]) -> bool:
    """Whether a key belongs to what the table says otherwise; if it does not and is there, that is noted."""
    only = key.only
    if only is None:
        return True
    other = keys_of(cls)[only.key]
    is_read = other.default is not MISSING or table.raw(only.key) in other.node["enum"]
    chosen = values[only.key] if is_read or not only.unread else only.unread
    if chosen in only.values:
        return True
    if not only.why:
        return table.has(key.name)
    if is_read:
        what = only.why.format(key=key.name, choice=only.key, value=chosen)
        table.refuse(key.name, what, fix="leave it out")
    else:
        table.known(key.name)
    return False


def _off(table: Table, key: Key) -> Any:
    return key.off(table) if callable(key.off) else key.off


def with_american(words: Sequence[str]) -> list[str]:
    """Return some words and the American ones that are taken for them where a person types."""
    return [
        *words,
        *(american for american, british in TYPED.items() if british in words and british not in ("mm", "in")),
    ]


def def_of(kind: Kind) -> str:
    """Return the name of the form of a quantity in a schema."""
    return "quantity" if kind is LENGTH else kind.name.replace(" ", "_")
