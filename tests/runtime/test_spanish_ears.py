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


@pytest.mark.parametrize("code", ["en", "es"])
def test_the_heads_know_every_word_of_the_shipped_job(code: str) -> None:
    language = assembly.language(code)
    recogniser = assembly.make_recogniser(assembly.EarsChoice("own"), language)
    heard = assembly.check_words(recogniser, assembly.load(JobPaths(), language), language)
    assert heard.left_out == ()


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
