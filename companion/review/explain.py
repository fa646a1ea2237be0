"""Where a result came from, out of the record alone: formula, inputs, doubt, decisions.

Whoever doubts a number can ask for it by name and follow it back to what was read and said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from companion.errors import CompanionError
from companion.facts.plain import number
from companion.record import StoredEvent
from companion.review import wording
from companion.review.explain_advice import ADVICE, advice, is_about, method, shares, with_doubt
from companion.review.values import mapping, quantity, sequence, text

FILES = ("job", "vehicle", "mount", "bay")


class NothingToExplain(CompanionError):
    """The session holds nothing of that name; the message lists what there is."""


def explain(events: Iterable[StoredEvent], name: str) -> Iterator[str]:
    """Lines about a result, a reading or a step, as it last stood in this session.

    Raises NothingToExplain, with all the names there are, when `name` is none of them.
    """
    told = tuple(events)
    parts = [
        *_of_last(told, "accepted", lambda body: body.get("reading_id") == name, _reading),
        *_of_last(told, "answered", lambda body: body.get("step_id") == name, _answer),
        *_computed(told, name),
        *_of_last(
            told,
            "decided",
            lambda body: name in (body.get("result"), body.get("step_id")),
            _decided,
        ),
        *_of_last(told, "aim_decided", lambda body: body.get("step_id") == name, _aim_decided),
        *(
            [*advice(event), *_taken_back_since(told, event)]
            for event in _newest_of_each_kind(told, name)
        ),
    ]
    if not parts:
        raise NothingToExplain(_what_there_is(told, name))
    for place, part in enumerate(parts):
        if place:
            yield ""
        yield from part


def _of_last(
    events: Sequence[StoredEvent],
    kind: str,
    wanted: Callable[[Mapping[str, Any]], bool],
    tell: Callable[[Sequence[StoredEvent], StoredEvent], list[str]],
) -> Iterator[list[str]]:
    found = next((e for e in reversed(events) if e.kind == kind and wanted(e.body)), None)
    if found is not None:
        yield [*tell(events, found), *_taken_back_since(events, found)]


def names(events: Iterable[StoredEvent]) -> dict[str, tuple[str, ...]]:
    """Everything that can be explained: results, readings and steps."""
    kinds: dict[str, dict[str, None]] = {"results": {}, "readings": {}, "steps": {}}
    for event in events:
        body = event.body
        if event.kind == "computed":
            kinds["results"].update(dict.fromkeys(mapping(body.get("outputs"))))
        if event.kind == "accepted":
            kinds["readings"][text(body.get("reading_id"))] = None
        if event.kind in ("computed", "decided", "aim_decided", "answered", *ADVICE):
            kinds["steps"][text(body.get("step_id"))] = None
    return {kind: tuple(name for name in found if name) for kind, found in kinds.items()}


def _newest_of_each_kind(events: Sequence[StoredEvent], name: str) -> list[StoredEvent]:
    newest = {event.kind: event for event in events if is_about(event, name)}
    return sorted(newest.values(), key=lambda event: event.seq)


def _computed(events: Sequence[StoredEvent], name: str) -> Iterator[list[str]]:
    """The result of that name, or every result of the step of that name."""

    def has(body: Mapping[str, Any]) -> bool:
        return name == body.get("step_id") or name in mapping(body.get("outputs"))

    found = next((e for e in reversed(events) if e.kind == "computed" and has(e.body)), None)
    if found is None:
        return
    outputs = mapping(found.body.get("outputs"))
    yield [
        *(
            line
            for result in ([name] if name in outputs else outputs)
            for line in _value(found, result)
        ),
        *_formula(found),
        *_inputs(events, found),
        *(
            line
            for result in ([name] if name in outputs else outputs)
            for line in _budget(events, found, result)
        ),
        *_taken_back_since(events, found),
    ]


def _value(event: StoredEvent, result: str) -> list[str]:
    told = quantity(mapping(event.body.get("outputs")).get(result))
    return [f"{wording.title_of(result)} ({result})", f"  {with_doubt(told, result)}"]


def _formula(event: StoredEvent) -> list[str]:
    body = event.body
    return [
        f"Formula: {text(body.get('formula'))}, event {event.seq}",
        f"  {text(body.get('text')) or wording.NOT_RECORDED}",
        f"  source: {text(body.get('source')) or wording.NOT_RECORDED}",
    ]


def _inputs(events: Sequence[StoredEvent], event: StoredEvent) -> list[str]:
    lines = ["Inputs:"]
    for name, told in mapping(event.body.get("inputs")).items():
        value, u = number(mapping(told).get("value")), number(mapping(told).get("u"))
        doubt = f" (u {u:.2g})" if u else ""
        shown = wording.NOT_RECORDED if value is None else f"{value:.6g}"
        source = text(mapping(told).get("source"))
        lines.append(f"  {name} = {shown}{doubt}: {_where_from(events, event, source)}")
    return lines


def _where_from(events: Sequence[StoredEvent], used_in: StoredEvent, source: str) -> str:
    name = source.removeprefix("minus ")
    taken = "the negative of " if name != source else ""
    earlier = [e for e in events if e.seq < used_in.seq]
    for event in reversed(earlier):
        body = event.body
        if event.kind == "accepted" and body.get("reading_id") == name:
            title, spoken = text(body.get("title")), text(body.get("spoken"))
            return f'{taken}the reading {name} ({title}), "{spoken}", event {event.seq}'
        if event.kind == "computed" and name in mapping(body.get("outputs")):
            formula = text(body.get("formula"))
            return f"{taken}the result {name}, worked out by {formula}, event {event.seq}"
    if name.partition(".")[0] in FILES:
        return f"{taken}{name}, as the {name.partition('.')[0]} file says"
    return "a figure of the job file"


def _budget(events: Sequence[StoredEvent], event: StoredEvent, result: str) -> list[str]:
    told = mapping(mapping(event.body.get("outputs")).get(result))
    rows = [row for row in map(sequence, sequence(told.get("budget"))) if len(row) == 2]
    if not rows:
        return [f"Doubt of {result}: none, its inputs are exact"]
    lines = [f"What the doubt of {result} is made of (percent of its variance):"]
    for name, share in rows:
        lines.append(f"  {number(share) or 0.0:5.1f} %  {_contributor(events, text(name))}")
    return lines


def _contributor(events: Sequence[StoredEvent], name: str) -> str:
    """A reading is called "id #take" in a budget, an entered doubt "step.input"."""
    reading_id, _, take = name.partition(" #")
    for event in events:
        body = event.body
        if (
            event.kind == "accepted"
            and body.get("reading_id") == reading_id
            and text(body.get("take")) == take
        ):
            return f'{name} ({text(body.get("title"))}, "{text(body.get("spoken"))}")'
    step_id, _, entered = name.partition(".")
    return f"the doubt entered for {entered} in {step_id}" if entered else name


def _reading(events: Sequence[StoredEvent], event: StoredEvent) -> list[str]:
    body = event.body
    reading_id = text(body.get("reading_id"))
    u = number(body.get("u"))
    used = [
        text(e.body.get("step_id"))
        for e in events
        if e.kind == "computed"
        and reading_id
        in [
            text(mapping(i).get("source")).removeprefix("minus ")
            for i in mapping(e.body.get("inputs")).values()
        ]
    ]
    return [
        f"{text(body.get('title'))} ({reading_id})",
        f"  {text(body.get('value'))} {wording.unit_sign(text(body.get('unit')))}"
        f'{"" if u is None else f", u {u:.2g}"}: said back as "{text(body.get("spoken"))}" and '
        f"confirmed, event {event.seq}",
        f"  take {text(body.get('take')) or 1}, hearings needed {text(body.get('attempts')) or 1}",
        f"  used in: {', '.join(dict.fromkeys(used)) or 'no formula'}",
    ]


def _answer(_events: Sequence[StoredEvent], event: StoredEvent) -> list[str]:
    body = event.body
    return [
        f"{text(body.get('title'))} ({text(body.get('step_id'))})",
        f"  answered {text(body.get('choice')).replace('_', ' ')}, event {event.seq}",
    ]


def _decided(_events: Sequence[StoredEvent], event: StoredEvent) -> list[str]:
    body = event.body
    name, unit = text(body.get("result")), text(body.get("unit"))
    limits = wording.limits(number(body.get("low")), number(body.get("high")), unit, name)
    level = number(body.get("level"))
    rule = (
        "the value alone has to be inside"
        if level is None
        else f"inside only with at least {wording.percent(level)}"
    )
    return [
        f"Decision: {text(body.get('title'))} ({text(body.get('step_id'))}), event {event.seq}",
        f"  {with_doubt(quantity(body, unit), name)}",
        f"  limits: {limits}",
        f"  probability inside: {wording.percent(number(body.get('probability_inside')))}; {rule}",
        f"  answer: {wording.answer_words(text(body.get('answer')))}"
        f" (time {text(body.get('times')) or 1})",
        *_settling(body.get("readings_to_settle"), "readings, averaged,"),
        *method(event),
    ]


def _settling(count: object, what: str) -> list[str]:
    told = number(count)
    return [] if told is None else [f"  {told:.0f} {what} should settle it"]


def _aim_decided(_events: Sequence[StoredEvent], event: StoredEvent) -> list[str]:
    body = event.body
    lines = [
        f"Decision: {text(body.get('title'))} ({text(body.get('step_id'))}), event {event.seq}"
    ]
    for axis in ("yaw", "elevation"):
        told, name = mapping(body.get(axis)), f"aim_{axis}_deg"
        tolerance = number(told.get("tolerance"))
        band = wording.limits(None if tolerance is None else -tolerance, tolerance, "deg", name)
        lines.append(
            f"  {wording.title_of(name)}: {with_doubt(quantity(told, 'deg'), name)}; {band}"
        )
        lines += shares(told.get("budget"))
    confirmed = "and confirmed" if body.get("confirmed") is True else "not yet confirmed"
    return [
        *lines,
        f"  probability inside: {wording.percent(number(body.get('probability_inside')))}; "
        f"inside only with at least {wording.percent(number(body.get('level')))}",
        f"  answer: {wording.answer_words(text(body.get('answer')))}, {confirmed}, after "
        f"{text(body.get('round'))} round(s) on the screws and {text(body.get('sets'))} set(s)",
        *_settling(body.get("more_sets_to_settle"), "more set(s)"),
        *method(event),
    ]


def _taken_back_since(events: Sequence[StoredEvent], event: StoredEvent) -> list[str]:
    names = {event.body.get("step_id"), event.body.get("reading_id")} - {None}
    for later in events:
        if later.seq <= event.seq or later.kind != "taken_back":
            continue
        if names & set(sequence(later.body.get("step_ids"))):
            why = text(later.body.get("why"))
            return [f"  It no longer counts since event {later.seq}: {why}"]
    return []


def _what_there_is(events: Sequence[StoredEvent], name: str) -> str:
    session = events[-1].session_id if events else "that is empty"
    there = "; ".join(
        f"{kind}: {', '.join(found) or 'none'}" for kind, found in names(events).items()
    )
    return f"session {session} holds nothing called '{name}'; wanted one of its {there}"
