"""Where a result came from, out of the record alone: formula, inputs, doubt, decisions.

Whoever doubts a number can ask for it by name and follow it back to what was read and said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from companion.errors import CompanionError
from companion.facts.aim import AimDecided
from companion.facts.answers import Accepted, Answered, TakenBack
from companion.facts.kinds import Fact
from companion.facts.workings import Computed, Decided
from companion.record import StoredEvent
from companion.report import wording
from companion.report.explain_advice import (
    ADVICE,
    advice,
    is_about,
    method,
    shares,
    with_doubt,
)
from companion.report.taken_over import source, taken_over

FILES = ("job", "vehicle", "mount", "bay")
# What something is comes before what was advised of it.
_FIRST = (Accepted.KIND, Answered.KIND, Computed.KIND, Decided.KIND, AimDecided.KIND)


class NothingToExplain(CompanionError):
    """The session holds nothing of that name; the message lists what there is."""


def explain(events: Iterable[StoredEvent], name: str) -> Iterator[str]:
    """Lines about a result, a reading or a step, as it last stood in this session.

    Raises NothingToExplain, with all the names there are, when `name` is none of them.
    """
    session = _Session(tuple(events))
    parts = list(session.parts(name))
    if not parts:
        raise NothingToExplain(session.what_there_is(name))
    for place, part in enumerate(parts):
        if place:
            yield ""
        yield from part


def names(events: Iterable[StoredEvent]) -> dict[str, tuple[str, ...]]:
    """Everything that can be explained: results, readings and steps."""
    results: dict[str, None] = {}
    readings: dict[str, None] = {}
    steps: dict[str, None] = {}
    for event in events:
        match event.fact:
            case Accepted(reading_id=reading_id):
                readings[reading_id] = None
                continue
            case Computed(outputs=outputs):
                results.update(dict.fromkeys(outputs))
            case _:
                pass
        steps[_step_of(event.fact)] = None
    found = {"results": results, "readings": readings, "steps": steps}
    return {kind: tuple(filter(None, told)) for kind, told in found.items()}


_PARTS_OF_A_READING = {
    " digits ": "rounding, the same wherever these digits come back",
    " scale and method": "the same at every take",
    " doubt": "not said whether it scatters, so not averaged away",
}


@dataclass(frozen=True)
class _Session:
    """What a session holds, to be looked through from its end."""

    events: tuple[StoredEvent, ...]

    def parts(self, name: str) -> Iterator[list[str]]:
        """The newest of each kind that is called so, each with what became of it."""
        newest = {event.kind: event for event in self.events if _is_about(event.fact, name)}
        for event in sorted(newest.values(), key=_place):
            yield [*self._told(event, name), *self._taken_back_since(event)]

    def _told(self, event: StoredEvent, name: str) -> list[str]:
        match event.fact:
            case Accepted() as taken:
                return self._reading(taken, event.seq)
            case Answered() as answered:
                return _answer(answered, event.seq)
            case Computed() as computed:
                return self._computed(computed, event.seq, name)
            case Decided() as decided:
                return _decided(decided, event.seq)
            case AimDecided() as decided:
                return _aim_decided(decided, event.seq)
            case fact if isinstance(fact, ADVICE):
                first, *rest = advice(fact)
                return [f"{first}, event {event.seq}", *rest]
            case _:
                return []

    def _computed(self, computed: Computed, seq: int, name: str) -> list[str]:
        """The result of that name, or every result of the step of that name."""
        outputs = computed.outputs
        told = [name] if name in outputs else list(outputs)
        return [
            *(line for result in told for line in _value(computed, result)),
            f"Formula: {computed.formula}, event {seq}",
            f"  {computed.grounds.text or wording.NOT_RECORDED}",
            f"  source: {computed.grounds.source or wording.NOT_RECORDED}",
            "Inputs:",
            *self._inputs(computed, seq),
            *(line for result in told for line in self._budget(computed, result)),
        ]

    def _inputs(self, computed: Computed, seq: int) -> Iterator[str]:
        for name, told in computed.inputs.items():
            doubt = f" (u {told.u:.2g})" if told.u else ""
            shown = wording.NOT_RECORDED if told.value is None else f"{told.value:.6g}"
            taken = "the negative of " if told.name != told.source else ""
            yield f"  {name} = {shown}{doubt}: {self._where_from(told.name, taken, seq)}"

    def _where_from(self, name: str, taken: str, used_at: int) -> str:
        for event in reversed(self.events):
            if event.seq >= used_at:
                continue
            match event.fact:
                case Accepted(reading_id=reading_id, title=title, spoken=spoken):
                    if reading_id == name:
                        told = f'{name} ({title}), "{spoken}", event {event.seq}'
                        return f"{taken}the reading {told}"
                case Computed(formula=formula, outputs=outputs):
                    if name in outputs:
                        told = f"{name}, worked out by {formula}, event {event.seq}"
                        return f"{taken}the result {told}"
                case _:
                    pass
        if name.partition(".")[0] in FILES:
            return f"{taken}{name}, as the {name.partition('.')[0]} file says"
        for one in taken_over([event.fact for event in self.events]):
            if name in (one.step_id, one.result):
                return f"{taken}taken over: {name}, {source(one)}"
        return "a figure of the job file"

    def _budget(self, computed: Computed, result: str) -> list[str]:
        rows = computed.outputs[result].budget
        if not rows:
            return [f"Doubt of {result}: none, its inputs are exact"]
        return [
            f"What the doubt of {result} is made of (percent of its variance):",
            *(f"  {share.percent:5.1f} %  {self._contributor(share.name)}" for share in rows),
        ]

    def _contributor(self, name: str) -> str:
        """How a budget's line is called in words.

        What scatters in a reading is "id #take"; what its scale rounds, what repeats and what is
        not known to scatter are "id digits value", "id scale and method", "id doubt"; an entered
        doubt is "step.input", or "step.input: source" where several were.
        """
        for ending, words in _PARTS_OF_A_READING.items():
            reading_id, found, _ = name.partition(ending)
            if found and "." not in reading_id:
                return f"{name} ({self._title_of(reading_id)}: {words})"
        reading_id, _, take = name.partition(" #")
        for event in self.events:
            fact = event.fact
            if isinstance(fact, Accepted) and (fact.reading_id, str(fact.take)) == (
                reading_id,
                take,
            ):
                return f'{name} ({fact.title}, "{fact.spoken}")'
        step_id, _, entered = name.partition(".")
        return f"the doubt entered for {entered} in {step_id}" if entered else name

    def _title_of(self, reading_id: str) -> str:
        facts = (event.fact for event in self.events)
        titles = (f.title for f in facts if isinstance(f, Accepted) and f.reading_id == reading_id)
        return next(titles, reading_id)

    def _reading(self, taken: Accepted, seq: int) -> list[str]:
        used = dict.fromkeys(
            event.fact.step_id
            for event in self.events
            if isinstance(event.fact, Computed)
            and any(told.name == taken.reading_id for told in event.fact.inputs.values())
        )
        u = "" if taken.u is None else f", u {taken.u:.2g}"
        return [
            f"{taken.title} ({taken.reading_id})",
            f"  {taken.value} {wording.unit_sign(taken.unit)}{u}: "
            f'said back as "{taken.spoken}" and confirmed, event {seq}',
            f"  take {taken.take}, hearings needed {taken.attempts}",
            f"  used in: {', '.join(used) or 'no formula'}",
        ]

    def _taken_back_since(self, event: StoredEvent) -> list[str]:
        step_id = _step_of(event.fact)
        for later in self.events:
            fact = later.fact
            if later.seq > event.seq and isinstance(fact, TakenBack) and step_id in fact.step_ids:
                return [f"  It no longer counts since event {later.seq}: {fact.why}"]
        return []

    def what_there_is(self, name: str) -> str:
        """That there is nothing of this name, and what there is."""
        session = self.events[-1].session_id if self.events else "that is empty"
        there = "; ".join(
            f"{kind}: {', '.join(found) or 'none'}" for kind, found in names(self.events).items()
        )
        return f"session {session} holds nothing called '{name}'; wanted one of its {there}"


def _place(event: StoredEvent) -> tuple[int, int]:
    first = _FIRST.index(event.kind) if event.kind in _FIRST else len(_FIRST)
    return first, event.seq


def _step_of(fact: Fact) -> str:
    """The step that a fact which can be explained belongs to; of others, none."""
    match fact:
        case Accepted(reading_id=reading_id):
            return reading_id
        case Answered() | Computed() | Decided() | AimDecided():
            return fact.step_id
        case _:
            return fact.step_id if isinstance(fact, ADVICE) else ""


def _is_about(fact: Fact, name: str) -> bool:
    match fact:
        case Computed(outputs=outputs):
            return name == fact.step_id or name in outputs
        case Decided(result=result):
            return name in (fact.step_id, result)
        case Accepted() | Answered() | AimDecided():
            return name == _step_of(fact)
        case _:
            return isinstance(fact, ADVICE) and is_about(fact, name)


def _value(computed: Computed, result: str) -> Sequence[str]:
    told = with_doubt(computed.outputs[result].quantity, result)
    return (f"{wording.title_of(result)} ({result})", f"  {told}")


def _answer(answered: Answered, seq: int) -> list[str]:
    return [
        f"{answered.title} ({answered.step_id})",
        f"  answered {answered.choice.replace('_', ' ')}, event {seq}",
    ]


def _decided(decided: Decided, seq: int) -> list[str]:
    name, unit = decided.result, decided.unit or ""
    chance = wording.percent(decided.probability_inside)
    rule = (
        "the value alone has to be inside"
        if decided.level is None
        else f"inside only with at least {wording.percent(decided.level)}"
    )
    return [
        f"Decision: {decided.title} ({decided.step_id}), event {seq}",
        f"  {with_doubt(decided.quantity, name)}",
        f"  limits: {wording.limits(decided.low, decided.high, unit, name)}",
        f"  probability inside: {chance}; {rule}",
        f"  answer: {wording.answer_words(decided.answer)} (time {decided.times})",
        *_settling(decided.readings_to_settle, "readings, averaged,"),
        *method(decided.grounds),
    ]


def _settling(count: int | None, what: str) -> list[str]:
    return [f"  {count} {what} should settle it"] if count else []


def _look(decided: AimDecided) -> list[str]:
    """Which look it was, of the risk that the looks share; an older record has none of it."""
    if decided.look is None:
        return []
    told = [f"  look {decided.look} of at most {decided.most_looks} at this position of the screws"]
    if decided.risk_spent is not None:
        told.append(f"  risk spent with it: {wording.percent(decided.risk_spent)}")
    if decided.scatter_ratio is not None:
        told.append(f"  the readings scatter {decided.scatter_ratio:.2f} times as far as entered")
    return told


def _aim_decided(decided: AimDecided, seq: int) -> list[str]:
    lines = [f"Decision: {decided.title} ({decided.step_id}), event {seq}"]
    for axis, told in decided.axes.items():
        name = f"aim_{axis}_deg"
        band = wording.limits_about_zero(told.tolerance, "deg", name)
        lines.append(f"  {wording.title_of(name)}: {with_doubt(told.quantity, name)}; {band}")
        lines += shares(told.budget)
    confirmed = "and confirmed" if decided.confirmed else "not yet confirmed"
    return [
        *lines,
        f"  probability inside: {wording.percent(decided.probability_inside)}; "
        f"inside only with at least {wording.percent(decided.level)}",
        *_look(decided),
        f"  answer: {wording.answer_words(decided.answer)}, {confirmed}, after "
        f"{decided.round} round(s) on the screws and {decided.sets} set(s)",
        *_settling(decided.more_sets_to_settle, "more set(s)"),
        *method(decided.grounds),
    ]
