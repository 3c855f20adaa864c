"""The live feed: UDP JSON messages and DIS entity states in, a recording out as a feed, what arrives kept.

``docs/live-feed.md`` is the format. Nothing is bound beyond this machine unless it is asked for.
"""

from __future__ import annotations

from sortiewright.link.call_outs import CallOut, CallOuts, LimitCall, PlannedSpeeds, limit_calls
from sortiewright.link.channel_values import Value
from sortiewright.link.counts import REFUSALS, VALUE_REFUSALS, Counts, counts_data
from sortiewright.link.history import ColumnHistory
from sortiewright.link.intake import MOST_A_SECOND, Entity, Intake, Update
from sortiewright.link.listening import LOOPBACK, PORT, listen
from sortiewright.link.live_state import STALE, Latest, LiveState
from sortiewright.link.messages import hello_text, sample_texts
from sortiewright.link.parquet_parts import PartsWriter, Recovered, check_is_free, parts_folder, recover
from sortiewright.link.replaying import Sent, replay, rows_of_columns
from sortiewright.link.rows import Row, RowAssembler
from sortiewright.link.seen import Watch, seen_now

__all__ = [
    "LOOPBACK",
    "MOST_A_SECOND",
    "PORT",
    "REFUSALS",
    "STALE",
    "VALUE_REFUSALS",
    "CallOut",
    "CallOuts",
    "ColumnHistory",
    "Counts",
    "Entity",
    "Intake",
    "Latest",
    "LimitCall",
    "LiveState",
    "PartsWriter",
    "PlannedSpeeds",
    "Recovered",
    "Row",
    "RowAssembler",
    "Sent",
    "Update",
    "Value",
    "Watch",
    "check_is_free",
    "counts_data",
    "hello_text",
    "limit_calls",
    "listen",
    "parts_folder",
    "recover",
    "replay",
    "rows_of_columns",
    "sample_texts",
    "seen_now",
]
