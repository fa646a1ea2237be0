"""What can be said at any time: repeat, wait, go back, stop, note, where are we, and the like."""

from __future__ import annotations

from dataclasses import replace

from companion.dialogue import into_prompts, prompts, together
from companion.dialogue.advance import advance
from companion.dialogue.asking import (
    KEYBOARD_AFTER,
    PAUSED,
    STOPPED,
    YES_NO,
    ask_again,
    ask_step,
    count_miss,
    examples_of,
    is_typed,
    misses,
    repeat,
    said_back,
    told_back,
)
from companion.dialogue.effects import Listen
from companion.dialogue.events import Answer, Event
from companion.dialogue.feasibility import infeasible, warn_of
from companion.dialogue.kind import kind_of, title_of
from companion.dialogue.progress import current_step, mark_stale, step_at_hand
from companion.dialogue.state import Mode, State
from companion.dialogue.transaction import (
    ALWAYS,
    ANSWER_TIMEOUT_S,
    NOTE_TIMEOUT_S,
    Transaction,
)
from companion.dialogue.voice_check import begin_hearing
from companion.facts.answers import Answered, TakenBack
from companion.facts.ending import Finished, Stopped
from companion.facts.meanings import Choice, Command
from companion.facts.message import Told
from companion.facts.opening import Opened, Resumed
from companion.facts.prompting import Prompted
from companion.facts.talking import TYPED, Heard, Late, Noted, Refused
from companion.language.expectation import Expectation

SILENCES_BEFORE_PAUSE = 3
SPEEDS_PERCENT = (70, 85, 100, 115, 130)
LEAST_VOLUME, MOST_VOLUME, VOLUME_STEP = 0.2, 1.0, 0.2
# Nothing has been answered here that "go back" could take back, and a note would lead away.
_WHILE_ASKED = tuple(name for name in ALWAYS if name not in ("go_back", "note"))
TOUCHED = Expectation(choices=("not_touched", "was_moved"), commands=_WHILE_ASKED)
TOUCHED_CONFIRMED = Expectation(
    choices=("not_touched", "was_moved"), yes_no=True, commands=_WHILE_ASKED
)


def open_job(tx: Transaction, event: Opened) -> None:
    """The cautions first, then the first step. Heard today by this person: one sentence of them."""
    if event.cautions_known:
        tx.announce(prompts.CAUTIONS_KNOWN, "caution")
    else:
        for caution in tx.state.plan.files.job.cautions:
            tx.announce(caution.say, "caution")
    for late in event.overdue:
        tx.announce(prompts.overdue(late.name), "caution")
    if event.stand_check is not None and event.stand_check.came_to in prompts.STAND_UNCHECKED:
        tx.announce(prompts.STAND_UNCHECKED[event.stand_check.came_to], "caution")
    tx.change(sound_goes=event.sound_goes)
    into_prompts.allow(tx, event.hearing.into_prompts)
    begin_hearing(tx, event.hearing)
    found = infeasible(tx.state)
    if found:
        warn_of(tx, found)
        return
    advance(tx)


def say_again(tx: Transaction, event: Event) -> None:
    """Once more, and in full."""
    repeat(tx)


def not_now(tx: Transaction, event: Event) -> None:
    """Understood, but no answer to this prompt."""
    repeat(tx, prompts.NOT_NOW, again=True)


def pause(tx: Transaction, event: Event) -> None:
    _pause(tx)


def carry_on(tx: Transaction, event: Event) -> None:
    tx.change(silences=0, no_matches=0, in_full=True)
    into_prompts.tell_unheard(tx)
    if tx.state.asks_if_touched:
        # Stopped in the middle of that question: it still has to be answered first.
        resume(tx, event)
        return
    _after_break(tx)
    told = into_prompts.with_unheard(tx, prompts.CARRYING_ON)
    if tx.state.tasks:
        # Stopped with the tool in hand, or just after: it may have been done.
        _ask_if_not_done(tx, told)
    else:
        advance(tx, told, again=True)


def stop(tx: Transaction, event: Event) -> None:
    """Everything rests; nothing is lost."""
    if isinstance(event, Heard):
        into_prompts.cut_off(tx, event.how.into)
    tx.change(no_matches=0)
    _stop(tx)


def ask_to_end(tx: Transaction, event: Event) -> None:
    tx.change(no_matches=0)
    tx.ask(
        _step_id(tx.state),
        prompts.END_THE_JOB,
        YES_NO,
        reply=prompts.YES_OR_NO,
        mode=Mode.ENDING,
    )


def end(tx: Transaction, event: Event) -> None:
    tx.record(Stopped(tx.words(prompts.WHY_ENDED)))
    tx.record(Finished("stopped", yaw=None, elevation=None, misses_m=()))
    tx.announce(prompts.ENDED)
    tx.close("stopped")


def go_back(tx: Transaction, event: Event) -> None:
    """One step back: the last accepted answer, with all that was computed from it.

    At a correction that can be dropped the correction itself is taken back: its readings are asked
    again. What was done by hand is not undone by a word: it is asked for once more, if it is not
    done yet; where nothing was done of a correction, whether it was begun.
    """
    tx.change(no_matches=0, silences=0, doubted=None)
    if tx.state.waiting:
        heard_last = tx.state.plan.step(tx.state.waiting[-1].step_id)
        tx.change(waiting=tx.state.waiting[:-1])
        advance(tx, prompts.taken_back(title_of(tx.state.plan, heard_last)))
        return
    together.forget(tx)
    if _can_be_dropped(tx.state):
        _drop_correction(tx)
        return
    state = tx.state
    if state.tasks_done:
        again, tasks_done = state.tasks_done[-1], state.tasks_done[:-1]
        # What was at hand may have been done as well.
        at_hand = (replace(task, perhaps_done=True) for task in state.tasks[:1])
        tx.change(tasks=(again, *at_hand, *state.tasks[1:]), tasks_done=tasks_done)
        _ask_if_not_done(tx)
        return
    if state.tasks:
        _ask_if_begun(tx)
        return
    if not state.history:
        advance(tx, prompts.NOTHING_TO_TAKE_BACK)
        return
    last, plan = state.history[-1], state.plan
    step = plan.step(last.partition("/")[0])
    kind = kind_of(plan, step)
    if kind.purpose == "instruct":
        tx.record(TakenBack((last,), tx.words(prompts.WHY_TAKEN_BACK), True))
        tx.change(done=state.done - {last}, history=state.history[:-1])
        advance(tx, prompts.IF_NOT_DONE_YET)
        return
    resting_on_it = plan.with_dependents((step.id,))
    for other in plan.steps:
        if other.id in resting_on_it:
            kind_of(plan, other).before_taken_back(tx, other, step)
    mark_stale(tx, (step.id,), prompts.WHY_TAKEN_BACK, by_technician=True)
    kind.taken_back(tx, step)
    advance(tx, prompts.taken_back(kind.title(step) or step.id))


def drop_answer(tx: Transaction, event: Event) -> None:
    """Back from a read-back: what was said back does not count, and nothing else is lost."""
    if tx.state.waiting:
        go_back(tx, event)
        return
    tx.change(pending=None, doubted=None, no_matches=0, silences=0, mode=Mode.ASKING)
    ask_step(tx, step_at_hand(tx.state), prompts.NOT_TAKEN, again=True)


def begun(tx: Transaction, event: Heard[Choice]) -> None:
    """Whether a correction was begun: said back."""
    _say_touched_back(tx, event.meaning, Mode.GOING_BACK)


def begun_confirmed(tx: Transaction, event: Event) -> None:
    """Begun: it goes on where it was. Not touched: forgotten, and its readings asked again."""
    pending = tx.state.pending
    if not isinstance(pending, Choice):
        repeat(tx, prompts.NOT_NOW, again=True)
        return
    step = tx.state.plan.step(tx.state.tasks[0].step_id)
    tx.record(Answered(step.id, "", pending.id, asked="correction"))
    tx.change(pending=None, no_matches=0, silences=0)
    if pending.id == "was_moved":
        _ask_if_not_done(tx)
        return
    rounds = tx.state.rounds
    tx.change(rounds={**rounds, step.id: max(0, rounds.get(step.id, 0) - 1)})
    kind_of(tx.state.plan, step).forget_correction(tx, step)
    _drop_correction(tx)


def begun_denied(tx: Transaction, event: Event) -> None:
    _ask_if_begun(tx)


def _ask_if_begun(tx: Transaction) -> None:
    tx.change(pending=None)
    tx.ask(
        tx.state.tasks[0].step_id,
        prompts.WAS_IT_BEGUN,
        TOUCHED,
        reply=prompts.NOT_TOUCHED_OR_MOVED,
        mode=Mode.GOING_BACK,
    )


def _drop_correction(tx: Transaction) -> None:
    """Forget the correction at hand; its readings are asked again."""
    step_id = tx.state.tasks[0].step_id
    tx.record(TakenBack((step_id,), tx.words(prompts.WHY_CORRECTION_TAKEN_BACK), True))
    # What was to be put right together is dropped together: its readings tell what was moved.
    tx.change(tasks=(), tasks_done=(), last_moves={}, targets={}, no_matches=0, silences=0)
    advance(tx, prompts.CORRECTION_TAKEN_BACK)


def _can_be_dropped(state: State) -> bool:
    if not state.tasks:
        return False
    step = state.plan.step(state.tasks[0].step_id)
    return kind_of(state.plan, step).corrections_can_be_dropped


def explain(tx: Transaction, event: Event) -> None:
    prompt = tx.state.prompt
    if prompt is not None:
        step = tx.state.plan.step(prompt.step_id)
        examples = examples_of(tx.state, step, prompt.expectation)
        tx.announce(prompts.you_can_say(examples), "explain")
    repeat(tx)


def where(tx: Transaction, event: Event) -> None:
    state = tx.state
    step = current_step(state)
    if state.tasks:
        step = state.plan.step(state.tasks[0].step_id)
    if step is not None:
        stage = state.plan.stage_of[step.id]
        title = title_of(state.plan, step)
        number, of = state.plan.stage_number(stage), len(state.plan.files.job.stages)
        tx.announce(prompts.where(number, of, stage.title, title), "explain")
    repeat(tx)


def begin_note(tx: Transaction, event: Heard[Command]) -> None:
    if not tx.state.keep_sound and event.how.ears != TYPED:
        repeat(tx, prompts.NOTE_NOT_KEPT)
        return
    tx.change(interrupted=tx.state.mode)
    tx.ask(
        _step_id(tx.state),
        prompts.SPEAK_NOTE,
        Expectation(commands=("stop",)),
        mode=Mode.TAKING_NOTE,
        note=True,
        timeout_s=NOTE_TIMEOUT_S,
    )


def keep_note(tx: Transaction, event: Refused) -> None:
    """Whatever was said after "note" is kept as sound, understood or not.

    Of sound that was lost, or where there is no microphone, nothing is.
    """
    if not event.left_something:
        _return(tx, prompts.NOTE_NOT_HEARD, again=True)
        return
    tx.record(Noted(event.how.clip_sha256, event.how.words))
    _return(tx, prompts.NOTE_KEPT)


def no_note(tx: Transaction, event: Event) -> None:
    _return(tx, prompts.CARRYING_ON, again=True)


def change_voice(tx: Transaction, event: Heard[Command]) -> None:
    state = tx.state
    faster = [s for s in SPEEDS_PERCENT if s > state.speed_percent]
    slower = [s for s in SPEEDS_PERCENT if s < state.speed_percent]
    volume, speed = state.volume, state.speed_percent
    said: Told = ""
    match event.meaning.name:
        case "louder":
            volume, said = min(MOST_VOLUME, volume + VOLUME_STEP), prompts.LOUDER
        case "quieter":
            volume, said = max(LEAST_VOLUME, volume - VOLUME_STEP), prompts.QUIETER
        case "faster":
            speed, said = (faster or [speed])[0], prompts.FASTER
        case "slower":
            speed, said = (slower or [speed])[-1], prompts.SLOWER
        case _:
            pass
    tx.change(volume=round(volume, 2), speed_percent=speed)
    repeat(tx, said)


def heard_nothing(tx: Transaction, event: Event) -> None:
    """Silence is never an answer: ask again, and pause when it lasts."""
    tx.change(silences=tx.state.silences + 1)
    if tx.state.silences >= SILENCES_BEFORE_PAUSE:
        _pause(tx, prompts.PAUSED_BY_SILENCE)
        return
    repeat(tx, prompts.STILL_WAITING, again=True)


def wait_on(tx: Transaction, event: Event) -> None:
    """Paused or stopped: silence changes nothing; keep listening without a word."""
    _listen_on(tx)


def no_match_at_rest(tx: Transaction, event: Refused) -> None:
    """Paused or stopped: noise is not talked about, but who keeps failing may type, said once.

    What was typed was meant, and is answered.
    """
    count_miss(tx, typed=is_typed(event))
    if misses(tx.state) == KEYBOARD_AFTER or is_typed(event):
        ask_again(tx, event)
        return
    _listen_on(tx)


def too_late(tx: Transaction, event: Answer) -> None:
    """An answer to an earlier prompt never counts for the open one."""
    tx.record(Late(event.prompt_id))
    _listen_on(tx)


def resume(tx: Transaction, event: Event) -> None:
    """After a break: say where we were and ask whether anything was touched."""
    if isinstance(event, Resumed):
        into_prompts.allow(tx, event.into_prompts)
        into_prompts.broken_off(tx)
    into_prompts.tell_unheard(tx)
    # What nobody said yes to is asked again, so that is where we were.
    together.forget(tx)
    step = current_step(tx.state)
    title: Told = title_of(tx.state.plan, step) if step is not None else prompts.AT_THE_END
    if tx.state.tasks:
        title = prompts.AT_A_CORRECTION
    # Somebody else may go on with it: what was told is told anew.
    tx.change(pending=None, doubted=None, no_matches=0, silences=0, told={})
    if tx.state.readings:
        tx.change(asks_if_touched=True)
        tx.ask(
            _step_id(tx.state),
            prompts.WAS_IT_TOUCHED,
            TOUCHED,
            before=prompts.resumed(title),
            reply=prompts.NOT_TOUCHED_OR_MOVED,
            mode=Mode.RESUMING,
        )
    else:
        _after_break(tx)
        advance(tx, into_prompts.with_unheard(tx, prompts.resumed(title)))


def touched(tx: Transaction, event: Heard[Choice]) -> None:
    _say_touched_back(tx, event.meaning, Mode.RESUMING)


def _say_touched_back(tx: Transaction, meaning: Choice, mode: Mode) -> None:
    tx.change(pending=meaning)
    tx.ask(
        _step_id(tx.state),
        prompts.sentence(told_back(meaning)),
        TOUCHED_CONFIRMED,
        reply=prompts.YES_OR_NO,
        mode=mode,
        purpose="read_back",
        told=Prompted(said_back=said_back(tx, meaning)),
    )


def touched_confirmed(tx: Transaction, event: Event) -> None:
    pending = tx.state.pending
    if not isinstance(pending, Choice):
        repeat(tx, prompts.NOT_NOW, again=True)
        return
    tx.record(Answered("resumed", "", pending.id, asked="break"))
    tx.change(pending=None, asks_if_touched=False, no_matches=0, silences=0)
    if pending.id == "was_moved":
        tx.change(targets={})
        mark_stale(tx, tx.state.plan.files.job.if_touched, prompts.WHY_TOUCHED)
        if _can_be_dropped(tx.state):
            tx.change(tasks=(), tasks_done=())
    _after_break(tx)
    # Nobody knows whether what was asked for last was done before the break.
    if tx.state.tasks:
        _ask_if_not_done(tx, into_prompts.with_unheard(tx, ""))
    else:
        advance(tx, into_prompts.with_unheard(tx, prompts.CARRYING_ON), again=True)


def _ask_if_not_done(tx: Transaction, before: Told = "") -> None:
    """The task at hand, which may have been done already: that is said with it from here on."""
    first, *others = tx.state.tasks
    tx.change(tasks=(replace(first, perhaps_done=True), *others))
    advance(tx, before)


def _after_break(tx: Transaction) -> None:
    plan = tx.state.plan
    for step in plan.steps:
        kind_of(plan, step).after_break(tx, step)


def touched_denied(tx: Transaction, event: Event) -> None:
    resume(tx, event)


def _pause(tx: Transaction, before: Told = "") -> None:
    together.forget(tx)
    tx.change(silences=0, no_matches=0)
    tx.ask(
        _step_id(tx.state),
        prompts.PAUSED,
        PAUSED,
        before=before,
        reply=prompts.SAY_CONTINUE,
        mode=Mode.PAUSED,
    )


def _stop(tx: Transaction) -> None:
    together.forget(tx)
    tx.ask(
        _step_id(tx.state),
        prompts.STOPPED,
        STOPPED,
        reply=prompts.SAY_CONTINUE_OR_END,
        mode=Mode.STOPPED,
    )


def _return(tx: Transaction, said: Told, *, again: bool = False) -> None:
    """Back to what a note interrupted."""
    match tx.state.interrupted:
        case Mode.PAUSED:
            tx.announce(said)
            _pause(tx)
        case Mode.STOPPED | Mode.ENDING:
            # Asked whether to end, the work rests: a note must not set it going again.
            tx.announce(said)
            _stop(tx)
        case _:
            advance(tx, said, again=again)


def _listen_on(tx: Transaction) -> None:
    """Listen under the open prompt, without a word; before the first one nothing is heard."""
    prompt = tx.state.prompt
    if prompt is not None:
        tx.effects.append(Listen(prompt.id, prompt.expectation, ANSWER_TIMEOUT_S))


def _step_id(state: State) -> str:
    step = current_step(state)
    if step is not None and kind_of(state.plan, step).asks:
        return step.id
    return state.prompt.step_id if state.prompt is not None else state.plan.steps[0].id
