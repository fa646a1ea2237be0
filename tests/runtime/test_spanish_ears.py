"""A whole job in Spanish from sound: espeak-ng's Spanish voice, heard by the own Spanish ears.

The heads were trained on other variants of that voice and on no person, so this shows that the
parts fit together, not how well people are heard.
"""

from __future__ import annotations

import shutil

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.errors import EarsError
from companion.job.loader import JobPaths
from companion.recognition.own.recogniser import OwnRecogniser
from companion.runtime import assembly

SPANISH = assembly.language("es")


def test_the_spanish_heads_know_every_word_of_the_shipped_job() -> None:
    recogniser = assembly.make_recogniser(assembly.EarsChoice("own"), SPANISH)
    heard = assembly.check_words(recogniser, assembly.load(JobPaths(), SPANISH), SPANISH)
    assert heard.left_out == ()


def test_the_english_heads_lack_two_words_and_every_meaning_keeps_a_phrase() -> None:
    """ "Only the one code" stays and is what prompts ask for; the check raises where none stays."""
    english = assembly.language("en")
    recogniser = assembly.make_recogniser(assembly.EarsChoice("own"), english)
    heard = assembly.check_words(recogniser, assembly.load(JobPaths(), english), english)
    assert heard.left_out == ("aim", "is")


def test_a_language_without_heads_says_so() -> None:
    with pytest.raises(EarsError, match=r"no head for the language 'xx'; wanted: another"):
        OwnRecogniser(language="xx")


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
def test_a_whole_job_is_done_in_spanish_from_sound() -> None:
    arguments = ["rehearse", "--language", "es", "--spoken", "--ears", "own", "--seed", "1"]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output[-2000:]
    assert "Resultado: dentro" in done.output
    assert "dentro de la tolerancia" in done.output
