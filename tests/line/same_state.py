"""Whether two lines are in the same state, object by object, however they came to it."""

from typing import Any

Pair = tuple[str, Any, Any]


def difference(one: object, other: object) -> str | None:
    """Return the place of the first difference of two lines of the plain rules; None where there is none.

    Each object of one stands for one object of the other, wherever it is met.
    """
    stands_for: dict[int, int] = {}
    todo: list[Pair] = [("line", one, other)]
    while todo:
        place, a, b = todo.pop()
        if type(a) is not type(b):
            return f"{place}: {type(a).__name__} and {type(b).__name__}"
        if isinstance(a, list | tuple):
            if len(a) != len(b):
                return f"{place}: {len(a)} and {len(b)} of them"
            todo += [(f"{place}[{i}]", *pair) for i, pair in enumerate(zip(a, b, strict=True))]
        elif hasattr(a, "__slots__"):
            if id(a) not in stands_for:
                stands_for[id(a)] = id(b)
                todo += [(f"{place}.{name}", getattr(a, name), getattr(b, name)) for name in a.__slots__]
            elif stands_for[id(a)] != id(b):
                return f"{place}: another {type(a).__name__}"
        elif a != b:
            return f"{place}: {a!r} and {b!r}"
    return None
