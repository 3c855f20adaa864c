"""One stretch of listening: what arrives is kept, called out, judged, recorded, shown and counted."""

from __future__ import annotations

import asyncio
import json as json_format
import sys
import time
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from sortiewright import link
from sortiewright.commands.link_shown import counts_lines, values_line
from sortiewright.commands.output import print_text, remark

if TYPE_CHECKING:
    from pathlib import Path

    from sortiewright.commands.link_judge import LiveJudge
    from sortiewright.expressions import Expression
    from sortiewright.sortie import Plan

COMMON = (
    "calibrated_airspeed",
    "indicated_airspeed",
    "ground_speed",
    "altitude",
    "true_heading_deg",
    "vertical_speed",
    "load_factor_normal",
)
SHOWN_EVERY = 1.0  # s
WRITTEN_EVERY = 0.5  # s; with the quarter second that rows settle, a kill loses less than 2 s


@dataclass
class Aids:
    """What a sortie adds to listening."""

    calls: link.CallOuts
    seen: dict[str, Expression] = field(default_factory=dict[str, "Expression"])
    """By what is said when it is so."""
    judge: LiveJudge | None = None


@dataclass
class Session:
    """Prints as it goes; ``close`` once at the end, whatever ended it."""

    json: bool
    channels: tuple[str, ...]
    entity: link.Entity | None = None
    aids: Aids | None = None
    file: Path | None = None
    """Where to record; nothing is made there before the port is had."""

    def __post_init__(self) -> None:
        self.intake = link.Intake(entity=self.entity)
        self.state = link.LiveState()
        self.rows = link.RowAssembler()
        self.time = 0.0
        self._shown = 0.0
        self._began = False
        self.writer: link.PartsWriter | None = None
        self._keeping: asyncio.Task[None] | None = None
        self._over = asyncio.Event()
        self._was_live: bool | None = None
        seen = {} if self.aids is None else self.aids.seen
        self._watch = link.Watch(seen, self._seen)

    async def run(self, host: str, port: int, seconds: float | None) -> None:
        """Listen until it is over."""

        def ready(bound: int) -> None:
            self._began = True
            self.writer = None if self.file is None else link.PartsWriter(self.file)
            self._say({"kind": "listening", "host": host, "port": bound}, f"Listening at {host} port {bound}")
            if host not in ("127.0.0.1", "::1", "localhost"):
                remark("Whoever reaches this address can feed this program.")

        self._keeping = asyncio.create_task(self._keep())
        try:
            await link.listen(
                self.intake, self._take, host=host, port=port, seconds=seconds, tick=self._tick, ready=ready
            )
        finally:
            self._over.set()
            await self._keeping

    def close(self) -> None:
        """Write and judge what is left, and print what became of every datagram."""
        if not self._began:
            return
        rest = self.rows.rest()
        if self._judge is not None:
            self._judge.history.add(rest)
            self._say_findings(self._judge.new_findings(time.monotonic(), last=True))
        self._close_file(rest)
        counts = self.intake.counts
        if self.json:
            self._line({"kind": "counts", **link.counts_data(counts), "late": self.rows.late})
        else:
            print_text(counts_lines(counts, self.rows.late))

    def _close_file(self, rest: list[link.Row]) -> None:
        if self.writer is None:
            return
        self.writer.write(rest)
        made = self.writer.close()
        if not made.rows:
            self._say({"kind": "file", "rows": 0}, "Nothing arrived: no file was made")
        else:
            path = str(self.writer.path)
            self._say({"kind": "file", "file": path, "rows": made.rows}, f"Written: {path}, {made.rows} rows")

    def _take(self, update: link.Update) -> None:
        if update.begins_anew:
            self.state.forget()
        self.time = max(self.time, update.time)
        self.state.take(update.values, update.time, update.arrived)
        if self.writer is not None or self._judge is not None:
            self.rows.add(update)
        if self.aids is None:
            return
        for call in self.aids.calls.look(update.time, self.state.values(update.arrived)):
            self._say({"kind": "call", **asdict(call)}, call.text)

    def _tick(self, now: float) -> None:
        self._tell_whether_live(now)
        self._watch.look(self.state, now)
        if self._keeping is not None and self._keeping.done():
            self._keeping.result()  # a full disk ends the session, with its message
        if now - self._shown >= SHOWN_EVERY and self._was_live:
            self._shown = now
            self._show(now)

    async def _keep(self) -> None:
        """Write and judge what has come, in a thread beside: the socket must not wait for a disk."""
        while not self._over.is_set():
            await asyncio.sleep(WRITTEN_EVERY)
            now = time.monotonic()
            rows = self.rows.ready(now)
            if self.writer is not None:
                await asyncio.to_thread(self.writer.write, rows)
            if self._judge is not None:
                self._judge.history.add(rows)
                if self._judge.is_due(now):
                    self._say_findings(await asyncio.to_thread(self._judge.new_findings, now))

    @property
    def _judge(self) -> LiveJudge | None:
        return None if self.aids is None else self.aids.judge

    def _say_findings(self, findings: list[tuple[str, dict[str, Any]]]) -> None:
        for text, data in findings:
            self._say({"kind": "finding", **data}, text)

    def _tell_whether_live(self, now: float) -> None:
        live = self.state.is_live(now)
        if live and not self._was_live:
            name = self.intake.sender_name or self.intake.marking
            self._say({"kind": "live", "sender": name}, f"Values arrive{f' from {name}' if name else ''}")
        if self._was_live and not live:
            self._say({"kind": "lost"}, "Nothing for 2 s: every value is missing until the feed is back")
        self._was_live = live

    def _show(self, now: float) -> None:
        values = self.state.values(now)
        common = [name for name in COMMON if name in values]
        names = self.channels or tuple(common or sorted(values)[: len(COMMON)])
        shown = {name: values.get(name) for name in names}
        if self.json:
            self._line({"kind": "values", "time": self.time, "values": shown})
        elif self.file is None:
            self._say({}, values_line(shown))

    def _seen(self, name: str, truth: bool | None, time: float) -> None:
        if self.json:
            self._line({"kind": "seen", "time": self.time, "item": name, "seen": truth})
        elif truth:
            self._say({}, f"Seen: {name}")

    def _say(self, data: dict[str, Any], text: str) -> None:
        if self.json:
            self._line({"time": self.time, **data} if data.get("kind") != "call" else data)
        else:
            printable = "".join(one if one.isprintable() else " " for one in text)
            print(f"{self.time:8.1f} s  {printable}", flush=True)

    def _line(self, data: dict[str, Any]) -> None:
        sys.stdout.write(json_format.dumps(data, ensure_ascii=False, allow_nan=False) + "\n")
        sys.stdout.flush()


def aids_of(path: str, procedures: tuple[str, ...], *, rules: bool) -> Aids:
    """Return what a sortie's plan, pack and checklists add.

    Raises ``InputError`` for a sortie, checklists or rules that cannot be used, ``UsageError`` for a
    checklist that it does not have.
    """
    from sortiewright.sortie import load_sortie, plan

    loaded = load_sortie(path)
    made = plan(loaded.sortie, loaded.pack)
    calls = link.CallOuts(planned_speeds(made), link.limit_calls(loaded.pack.pack.limits))
    aids = Aids(calls, _seen_items(loaded, made, procedures) if procedures else {})
    if rules:
        from sortiewright.commands.link_judge import LiveJudge

        aids.judge = LiveJudge(loaded.pack, made)
    return aids


def planned_speeds(made: Plan) -> link.PlannedSpeeds:
    """Return the figures of a plan that are called on the takeoff run."""
    import math

    from sortiewright.sortie import find_figure

    def value(name: str) -> float | None:
        figure = find_figure(made, name)
        found = None if figure is None else figure.value
        return found if found is not None and math.isfinite(found) else None

    return link.PlannedSpeeds(
        line_marker=value("line_marker"),
        line_speed=value("line_speed"),
        line_speed_minimum=value("line_speed_minimum"),
        decision_speed=value("decision_speed"),
        refusal_speed=value("refusal_speed"),
        rotation_speed=value("rotation_speed"),
    )


def _seen_items(loaded: Any, made: Plan, wanted: tuple[str, ...]) -> dict[str, Expression]:
    from sortiewright.commands.faults import UsageError
    from sortiewright.expressions import channel_vocabulary, parse_expression
    from sortiewright.pack import choice_hint
    from sortiewright.procedures import load_procedures, tailor_checklists

    lists = tailor_checklists(load_procedures(loaded.pack), loaded.sortie, made, "trade")
    by_id = {one.id: one for one in (*lists.normal, *lists.others)}
    vocabulary = channel_vocabulary(loaded.pack.pack.mass.tanks)
    found: dict[str, Expression] = {}
    for name in wanted:
        if name not in by_id:
            raise UsageError(f'"{name}" is no list of this sortie. {choice_hint(name, by_id, "lists")}')
        for item in by_id[name].items:
            if item.seen:
                said = f"{by_id[name].title} {item.number}, {item.challenge}: {item.response}"
                found[said] = parse_expression(item.seen, vocabulary)
    return found
