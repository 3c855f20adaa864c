"""How an argument's text becomes its value, and the argument that most commands take: a sortie."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from sortiewright.commands.faults import UsageError

if TYPE_CHECKING:
    from cyclopts import Token

Reader = Callable[[str], Any]


def argument(read: Reader, shape: str) -> Parameter:
    """Return the mark of an argument whose text ``read`` turns into its value; help shows ``shape``."""

    def convert(_: Any, tokens: Sequence[Token]) -> Any:
        return read(tokens[0].value)

    # West longitudes and temperatures below zero begin with a hyphen.
    return Parameter(
        converter=convert, metavar=shape, allow_leading_hyphen=True, n_tokens=1, accepts_keys=False
    )


def sortie_file(text: str) -> str:
    """Return the path of a sortie file: a path, ``-``, or the name of a shipped sortie."""
    if text == "-" or Path(text).exists() or not text.isidentifier():
        return text
    from sortiewright.sortie import demo_sortie_path

    shipped = {path.stem: path for path in sorted(demo_sortie_path().parent.glob("*.yaml"))}
    if text not in shipped:
        raise UsageError(f'"{text}" is neither a file nor a shipped sortie: {", ".join(shipped)}')
    return str(shipped[text])


SortieFile = Annotated[str, argument(sortie_file, "file")]
