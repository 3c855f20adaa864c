"""Edits of a sortie's text: what is edited changes, every other character stays.

A sortie file is its user's own: comments, order, quotes, spaces and line ends are theirs. So an edit does not
write the file anew from data; it finds where in the text a key path stands and replaces just that.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, cast

from sortiewright.desk.written import Node, written_tree
from sortiewright.pack import plain_value, record_shape, shape_at
from sortiewright.sortie import Sortie

Path = tuple[str | int, ...]
Plain = str | Sequence["Plain"] | Mapping[str, "Plain"]
"""What an edit writes: a value as a person writes it (``8600 lb``), or lists and mappings of such values."""

Action = Literal["put", "remove", "insert", "move", "rename"]
INDENT = 2  # columns by which a new block stands further in
LONGEST_VALUE = 4000  # characters; the longest report has some 500
DEEPEST_PATH = 12


class EditError(ValueError):
    """An edit that cannot be made; the message is a sentence for whoever made it."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One change at a key path.

    ``put`` writes ``value`` there, with whatever keys above are missing; ``remove`` takes the key or list
    item away, if it is there; ``insert`` puts ``value`` into a list before the position that ends ``path``;
    ``move`` takes that list item to position ``to``; ``rename`` gives the key itself the name in ``value``.
    """

    action: Action
    path: Path
    value: Plain = ""
    to: int = 0


def edited(text: str, edits: Iterable[Edit]) -> str:
    """Return a sortie's text with edits made one after the other.

    Raises ``EditError`` for a key that a sortie does not know, a list item that is not there, and a text
    that is not plain YAML.
    """
    for edit in edits:
        check_path(edit.path)
        text = _MAKERS[edit.action](text, edit)
    return text


def check_path(path: Path) -> None:
    """Raise ``EditError`` unless a sortie may have something under this key path."""
    shape = record_shape(Sortie)
    if not path or len(path) > DEEPEST_PATH:
        raise EditError("That is no key of a sortie.")
    for depth, key in enumerate(path):
        if shape.record is not None:
            known = isinstance(key, str) and shape.has(key)
        elif shape.sort == "list":
            known = isinstance(key, int) and key >= 0
        else:
            known = shape.sort == "mapping" and isinstance(key, str) and key.strip() != ""
        # A point is a name or a mapping in place: below it, anything goes to the checks of loading.
        if not known and not (shape.sort == "any" and depth > 0):
            raise EditError(f"{key} is no key of a sortie.")
        shape = shape.child(key)


def path_of(pointer: str) -> Path:
    """Return the key path that a JSON Pointer (RFC 6901) names, list positions as numbers."""
    parts = pointer.split("/")
    if parts[0] or len(parts) < 2 or len(parts) > DEEPEST_PATH + 1 or len(pointer) > 400:
        raise EditError("That is no key of a sortie.")
    path: list[str | int] = []
    for part in parts[1:]:
        key = part.replace("~1", "/").replace("~0", "~")
        is_position = shape_at(record_shape(Sortie), tuple(path)).sort == "list"
        path.append(int(key) if is_position and re.fullmatch(r"[0-9]{1,4}", key) else key)
    return tuple(path)


def pointer_of(path: Path) -> str:
    """Return a key path as a JSON Pointer (RFC 6901)."""
    return "".join("/" + str(key).replace("~", "~0").replace("/", "~1") for key in path)


def _put(text: str, edit: Edit) -> str:
    node, used = _deepest(text, edit.path)
    if used == len(edit.path):
        return _replaced(text, node, edit.path, edit.value)
    rest = edit.path[used:]
    if any(isinstance(key, int) for key in rest[1:]):
        raise EditError(f"There is no entry {rest[-1]} to change.")
    value: Plain = edit.value
    for key in reversed(rest[1:]):
        value = {str(key): value}
    here = edit.path[: used + 1]
    if node.kind == "map":
        return _with_entry(text, node, here, value)
    if node.kind == "scalar" and node.text in ("", "~", "null"):  # "load:" with nothing after it
        return _replaced(text, node, edit.path[:used], {str(rest[0]): value})
    if node.kind == "list" and rest == (len(node.items),):
        return _with_item(text, node, here, value)
    raise EditError(f"There is no {edit.path[-1]} to change.")


def _remove(text: str, edit: Edit) -> str:
    *_, last = edit.path
    parent, used = _deepest(text, edit.path[:-1])
    if used < len(edit.path) - 1 or parent.child(last) is None:
        return text
    inner = list(parent.children)
    at = next(index for index, (key, _) in enumerate(inner) if key == last)
    if len(inner) == 1:
        return _emptied(text, parent, edit.path[:-1])
    start, end = parent.span(at)
    if parent.flow:
        if at + 1 < len(inner):
            return text[:start] + text[parent.span(at + 1)[0] :]
        return text[: parent.span(at - 1)[1]] + text[end:]
    lines_start, lines_end = _line_start(text, start), _line_end(text, end)
    if at == 0 and text[lines_start:start].strip():  # the first key of a list item stands behind its dash
        return text[:start] + text[parent.span(1)[0] :]
    return text[:lines_start] + text[lines_end:]


def _emptied(text: str, parent: Node, path: Path) -> str:
    if path and shape_at(record_shape(Sortie), path).optional:
        return _remove(text, Edit("remove", path))
    empty = "{}" if parent.kind == "map" else "[]"
    if parent.flow:
        return text[: parent.start] + empty + text[parent.end :]
    end = parent.span(0)[1]
    return text[: _after_key(text, parent)] + ("" if not path else " ") + empty + text[end:]


def _insert(text: str, edit: Edit) -> str:
    *_, at = edit.path
    holder, used = _deepest(text, edit.path[:-1])
    if used < len(edit.path) - 1 or holder.kind != "list":
        return _put(text, Edit("put", edit.path[:-1], [edit.value]))
    if not isinstance(at, int) or at > len(holder.items):
        raise EditError("There is no such place in the list.")
    if at == len(holder.items):
        return _with_item(text, holder, edit.path, edit.value)
    start = holder.span(at)[0]
    if holder.flow:
        return text[:start] + _flow(edit.value, edit.path) + ", " + text[start:]
    line = _line_start(text, start)
    dash = f"{text[line:start]}- " if not text[line:start].strip() else "- "
    if text[line:start].strip():  # the list begins behind another dash
        raise EditError("This list is written in a way that cannot be added to here.")
    return text[:line] + dash + _flow(edit.value, edit.path) + "\n" + text[line:]


def _move(text: str, edit: Edit) -> str:
    *_, at = edit.path
    holder, used = _deepest(text, edit.path[:-1])
    count = len(holder.items)
    if used < len(edit.path) - 1 or holder.kind != "list" or not isinstance(at, int):
        raise EditError("There is no such list.")
    if not (0 <= at < count and 0 <= edit.to < count):
        raise EditError("There is no such place in the list.")
    if holder.flow:
        spans = [holder.span(index) for index in range(count)]
        parts = [text[start:end] for start, end in spans]
        parts.insert(edit.to, parts.pop(at))
        return text[: spans[0][0]] + ", ".join(parts) + text[spans[-1][1] :]
    # An item takes the comments along that stand above it, below the item before.
    begin = _line_start(text, holder.span(0)[0])
    if text[begin : holder.span(0)[0]].strip():
        raise EditError("This list is written in a way that cannot be sorted here.")
    ends = [_line_end(text, holder.span(index)[1]) for index in range(count)]
    starts = [begin, *ends[:-1]]
    parts = [text[start:end] for start, end in zip(starts, ends, strict=True)]
    parts = [part if part.endswith("\n") else part + "\n" for part in parts]
    parts.insert(edit.to, parts.pop(at))
    return text[:begin] + "".join(parts) + text[ends[-1] :]


def _rename(text: str, edit: Edit) -> str:
    *_, last = edit.path
    holder, used = _deepest(text, edit.path[:-1])
    at, wanted = holder.keys.get(str(last)), edit.value
    if used < len(edit.path) - 1 or at is None or not isinstance(wanted, str) or not wanted.strip():
        raise EditError(f"There is no {last} to rename.")
    if wanted != last and wanted in holder.keys:
        raise EditError(f"There is a {wanted} already.")
    start, node = at
    key = text[start : node.announced - 1].rstrip()
    if "\n" in key:
        raise EditError(f"{last} is written in a way that cannot be renamed here.")
    return text[:start] + _key(wanted) + text[start + len(key) :]


_MAKERS: dict[Action, Callable[[str, Edit], str]] = {
    "put": _put,
    "remove": _remove,
    "insert": _insert,
    "move": _move,
    "rename": _rename,
}


def _deepest(text: str, path: Path) -> tuple[Node, int]:
    """Return the node of the longest part of a path that the text has, and how many keys that is."""
    node = written_tree(text)
    if node is None:
        raise EditError("The file is not plain YAML as it stands: mend it in an editor first, or undo.")
    for depth, key in enumerate(path):
        found = node.child(key)
        if found is None:
            return node, depth
        node = found
    return node, len(path)


def _replaced(text: str, node: Node, path: Path, value: Plain) -> str:
    if node.kind == "scalar" or node.flow:
        said = _flow(value, path, inside=node.inside_flow)
        if node.start == node.end:  # nothing stands there: the parser puts it at what comes next
            at = _after_key(text, node)
            return text[:at] + " " + said + text[at:]
        gap = " " if text[node.start - 1 : node.start] in (":", "-") else ""
        return text[: node.start] + gap + said + text[node.end :]
    end = node.last_end
    return text[: _after_key(text, node)] + " " + _flow(value, path) + text[end:]


def _with_entry(text: str, node: Node, path: Path, value: Plain) -> str:
    entry = f"{_key(str(path[-1]))}: "
    if node.flow:
        gap = ", " if node.children else ""
        at = node.inner_end if node.children else node.end - 1
        return text[:at] + gap + entry + _flow(value, path) + text[at:]
    at = _line_end(text, node.last_end)
    before = text[:at] if text[:at].endswith("\n") else text[:at] + "\n"
    return before + " " * node.column + entry + _flow(value, path, inside=False) + "\n" + text[at:]


def _with_item(text: str, node: Node, path: Path, value: Plain) -> str:
    if node.flow:
        gap = ", " if node.items else ""
        at = node.inner_end if node.items else node.end - 1
        return text[:at] + gap + _flow(value, path) + text[at:]
    at = _line_end(text, node.last_end)
    before = text[:at] if text[:at].endswith("\n") else text[:at] + "\n"
    return before + " " * node.column + "- " + _flow(value, path, inside=False) + "\n" + text[at:]


def _after_key(text: str, node: Node) -> int:
    """Return where the line that announces a block ends its own words: behind the colon, or the dash."""
    at = node.announced
    return at if at >= 0 else node.start


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


_PLAIN = re.compile(r"[A-Za-z0-9_./+°µ%(-][^\x00-\x1f\x7f-\x9f\ufeff\u2028\u2029]*")


def _flow(value: Plain, path: Path, *, inside: bool = True) -> str:
    """Return a value as YAML on one line; ``inside`` brackets commas and brackets need quotes."""
    if isinstance(value, Mapping):
        said = (f"{_key(key)}: {_flow(one, (*path, key))}" for key, one in value.items())
        return "{" + ", ".join(said) + "}"
    if not isinstance(value, str):
        return "[" + ", ".join(_flow(one, (*path, index)) for index, one in enumerate(value)) + "]"
    if len(value) > LONGEST_VALUE:
        raise EditError(f"That is longer than {LONGEST_VALUE} characters.")
    sort = shape_at(record_shape(Sortie), path).sort
    if sort in ("text", "choice", "any") and not isinstance(plain_value(value), str):
        return json.dumps(value, ensure_ascii=False)  # 26 would be a number; YAML reads JSON's quotes
    return value if _reads_plain(value, inside=inside) else _quoted(value)


def _key(key: str) -> str:
    return key if _reads_plain(key, inside=True) and isinstance(plain_value(key), str) else _quoted(key)


def _reads_plain(value: str, *, inside: bool) -> bool:
    if not _PLAIN.fullmatch(value) or value != value.strip() or ": " in value or " #" in value:
        return False
    if value.startswith(("- ", "...", "---")) or value.endswith(":") or value == "-":
        return False
    return not (inside and any(sign in value for sign in ",[]{}:"))


def _quoted(value: str) -> str:
    # JSON's strings are YAML's double-quoted ones (YAML 1.2.2, 1.2), but for two line separators and C1.
    said = json.dumps(value, ensure_ascii=False)
    return re.sub(r"[\x7f-\x9f\ufeff\u2028\u2029]", lambda found: f"\\u{ord(found[0]):04x}", said)


def plain_data(text: str) -> dict[str, Plain]:
    """Return everything a text says, each value as it is written; empty where it is no mapping."""
    tree = written_tree(text)
    data = None if tree is None else tree.data()
    return cast("dict[str, Plain]", data) if isinstance(data, dict) else {}
