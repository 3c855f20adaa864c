"""What went wrong, as lines for the person who can mend it; or None, where the program itself is at fault."""

from __future__ import annotations

from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cyclopts import CycloptsError


class UsageError(ValueError):
    """Arguments that do not go together."""


def fault_lines(fault: BaseException) -> list[str] | None:
    """Return what to print for bad input; None for a fault of the program, which deserves its traceback.

    A ``ValueError`` raised inside a library is one too: we should not have let that value through.
    """
    if isinstance(fault, OSError):
        reason = fault.strerror or str(fault)
        return [f"{fault.filename}: {reason}" if fault.filename else reason]
    if _is_ours(type(fault)) or (isinstance(fault, ValueError) and _raised_by_us(fault.__traceback__)):
        return str(fault).splitlines() or [type(fault).__name__]
    return None


def usage_lines(fault: CycloptsError) -> list[str]:
    """Return what to print for a command line that cannot be read: what is wrong, and where help is."""
    from cyclopts import CoercionError, MissingArgumentError, UnusedCliTokensError

    command = " ".join(fault.command_chain or ())
    name = fault.argument.name.lstrip("-") if fault.argument is not None else ""
    if name and fault.argument is not None and fault.argument.field_info.is_positional:
        name = name.upper()
    elif name:
        name = f"--{name}"
    text = str(fault)
    if isinstance(fault, UnusedCliTokensError):
        text = f"{command}: too many arguments: {' '.join(fault.unused_tokens or ())}"
    elif isinstance(fault, MissingArgumentError):
        text = f"{command}: {name} is missing" if fault.keyword is None else f"{fault.keyword} needs a value"
    elif isinstance(fault, CoercionError) and fault.msg is not None:
        text = f"{name}: {fault.msg}"
    return [text, f"Help: {' '.join(part for part in ('sortiewright', command) if part)} --help"]


def _is_ours(kind: type[BaseException]) -> bool:
    return kind.__module__.partition(".")[0] == "sortiewright"


def _raised_by_us(traceback: TracebackType | None) -> bool:
    while traceback is not None and traceback.tb_next is not None:
        traceback = traceback.tb_next
    name = str(traceback.tb_frame.f_globals.get("__name__", "")) if traceback else ""
    return name.partition(".")[0] == "sortiewright"
