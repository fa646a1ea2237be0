"""Finding what was heard, said or noted, with the words around it."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from companion.archive.digest import Digest, told_by
from companion.archive.index import SEQ_BITS, TOKENS, language_of
from companion.archive.listing import Filters, confirmed, digest_of_number, matching_numbers
from companion.archive.opening import Archive
from companion.archive.query import Place, fts_query
from companion.record.rows import event_of_row

# Two signs that no text holds once they are taken out of it mark where a match begins and ends.
_BEGIN, _END = "\x02", "\x03"
_WITHOUT_MARKS = str.maketrans("", "", _BEGIN + _END)
TOKENS_IN_A_SNIPPET = 24


@dataclass(frozen=True)
class Hit:
    """One event that holds the words. `snippet` is its text in pieces, and which of them match."""

    seq: int
    at_utc: str
    kind: str
    snippet: tuple[tuple[str, bool], ...]


@dataclass(frozen=True)
class SessionHits:
    """A session that holds the words, with its first hits; `has_more` when there are others."""

    session: Digest
    hits: tuple[Hit, ...]
    has_more: bool


@dataclass(frozen=True)
class Found:
    """One page of what was found, the newest session first."""

    sessions: tuple[SessionHits, ...]
    has_more: bool


def search(
    archive: Archive,
    typed: str,
    filters: Filters | None = None,
    *,
    place: Place = "anywhere",
    limit: int = 20,
    offset: int = 0,
    hits_each: int = 3,
) -> Found:
    """The sessions that fit the filters and hold the words typed, with the events that do.

    See `query.fts_query` for what may be typed; nothing is found for nothing. `filters.text` is
    not looked at. Raises `CompanionError` for a day that is none.
    """
    query = fts_query(typed, place)

    def found() -> Found:
        numbers = matching_numbers(archive, filters or Filters(), query, limit + 1, offset)
        hits = tuple(_hits(archive, query, number, hits_each) for number in numbers[:limit])
        confirmed(archive, (one.session for one in hits))
        return Found(hits, len(numbers) > limit)

    return archive.believing(found)


def _hits(archive: Archive, query: str, number: int, most: int) -> SessionHits:
    session = digest_of_number(archive, number)
    places = archive.index.execute(
        "SELECT rowid FROM words WHERE words MATCH ? AND rowid >= ? AND rowid < ? "
        "ORDER BY rowid LIMIT ?",
        (query, number << SEQ_BITS, (number + 1) << SEQ_BITS, most + 1),
    )
    seqs = [place & ((1 << SEQ_BITS) - 1) for (place,) in places]
    marks = ", ".join("?" * len(seqs[:most]))
    rows = archive.record.read_what_can_be_read(
        f"SELECT * FROM event WHERE session_id = ? AND seq IN ({marks}) ORDER BY seq",  # noqa: S608
        (session.session_id, *seqs[:most]),
    )
    language = language_of(archive.record, session.session_id)
    hits = []
    with Snippets(query) as snippets:
        for row in rows:
            event = event_of_row(row, archive.path)
            told = told_by(event, language)
            if told is not None:
                snippet = snippets.of(told.said, told.heard, told.noted)
                hits.append(Hit(event.seq, event.at_utc, event.kind, snippet))
    return SessionHits(session, tuple(hits), len(seqs) > most)


class Snippets:
    """Marks matches by the same word rules as the index, which keeps no text to mark."""

    def __init__(self, query: str) -> None:
        self._query = query
        self._words = sqlite3.connect(":memory:", isolation_level=None)
        self._words.execute(
            f"CREATE VIRTUAL TABLE words USING fts5(said, heard, noted, tokenize='{TOKENS}')"
        )

    def __enter__(self) -> Snippets:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the words."""
        self._words.close()

    def of(self, *columns: str) -> tuple[tuple[str, bool], ...]:
        """The texts in pieces, whether they match or not."""
        plain = (column.translate(_WITHOUT_MARKS) for column in columns)
        return self.of_match(*columns) or _pieces(" ".join(filter(None, plain)))

    def of_match(self, *columns: str) -> tuple[tuple[str, bool], ...] | None:
        """The texts in pieces; None where they do not match."""
        self._words.execute("DELETE FROM words")
        plain = [column.translate(_WITHOUT_MARKS) for column in columns]
        self._words.execute(
            "INSERT INTO words (rowid, said, heard, noted) VALUES (1, ?, ?, ?)", plain
        )
        row = self._words.execute(
            f"SELECT snippet(words, -1, ?, ?, '…', {TOKENS_IN_A_SNIPPET}) "  # noqa: S608
            "FROM words WHERE words MATCH ?",
            (_BEGIN, _END, self._query),
        ).fetchone()
        return None if row is None else _pieces(row[0])


def _pieces(marked: str) -> tuple[tuple[str, bool], ...]:
    pieces = []
    for part in marked.split(_BEGIN):
        inside, end, after = part.partition(_END)
        pieces += [(inside, True), (after, False)] if end else [(inside, False)]
    return tuple(piece for piece in pieces if piece[0])
