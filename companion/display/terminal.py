"""The display for a terminal, where there is no browser: the same moment, in letters of blocks."""

from __future__ import annotations

import queue
from pathlib import Path

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.panel import Panel
from rich.rule import Rule
from rich.text import Text

from companion.display import letters
from companion.display.moment import (
    AimShown,
    Answer,
    Cautions,
    Condition,
    InstrumentsShown,
    Moment,
    Picture,
    ScrewRound,
    StandMove,
)
from companion.display.page import ANSWERS, MARKS
from companion.display.pictures.instruments import in_letters
from companion.display.pictures.screws import turn_way
from companion.display.watching import Watching
from companion.facts.shown import NO_SHOWS, Card, Shows
from companion.language.words import Words

_FRAMES: dict[Condition, str] = {
    "read_back": "yellow",
    "paused": "blue",
    "stopped": "red",
    "ending": "red",
    "over": "green",
}
_ARROWS = {"left": "←", "right": "→", "up": "↑", "down": "↓", "towards": "↓", "away": "↑"}


def show_in_terminal(record: Path, console: Console | None = None, shows: Shows = NO_SHOWS) -> None:
    """Follow the record until interrupted."""
    console = console or Console()
    moments: queue.Queue[Moment] = queue.Queue()
    watching = Watching(record, moments.put, shows=shows)
    watching.start()
    try:
        with Live(console=console, screen=True, auto_refresh=False) as live:
            while True:
                moment = moments.get()
                live.update(drawn(moment, console.width, console.height), refresh=True)
    finally:
        watching.stop()


def drawn(moment: Moment, columns: int, rows: int) -> RenderableType:
    """The moment for a terminal of this size: large letters where they fit, else plain ones."""
    words = Words(moment.language)
    parts: list[RenderableType] = [_head(words, moment), _asked(words, moment, columns, rows)]
    if moment.picture is not None:
        parts.append(_picture(words, moment.picture))
    if moment.answer is not None:
        parts.append(_answer(words, moment.answer, columns))
    return Group(*parts)


def _head(words: Words, moment: Moment) -> RenderableType:
    scale = Text()
    for stage in moment.stages:
        look = {
            "done": f"✓{stage.number} ",
            "now": f"[{stage.number}] ",
            "to_do": f"{stage.number} ",
        }
        scale.append(look[stage.state], style="bold reverse" if stage.state == "now" else "")
    now = next((stage.title for stage in moment.stages if stage.state == "now"), "")
    scale.append(now, style="bold")
    if moment.companion_is_off:
        scale.append(f"  ! {words('screen-off')}", style="bold white on red")
    elif moment.noisy:
        scale.append(f"  ! {words('screen-noisy')}", style="bold black on yellow")
    elif moment.store_told:
        scale.append(f"  ! {moment.store_told}", style="bold black on yellow")
    elif moment.sound_stays:
        scale.append(f"  {words('screen-sound-stays')}", style="dim")
    elif moment.car_stays:
        scale.append(f"  {words('screen-car-stays')}", style="dim")
    elif moment.example:
        scale.append(f"  {words('screen-example')}", style="dim")
    return Group(scale, Rule(style="dim"))


def _asked(words: Words, moment: Moment, columns: int, rows: int) -> RenderableType:
    said, inside = moment.instruction, columns - 6
    broken = letters.wrapped(said.text, inside)
    room = rows - 14
    text: RenderableType
    fits = all(letters.width(line) <= inside for line in broken)
    if fits and len(broken) * (letters.ROWS + 1) <= room:
        text = Text("\n\n".join("\n".join(letters.large(line)) for line in broken), no_wrap=True)
    else:
        text = Text(said.text, style="bold")
    lines: list[RenderableType] = []
    if said.before:
        lines.append(Text(said.before))
    lines += [Text(), text, Text()]
    if said.reply:
        lines.append(
            Text.assemble((f"{words('screen-say')} ", "reverse"), "  ", (said.reply, "bold"))
        )
    mark, name = MARKS[moment.condition], words(f"screen-mark-{moment.condition}")
    frame = _FRAMES.get(moment.condition, "white")
    return Panel(Group(*lines), title=f"{mark} {name}", title_align="left", border_style=frame)


def _picture(words: Words, picture: Picture) -> RenderableType:
    match picture:
        case StandMove(kind, way, how_far):
            end = kind.value if kind in ("level", "plumb") else "none"
            figure = words("picture-figure", amount=how_far, end=end, way=way.value)
            return Text(f" {_ARROWS[way]}  {figure}", style="bold")
        case ScrewRound(number, turns):
            marks = {"done": "✓", "now": "▸", "to_do": " "}
            told = "\n".join(
                f" {marks[t.state]} {t.name}: {words.turns(t.turns)} {turn_way(words, t)}"
                for t in turns
            )
            alone = number is None
            title = words("picture-screw") if alone else words("picture-screws", round=number or 0)
            return Text(f" {title}\n{told}", style="bold")
        case AimShown():
            return Text(
                f" {words('picture-sideways', amount=words.angle(picture.yaw, 'left', 'right'))}, "
                f"{words('picture-height', amount=words.angle(picture.elevation, 'up', 'down'))}",
                style="bold",
            )
        case Card(title, lines):
            return Text("\n".join((f" {title}", *(f"   {line}" for line in lines))), style="bold")
        case InstrumentsShown(instruments):
            rows = [
                row
                for one in instruments
                for row in (f" {one.title}", *(f"   {row}" for row in in_letters(one, words)))
            ]
            return Text("\n".join(rows))
        case Cautions(lines):
            return Text("\n".join(f" ! {line}" for line in lines))


def _answer(words: Words, answer: Answer, columns: int) -> RenderableType:
    mark, state = ANSWERS[answer.state], words(f"screen-answer-{answer.state}")
    title = f": {answer.title}" if answer.title and answer.state in ("taken", "not_taken") else ""
    heard = f"   {words('screen-heard')} “{answer.words}”" if answer.words else ""
    head = Text(f" {mark} {state}{title}{heard}")
    shown = "" if answer.state in ("heard", "not_understood") else answer.shown
    if not shown or letters.width(shown) > columns - 2:
        return Group(head, Text(f"   {shown}", style="bold"))
    return Group(head, Text("\n".join(f" {row}" for row in letters.large(shown)), no_wrap=True))
