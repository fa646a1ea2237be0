"""The moment as a page: one fragment of HTML, every text escaped, type as large as it fits."""

from __future__ import annotations

from pathlib import Path

from companion.display.moment import Answer, AnswerState, Cautions, Condition, Instruction, Moment
from companion.display.pictures import draw
from companion.facts.shown import Card
from companion.language.words import Words
from companion.web.templates import page_templates

TEMPLATES = Path(__file__).parent / "templates"
_PAGES = page_templates(TEMPLATES)

# One unit is a hundredth of the screen's height (on a 16 to 9 screen).
SIZES = (30, 24, 19, 16, 14, 12, 11, 10, 9, 8, 7, 6, 5)
CHARACTER_WIDTH, LIGHT_CHARACTER_WIDTH, LINE_HEIGHT = 0.6, 0.53, 1.12
WIDE, BESIDE_PICTURE, BESIDE_CAUTIONS = 150.0, 81.0, 84.0
TALL, FRAMED, REPLY_HEIGHT = 58.0, 48.0, 9.0
# What was said before the instruction, in the sizes of its three classes.
BEFORE_SIZES = {"": 5.0, "long": 3.6, "longest": 2.8}
MOST_LINES_BEFORE = 4
READ_FROM_FOUR_METRES = 9

MARKS: dict[Condition, str] = {
    "no_job": "–",
    "asking": "▸",
    "doing": "●",
    "read_back": "?",
    "note": "●",
    "paused": "‖",
    "stopped": "■",
    "ending": "?",
    "resuming": "▸",
    "over": "■",
}
ANSWERS: dict[AnswerState, str] = {
    "said_back": "?",
    "taken": "✓",
    "not_taken": "✗",
    "unlikely": "!",
    "not_understood": "✗",
    "nothing": "…",
    "heard": "“”",
}
"""The signs; their words stand in `grammars/<language>/screen.ftl`."""


ANSWER_ROOM = 86.0, 11.0
FRAMED_CONDITIONS = ("read_back", "note", "paused", "stopped", "ending", "resuming")
# Where the words themselves are what counts, they are what is written large.
BY_WORDS: tuple[AnswerState, ...] = ("heard", "said_back", "not_understood")


def view(moment: Moment) -> str:
    """The fragment that shows this moment."""
    words = Words(moment.language)
    width = WIDE
    if isinstance(moment.picture, Cautions | Card):
        width = BESIDE_CAUTIONS
    elif moment.picture is not None:
        width = BESIDE_PICTURE
    said = moment.instruction
    framed = moment.condition in FRAMED_CONDITIONS or moment.companion_is_off
    room = (FRAMED if framed else TALL) - (REPLY_HEIGHT if said.reply else 0)
    before, text_size = _sizes(said, width, room)
    answer = moment.answer
    large = answer.shown if answer is not None else ""
    if answer is not None and answer.state in BY_WORDS:
        large = f"“{answer.words}”" if answer.words else ""
        if answer.shown and not _fits(large):
            # Two readings in words are too long; their figures are what counts.
            large = answer.shown
    return _PAGES.get_template("view.html.j2").render(
        moment=moment,
        words=words,
        mark=(MARKS[moment.condition], words(f"screen-mark-{moment.condition}")),
        answer_mark=_answer_mark(words, answer),
        text_size=text_size,
        reply_size=fitting_size(said.reply, width - 14, REPLY_HEIGHT, most=7),
        before=before,
        large=large,
        by_words=BY_WORDS,
        shown_size=fitting_size(large, *ANSWER_ROOM, most=9),
        cautions=moment.picture.lines if isinstance(moment.picture, Cautions | Card) else (),
        cautions_title=(
            moment.picture.title if isinstance(moment.picture, Card) else words("screen-cautions")
        ),
        picture=draw(moment.picture, words),
        now=next((stage for stage in moment.stages if stage.state == "now"), None),
    )


def _fits(told: str) -> bool:
    """Whether the last answer may be written so, in the smallest letters if need be."""
    width, height = ANSWER_ROOM
    return lines(told, SIZES[-1], width) * SIZES[-1] * LINE_HEIGHT <= height


def _answer_mark(words: Words, answer: Answer | None) -> tuple[str, str]:
    if answer is None:
        return "", ""
    return ANSWERS[answer.state], words(f"screen-answer-{answer.state}")


def _sizes(said: Instruction, width: float, room: float) -> tuple[str, int]:
    """The class of what was said before, and the instruction's size: that comes first."""
    if not said.before:
        return "", fitting_size(said.text, width, room)
    before, size = "", SIZES[-1]
    for before, height in BEFORE_SIZES.items():
        rows = _lines_before(said.before, height, width)
        size = fitting_size(said.text, width, room - (rows * LINE_HEIGHT + 0.3) * height)
        if size >= READ_FROM_FOUR_METRES and (before or rows <= MOST_LINES_BEFORE):
            break
    return before, size


def shell(moment: Moment) -> str:
    """The whole page around the fragment."""
    return _PAGES.get_template("display.html.j2").render(
        fragment=view(moment), words=Words(moment.language), language=moment.language
    )


def fitting_size(told: str, width: float, height: float, most: int = SIZES[0]) -> int:
    """The largest size at which the text fits, in hundredths of the screen's height."""
    sizes = [size for size in SIZES if size <= most]
    for size in sizes:
        longest = max((len(word) for word in told.split(" ")), default=0)
        fits_across = longest * size * CHARACTER_WIDTH <= width
        if fits_across and lines(told, size, width) * size * LINE_HEIGHT <= height:
            return size
    return sizes[-1]


def _lines_before(told: str, size: float, width: float) -> int:
    return lines(told, size * LIGHT_CHARACTER_WIDTH / CHARACTER_WIDTH, width)


def lines(told: str, size: float, width: float) -> int:
    """How many lines the text takes at this size."""
    across = max(1, int(width / (size * CHARACTER_WIDTH)))
    count, used = 1, 0
    for word in told.split(" "):
        if used and used + 1 + len(word) > across:
            count, used = count + 1, len(word)
        else:
            used += len(word) + (1 if used else 0)
    return count
