"""The runway condition remark of a military weather report: surface, reading, patches."""

import re
from dataclasses import dataclass
from typing import Literal

# Surface codes and their plain words: U.S. Navy CNATRA P-304, chapter 1; SLR and SANDED from memory.
_SURFACES: dict[str, tuple[str, Literal["wet", "icy"]]] = {
    "WR": ("wet", "wet"),
    "SLR": ("slush", "icy"),
    "LSR": ("loose snow", "icy"),
    "PSR": ("packed snow", "icy"),
    "IR": ("ice", "icy"),
}
_GROUP = re.compile(
    r"(?<!\S)(?:(?P<closed>RCRNR)|(?P<surfaces>(?:WR|SLR|LSR|PSR|IR)+)(?P<reading>\d\d|//)(?P<patchy>P)?"
    r"(?:\s+(?P<rest>DRY|WET))?(?P<sanded>\s+SANDED)?)(?!\S)"
)


@dataclass(frozen=True, slots=True)
class RunwayConditionRemark:
    """What a remark says of the runway. ``rcr`` None: no reading was available.

    ``condition`` is the one to plan with when the reading is missing; None where nothing is known.
    ``rest`` is the state between patches, where the condition is patchy.
    """

    text: str
    surfaces: tuple[str, ...]
    rcr: float | None
    condition: Literal["wet", "icy"] | None
    is_patchy: bool = False
    rest: Literal["dry", "wet"] | None = None
    is_sanded: bool = False
    is_base_operations_closed: bool = False

    def __str__(self) -> str:
        if self.is_base_operations_closed:
            return "no report: base operations closed"
        reading = "no RCR available" if self.rcr is None else f"RCR {self.rcr:02.0f}"
        words = f"{' and '.join(self.surfaces)}, {reading}"
        if self.is_patchy:
            words += " in patches"
        if self.rest:
            words += f", rest {self.rest}"
        return f"{words}, sanded" if self.is_sanded else words


def runway_condition_from_remark(text: str) -> RunwayConditionRemark | None:
    """Return the first runway condition group in a text, as PSR15, IR// or LSR08P DRY; None without one."""
    match = _GROUP.search(text.upper())
    if not match:
        return None
    group = " ".join(match[0].split())
    if match["closed"]:
        return RunwayConditionRemark(group, (), None, None, is_base_operations_closed=True)
    codes = re.findall("WR|SLR|LSR|PSR|IR", match["surfaces"])
    surfaces = [_SURFACES[code] for code in codes]
    rest = match["rest"]
    return RunwayConditionRemark(
        text=group,
        surfaces=tuple(words for words, _ in surfaces),
        rcr=None if match["reading"] == "//" else float(match["reading"]),
        condition="icy" if any(condition == "icy" for _, condition in surfaces) else "wet",
        is_patchy=match["patchy"] is not None,
        rest=None if rest is None else "dry" if rest == "DRY" else "wet",
        is_sanded=match["sanded"] is not None,
    )
