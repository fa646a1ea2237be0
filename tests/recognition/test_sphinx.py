"""PocketSphinx on a synthetic technician: what it hears, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from companion.errors import EarsError
from companion.recognition.sphinx import SphinxRecogniser

COMMANDS = ("repeat", "carry on", "go back", "stop", "where are we", "what can i say")
REASONS = ("sensor replaced", "bumper work", "suspension work", "fault code", "crash repair")


@pytest.fixture(scope="module")
def recogniser() -> SphinxRecogniser:
    return SphinxRecogniser({"nought": "N AO T", "anticlockwise": "AE N T IY K L AA K W AY Z"})


class NumberGrammar:
    """Numbers below a thousand, said in full or digit by digit, and some commands."""

    DIGITS = "one | two | three | four | five | six | seven | eight | nine"
    TEENS = "ten | eleven | twelve | thirteen | fourteen | fifteen | sixteen | seventeen"
    TENS = "twenty | thirty | forty | fifty | sixty | seventy | eighty | ninety"

    def jsgf(self) -> str:
        return (
            "#JSGF V1.0;\ngrammar step;\n"
            f"<digit> = {self.DIGITS};\n"
            f"<below> = <digit> | {self.TEENS} | ({self.TENS}) [<digit>];\n"
            "<number> = <below> | <digit> hundred [[and] <below>] | <digit> <digit> <digit>;\n"
            f"public <step> = <number> [millimetres] | {' | '.join(COMMANDS)};\n"
        )

    def words(self) -> frozenset[str]:
        listed = f"{self.DIGITS} {self.TEENS} {self.TENS} {' '.join(COMMANDS)}"
        return frozenset(listed.replace("|", " ").split()) | {"hundred", "and", "millimetres"}

    def phrases(self) -> tuple[str, ...]:
        return tuple(self.words())

    def parse(self, text: str) -> str:
        return text


@pytest.mark.parametrize("voice", ["slt", "rms", "awb"])
@pytest.mark.parametrize(
    "words", ["seven hundred and seventy five", "seven seven five", "go back", "where are we"]
)
def test_what_the_grammar_holds_is_heard_with_confidence(
    recogniser: SphinxRecogniser, technician: Callable[..., bytes], words: str, voice: str
) -> None:
    recogniser.load(NumberGrammar())
    heard = recogniser.recognise(technician(words, voice))
    assert heard.words == words
    assert heard.confidence >= recogniser.least_confidence
    assert heard.n_best[0] == words


@pytest.mark.parametrize("voice", ["slt", "rms", "awb"])
@pytest.mark.parametrize(
    "words",
    [
        "pass me the hammer please",
        "the customer wants his car tonight",
        "is there any coffee left in the kitchen",
    ],
)
def test_talk_that_is_not_in_the_grammar_is_not_believed(
    recogniser: SphinxRecogniser, technician: Callable[..., bytes], words: str, voice: str
) -> None:
    recogniser.load(NumberGrammar())
    assert recogniser.recognise(technician(words, voice)).confidence < recogniser.least_confidence


@pytest.mark.parametrize("loudness", [30.0, 2_000.0])
def test_noise_is_not_believed(
    recogniser: SphinxRecogniser, quiet_room: Callable[..., bytes], loudness: float
) -> None:
    recogniser.load(NumberGrammar())
    heard = recogniser.recognise(quiet_room(2.0, loudness))
    assert heard.confidence < recogniser.least_confidence


def test_no_sound_at_all_is_no_words(recogniser: SphinxRecogniser) -> None:
    recogniser.load(NumberGrammar())
    heard = recogniser.recognise(b"")
    assert (heard.words, heard.confidence, heard.n_best) == ("", 0.0, ())


def test_the_same_sound_is_heard_the_same_whatever_came_before(
    recogniser: SphinxRecogniser, technician: Callable[..., bytes]
) -> None:
    recogniser.load(NumberGrammar())
    sound = technician("seven seven five")
    alone = recogniser.recognise(sound)
    recogniser.recognise(technician("pass me the hammer please", "awb"))
    assert recogniser.recognise(sound) == alone


def test_each_step_hears_only_its_own_grammar(
    recogniser: SphinxRecogniser,
    technician: Callable[..., bytes],
    spoken_list: Callable[..., NumberGrammar],
) -> None:
    sound = technician("sensor replaced")
    recogniser.load(spoken_list(*REASONS))
    assert recogniser.recognise(sound).words == "sensor replaced"
    recogniser.load(spoken_list("yes", "no"))
    elsewhere = recogniser.recognise(sound)
    assert elsewhere.words in {"yes", "no", ""}
    assert elsewhere.confidence < recogniser.least_confidence
    recogniser.load(spoken_list(*REASONS))
    assert recogniser.recognise(sound).words == "sensor replaced"


def test_added_words_are_heard(
    recogniser: SphinxRecogniser,
    technician: Callable[..., bytes],
    spoken_list: Callable[..., NumberGrammar],
) -> None:
    recogniser.load(spoken_list("two turns clockwise", "two turns anticlockwise"))
    assert recogniser.recognise(technician("two turns clockwise")).words == "two turns clockwise"
    heard = recogniser.recognise(technician("two turns anticlockwise"))
    assert heard.words == "two turns anticlockwise"


def test_words_that_cannot_be_heard_are_named_before_the_job(
    recogniser: SphinxRecogniser, spoken_list: Callable[..., NumberGrammar]
) -> None:
    grammar = spoken_list("yes", "zzgrommet", "plate qwandle")
    assert recogniser.missing_words(grammar.words()) == {"zzgrommet", "qwandle"}
    with pytest.raises(EarsError, match="qwandle, zzgrommet"):
        recogniser.load(grammar)


def test_a_grammar_that_is_no_jsgf_is_refused(recogniser: SphinxRecogniser) -> None:
    class Broken(NumberGrammar):
        def jsgf(self) -> str:
            return "#JSGF V1.0;\ngrammar step;\npublic <step> = yes | (no;\n"

    with pytest.raises(EarsError, match="does not take the grammar"):
        recogniser.load(Broken())


def test_phones_that_do_not_exist_are_refused() -> None:
    with pytest.raises(EarsError, match="'qwandle'"):
        SphinxRecogniser({"qwandle": "K W OOPS D"})


def test_a_second_way_of_saying_a_known_word_is_taken() -> None:
    both = SphinxRecogniser({"zero": "Z IH R OW", "one": "W AH N"})
    assert both.missing_words(frozenset({"zero", "one"})) == frozenset()


def test_recognising_without_a_grammar_is_an_error() -> None:
    with pytest.raises(EarsError, match="no grammar is loaded"):
        SphinxRecogniser().recognise(b"\0" * 32_000)


def test_more_grammars_than_are_kept_still_work(
    recogniser: SphinxRecogniser,
    technician: Callable[..., bytes],
    spoken_list: Callable[..., NumberGrammar],
) -> None:
    sound = technician("bumper work")
    recogniser.load(spoken_list(*REASONS))
    for extra in range(70):
        recogniser.load(spoken_list("yes", " ".join(["no"] * (extra + 1))))
    recogniser.load(spoken_list(*REASONS))
    assert recogniser.recognise(sound).words == "bumper work"
