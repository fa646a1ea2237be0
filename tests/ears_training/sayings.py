"""What training says beside the grammars, by language: words to come, what is said most, others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

_FOLDER = Path(__file__).parent / "words"


@dataclass(frozen=True)
class Sayings:
    """Words and phrases of one language.

    `spare`: learned beside the bay's own words, so that a prompt to come may use them without a
    new head. `often`: what a technician says most by itself. `coming`: whole phrases, `{n}` stands
    for a number. `same_sound`: words that share another's token. `spoken_as`: how a speech maker
    must read a word to say it right. `others`: words that no prompt knows.
    """

    spare: tuple[str, ...]
    often: tuple[str, ...]
    coming: tuple[str, ...]
    same_sound: Mapping[str, str]
    spoken_as: Mapping[str, str] = field(default_factory=dict)
    others: tuple[str, ...] = ()

    def words(self) -> tuple[str, ...]:
        """Every word of these that a head shall know."""
        coming = (w for phrase in self.coming for w in phrase.split() if w != "{n}")
        return tuple(sorted({*self.spare, *coming, *self.same_sound}))


def _words(name: str) -> tuple[str, ...]:
    return tuple((_FOLDER / f"{name}.txt").read_text(encoding="utf-8").split())


ALPHABET = _words("alphabet")
"""The international spelling alphabet."""

_ENGLISH = Sayings(
    spare=(
        *_words("en_spare"),
        *ALPHABET,
    ),
    often=(
        *("done", "all done", "finished", "okay", "ready", "next", "complete", "yes", "no", "stop"),
        *("correct", "wrong", "continue", "wait", "repeat", "go back", "carry on", "negative"),
    ),
    coming=(
        *ALPHABET,
        *("the first is {n}", "the second is {n}", "the third is {n}", "say it in full", "equal"),
        *("the fourth is {n}", "only the aim fault", "faults remain", "forwards", "backwards"),
        *("towards the car", "away from the car", "end the job", "cancel", "cancel job"),
    ),
    same_sound={
        "weight": "wait",
        "millimeter": "millimetre",
        "millimeters": "millimetres",
        "meter": "metre",
        "alpha": "alfa",
        "juliet": "juliett",
        "whisky": "whiskey",
        "x-ray": "xray",
        "forward": "forwards",
        "backward": "backwards",
        "toward": "towards",
    },
    spoken_as={"alfa": "alpha", "juliett": "juliet", "xray": "x-ray"},
)

_SPANISH = Sayings(
    spare=(
        *_words("es_spare"),
        *ALPHABET,
    ),
    often=(
        *("hecho", "listo", "terminado", "ya está", "sí", "no", "correcto", "sí correcto", "alto"),
        *("para", "incorrecto", "negativo", "corrección", "continuar", "espera", "repite"),
    ),
    coming=(
        *ALPHABET,
        *("el primero es {n}", "el segundo es {n}", "el tercero es {n}", "dilo completo", "igual"),
        *("solo la avería de puntería", "quedan averías", "hacia delante", "hacia atrás"),
        *("hacia el coche", "lejos del coche", "terminar el trabajo", "cancelar"),
    ),
    same_sound={"mic": "mike"},
    spoken_as={
        "alfa": "alfa",
        "charlie": "charli",
        "juliett": "yuliet",
        "xray": "equis rey",
        "whiskey": "uisqui",
        "yankee": "yanqui",
        "mike": "maik",
        "hotel": "otel",
    },
    others=_words("es_other"),
)

SAYINGS: dict[str, Sayings] = {"en": _ENGLISH, "es": _SPANISH}
