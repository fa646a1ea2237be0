"""Opens the prompt of a step: what is asked, and what may be answered."""

from __future__ import annotations

from dataclasses import replace

from companion.dialogue import brevity, in_one_breath, into_prompts, prompts, together
from companion.dialogue.effects import Purpose
from companion.dialogue.in_one_breath import ReadBack
from companion.dialogue.kind import confirmation_of, expectation_of, kind_of
from companion.dialogue.state import Mode, State, Task
from companion.dialogue.transaction import ALWAYS, LEADS_ON, Transaction
from companion.dialogue.values import amount_of
from companion.facts.meanings import Choice, Number
from companion.facts.message import ROW, Amount, Message, Told, choice, in_a_row
from companion.facts.prompting import Prompted, SaidBack
from companion.facts.talking import TYPED, Refused
from companion.job.job_file import Step
from companion.language.expectation import Expectation

DIGIT_BY_DIGIT_AFTER = 2
KEYBOARD_AFTER = 3
READ_BACK = "read-back"

DONE = Expectation(done=True, commands=ALWAYS)
DONE_ALONE = Expectation(done=True)
WAYS_OUT = ("wait", "go_back", "stop")
"""What helps who cannot give the answer that is asked for."""
YES_NO = Expectation(yes_no=True, commands=ALWAYS)
PAUSED = Expectation(
    commands=("carry_on", "repeat", "where_are_we", "what_can_i_say", "note", "stop")
)
STOPPED = Expectation(
    commands=("carry_on", "end_job", "repeat", "where_are_we", "what_can_i_say", "note")
)


def wants_digits(state: State) -> bool:
    """Whether numbers are taken digit by digit alone.

    One was heard as another, or not heard twice in a row; or this voice needs it.
    """
    return state.digit_by_digit or was_denied(state) or misses(state) >= DIGIT_BY_DIGIT_AFTER


def misses(state: State) -> int:
    """Answers in a row that were not understood; what was typed was not misheard."""
    return min(state.misheard, state.no_matches)


def was_denied(state: State) -> bool:
    """Whether one of the answers in a row that came to nothing was said back, and was another."""
    return state.denied and state.no_matches > 0


def count_miss(tx: Transaction, *, typed: bool, denied: bool = False) -> None:
    """One more answer in a row came to nothing; `denied`: it was said back, and was another."""
    state = tx.state
    tx.change(
        no_matches=state.no_matches + 1,
        misheard=misses(state) + (not typed),
        denied=denied or was_denied(state),
    )


def ask_step(
    tx: Transaction,
    step: Step,
    before: Told = "",
    *,
    again: bool = False,
    made_easier: bool = True,
    short: bool = False,
) -> None:
    """Ask for the step's answer. `before` goes in front of the text, in the same breath.

    `short`: its short form is enough, for it was heard just before.
    `again`: its answer was given before and did not get through. `made_easier`: how to say it is
    told where it was not understood; False where `before` tells that.
    """
    state = tx.state
    kind = kind_of(state.plan, step)
    expectation = expectation_of(state.plan, step, digits_only=wants_digits(state))
    following = together.partner(state, step)
    if following is not None:
        expectation = replace(expectation, pair=True)
    repeats = keyboard = False
    if made_easier:
        before, repeats, keyboard = _made_easier(misses(state), expectation, before)
    in_front, tx.in_front = tx.in_front, ()
    instruction = kind.instruction(state, step)
    brevity.remark_where_first_needed(tx, expectation, instruction, kind.names_sides(step))
    wording, enough = _wording(state, step)
    wording = _behind(in_front, wording)
    stands_alone = not (before or in_front or again or tx.again or repeats or instruction)
    tx.change(pending=None, in_full=state.in_full or (repeats and misses(state) > 1))
    said = brevity.said(tx, wording, short=short or enough)
    if repeats and not keyboard:
        said = brevity.beside_an_example(state, wording.ask, wording.short)
    tx.ask(
        step.id,
        wording.ask,
        expectation,
        before=before,
        reply=wording.reply,
        short=wording.short,
        spoken=said,
        purpose=kind.purpose,
        told=Prompted(
            keyboard=keyboard,
            instruction=instruction,
            also=() if following is None else (following.id,),
            first=state.said_first if in_front else (),
        ),
        open_after=_open_after(tx, step, wording, said) if stands_alone else "",
        again=again or repeats,
    )
    tx.change(asked_last=step.id)


def _open_after(tx: Transaction, step: Step, wording: brevity.Wording, said: Told | None) -> str:
    """The words after which the prompt may be answered, before it has ended; "" for none."""
    in_full = " ".join(filter(None, (tx.words(wording.ask), tx.words(wording.reply))))
    spoken = in_full if said is None else tx.words(said)
    return into_prompts.open_after(tx, step, in_full=in_full, spoken=spoken)


def _behind(in_front: tuple[Told, ...], wording: brevity.Wording) -> brevity.Wording:
    """The prompt in its forms, with what is to be done in front; nothing shortens that."""
    if not in_front:
        return wording
    reply = prompts.SAY_DONE_TO_ALL if wording.reply == prompts.SAY_DONE else wording.reply
    return replace(
        wording,
        ask=in_a_row(*in_front, wording.ask),
        reply=reply,
        short=in_a_row(*in_front, wording.short),
    )


def _wording(state: State, step: Step) -> tuple[brevity.Wording, bool]:
    """The step's prompt in its forms, and whether the short one is enough right here."""
    kind = kind_of(state.plan, step)
    ask, reply = kind.prompt(state, step), kind.reply(state, step)
    if kind.purpose == "instruct":
        return brevity.Wording(ask, reply, ask, prompts.SAY_DONE.id, brevity.FIRST_FEW), False
    short = kind.short(state, step)
    expects = kind.expectation(step)
    if expects is not None and expects.choices:
        short = kind.short(state, step) or ask
        return brevity.Wording(ask, reply, short, f"choices: {', '.join(expects.choices)}"), False
    behind = kind.short_after(step)
    enough = bool(behind) and behind == state.asked_last
    if enough:
        short = kind.short_next(state, step) or short
    both = together.partner(state, step) is not None
    known_by = f"{step.id} and the next" if both else step.id
    return brevity.Wording(ask, reply, short or ask, known_by), enough


def _joined(before: Told, more: Told | None) -> Told:
    """One said after the other; nothing where neither says anything."""
    return in_a_row(before, more) if before or more else ""


def say_back(tx: Transaction, step: Step, meaning: Number | Choice) -> None:
    """Say an answer back; only "yes" makes it count.

    Whoever says the same once more instead of "yes" is told again how it is answered.
    """
    repeated = tx.state.mode is Mode.CONFIRMING and tx.state.pending == meaning
    tx.change(pending=meaning, silences=0)
    expectation = confirmation_of(tx.state.plan, step, digits_only=wants_digits(tx.state))
    told, unit = told_back(meaning), meaning.unit if isinstance(meaning, Number) else None
    short = brevity.said_back_short(tx.state, told, unit, _bare(meaning))
    asks = prompts.sentence(told)
    wording = brevity.Wording(asks, prompts.YES_OR_NO, short, READ_BACK, brevity.FIRST_FEW)
    spoken = brevity.said(tx, wording)
    if repeated:
        spoken = None
    if unit is not None:
        tx.count(brevity.unit_of(unit), once=True)
    in_one_breath.say_back(
        tx,
        ReadBack(
            step.id,
            asks,
            prompts.YES_OR_NO,
            expectation,
            short,
            Prompted(said_back=said_back(tx, meaning)),
            spoken,
        ),
    )


def propose(tx: Transaction, step: Step, answer: str, before: Told = "") -> None:
    """Name the answer that the files give; yes takes it, no has the question asked in full.

    It may also be answered with any of its choices, as if it had been asked.
    """
    tx.change(pending=None, proposed=tx.state.proposed | {step.id})
    meaning = Choice(answer)
    named = prompts.asked_back(told_back(meaning))
    in_front, tx.in_front = tx.in_front, ()
    wording = _behind(
        in_front, brevity.Wording(named, prompts.YES_OR_NO, named, READ_BACK, brevity.FIRST_FEW)
    )
    said = brevity.said(tx, wording)
    tx.ask(
        step.id,
        wording.ask,
        confirmation_of(tx.state.plan, step),
        before=before,
        reply=wording.reply,
        short=wording.short,
        spoken=said,
        purpose=kind_of(tx.state.plan, step).purpose,
        told=Prompted(
            said_back=replace(said_back(tx, meaning), proposed=True),
            first=tx.state.said_first if in_front else (),
        ),
    )
    tx.change(asked_last=step.id)


def told_back(meaning: Number | Choice) -> Message:
    """An answer as it is said back, without being a sentence."""
    if isinstance(meaning, Choice):
        return choice(meaning.id)
    return Message("amount", {"amount": amount_of(meaning)})


def _bare(meaning: Number | Choice) -> Message:
    """The same without its unit."""
    if isinstance(meaning, Choice):
        return choice(meaning.id)
    return Message("amount", {"amount": Amount(meaning.value, None, meaning.direction)})


def said_back(tx: Transaction, meaning: Number | Choice) -> SaidBack:
    """What is to be confirmed, as the record keeps it."""
    spoken = tx.words(told_back(meaning))
    if isinstance(meaning, Choice):
        return SaidBack(spoken, choice=meaning.id)
    value = format(meaning.value, "f")
    return SaidBack(spoken, value, meaning.unit or "", meaning.direction)


def ask_task(tx: Transaction, task: Task, before: Told = "") -> None:
    """Have something done that the job file or the arithmetic asks for."""
    tx.change(pending=None)
    brevity.remark_where_first_needed(tx, DONE, task.instruction)
    text = task.if_begun if task.perhaps_done and task.if_begun else task.text
    known_by = prompts.SAY_DONE.id
    wording = brevity.Wording(text, prompts.SAY_DONE, text, known_by, brevity.FIRST_FEW)
    spoken = brevity.said(tx, wording)
    if task.short and spoken is not None:
        known_by = f"task: {tx.words(text)}"
        spoken = brevity.said(tx, brevity.Wording(text, "", task.short, known_by)) or text
    tx.ask(
        task.step_id,
        text,
        DONE,
        before=_if_not_done(tx.state, before),
        reply=prompts.SAY_DONE,
        short=text,
        spoken=spoken,
        purpose="instruct",
        told=Prompted(instruction=task.instruction),
    )


def _if_not_done(state: State, before: Told) -> Told:
    """What is said in front of a task; "if it is not done yet" where it may have been done."""
    asked = state.mode is Mode.ASKING and bool(state.tasks) and state.tasks[0].perhaps_done
    row = in_a_row(before)
    said = row.args["parts"] if row.id == ROW else (row,)
    is_said = isinstance(said, tuple) and prompts.IF_NOT_DONE_YET in said
    return in_a_row(before, prompts.IF_NOT_DONE_YET) if asked and not is_said else before


def is_typed(event: Refused) -> bool:
    """Whether it was typed: those are the words, however little they fit."""
    return event.how.ears == TYPED


def ask_again(tx: Transaction, event: Refused) -> None:
    """The same question after a failed hearing, made easier each time.

    Who typed, or only left out the direction, is told what is wanted instead.
    """
    prompt = tx.state.prompt
    if prompt is None:
        return
    prompt = in_one_breath.alone(prompt)
    step = tx.state.plan.step(prompt.step_id)
    expectation = prompt.expectation
    if tx.state.mode is Mode.ASKING and expectation.number:
        expectation = expectation_of(tx.state.plan, step, digits_only=wants_digits(tx.state))
    before, told_how, keyboard = _made_easier(misses(tx.state), expectation, prompts.SORRY)
    spoken = brevity.said_once_more(tx.state)
    if told_how and not keyboard:
        spoken = brevity.beside_an_example(tx.state, prompt.ask, prompt.short)
    each: Told = prompts.SORRY
    if event.missing == "direction" and expectation.number is not None:
        each = before = prompts.which_way(expectation.number)
        keyboard = False
        spoken = brevity.said_once_more(tx.state)
    elif is_typed(event):
        each = before = _what_fits(tx.state, step, expectation)
        keyboard = False
        spoken = brevity.said_once_more(tx.state)
    if prompt.expectation.pair:
        # Not understood together: each by itself, made easier as it is asked.
        heard_in_full = tx.state.no_matches == 1 and not prompt.said_short
        ask_step(tx, step, each, again=True, made_easier=not is_typed(event), short=heard_in_full)
        return
    tx.ask(
        prompt.step_id,
        prompt.ask,
        expectation,
        before=_if_not_done(tx.state, before),
        reply=prompt.reply,
        short=prompt.short,
        spoken=spoken,
        mode=tx.state.mode,
        purpose=_purpose_of(tx.state.mode, expectation),
        told=replace(prompt.told, keyboard=keyboard),
        again=True,
    )


def _what_fits(state: State, step: Step, expectation: Expectation) -> Message:
    """For who types: the answers that lead on, and from the second miss what else may be said."""
    answers = replace(expectation, commands=())
    ways_out = WAYS_OUT if state.no_matches > 1 or answers == DONE_ALONE else ()
    if answers == Expectation():
        leading = tuple(name for name in expectation.commands if name in LEADS_ON)
        answers, ways_out = replace(expectation, commands=leading or expectation.commands), ()
    allowed = tuple(name for name in ways_out if name in expectation.commands)
    examples = examples_of(state, step, answers)
    if not allowed:
        return prompts.does_not_fit(examples)
    return prompts.does_not_fit(examples, state.lexicon.examples(Expectation(commands=allowed)))


def examples_of(state: State, step: Step, expectation: Expectation) -> tuple[str, ...]:
    """One phrase for each thing that may be said, a number of the size that the step asks for."""
    return state.lexicon.examples(expectation, kind_of(state.plan, step).example(step))


def _made_easier(missed: int, expectation: Expectation, before: Told) -> tuple[Told, bool, bool]:
    """What goes before the question after so many failed hearings.

    Also whether it is thereby asked again, and whether typing is offered.
    """
    if missed >= KEYBOARD_AFTER:
        return prompts.TYPE_IT, True, True
    number = expectation.number
    if missed and number and number.digits_only and not expectation.yes_no:
        how = prompts.digit_by_digit(number)
        return _joined(before, how), how is not None, False
    return before, False, False


def repeat(tx: Transaction, before: Told = "", *, again: bool = False) -> None:
    """Say the open prompt once more, as a new prompt. `again`: its answer did not get through."""
    if tx.state.prompt is None:
        return
    prompt = in_one_breath.alone(tx.state.prompt)
    tx.ask(
        prompt.step_id,
        prompt.ask,
        prompt.expectation,
        before=_if_not_done(tx.state, before),
        reply=prompt.reply,
        short=prompt.short,
        mode=tx.state.mode,
        purpose=_purpose_of(tx.state.mode, prompt.expectation),
        told=replace(prompt.told, keyboard=False),
        again=again,
        once_more=True,
    )


def _purpose_of(mode: Mode, expectation: Expectation) -> Purpose:
    if mode is Mode.CONFIRMING:
        return "read_back"
    return "instruct" if expectation.done else "ask"
