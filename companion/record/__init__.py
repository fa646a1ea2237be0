"""The session log: append-only, hash-chained, replayable.

A session is a numbered list of events; everything else (readings, results, where the
job stands) is a fold over them. `port` names what the other rooms need, `database` and
`journal` keep it in SQLite, `memory` keeps it in a list, `clips` keeps the sound,
`verify` says whether it can be trusted and `export` hands it on.
"""

from companion.facts.kinds import Entry
from companion.record.audit.verify import verify
from companion.record.clips import ClipStore, clips_folder
from companion.record.clock import FixedClock, SystemClock
from companion.record.database import Database, Session, open_for_reading, open_record
from companion.record.finding import Finding
from companion.record.journal import SqliteLog
from companion.record.memory import MemoryLog
from companion.record.port import Clock, Log, Stamp, StoredEvent

__all__ = [
    "ClipStore",
    "Clock",
    "Database",
    "Entry",
    "Finding",
    "FixedClock",
    "Log",
    "MemoryLog",
    "Session",
    "SqliteLog",
    "Stamp",
    "StoredEvent",
    "SystemClock",
    "clips_folder",
    "open_for_reading",
    "open_record",
    "verify",
]
