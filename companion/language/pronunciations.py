"""The list of words with their phones, for recognisers whose dictionary lacks them."""

from __future__ import annotations

from companion.errors import GrammarError

# The phones of the CMU pronouncing dictionary, without stress, as English recognisers use them.
_VOWELS = frozenset(
    ("AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW")
)
_STOPS_AND_NASALS = frozenset(("B", "CH", "D", "G", "JH", "K", "M", "N", "NG", "P", "T"))
_OTHERS = frozenset(("DH", "F", "HH", "L", "R", "S", "SH", "TH", "V", "W", "Y", "Z", "ZH"))
PHONES = _VOWELS | _STOPS_AND_NASALS | _OTHERS


def parse_pronunciations(text: str, file_name: str) -> dict[str, str]:
    """Lines of a word and its phones; `#` begins a comment.

    Raises GrammarError naming the line for a word given twice or a phone that is none.
    """
    found: dict[str, str] = {}
    for number, raw in enumerate(text.splitlines(), start=1):
        parts = raw.partition("#")[0].split()
        if not parts:
            continue
        word, phones, where = parts[0], parts[1:], f"{file_name}, line {number}"
        wrong = [phone for phone in phones if phone not in PHONES]
        if wrong or not phones:
            raise GrammarError(
                f"{where}: found the phones {wrong} for {word!r}, "
                f"wanted one or more of {' '.join(sorted(PHONES))}"
            )
        if word in found:
            raise GrammarError(f"{where}: found {word!r} again, wanted each word once")
        found[word] = " ".join(phones)
    return found
