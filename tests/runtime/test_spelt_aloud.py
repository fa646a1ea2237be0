"""A VIN, a plate or a code that is spelled: read back in groups, in two languages."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.commands import visits
from companion.facts.talking import How
from companion.job.vin import check_digit_of
from companion.language.loader import load_language
from companion.language.spelling import SpellingEnds, Spelt
from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.port import Ears, Heard, Listening, Refusal, SoundEnded, Utterance
from companion.recognition.typed import TypedEars
from companion.runtime import assembly
from companion.runtime.aloud import Aloud
from companion.runtime.spelt_aloud import SpellingLeft, SpeltAloud
from companion.speech.silent import SilentVoice
from tests.scripted_ears import ScriptedEars

VIN = "ZZZ12345678AEX123"
SPELLED = {
    "en": [
        "zulu zulu zulu",
        "one two three",
        "four five six",
        "seven eight alfa",
        "echo x-ray one",
        "two three",
    ],
    "es": [
        "zulu zulu zulu",
        "uno dos tres",
        "cuatro cinco seis",
        "siete ocho alfa",
        "eco equis uno",
        "dos tres",
    ],
}


class Conversation:
    """One that is spelled to, with all that was said and shown."""

    def __init__(self, ears: Ears, code: str = "en") -> None:
        language = load_language(code)
        self.shown: list[str] = []
        self.voice = SilentVoice()
        self.aloud = SpeltAloud(
            Aloud(ears, self.voice, language, self.shown.append), language.alphabet
        )


def scripted(answers: Iterable[str | Utterance | Refusal], code: str = "en") -> Conversation:
    return Conversation(ScriptedEars(answers), code)


def with_yes(groups: Iterable[str], yes: str = "yes") -> Iterator[str]:
    for group in groups:
        yield group
        yield yes


@pytest.mark.parametrize(("code", "yes"), [("en", "yes"), ("es", "sí")])
def test_a_vin_is_said_back_in_words_and_shown_in_signs(code: str, yes: str) -> None:
    told = scripted(with_yes(SPELLED[code], yes), code)
    assert told.aloud.vin(check_digit=False) == VIN
    assert any("zulu, zulu, zulu" in said for said in told.voice.texts)
    assert any(line.startswith("ZZZ.") for line in told.shown)


def test_only_what_was_said_yes_to_is_kept() -> None:
    answers = ["zulu zulu one", "no", *with_yes(SPELLED["en"])]
    assert scripted(answers).aloud.vin(check_digit=False) == VIN


def test_the_last_group_can_be_taken_back() -> None:
    answers = ["zulu zulu one", "yes", "go back", *with_yes(SPELLED["en"])]
    assert scripted(answers).aloud.vin(check_digit=False) == VIN


@pytest.mark.parametrize(("word", "letter"), [("india", "I"), ("oscar", "O"), ("quebec", "Q")])
def test_a_letter_that_no_vin_has_is_named(word: str, letter: str) -> None:
    answers = [f"{word} zulu zulu", "yes", *with_yes(SPELLED["en"])]
    told = scripted(answers)
    assert told.aloud.vin(check_digit=False) == VIN
    assert any(f"No VIN has the letter {letter}" in said for said in told.voice.texts)
    digit = "1" if letter == "I" else "0"
    assert any(f"it may be a {digit}" in said for said in told.shown)


def test_a_check_digit_that_does_not_fit_begins_it_again() -> None:
    right = VIN[:8] + check_digit_of(VIN) + VIN[9:]
    alphabet = load_language().alphabet
    groups = [right[n : n + 3] for n in range(0, 17, 3)]
    words = [" ".join(alphabet.words[sign][0] for sign in group) for group in groups]
    wrong = [*words[:-1], "two four"]
    told = scripted([*with_yes(wrong), *with_yes(words)])
    assert told.aloud.vin(check_digit=True) == right
    assert any("check digit" in said for said in told.voice.texts)


def test_silence_and_what_was_not_understood_keep_nothing() -> None:
    unsure = Refusal("unsure", How("zulu zulu zulu", "test"))
    silence = Refusal("silence", How("", "test"))
    told = scripted([unsure, "zulu zulu zulu", silence, unsure, "yes", "stop"])
    with pytest.raises(SpellingLeft):
        told.aloud.vin(check_digit=False)
    with pytest.raises(SpellingLeft):
        scripted([silence] * 8).aloud.vin(check_digit=False)


def test_what_is_heard_wrongly_again_and_again_is_left_to_the_keyboard() -> None:
    with pytest.raises(SpellingLeft, match="type it"):
        scripted(["zulu zulu one", "no"] * 8).aloud.vin(check_digit=False)


def test_what_the_ears_are_not_sure_of_is_said_back_and_the_yes_decides() -> None:
    unsure = [Refusal("unsure", How(group, "test")) for group in SPELLED["en"]]
    answers = [each for group in unsure for each in (group, "yes")]
    assert scripted(answers).aloud.vin(check_digit=False) == VIN
    wrong = Refusal("unsure", How("zulu zulu one", "test"))
    told = scripted([wrong, "no", wrong, *with_yes(SPELLED["en"])])
    assert told.aloud.vin(check_digit=False) == VIN
    assert sum(line.startswith("ZZ1.") for line in told.shown) == 1, "not said back once more"


def test_a_group_that_is_not_understood_is_asked_for_sign_by_sign() -> None:
    vain = Refusal("unsure", How("", "test"))
    singles = with_yes(["zulu", "zulu", "zulu"])
    told = scripted([*[vain] * 4, *singles, *with_yes(SPELLED["en"][1:])])
    assert told.aloud.vin(check_digit=False) == VIN
    assert "One character at a time, then." in told.shown
    assert told.shown.count("The next 1.") == 2
    assert "The next 3." in told.shown


def test_done_at_once_leaves_it_out() -> None:
    assert scripted(["done"]).aloud.vin(check_digit=False) == ""
    assert scripted(["done"]).aloud.text("spell-plate") == ""


def test_a_plate_or_a_code_is_as_long_as_it_is() -> None:
    told = scripted(["papa zero", "yes", "four two zero", "yes", "done"])
    assert told.aloud.text("spell-code-before") == "P0420"


@pytest.mark.parametrize(
    "lines",
    [
        [VIN, "y"],
        [f"{VIN[:9]}-{VIN[9:]}".lower(), "yes"],
        ["zulu zulu zulu", "y", "123", "y", "4 5 six", "y", "78A", "y", "EX1", "y", "23", "y"],
        ["zulu zulu zulu", "y", VIN, "y"],
        ["ZZZ", "y", "123456789", "n", VIN[3:15], "y", "2345", "y", "23", "y"],
    ],
)
def test_it_can_be_typed_or_scanned_at_any_time(lines: list[str]) -> None:
    spoken = load_language()
    ears = TypedEars(lines, as_words=lambda t, grammar: assembly.typed_words(spoken, t, grammar))
    assert Conversation(ears).aloud.vin(check_digit=False) == VIN


@pytest.mark.parametrize("code", ["en", "es"])
def test_every_sign_has_a_word_of_its_own_and_the_grammar_takes_what_it_says(code: str) -> None:
    language = load_language(code)
    alphabet = language.alphabet
    assert len(alphabet.words) == 36
    assert len(alphabet.signs) == sum(map(len, alphabet.words.values())), "a word means one sign"
    grammar = language.spelled(alphabet, 1, 4, ends=True)
    for sign, words in alphabet.words.items():
        for word in words:
            assert grammar.parse(word) == Spelt(sign)
    assert grammar.parse(language.grammar.answer_phrases("done")[0]) == SpellingEnds()
    assert not set(alphabet.signs) & set(language.grammar.answer_phrases("done"))


def test_its_machine_of_words_and_its_parser_take_the_same() -> None:
    language, rng = load_language(), random.Random(5)
    grammar = language.spelled(language.alphabet, 2, 3, ends=True)
    for _ in range(300):
        state, said = 0, list[str]()
        while not grammar.is_end(state) or rng.random() < 0.5:
            arcs = sorted(grammar.arcs(state))
            if not arcs:
                break
            word, state = rng.choice(arcs)
            said.append(word)
        assert grammar.parse(" ".join(said)) is not None, said
    assert grammar.parse("zulu") is None
    assert grammar.parse("zulu stop") is None


@pytest.mark.parametrize("code", ["en", "es"])
def test_our_own_ears_know_the_alphabet(code: str) -> None:
    alphabet = load_language(code).alphabet
    missing = OwnRecogniser(language=code).missing_words(frozenset(alphabet.signs))
    assert not alphabet.without(missing).unheard


def test_ears_that_lack_a_letter_say_so_plainly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lacking = frozenset({"zulu"})
    monkeypatch.setattr(OwnRecogniser, "missing_words", lambda _, words: lacking & words)
    record = str(tmp_path / "r.sqlite")
    typed = f"4711\ny\ndone\nEX 123\ny\ndone\n{VIN}\ny\n48210\ny\ndone\n"
    said = CliRunner().invoke(
        main, ["visit", "new", "--ask", "--ears", "own", "--record", record], input=typed
    )
    assert said.exit_code == 0, said.output
    assert "do not know the spelling alphabet: type it or scan it" in said.output
    shown = CliRunner().invoke(main, ["visit", "show", "--record", record]).output
    assert VIN in shown
    assert "EX123" in shown
    assert "48210" in shown


def test_codes_are_spelled_into_the_visit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record = str(tmp_path / "r.sqlite")
    assert CliRunner().invoke(main, ["visit", "new", "--record", record]).exit_code == 0
    answers = ["papa zero", "yes", "four two zero", "yes", "done", "done"]

    @contextmanager
    def spelling(*_: Any) -> Iterator[tuple[SpeltAloud, None]]:
        yield scripted(answers).aloud, None

    monkeypatch.setattr(visits, "spelling", spelling)
    said = CliRunner().invoke(main, ["visit", "codes", "--spell", "before", "--record", record])
    assert said.exit_code == 0, said.output
    assert "kept" in said.output


class Deaf:
    name = "deaf"

    def hear(self, listening: Listening) -> Heard:
        raise SoundEnded("nothing more")

    def close(self) -> None:
        """Nothing to let go of."""


def test_where_the_sound_ends_it_is_over() -> None:
    with pytest.raises(SoundEnded):
        Conversation(Deaf()).aloud.vin(check_digit=False)
