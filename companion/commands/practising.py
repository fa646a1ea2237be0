"""Practising a job before the first car: a person in the simulated bay."""

from __future__ import annotations

import contextlib
import queue
import sys
import tempfile
import threading
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from companion.commands.job_screen import Screen, marked
from companion.commands.options import (
    ears_and_voice,
    job_files,
    language_option,
    paths_of,
    room_options,
)
from companion.commands.saying import say_now
from companion.commands.settings import settings_now
from companion.commands.shared import BROKEN_OFF, about, own_record, shows_of
from companion.display.look import instrument_of
from companion.display.pictures.instruments import in_letters
from companion.facts.instructions import Instruction, MoveStand, PlaceBy, PlaceShim, TurnScrew
from companion.facts.kinds import Fact
from companion.facts.message import Message
from companion.facts.practice import BayShows
from companion.job.loader import JobPaths, LoadedJob
from companion.language.words import Words
from companion.record.clips import ClipStore, clips_folder
from companion.record.journal import SqliteLog
from companion.record.place import record_path
from companion.report.wording import Wording, wording_in
from companion.runtime import assembly
from companion.runtime.live_job import devices
from companion.runtime.practising import Practice, Practised
from companion.runtime.rehearsing import HARDER, make_rehearsal
from companion.simulation.practice import ReadWrong

MOST_WORDS = 8


@click.command()
@job_files
@click.option("--seed", type=int, default=1, show_default=True, help="Chooses the bay.")
@click.option(
    "--stage",
    type=click.IntRange(1),
    help="Practise this stage alone, by its number (companion files). Default: the whole job.",
)
@click.option(
    "--harder",
    is_flag=True,
    help="A bay whose screws and levers differ far from the mount file: often one round on the "
    "screws is not enough.",
)
@ears_and_voice
@language_option
@click.option(
    "--screen",
    type=click.IntRange(0, 65535),
    help="Show the instruments on a page of this machine too, at this port (0 takes a free one).",
)
def practise(**options: Any) -> None:
    """Practise a job yourself in a simulated bay, or one stage of it.

    What the instruments read is shown; you read it off and answer, by keyboard or by voice. What
    you say is done is done in the bay. To get a move wrong, type *2 before you say that it is done
    (twice as far), *-1 (the other way) or *0 (nothing). At the end: what was not understood and
    what you overlooked. Nothing of it comes into the shop's record. With --ears own you may then
    have your voice learned, beginning with the words that were not understood.

    \b
    Example, typed:                  companion practise
    Example, the screws, by voice:   companion practise --stage 13 --ears own --voice speaker
    Example, with pictures:          companion practise --screen 8172
    """
    paths, room = paths_of(options), room_options(options | {"record": None})
    sys.exit(
        _practise(
            paths,
            room["ears"],
            room["voice"],
            seed=options["seed"],
            stage=options["stage"],
            harder=options["harder"],
            language=options["language"],
            port=options["screen"],
        )
    )


def _practise(
    paths: JobPaths,
    ears: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    *,
    seed: int,
    stage: int | None,
    harder: bool,
    language: str,
    port: int | None,
) -> int:
    """0 when the job came to its end, or one stage of it."""
    spoken, say = assembly.language(language), wording_in(language)
    loaded = assembly.load(paths, spoken)
    title = _stage_title(loaded, stage)
    rehearsal = make_rehearsal(loaded, seed, language=spoken, spread=HARDER if harder else None)
    practice = Practice(rehearsal, stage)
    click.echo(say("practise-begins", about=about(loaded, spoken)))
    click.echo(say("practise-how"))
    if ears.sound is None:
        click.echo(say("practise-hands"))
    if stage is not None:
        of = len(loaded.plan.files.job.stages)
        click.echo(say("practise-stage", number=stage, of=of, title=title))

    def hands(times: Decimal | None) -> None:
        told = say("practise-nothing-to-do")
        if times is not None:
            told = say("practise-will-do", times=say.words.decimals(f"{times.normalize():f}"))
        click.secho(marked("note", told, say), fg="yellow")

    keyboard = _Keyboard()

    def tell(message: Message) -> None:
        click.secho(marked("note", spoken.show(message), say), fg="yellow", err=True)

    with tempfile.TemporaryDirectory() as folder:
        record = Path(folder) / "practice.sqlite"
        with (
            own_record(record) as database,
            _page(record, paths, port),
            devices(
                loaded,
                ears,
                voice,
                spoken,
                settings_now(),
                tell,
                wait=False,
                typed=lambda lines: practice.typed(keyboard.practising(lines), hands),
            ) as made,
        ):
            clips = ClipStore(clips_folder(record))
            log = SqliteLog(database, database.create_session(), clips)
            practised = practice.run(
                loaded,
                made.language,
                made.ears,
                made.voice,
                log,
                watcher=_Screen(language),
                brisk_percent=made.brisk_percent,
            )
            keyboard.over()
    if practised.stage_done and stage is not None and practised.went_on_to < stage:
        earlier = practised.went_on_to
        title = _stage_title(loaded, earlier)
        click.echo(say("practise-went-back", number=earlier, title=title))
    _sum_up(practised, loaded, say, seed)
    if ears.kind == "own" and ears.sound is None and practised.answers:
        from companion.commands.voices import enrol_after_practice

        hard = hard_words(practised.refused)
        enrol_after_practice(spoken, record_path(), ears, voice, keyboard.lines(), hard)
    ended = practised.state is not None and practised.state.result not in (None, "stopped")
    return 0 if ended or practised.stage_done else BROKEN_OFF


class _Keyboard:
    """What is typed: to the practice, and once that is over to whatever asks then.

    The thread that reads the keyboard for the ears cannot be ended; so it reads on, for both.
    """

    def __init__(self) -> None:
        self._over = threading.Event()
        self._left: queue.SimpleQueue[str | None] = queue.SimpleQueue()

    def practising(self, lines: Iterable[str]) -> Iterator[str]:
        """The lines of the practice; those behind it are put aside."""
        for line in lines:
            if not self._over.is_set():
                yield line
            else:
                self._left.put(line)
        self._left.put(None)

    def over(self) -> None:
        """The practice is over."""
        self._over.set()

    def lines(self) -> Iterator[str]:
        """What was typed since, line by line as it comes."""
        return iter(self._left.get, None)


def hard_words(refused: Mapping[str, int]) -> tuple[str, ...]:
    """The words of what was not understood, those first that were in it most often."""
    words: Counter[str] = Counter()
    for heard, times in refused.items():
        words.update(dict.fromkeys(heard.split(), times))
    return tuple(word for word, _ in words.most_common())


def _stage_title(loaded: LoadedJob, stage: int | None) -> str:
    stages = loaded.plan.files.job.stages
    if stage is None:
        return ""
    if stage > len(stages):
        raise click.UsageError(say_now()("practise-no-stage", stage=str(stage), count=len(stages)))

    return stages[stage - 1].title


@contextlib.contextmanager
def _page(record: Path, paths: JobPaths, port: int | None) -> Iterator[None]:
    """The bay's display of this practice, while the block lasts; none without a port."""
    if port is None:
        yield
        return
    from companion.display.server import make_server
    from companion.web.guard import LOOPBACK
    from companion.web.serving import listen, url

    with listen(LOOPBACK, port, "--screen") as listening:
        server = make_server(record, LOOPBACK, shows_of(paths.step_kinds))
        serving = threading.Thread(target=server.run, args=([listening],), daemon=True)
        serving.start()
        click.echo(url(LOOPBACK, listening.getsockname()[1]))
        try:
            yield
        finally:
            server.should_exit = True
            serving.join()


class _Screen(Screen):
    """The terminal of a job, with what the instruments show."""

    def __init__(self, language: str) -> None:
        super().__init__(language)
        self._words = Words(language)
        self._say = wording_in(language)

    def fact(self, fact: Fact) -> None:
        if not isinstance(fact, BayShows):
            super().fact(fact)
            return
        if fact.value is None:
            answer = self._words.choice(fact.choice)
            told = self._words("picture-in-this-bay", title=fact.title, answer=answer)
            self._show(told)
            return
        self._show(fact.title, *in_letters(instrument_of(fact), self._words))

    def _show(self, first: str, *lines: str) -> None:
        told = marked("shows", first, self._say)
        under = " " * (len(told) - len(first))
        click.secho("\n".join((told, *(under + line for line in lines))), fg="blue")


def _sum_up(practised: Practised, loaded: LoadedJob, say: Wording, seed: int) -> None:
    if practised.stage_done and not practised.answers:
        click.echo(say("practise-nothing-asked"))
    click.secho(f"\n{say('practise-over')}", bold=True)
    spoken, waited = practised.companion_s, practised.person_s
    click.echo(
        say(
            "practise-answers",
            answers=practised.answers,
            minutes=say.number((spoken + waited) / 60.0, 1),
            spoken=say.number(spoken / 60.0, 1),
        )
    )
    words = [
        say("practise-word", words=heard, times=times)
        for heard, times in practised.refused.most_common(MOST_WORDS)
        if heard
    ]
    if words:
        click.echo(say("practise-not-understood", words="; ".join(words)))
    elif practised.answers and not practised.refused:
        click.echo(say("practise-heard-all"))
    if no_words := practised.refused[""]:
        click.echo(say("practise-no-words", times=no_words))
    if practised.silences:
        click.echo(say("practise-silences", times=practised.silences))
    for wrong in practised.bay.read_wrong:
        shown, taken = _amount(wrong, wrong.shown, say), _amount(wrong, wrong.taken, say)
        told = say("practise-read-wrong", title=wrong.title, taken=taken, shown=shown)
        click.secho(told, fg="red")
    if practised.bay.readings_taken and not practised.bay.read_wrong:
        click.echo(say("practise-read-right"))
    names = {screw.id: screw.name for screw in getattr(loaded.plan.files.mount, "screws", ())}
    for one in practised.bay.done_otherwise:
        times = say.words.decimals(f"{one.times.normalize():f}")
        what = _what(one.instruction, names, say)
        click.echo(say("practise-did-otherwise", times=times, what=what))
    click.echo(say("practise-then", seed=str(seed + 1)))


def _amount(wrong: ReadWrong, value: Decimal, say: Wording) -> str:
    way = ""
    if wrong.directions and value:
        way = wrong.directions[0 if value > 0 else 1]
    return say.words.amount(format(abs(value), "f"), wrong.unit, way)


def _what(instruction: Instruction, names: dict[str, str], say: Wording) -> str:
    match instruction:
        case MoveStand(_, direction, amount, unit):
            return say.words.amount(format(amount, "f"), unit, direction)
        case TurnScrew(screw_id, sense, turns):
            screw = names.get(screw_id, screw_id)
            turned = say.words.turns(turns)
            way = say.words.language.speaker.direction_word(sense)
            return say("practise-screw", screw=screw, turns=turned, sense=way)
        case PlaceShim(_, thickness_mm):
            thickness = say.words.amount(format(thickness_mm, "f"), "mm", "")
            return say("practise-shim", amount=thickness)
        case PlaceBy(reads):
            figures = (say.words.amount(format(value, "f"), "", "") for _, value in reads)
            return say("practise-place", figures=", ".join(figures))


COMMANDS = (practise,)
