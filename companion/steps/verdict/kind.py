"""The kind `verdict`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from companion.dialogue.kind import Infeasible, Outcome
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import fill
from companion.facts.ending import Finished
from companion.facts.kinds import Entry, Fact
from companion.facts.message import Told
from companion.facts.shown import Line, Say, Table
from companion.job.job_file import Step
from companion.job.kind import Context, Fault
from companion.job.plan import named
from companion.steps.kind import Kind
from companion.steps.shared.checks import check_limits
from companion.steps.shared.feasibility import infeasible
from companion.steps.verdict.model import Verdict
from companion.steps.verdict.run import FACT, forget_sets_of, limits, look


class VerdictKind(Kind[Verdict]):
    """Several results, inside together by sets of readings that agree; it may end the job so."""

    model = Verdict
    corrections_can_be_dropped = True

    def part_ids(self, step: Verdict) -> tuple[str, ...]:
        return tuple(part.id for part in step.parts)

    def uses(self, step: Verdict) -> Iterator[str]:
        for part in step.parts:
            yield part.result
            yield from named(part.low, part.high, part.within)

    def texts(self, step: Verdict) -> tuple[str, ...]:
        said = (step.ends_as.say,) if step.ends_as is not None else ()
        return (step.once_more, *said)

    def asks_for(self, step: Verdict) -> tuple[str, ...]:
        return ()

    def goes_back_to(self, step: Verdict) -> Iterator[str]:
        yield from (*step.readings, *step.moved_by, *step.outside.steps)

    def check(self, step: Verdict, context: Context) -> Iterator[Fault]:
        for part in step.parts:
            yield from check_limits(context, part.id, part.low, part.high)

    def reach(self, tx: Transaction, step: Verdict, before: Told) -> None:
        look(tx, step)

    def before_taken_back(self, tx: Transaction, step: Verdict, source: Step) -> None:
        forget_sets_of(tx, step, source)

    def infeasible(self, state: State, step: Verdict) -> Iterator[Infeasible]:
        again = frozenset(step.readings)
        for part in step.parts:
            low, high = limits(state, part)
            told = (part.id, part.title, part.result)
            yield from infeasible(
                state, told, (high - low) / 2, step.confidence, again, step.most_sets
            )

    def outcome(self, state: State, step: Verdict, ranges_m: tuple[float, ...]) -> Outcome | None:
        if step.ends_as is None or step.id not in state.done:
            return None
        finished = Finished(step.ends_as.result, yaw=None, elevation=None, misses_m=())
        return Outcome(fill(state, step.ends_as.say), finished)

    def report(self, facts: Sequence[Fact], say: Say) -> Table | None:
        rows = tuple(
            (
                str(fact.body["title"]),
                say("verdict-look", look=int(fact.body["look"]), most=int(fact.body["most_looks"])),
                say(f"verdict-answer-{fact.body['answer']}"),
                say.percent(float(fact.body["probability"])),
                say.percent(float(fact.body["level"])),
            )
            for fact in facts
            if isinstance(fact, Entry) and fact.kind == FACT
        )
        columns = ("judged", "look", "answer", "chance", "wanted")
        named = tuple(say(f"verdict-column-{column}") for column in columns)
        return Table(say("verdict-title"), named, rows, say("verdict-note"))

    def line(self, fact: Entry, say: Say) -> Line | None:
        if fact.kind != FACT:
            return None
        answer = say(f"verdict-answer-{fact.body['answer']}")
        told = say("line-title-and-value", title=str(fact.body["title"]), value=answer)
        looks, sets = int(fact.body["look"]), int(fact.body["sets"])
        return Line(say("label-decision"), told, say("verdict-looks", look=looks, sets=sets))


KIND = VerdictKind()
