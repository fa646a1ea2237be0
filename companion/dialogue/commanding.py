"""What can be said at any time: repeat, wait, go back, stop, note, where are we, and the like."""

from __future__ import annotations

from companion.dialogue import prompts
from companion.dialogue.aim_sets import forget_aim_from
from companion.dialogue.asking import (
    KEYBOARD_AFTER,
    PAUSED,
    STOPPED,
    YES_NO,
    ask_again,
    repeat,
)
from companion.dialogue.effects import Listen
from companion.dialogue.events import Event, Heard
from companion.dialogue.foreseeing import hopeless, warn_of
from companion.dialogue.progress import current_step, mark_stale
from companion.dialogue.state import Mode, State
from companion.dialogue.turn import ANSWER_TIMEOUT_S, NOTE_TIMEOUT_S, Turn
from companion.dialogue.voice_check import begin_hearing
from companion.dialogue.walking import walk_on
from companion.facts.answers import Answered, Consent, TakenBack
from companion.facts.ending import Finished, Stopped
from companion.facts.opening import Opened
from companion.facts.prompting import Prompted, SaidBack
from companion.facts.talking import How, Late, Noted, Refused, Silent
from companion.procedure.job import (
    Checklist,
    Computation,
    Decision,
    Instruction,
    Moves,
    Question,
    Reading,
    ShimAdvice,
)
from companion.words.expectation import Expectation
from companion.words.meanings import Choice, Command

SILENCES_BEFORE_PAUSE = 3
SPEEDS_PERCENT = (70, 85, 100, 115, 130)
LEAST_VOLUME, MOST_VOLUME, VOLUME_STEP = 0.2, 1.0, 0.2
TOUCHED = Expectation(choices=("not_touched", "was_moved"), commands=("repeat", "stop"))
TOUCHED_CONFIRMED = Expectation(
    choices=("not_touched", "was_moved"), yes_no=True, commands=("repeat", "stop")
)


def open_job(turn: Turn, event: Event) -> None:
    """The cautions first, then the first step."""
    for caution in turn.state.plan.files.job.cautions:
        turn.announce(caution.say, "caution")
    turn.announce(prompts.SIDES, "caution")
    assert isinstance(event, Opened)  # noqa: S101  -- the table sends only this here
    begin_hearing(turn, event.hearing)
    found = hopeless(turn.state)
    if found:
        warn_of(turn, found)
        return
    walk_on(turn)


def say_again(turn: Turn, event: Event) -> None:
    repeat(turn)


def not_now(turn: Turn, event: Event) -> None:
    """Understood, but no answer to this prompt."""
    repeat(turn, prompts.NOT_NOW, again=True)


def pause(turn: Turn, event: Event) -> None:
    _pause(turn)


def carry_on(turn: Turn, event: Event) -> None:
    turn.change(silences=0, misses=0)
    if turn.state.asks_if_touched:
        # Stopped in the middle of that question: it still has to be answered first.
        resume(turn, event)
        return
    walk_on(turn, prompts.CARRYING_ON, again=True)


def stop(turn: Turn, event: Event) -> None:
    """Everything rests; nothing is lost."""
    turn.change(misses=0)
    _stop(turn)


def ask_to_end(turn: Turn, event: Event) -> None:
    turn.change(misses=0)
    turn.ask(
        _step_id(turn.state),
        prompts.END_THE_JOB,
        YES_NO,
        reply=prompts.YES_OR_NO,
        mode=Mode.ENDING,
    )


def end(turn: Turn, event: Event) -> None:
    turn.record(Stopped("ended by the technician"))
    turn.record(Finished("stopped", yaw=None, elevation=None, misses_m=()))
    turn.announce(prompts.ENDED)
    turn.close("stopped")


def go_back(turn: Turn, event: Event) -> None:
    """Take back the last accepted answer and all that was computed from it.

    At a correction of the stand the correction itself is taken back: its readings are asked again.
    """
    if _drop_correction(turn):
        return
    history = turn.state.history
    if not history:
        walk_on(turn, prompts.NOTHING_TO_TAKE_BACK)
        return
    step = turn.state.plan.step(history[-1])
    title = step.title if isinstance(step, Reading | Question) else step.id
    turn.change(misses=0, silences=0, doubted=None)
    forget_aim_from(turn, step)
    mark_stale(turn, (step.id,), "taken back by the technician")
    if isinstance(step, Question) and step.sound_is_kept_when is not None:
        turn.record(Consent(keep_sound=False))
        turn.change(keep_sound=False)
    walk_on(turn, prompts.taken_back(title))


def _drop_correction(turn: Turn) -> bool:
    """Forget the correction at hand; not one of the screws, which may be turned already."""
    state = turn.state
    if not _corrects_the_stand(state):
        return False
    step_id = state.tasks[0].step_id
    turn.record(TakenBack((step_id,), "correction taken back by the technician"))
    # What was to be put right together is dropped together: its readings tell what was moved.
    turn.change(tasks=(), last_moves={}, misses=0, silences=0)
    walk_on(turn, prompts.CORRECTION_TAKEN_BACK)
    return True


def _corrects_the_stand(state: State) -> bool:
    return bool(state.tasks) and isinstance(
        state.plan.step(state.tasks[0].step_id), Computation | Decision | Moves | ShimAdvice
    )


def explain(turn: Turn, event: Event) -> None:
    prompt = turn.state.prompt
    assert prompt is not None  # noqa: S101  -- only reached with a prompt open
    examples = turn.state.lexicon.examples(prompt.expectation)
    turn.announce(prompts.you_can_say(examples), "explain")
    repeat(turn)


def where(turn: Turn, event: Event) -> None:
    state = turn.state
    step = current_step(state)
    if step is not None:
        stage = state.plan.stage_of[step.id]
        title = step.title if isinstance(step, Reading | Question) else stage.title
        number, of = state.plan.stage_number(stage), len(state.plan.files.job.stages)
        turn.announce(prompts.where(number, of, stage.title, title), "explain")
    repeat(turn)


def begin_note(turn: Turn, event: Event) -> None:
    if not turn.state.keep_sound:
        repeat(turn, prompts.NOTE_NOT_KEPT)
        return
    turn.change(interrupted=turn.state.mode)
    turn.ask(
        _step_id(turn.state),
        prompts.SPEAK_NOTE,
        Expectation(commands=("stop",)),
        mode=Mode.TAKING_NOTE,
        note=True,
        timeout_s=NOTE_TIMEOUT_S,
    )


def keep_note(turn: Turn, event: Event) -> None:
    """Whatever was said after "note" is kept as sound, understood or not."""
    how = event.how if isinstance(event, Heard | Refused) else How()
    turn.record(Noted(how.clip_sha256, how.words))
    _return(turn, prompts.NOTE_KEPT)


def no_note(turn: Turn, event: Event) -> None:
    _return(turn, prompts.CARRYING_ON, again=True)


def change_voice(turn: Turn, event: Event) -> None:
    assert isinstance(event, Heard)  # noqa: S101  -- the table sends only commands here
    assert isinstance(event.meaning, Command)  # noqa: S101
    state = turn.state
    faster = [s for s in SPEEDS_PERCENT if s > state.speed_percent]
    slower = [s for s in SPEEDS_PERCENT if s < state.speed_percent]
    volume, speed, said = state.volume, state.speed_percent, ""
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
    turn.change(volume=round(volume, 2), speed_percent=speed)
    repeat(turn, said)


def heard_nothing(turn: Turn, event: Event) -> None:
    """Silence is never an answer: ask again, and pause when it lasts."""
    turn.change(silences=turn.state.silences + 1)
    if turn.state.silences >= SILENCES_BEFORE_PAUSE:
        _pause(turn, prompts.PAUSED_BY_SILENCE)
        return
    repeat(turn, prompts.STILL_WAITING, again=True)


def wait_on(turn: Turn, event: Event) -> None:
    """Paused or stopped: silence changes nothing; keep listening without a word."""
    _listen_on(turn)


def missed_at_rest(turn: Turn, event: Event) -> None:
    """Paused or stopped: noise is not talked about, but who keeps failing may type, said once."""
    turn.change(misses=turn.state.misses + 1)
    if turn.state.misses == KEYBOARD_AFTER:
        ask_again(turn)
        return
    _listen_on(turn)


def too_late(turn: Turn, event: Event) -> None:
    """An answer to an earlier prompt never counts for the open one."""
    assert isinstance(event, Heard | Refused | Silent)  # noqa: S101
    turn.record(Late(event.prompt_id))
    if turn.state.prompt is not None:
        _listen_on(turn)


def resume(turn: Turn, event: Event) -> None:
    """After a break: say where we were and ask whether anything was touched."""
    step = current_step(turn.state)
    title = turn.state.plan.stage_of[step.id].title if step is not None else "the end"
    if turn.state.tasks:
        title = prompts.AT_A_CORRECTION
    elif isinstance(step, Reading | Question):
        title = step.title
    turn.change(pending=None, doubted=None, misses=0, silences=0)
    if turn.state.readings:
        turn.change(asks_if_touched=True)
        turn.ask(
            _step_id(turn.state),
            prompts.WAS_IT_TOUCHED,
            TOUCHED,
            before=prompts.resumed(title),
            reply=prompts.NOT_TOUCHED_OR_MOVED,
            mode=Mode.RESUMING,
        )
    else:
        walk_on(turn, prompts.resumed(title))


def touched(turn: Turn, event: Event) -> None:
    assert isinstance(event, Heard)  # noqa: S101  -- the table sends only choices here
    assert isinstance(event.meaning, Choice)  # noqa: S101
    spoken = turn.state.lexicon.choice_name(event.meaning.id)
    turn.change(pending=event.meaning)
    turn.ask(
        _step_id(turn.state),
        prompts.sentence(spoken),
        TOUCHED_CONFIRMED,
        reply=prompts.YES_OR_NO,
        mode=Mode.RESUMING,
        purpose="read_back",
        told=Prompted(said_back=SaidBack(spoken, choice=event.meaning.id)),
    )


def touched_confirmed(turn: Turn, event: Event) -> None:
    pending = turn.state.pending
    if not isinstance(pending, Choice):
        repeat(turn, prompts.NOT_NOW, again=True)
        return
    turn.record(Answered("resumed", "Touched in the break", pending.id))
    turn.change(pending=None, asks_if_touched=False)
    if pending.id == "was_moved":
        mark_stale(
            turn, turn.state.plan.files.job.if_touched, "touched while the companion was off"
        )
        if _corrects_the_stand(turn.state):
            turn.change(tasks=())
    # Nobody knows whether what was asked for last was done before the break.
    if turn.state.tasks:
        walk_on(turn, prompts.IF_NOT_DONE_YET)
    else:
        walk_on(turn, prompts.CARRYING_ON, again=True)


def touched_denied(turn: Turn, event: Event) -> None:
    resume(turn, event)


def _pause(turn: Turn, before: str = "") -> None:
    turn.change(silences=0, misses=0)
    turn.ask(
        _step_id(turn.state),
        prompts.PAUSED,
        PAUSED,
        before=before,
        reply=prompts.SAY_CONTINUE,
        mode=Mode.PAUSED,
    )


def _stop(turn: Turn) -> None:
    turn.ask(
        _step_id(turn.state),
        prompts.STOPPED,
        STOPPED,
        reply=prompts.SAY_CONTINUE_OR_END,
        mode=Mode.STOPPED,
    )


def _return(turn: Turn, said: str, *, again: bool = False) -> None:
    """Back to what a note interrupted."""
    match turn.state.interrupted:
        case Mode.PAUSED:
            turn.announce(said)
            _pause(turn)
        case Mode.STOPPED | Mode.ENDING:
            # Asked whether to end, the work rests: a note must not set it going again.
            turn.announce(said)
            _stop(turn)
        case _:
            walk_on(turn, said, again=again)


def _listen_on(turn: Turn) -> None:
    prompt = turn.state.prompt
    assert prompt is not None  # noqa: S101  -- a closed job hears nothing
    turn.effects.append(Listen(prompt.id, prompt.expectation, ANSWER_TIMEOUT_S))


def _step_id(state: State) -> str:
    step = current_step(state)
    if isinstance(step, Reading | Question | Instruction | Checklist):
        return step.id
    return state.prompt.step_id if state.prompt is not None else state.plan.steps[0].id
