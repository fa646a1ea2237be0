"""A grammar file with a mistake is refused with its name, its line and what is wanted."""

import re
from pathlib import Path

import pytest

import companion
from companion.errors import GrammarError
from companion.facts.meanings import Choice
from companion.language.expectation import Expectation
from companion.language.grammar import Grammar
from companion.language.loader import load_language, pronunciations
from companion.language.pronunciations import parse_pronunciations

ENGLISH = load_language("en")

FOLDER = Path(companion.__file__).parent.parent / "grammars" / "en"


@pytest.fixture
def texts():
    return {file.name: file.read_text() for file in sorted(FOLDER.glob("*.grammar"))}


def refused(texts, **changed):
    for name, text in changed.items():
        texts[f"{name}.grammar"] = text
    with pytest.raises(GrammarError) as caught:
        Grammar.from_texts(texts, ENGLISH.speaker)
    return str(caught.value)


def test_the_shipped_files_are_in_order(texts):
    grammar = Grammar.from_texts(texts, ENGLISH.speaker)
    assert grammar.choice_ids() == load_language().grammar.choice_ids()


@pytest.mark.parametrize(
    ("extra", "complaint"),
    [
        ("choice [x]\n", "extra.grammar, line 1: found 'choice [x]', wanted one of rule"),
        ("noise x\n    word\n", "extra.grammar, line 1: found 'noise x'"),
        ("    word\n", "line 1: found 'word', wanted a heading before it"),
        ("choice x\n", "line 1: found x with no phrase"),
        ("choice x\n    Word\n", "line 2: found 'Word', wanted lower-case words"),
        ("choice x\n    say 12\n", "line 2: found '12', wanted lower-case words"),
        ("choice x\n    [word\n", "line 2: found the end of the phrase, wanted ']'"),
        ("choice x\n    word]\n", "line 2: found ']', wanted"),
        ("choice x\n    (a / )\n", "line 2: found an empty part"),
        ("choice x\n    a / b\n", "line 2: found '/', wanted"),
        ("choice x\n    [word]\n", "line 2: found a phrase that may be silence"),
        ("choice x\n    [one] [two]\n", "line 2: found a phrase that may be silence"),
        ("choice x\n    word -> 1\n", "line 2: found a value in a choice"),
        ("choice x\n    <digit>\n", "line 2: found <digit> in a choice, wanted words only"),
        ("choice crash\n    bang\n", "line 1: found choice crash again"),
        ("command dance\n    dance\n", "line 1: found command dance, wanted one of repeat"),
        ("answer maybe\n    maybe\n", "line 1: found answer maybe, wanted one of done"),
        ("shape odd\n    <some>\n", "line 1: found shape odd, wanted one of plain"),
        ("rule lost\n    word\n", "line 1: found rule lost that nothing uses"),
        ("rule x\n    <nowhere>\n", "line 2: found <nowhere>, wanted the name of a rule"),
        ("rule x\n    <digits.@length>\n", "line 2: found the limit @length"),
        ("rule x\n    one <x>\n", "line 1: found x leading back to itself (x > x)"),
        (
            "rule x\n    one <y>\nrule y\n    two <x>\n",
            "leading back to itself (y > x > y), wanted an end",
        ),
        (
            "rule x\n    [<digit>] one -> <digit>\n",
            "line 2: found <digit> where it may be left out",
        ),
        ("rule x\n    (<digit> / one)\n", "line 2: found <digit> where it may be left out"),
        ("rule x\n    one -> 1 plus 2\n", "line 2: found the value '1 plus 2'"),
        ("rule x\n    <nonzero> <digit>\n", "line 2: found no value"),
        ("rule x\n    <nonzero> <digit> -> <digit>\n", "wanted each slot used once"),
        ("rule x\n    <digit> -> <digit> & <digit>\n", "wanted each slot used once"),
        ("rule x\n    one -> 1\n    two\n", "found lines with and without a value"),
    ],
)
def test_a_mistake_is_named_with_its_place(texts, extra, complaint):
    assert complaint in refused(texts, extra=extra)


def test_a_shape_needs_exactly_one_amount(texts):
    broken = texts["number.grammar"].replace("<some> [<unit>]\n", "<some> <some>\n", 1)
    assert "wanted one of <some>" in refused(texts, number=broken)


@pytest.mark.parametrize(
    ("file", "heading"),
    [
        ("commands", "command stop\n"),
        ("answers", "answer yes\n"),
        ("number", "shape plain\n"),
        ("number", "rule some_pairs\n"),
    ],
)
def test_something_that_is_needed_and_missing_is_named(texts, file, heading):
    text = texts[f"{file}.grammar"]
    assert heading in text
    before, _, after = text.partition(heading)
    rest = after.splitlines(keepends=True)
    while rest and rest[0].startswith((" ", "\t")):
        rest.pop(0)
    broken = before + "".join(rest)
    assert f"found no {heading.strip()}" in refused(texts, **{file: broken})


def test_one_phrase_for_two_commands_is_refused(texts):
    broken = texts["commands.grammar"].replace(
        "    wait a moment\n", "    wait a moment\n    go back\n"
    )
    message = refused(texts, commands=broken)
    assert "'go back'" in message
    assert message.count("commands.grammar, line") == 2


def test_one_phrase_for_a_choice_and_a_command_is_refused(texts):
    broken = texts["answers.grammar"].replace("    left alone\n", "    [just] wait\n")
    assert "'wait'" in refused(texts, answers=broken)


def test_one_phrase_for_two_choices_is_refused_where_both_can_be_said(texts):
    broken = texts["answers.grammar"].replace("    new sensor\n", "    bumper [work]\n")
    grammar = Grammar.from_texts({**texts, "answers.grammar": broken}, ENGLISH.speaker)
    with pytest.raises(GrammarError, match=r"answers.grammar, line \d+: found 'bumper"):
        grammar.for_step(Expectation(choices=("replaced", "bumper")))
    assert grammar.for_step(Expectation(choices=("replaced",))).parse("bumper") == Choice(
        "replaced"
    )


def test_a_number_with_two_meanings_is_refused(texts):
    line = "    <nonzero> <teen>                   -> <nonzero> & <teen>\n"
    assert line in texts["number.grammar"]
    broken = texts["number.grammar"].replace(
        line, line + "    <ten_times> <nonzero>  -> <ten_times> & <nonzero>\n"
    )
    message = refused(texts, number=broken)
    assert "eighty eight'" in message
    first, second = re.findall(r"number.grammar, line (\d+)", message)
    assert first != second


def test_pronunciations_are_read_and_checked():
    assert pronunciations()["nought"] == "N AO T"
    assert parse_pronunciations("# none\n\nhm  HH M  # short\n", "p") == {"hm": "HH M"}
    for text in ("nought\n", "nought N QQ T\n", "nought N AO1 T\n", "hm HH M\nhm HH M\n"):
        with pytest.raises(GrammarError, match=r"p.txt, line \d: found"):
            parse_pronunciations(text, "p.txt")


def test_an_unknown_language_is_refused():
    with pytest.raises(GrammarError, match="'xx'"):
        load_language("xx")
