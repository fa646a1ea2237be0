"""What holds for every language that ships: nothing is said in two ways, all of it can be said."""

from __future__ import annotations

import ast
import random
import re
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from companion.errors import GrammarError
from companion.facts.meanings import COMMAND_NAMES, Choice, Command, Done, No, Number, Yes
from companion.facts.message import CHOICE, ROW, TEXT, Amount, Message, choice, in_a_row, text
from companion.facts.quantities import DIRECTION_IDS, UNIT_IDS
from companion.language.expectation import Expectation, NumberForm
from companion.language.loader import language_codes, load_language, read_language

CODES = language_codes()
PACKAGE = Path(__file__).parents[2] / "companion"
codes = st.sampled_from(CODES)


@st.composite
def forms(draw):
    """Any shape of a number that a prompt may ask for."""
    style = draw(st.sampled_from(("whole", "decimal", "quarters")))
    directions = draw(
        st.sampled_from(
            ((), ("left", "right"), ("up", "down"), ("in", "out"), ("away", "towards"))
            if style != "quarters"
            else ((), ("clockwise", "anticlockwise"))
        )
    )
    if style == "quarters":
        return NumberForm(style, draw(st.integers(1, 2)), 0, directions, ("turns",))
    units = draw(st.sampled_from(((), *((unit,) for unit in UNIT_IDS if unit != "turns"))))
    decimals = draw(st.integers(1, 4)) if style == "decimal" else 0
    digits_only = draw(st.booleans())
    return NumberForm(style, draw(st.integers(1, 6)), decimals, directions, units, digits_only)


def test_english_and_spanish_ship():
    assert {"en", "es"} <= set(CODES)


@settings(max_examples=150, deadline=None)
@given(codes, forms(), st.booleans())
def test_no_phrase_of_any_prompt_can_be_said_in_two_ways(code, form, yes_no):
    # Raises GrammarError where one can.
    language = load_language(code)
    language.for_step(Expectation(form, yes_no=yes_no, done=True, commands=COMMAND_NAMES))


@pytest.mark.parametrize("code", CODES)
def test_no_two_choices_share_a_phrase(code):
    language = load_language(code)
    step = language.for_step(
        Expectation(choices=language.choice_ids(), commands=COMMAND_NAMES, done=True, yes_no=True)
    )
    for name in language.choice_ids():
        for phrase in language.grammar.choice_phrases(name):
            assert step.parse(phrase) == Choice(name)
        assert step.parse(language.choice_name(name)) == Choice(name)
    for answer, meaning in (("done", Done()), ("yes", Yes()), ("no", No())):
        for phrase in language.grammar.answer_phrases(answer):
            assert step.parse(phrase) == meaning
    for command in COMMAND_NAMES:
        assert step.parse(language.grammar.command_phrase(command)) == Command(command)


@settings(max_examples=300, deadline=None)
@given(codes, forms(), st.data())
def test_what_is_said_back_is_understood_as_the_same_number(code, form, data):
    language = load_language(code)
    whole = data.draw(st.integers(0, 10**form.max_whole_digits - 1))
    value = Decimal(whole)
    if form.style == "decimal":
        value += Decimal(data.draw(st.integers(0, 10**form.decimals - 1))).scaleb(-form.decimals)
    elif form.style == "quarters":
        value += Decimal(data.draw(st.integers(0, 3))) / 4
    direction = data.draw(st.sampled_from(form.directions)) if form.directions else None
    number = Number(value, direction, form.units[0] if form.units else None)
    if form.style == "quarters" and number.value == number.value.to_integral_value():
        number = Number(Decimal(int(value)), direction, "turns")
    step = language.for_step(Expectation(form))
    assert step.parse(language.read_back(number)) == number


@settings(max_examples=200, deadline=None)
@given(codes, forms(), st.integers(0, 10_000))
def test_what_may_be_said_means_what_it_was_made_for(code, form, seed):
    step = load_language(code).for_step(Expectation(form, yes_no=True))
    phrase, meaning = step.generate(random.Random(seed))
    assert step.parse(phrase) == meaning


# num2words says "veintiuno mil"; a noun takes "veintiún", and "mil" is one here.
@pytest.mark.parametrize("code", ["en", "es"])
@given(st.integers(0, 20_999))
def test_cardinals_are_those_of_an_outside_library(code, number):
    """The judge: num2words, which shares nothing with the rules of the language's folder."""
    judged = num2words(number, lang=code).replace("-", " ").replace(",", "")
    assert load_language(code).speaker.say_cardinal(number) == judged


@pytest.mark.parametrize(
    ("said", "value", "unit", "direction"),
    [
        ("doce milímetros a la izquierda", "12", "mm", "left"),
        ("uno dos milímetros izquierda", "12", "mm", "left"),
        ("a la derecha ciento treinta y un milímetros", "131", "mm", "right"),
        ("veintiún milímetros derecha", "21", "mm", "right"),
        ("un milímetro izquierda", "1", "mm", "left"),
        ("cero coma cuatro milímetros derecha", "0.4", "mm", "right"),
        ("siete coma veinticinco izquierda", "7.25", "mm", "left"),
        ("quinientos cinco punto cero cinco derecha", "505.05", "mm", "right"),
        ("cero", "0", "mm", None),
    ],
)
def test_spanish_numbers_as_they_are_said(said, value, unit, direction):
    form = NumberForm("decimal", 3, 2, ("left", "right"), ("mm",))
    heard = load_language("es").for_step(Expectation(form)).parse(said)
    assert heard == Number(Decimal(value), direction, unit)
    assert str(heard.value) == value


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("media vuelta en sentido horario", "0.5"),
        ("un cuarto de vuelta horario", "0.25"),
        ("tres cuartos de vuelta horario", "0.75"),
        ("una vuelta horario", "1"),
        ("una vuelta y media en sentido horario", "1.5"),
        ("dos vueltas y tres cuartos sentido horario", "2.75"),
        ("horario veintiuna vueltas", "21"),
    ],
)
def test_spanish_turns(said, value):
    form = NumberForm("quarters", 2, 0, ("clockwise", "anticlockwise"), ("turns",))
    heard = load_language("es").for_step(Expectation(form)).parse(said)
    assert heard == Number(Decimal(value), "clockwise", "turns")


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("12,5 mm izquierda", "uno dos coma cinco milímetros izquierda"),
        ("0.4", "cero coma cuatro"),
        ("SI", "sí"),
        ("si\u0301", "sí"),
        ("deposito lleno", "depósito lleno"),
        # Thousands to some and thousandths to others: left for the gate to refuse.
        ("1.250", "1.250"),
        ("1,250", "uno coma dos cinco cero"),
        ("2 1/2 vueltas", "dos y media vueltas"),
    ],
)
def test_typed_spanish(typed, wanted):
    assert load_language("es").typed(typed) == wanted


def test_si_is_a_word_in_any_form_that_a_recogniser_may_write_it():
    step = load_language("es").for_step(Expectation(yes_no=True))
    assert step.parse("sí") == step.parse("SÍ") == step.parse("si\u0301") == Yes()
    assert step.parse("si") is None


PART = re.compile(r"[a-z]+-([a-z]+-)*")
"""How an id begins of which the rest is made up while the program runs."""


def test_every_sentence_that_the_code_makes_is_there_with_its_arguments():
    """Read from the code's text: each `Message("id", ...)`; and no sentence that nothing makes."""
    english = load_language("en").messages.arguments
    made: set[str] = set()
    # Of "screen-mark-" and a condition, say, only the beginning stands in the text.
    beginnings: set[str] = set()
    for file in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Message":
                for id_ in _ids(node.args[0]):
                    made.add(id_)
            # What a table or a conditional names is a message too.
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                made.update({node.value} & english.keys())
                if PART.fullmatch(node.value):
                    beginnings.add(node.value)
            if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
                beginnings.add(str(node.values[0].value))
    for template in PACKAGE.rglob("*.j2"):
        quoted = re.findall(r"""['"]([\w-]+)['"]""", template.read_text())
        made.update(set(quoted) & english.keys())
        beginnings.update(filter(PART.fullmatch, quoted))
    whole = tuple(filter(PART.fullmatch, beginnings))
    sentences = {name for name in english if not name.startswith(whole)}
    unknown = {id_ for id_ in made if id_ not in english} - {TEXT, ROW, CHOICE}
    assert unknown == set()
    assert sentences <= made


def _ids(node: ast.expr):
    match node:
        case ast.Constant(value=str(value)) if value:
            yield value
        case ast.IfExp(body=body, orelse=orelse):
            yield from _ids(body)
            yield from _ids(orelse)


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("direction", DIRECTION_IDS)
def test_every_direction_has_its_words_in_a_correction(code, direction):
    assert load_language(code).say(Message(f"move-{direction}"))


@pytest.mark.parametrize("code", CODES)
def test_messages_are_said_and_shown(code):
    language = load_language(code)
    amount = Amount(Decimal("0.40"), "deg", "left")
    told = Message(
        "implausible", {"heard": amount, "low": Amount(0), "high": Amount(Fraction(5, 2), "turns")}
    )
    aloud, shown = language.say(told), language.show(told)
    assert not any(sign.isdigit() for sign in aloud)
    assert "2½" in shown
    assert language.speaker.direction_word("left") in shown
    row = in_a_row(told, text("{x}.", {"x": amount}), choice("crash"))
    assert language.say(row).startswith(aloud)
    heard = language.read_back(Number(Decimal("0.40"), "left", "deg"))
    assert language.say(row).endswith(f"{heard}. {language.choice_name('crash')}")
    assert Message.from_plain(row.to_plain()) == row


def test_a_language_that_lacks_a_sentence_is_refused(tmp_path):
    spanish = Path(__file__).parents[2] / "grammars" / "es"
    for file in spanish.iterdir():
        told = file.read_text()
        if file.name == "conversation.ftl":
            told = told.replace("sorry = ¿Perdón?\n", "")
        (tmp_path / file.name).write_text(told)
    with pytest.raises(GrammarError, match=r"Spanish: no sentence 'sorry', wanted one as at conv"):
        read_language(tmp_path).check_against(load_language("en"))


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("conversation.ftl", "{ $word }", "{ $words }", r"line \d+: found 'say-word' with \$words"),
        ("conversation.ftl", "sorry =", "= sorry", r"conversation.ftl, line \d+: found"),
        ("steps.ftl", "misfit =", "sorry =", r"found 'sorry' again"),
        ("language.yaml", "point: coma", "point: Coma", r"language.yaml line \d+, numbers.point"),
        ("language.yaml", "  away:", "  far:", r"directions with the ids"),
        (
            "language.yaml",
            'words: ["sí",',
            'words: ["quizá",',
            r"'quizá' in the voice check, wanted words",
        ),
        ("answers.grammar", "    hecho\n", "    listo\n", r"found 'listo'"),
        ("answers.grammar", "choice crash", "choice bang", r"choices bang, crash"),
    ],
)
def test_a_mistake_in_a_language_is_named_with_its_place(tmp_path, file, old, new, told):
    spanish = Path(__file__).parents[2] / "grammars" / "es"
    for source in spanish.iterdir():
        changed = source.read_text()
        if source.name == file:
            assert old in changed
            changed = changed.replace(old, new, 1)
        (tmp_path / source.name).write_text(changed)
    with pytest.raises(GrammarError, match=told):
        read_language(tmp_path).check_against(load_language("en"))
