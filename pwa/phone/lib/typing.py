"""Stands for CPython's `typing` on MicroPython, where annotations are parsed and never evaluated."""

TYPE_CHECKING = False


class TypedDict:
    """Base of record types: only a name there, since code writes plain dict literals."""
