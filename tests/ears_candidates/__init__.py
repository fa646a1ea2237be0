"""Recognisers for comparison: what the product holds, and candidates that did not earn a place.

A candidate is a `Recogniser`; one that is still to be tuned tells the figures that its confidence
is made of as `figures`, for `python -m tests.ears_candidates`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from companion.recognition.endpoint import EndpointSettings
from companion.recognition.port import Recogniser
from companion.runtime import assembly

IN_PRODUCT = assembly.RECOGNISERS


def _phonemes() -> Recogniser:
    from tests.ears_candidates.phonemes import PhonemeRecogniser

    return PhonemeRecogniser()


def _whisper() -> Recogniser:
    from tests.ears_candidates.whisper_list import WhisperRecogniser

    return WhisperRecogniser()


def _both(second: Callable[[], Recogniser]) -> Callable[[], Recogniser]:
    def make_both() -> Recogniser:
        from tests.ears_candidates.agreement import AgreeingRecogniser

        return AgreeingRecogniser(
            assembly.make_recogniser(assembly.EarsChoice("own"), assembly.language()), second()
        )

    return make_both


def _after(method: str) -> Callable[[], Recogniser]:
    def make_denoised() -> Recogniser:
        from tests.ears_candidates.denoised import DenoisedRecogniser

        return DenoisedRecogniser(
            assembly.make_recogniser(assembly.EarsChoice("own"), assembly.language()), method
        )

    return make_denoised


CANDIDATES: Mapping[str, Callable[[], Recogniser]] = {
    "phonemes": _phonemes,
    "whisper": _whisper,
    "own+phonemes": _both(_phonemes),
    "own+whisper": _both(_whisper),
    "gated+own": _after("gate"),
    "rnnoise+own": _after("rnnoise"),
}
ALL = (*IN_PRODUCT, *CANDIDATES)


def make(name: str, model: Path | None = None) -> Recogniser:
    """The recogniser of this name. Raises `CompanionError` where it cannot be had."""
    if name in CANDIDATES:
        return CANDIDATES[name]()
    return assembly.make_recogniser(assembly.EarsChoice(name, model=model), assembly.language())


def endpointing(name: str) -> EndpointSettings:
    """How utterances are cut out: candidates get what our own ears get."""
    return assembly.endpoint_settings(name if name in IN_PRODUCT else "own")
