"""Guidelines on words: what a response may be, what a warning must say, what a note must not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from sortiewright.procedures.guidelines_marks import (
    Mark,
    Marks,
    controls_of,
    lists,
    places,
    plain,
    quoted,
)
from sortiewright.procedures.schema import Item

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures


def words(text: str) -> frozenset[str]:
    """Return the words of a text."""
    return frozenset(text.split())


BARE = words(
    "checked check checks set as required necessary desired good ok okay normal complete completed "
    "done verified confirmed satisfactory adjusted reviewed tested and"
)
"""Words that say that something was done, and not what is now so."""
BARE_POSITION = frozenset(("on", "off", "in", "out", "both", "selected"))
"""Words that say where something stands, if it is known what."""
STEPS = words(
    "set select turn move press push pull place switch lower raise open close insert remove install "
    "connect disconnect advance retard engage disengage check confirm verify"
)
"""Verbs of steps, beginning a sentence. Not those that are as often nouns there: start, trim, brake."""
ORDERS = STEPS | words(
    "ensure keep wait allow hold maintain reduce increase avoid apply use call tell ask watch monitor "
    "note do never leave stop continue proceed release make begin"
)
"""Verbs and words that begin an order."""
AVOIDANCE = re.compile(
    r"\b(do not|don't|must|never|only|keeps?|stays?|stands?|avoid|clear of|until|unless|before|"
    r"without|wait|or|no (?:one|more)|away from|not (?:exceed|to)|at least|at most|limit)\b",
    re.I,
)
LEAST_WARNING, MOST_WARNING = 5, 40
"""Words of a warning: fewer name no hazard with its avoidance, more go unread. Common practice, no source."""
MOST_CAPITALS = 4
"""Words in capitals one after the other. Common practice, no source."""
MOST_LETTERS = 36
"""Of a challenge, and of a response: a line of a kneeboard at a readable size. Common practice, no source."""


def bare_responses(procedures: Procedures) -> Marks:
    """Mark responses that name no state and no value."""
    for name, at, item in places(procedures):
        said = plain(item.response).split()
        if not said or item.open_answer or "{" in item.response or names_a_position(item):
            continue
        if set(said) <= BARE:
            say = "; ".join(f"{control} {position}" for control, position in item.sets.items())
            hint = (
                f"say what it sets ({say})" if say else "say the state or value wanted, or why in open_answer"
            )
            yield Mark(name, at, f"{quoted(item.response)} says nothing of {quoted(item.challenge)}: {hint}")
        elif set(said) <= BARE_POSITION and not moved(item) and controls_of(procedures, item):
            text = f"{quoted(item.response)} of a control that the item neither sets nor needs: write either"
            yield Mark(name, at, text)


def moved(item: Item) -> bool:
    """Return whether the item is tied to a control: it sets one, or needs one to stand somewhere."""
    return bool(item.sets or item.needs)


def names_a_position(item: Item) -> bool:
    """Return whether the response is, word for word, a position that the item sets."""
    return plain(item.response) in {plain(position) for position in item.sets.values()}


def contrary_responses(procedures: Procedures) -> Marks:
    """Mark responses that name another position of the control than the item sets."""
    for name, at, item in places(procedures):
        said = plain(item.response)
        for control, position in item.sets.items():
            known = procedures.cockpit.controls.get(control)
            others = {plain(one) for one in known.positions if one != position} if known else set[str]()
            if said in others and not names_a_position(item):
                yield Mark(name, at, f"answers {quoted(item.response)} and sets {control} to {position}")


def long_items(procedures: Procedures) -> Marks:
    """Mark items that say how, which belongs into the amplified text."""
    for name, at, item in places(procedures):
        for what, text in (("challenge", item.challenge), ("response", item.response)):
            # A value stands for about as many letters as "140 kt".
            length = len(re.sub(r"\{[^}]*\}", "140 kt", text))
            if length > MOST_LETTERS:
                said = f"its {what} has {length} letters: {MOST_LETTERS} at most; the rest belongs to why"
                yield Mark(name, at, said)


def long_capitals(procedures: Procedures) -> Marks:
    """Mark long text in capitals: its words have no shape."""
    for name, at, what, text in all_texts(procedures):
        run = longest_capitals(text)
        if len(run) > MOST_CAPITALS:
            yield Mark(name, at, f"{what} has {len(run)} words in capitals: {quoted(' '.join(run))}")


def longest_capitals(text: str) -> list[str]:
    """Return the longest run of words in capitals between signs; single letters and numbers do not count."""
    longest: list[str] = []
    for clause in re.split(r"[,;:()/.]", re.sub(r"\{[^}]*\}", "", text)):
        run: list[str] = []
        for word in clause.split():
            letters = [sign for sign in word if sign.isalpha()]
            run = [*run, word] if len(letters) > 1 and all(sign.isupper() for sign in letters) else []
            longest = max(longest, run, key=len)
    return longest


def all_texts(procedures: Procedures) -> Iterator[tuple[str, int | None, str, str]]:
    """Yield every text that the crew reads: procedure, item, what it is, the text."""
    for name, procedure in lists(procedures):
        for what, texts in (
            ("title", (procedure.title,)),
            ("entry", (procedure.entry,)),
            ("not_if", (procedure.not_if,)),
            ("completion call", (procedure.complete,)),
            ("status", procedure.status),
        ):
            yield from ((name, None, what, text) for text in texts)
    for name, at, item in places(procedures):
        for what, texts in (
            ("challenge", (item.challenge,)),
            ("response", (item.response,)),
            ("warning", item.warnings),
            ("caution", item.cautions),
            ("note", item.notes),
            ("until", (item.until,)),
            ("why", (item.why,)),
            ("hold", (item.hold.awaits,) if item.hold else ()),
        ):
            yield from ((name, at, what, text) for text in texts)


def orders_in_notes(procedures: Procedures) -> Marks:
    """Mark notes that tell the crew to do something, and steps inside warnings and cautions."""
    for name, at, item in places(procedures):
        for text in item.notes:
            if order := begins_with(text, ORDERS):
                yield Mark(name, at, f"its note orders ({quoted(order)}): make it an item of its own")
        for what, texts in (("warning", item.warnings), ("caution", item.cautions)):
            for text in texts:
                order = begins_with(text, STEPS)
                if order and not AVOIDANCE.search(order):  # a step that avoids the hazard belongs there
                    yield Mark(
                        name, at, f"its {what} holds a step ({quoted(order)}): make it an item of its own"
                    )


def begins_with(text: str, verbs: frozenset[str]) -> str:
    """Return the first sentence, or clause after an if, that begins with a verb; empty where none does."""
    for sentence in re.split(r"(?<=[.!?;])\s+", text.strip()):
        main = re.sub(r"^(?:if|when|where|once)\b[^,]*,\s*(?:then\s+)?", "", sentence, flags=re.I)
        first = plain(main).split(maxsplit=1)
        if first and first[0] in verbs:
            return main
    return ""


def unfinished_warnings(procedures: Procedures) -> Marks:
    """Mark warnings and cautions without both hazard and avoidance, and those too long to be read."""
    for name, at, item in places(procedures):
        for what, texts in (("warning", item.warnings), ("caution", item.cautions)):
            for text in texts:
                if lack := missing_in_warning(text):
                    yield Mark(name, at, f"its {what} {quoted(text)} {lack}")


def missing_in_warning(text: str) -> str:
    """Return what a warning lacks, empty where it names a hazard and how to avoid it."""
    count = len(text.split())
    if count > MOST_WARNING:
        return f"has {count} words: {MOST_WARNING} at most"
    if count < LEAST_WARNING:
        return "is too short to name a hazard and how to avoid it"
    if not AVOIDANCE.search(text):
        return "names no way to avoid the hazard"
    clauses = [
        one for one in re.split(r"[.:;,!–—]\s+|\b(?:because|since|or|so that)\b", text) if one.strip(" .!")
    ]
    return "" if len(clauses) > 1 else "names no hazard beside what to avoid"
