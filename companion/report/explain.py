"""Where a result came from, out of the record alone: formula, inputs, uncertainty, decisions.

Anyone who doubts a number can ask for it by name and follow it back to what was read and said.
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
from companion.report.explain_advice import (
    ADVICE,
    advice,
    is_about,
    method,
    shares,
    with_uncertainty,
)
from companion.report.taken_over import source, taken_over
from companion.report.wording import Wording, wording_in

FILES = ("job", "vehicle", "mount", "bay")
# What something is comes before what was advised of it.
_FIRST = (Accepted.KIND, Answered.KIND, Computed.KIND, Decided.KIND, AimDecided.KIND)


class NothingToExplain(CompanionError):
    """The session holds nothing of that name; the message lists what there is."""


def explain(
    events: Iterable[StoredEvent], name: str, wording: Wording | None = None
) -> Iterator[str]:
    """Lines about a result, a reading or a step, as it last stood in this session.

    `wording`: English where it is not given. Raises NothingToExplain, with all the names there are,
    when `name` is none of them.
    """
    session = _Session(tuple(events), wording or wording_in())
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
    " digits ": "explain-rounding",
    " scale and method": "explain-scale",
    " doubt": "explain-unknown-scatter",
}


@dataclass(frozen=True)
class _Session:
    """What a session holds, to be looked through from its end."""

    events: tuple[StoredEvent, ...]
    wording: Wording

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
                return _answer(answered, event.seq, self.wording)
            case Computed() as computed:
                return self._computed(computed, event.seq, name)
            case Decided() as decided:
                return _decided(decided, event.seq, self.wording)
            case AimDecided() as decided:
                return _aim_decided(decided, event.seq, self.wording)
            case fact if isinstance(fact, ADVICE):
                first, *rest = advice(fact, self.wording)
                return [self.wording("explain-at-event", what=first, event=event.seq), *rest]
            case _:
                return []

    def _computed(self, computed: Computed, seq: int, name: str) -> list[str]:
        """The result of that name, or every result of the step of that name."""
        wording, outputs = self.wording, computed.outputs
        source = computed.grounds.source or wording.not_recorded
        told = [name] if name in outputs else list(outputs)
        return [
            *(line for result in told for line in _value(computed, result, wording)),
            wording("explain-formula", name=computed.formula, event=seq),
            f"  {computed.grounds.text or wording.not_recorded}",
            f"  {wording('explain-source', source=source)}",
            wording("explain-inputs"),
            *self._inputs(computed, seq),
            *(line for result in told for line in self._budget(computed, result)),
        ]

    def _inputs(self, computed: Computed, seq: int) -> Iterator[str]:
        wording = self.wording
        for name, told in computed.inputs.items():
            shown = wording.not_recorded
            if told.value is not None:
                shown = wording.words.decimals(f"{told.value:.6g}")
            if told.u:
                u = wording.words.decimals(f"{told.u:.2g}")
                shown = wording("explain-with-uncertainty", value=shown, uncertainty=u)
            come = self._where_from(told.name, seq)
            if told.name != told.source:
                come = wording("explain-negative-of", what=come)
            line = wording("explain-input", name=name, value=shown, **{"from": come})
            yield f"  {line}"

    def _where_from(self, name: str, used_at: int) -> str:
        for event in reversed(self.events):
            if event.seq >= used_at:
                continue
            match event.fact:
                case Accepted(reading_id=reading_id, title=title, spoken=spoken):
                    if reading_id == name:
                        return self.wording(
                            "explain-the-reading",
                            name=name,
                            title=title,
                            spoken=spoken,
                            event=event.seq,
                        )
                case Computed(formula=formula, outputs=outputs):
                    if name in outputs:
                        return self.wording(
                            "explain-the-result", name=name, formula=formula, event=event.seq
                        )
                case _:
                    pass
        file = name.partition(".")[0]
        if file in FILES:
            return self.wording(f"explain-the-{file}-file", name=name)
        for one in taken_over([event.fact for event in self.events]):
            if name in (one.step_id, one.result):
                told = source(one, self.wording)
                return self.wording("explain-taken-over", name=name, source=told)
        return self.wording("explain-a-figure-of-the-job")

    def _budget(self, computed: Computed, result: str) -> list[str]:
        rows = computed.outputs[result].budget
        if not rows:
            return [self.wording("explain-exact", name=result)]
        return [
            self.wording("explain-made-of-which", name=result),
            *(
                f"  {self.wording.share(share.percent, 1):>7}  {self._contributor(share.name)}"
                for share in rows
            ),
        ]

    def _contributor(self, name: str) -> str:
        """How a budget's line is called in words.

        What scatters in a reading is "id #take"; what its scale rounds, what repeats and what is
        not known to scatter are "id digits value", "id scale and method", "id doubt"; an entered
        doubt is "step.input: source", in older records "step.input" where it is the only one.
        """
        wording = self.wording
        for ending, what in _PARTS_OF_A_READING.items():
            reading_id, found, _ = name.partition(ending)
            if found and "." not in reading_id:
                title = self._title_of(reading_id)
                return wording(
                    "explain-part-of-reading", name=name, title=title, what=wording(what)
                )
        reading_id, _, take = name.partition(" #")
        for event in self.events:
            fact = event.fact
            if isinstance(fact, Accepted) and (fact.reading_id, str(fact.take)) == (
                reading_id,
                take,
            ):
                what = f'{fact.title}, "{fact.spoken}"'
                return wording("explain-part", name=name, what=what)
        step_id, _, entered = name.partition(".")
        if not entered:
            return name
        entered, _, source = entered.partition(": ")
        told = wording("explain-entered-for", input=entered, step=step_id)
        return f"{told}: {source}" if source else told

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
        wording = self.wording
        value = wording.with_unit(wording.words.decimals(taken.value), taken.unit)
        if taken.u is not None:
            u = wording.words.decimals(f"{taken.u:.2g}")
            value = wording("explain-with-uncertainty", value=value, uncertainty=u)
        back = wording("explain-said-back", value=value, spoken=taken.spoken, event=seq)
        takes = wording("explain-takes", take=taken.take, attempts=taken.attempts)
        steps = ", ".join(used) or wording("explain-no-formula")
        return [
            f"{taken.title} ({taken.reading_id})",
            f"  {back}",
            f"  {takes}",
            f"  {wording('explain-used-in', steps=steps)}",
        ]

    def _taken_back_since(self, event: StoredEvent) -> list[str]:
        step_id = _step_of(event.fact)
        for later in self.events:
            fact = later.fact
            if later.seq > event.seq and isinstance(fact, TakenBack) and step_id in fact.step_ids:
                told = self.wording("explain-no-longer", event=later.seq, why=fact.why)
                return [f"  {told}"]
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


def _value(computed: Computed, result: str, wording: Wording) -> Sequence[str]:
    told = with_uncertainty(computed.outputs[result].quantity, wording, result)
    return (f"{wording.title_of(result)} ({result})", f"  {told}")


def _answer(answered: Answered, seq: int, wording: Wording) -> list[str]:
    choice = wording.words.choice(answered.choice)
    told = [
        f"{wording.words.asked(answered)} ({answered.step_id})",
        f"  {wording('explain-answered', choice=choice, event=seq)}",
    ]
    return [*told, f"  {wording('line-proposed')}"] if answered.proposed else told


def _decided(decided: Decided, seq: int, wording: Wording) -> list[str]:
    name, unit = decided.result, decided.unit or ""
    rule = wording("explain-value-alone")
    if decided.level is not None:
        rule = wording("explain-level", level=wording.percent(decided.level))
    chance = wording.percent(decided.probability_inside)
    limits = wording.limits(decided.low, decided.high, unit, name)
    answer = wording.answer(decided.answer)
    told = [
        with_uncertainty(decided.quantity, wording, name),
        wording("explain-limits", limits=limits),
        wording("explain-chance", chance=chance, rule=rule),
        wording("explain-answer", answer=answer, times=decided.times),
        *_settling(decided.readings_to_settle, "settle-readings", wording),
    ]
    return [
        wording("explain-decision", title=decided.title, step=decided.step_id, event=seq),
        *(f"  {line}" for line in told),
        *method(decided.grounds, wording),
    ]


def _settling(count: int | None, what: str, wording: Wording) -> list[str]:
    return [wording(what, count=count)] if count else []


def _look(decided: AimDecided, wording: Wording) -> list[str]:
    """Which look it was, of the risk that the looks share; an older record has none of it."""
    if decided.look is None:
        if decided.levels is None:
            return []
        return [wording("explain-first-look", levels=decided.levels)]
    most = decided.most_looks or decided.look
    told = [wording("explain-look", look=decided.look, most=most)]
    if decided.levels is not None:
        told.append(wording("explain-short-set", levels=decided.levels))
    if decided.risk_spent is not None:
        told.append(wording("explain-risk-spent", risk=wording.percent(decided.risk_spent)))
    if decided.scatter_ratio is not None:
        ratio = wording.number(decided.scatter_ratio, 2)
        told.append(wording("explain-scatter", ratio=ratio))
    return told


def _aim_decided(decided: AimDecided, seq: int, wording: Wording) -> list[str]:
    title, step = decided.title, decided.step_id
    lines = [wording("explain-decision", title=title, step=step, event=seq)]
    for axis, told in decided.axes.items():
        name = f"aim_{axis}_deg"
        band = wording.limits_about_zero(told.tolerance, "deg", name)
        value = f"{with_uncertainty(told.quantity, wording, name)}; {band}"
        title = wording.title_of(name)
        lines.append(f"  {wording('line-title-and-value', title=title, value=value)}")
        lines += shares(told.budget, wording)
    rule = wording("explain-level", level=wording.percent(decided.level))
    chance = wording.percent(decided.probability_inside)
    confirmed = "explain-confirmed" if decided.confirmed else "explain-not-confirmed"
    ended = [
        wording("explain-chance", chance=chance, rule=rule),
        *_look(decided, wording),
        wording(
            "explain-aim-answer",
            answer=wording.answer(decided.answer),
            confirmed=wording(confirmed),
            rounds=decided.round,
            sets=decided.sets,
        ),
        *_settling(decided.more_sets_to_settle, "settle-sets", wording),
    ]
    return [*lines, *(f"  {line}" for line in ended), *method(decided.grounds, wording)]
