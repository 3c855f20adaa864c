"""What went wrong, as lines for the person who can mend it; or None, where the program itself is at fault."""

from __future__ import annotations

from types import TracebackType


class UsageError(ValueError):
    """Arguments that do not go together."""


def fault_lines(fault: BaseException) -> list[str] | None:
    """Return what to print for bad input; None for a fault of the program, which deserves its traceback.

    Every fault of ours in what was given is an ``InputError``, a ``ValueError`` or a ``LookupError``. The same
    types raised inside a library are not: they mean that we let something through.
    """
    if isinstance(fault, OSError):
        reason = fault.strerror or str(fault)
        return [f"{fault.filename}: {reason}" if fault.filename else reason]
    if _is_ours(type(fault)) or (isinstance(fault, ValueError) and _raised_by_us(fault.__traceback__)):
        return str(fault).splitlines() or [type(fault).__name__]
    return None


def _is_ours(kind: type[BaseException]) -> bool:
    return kind.__module__.partition(".")[0] == "sortiewright"


def _raised_by_us(traceback: TracebackType | None) -> bool:
    while traceback is not None and traceback.tb_next is not None:
        traceback = traceback.tb_next
    name = str(traceback.tb_frame.f_globals.get("__name__", "")) if traceback else ""
    return name.partition(".")[0] == "sortiewright"
