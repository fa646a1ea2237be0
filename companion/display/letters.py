"""Letters of blocks, as large as a terminal allows: five rows of square dots each.

Two dots of a column share one character cell (half blocks), so a letter is three rows high.
"""

from __future__ import annotations

_SHAPES = {
    "A": ".#. #.# ### #.# #.#",
    "B": "##. #.# ##. #.# ##.",
    "C": ".## #.. #.. #.. .##",
    "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###",
    "F": "### #.. ##. #.. #..",
    "G": ".## #.. #.# #.# .##",
    "H": "#.# #.# ### #.# #.#",
    "I": "# # # # #",
    "J": "..# ..# ..# #.# .#.",
    "K": "#.# #.# ##. #.# #.#",
    "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "O": ".#. #.# #.# #.# .#.",
    "P": "##. #.# ##. #.. #..",
    "Q": ".##. #..# #..# #.#. .#.#",
    "R": "##. #.# ##. #.# #.#",
    "S": ".## #.. .#. ..# ##.",
    "T": "### .#. .#. .#. .#.",
    "U": "#.# #.# #.# #.# ###",
    "V": "#.# #.# #.# .#. .#.",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#.# #.# .#. #.# #.#",
    "Y": "#.# #.# .#. .#. .#.",
    "Z": "### ..# .#. #.. ###",
    "0": "### #.# #.# #.# ###",
    "1": ".# ## .# .# .#",
    "2": "### ..# ### #.. ###",
    "3": "### ..# ### ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# .#. .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    ".": ". . . . #",
    ",": ".. .. .. .# #.",
    "?": "### ..# .#. ... .#.",
    "!": "# # # . #",
    "'": "# # . . .",
    "’": "# # . . .",
    "-": "... ... ### ... ...",
    "/": "..# ..# .#. #.. #..",
    ":": ". # . # .",
    "°": "### #.# ### ... ...",
    "±": ".#. ### .#. ... ###",
    "¼": "#..#.. #.#... ##.#.# #..### #....#",
    "½": "#..#.. #.#... ##.##. #...#. #...##",
    "¾": "##..#... .#.#.... ##.#.#.# ..#..### .......#",
    " ": ".. .. .. .. ..",
}
_HALVES = {(True, True): "█", (True, False): "▀", (False, True): "▄", (False, False): " "}
ROWS = 3


def large(told: str) -> list[str]:
    """One line of text as three rows of half blocks; a sign without a shape becomes a space."""
    dots = [_dots(sign) for sign in told.upper().replace("\u00a0", " ")]
    rows = ["".join(shape[row] + " " for shape in dots) for row in range(6)]
    return [
        "".join(
            _HALVES[(upper == "#", lower == "#")]
            for upper, lower in zip(rows[2 * row], rows[2 * row + 1], strict=True)
        ).rstrip()
        for row in range(ROWS)
    ]


def _dots(sign: str) -> list[str]:
    shape = _SHAPES.get(sign, _SHAPES[" "]).split(" ")
    return [*shape, "." * len(shape[0])]


def width(told: str) -> int:
    """How many columns the text takes in large letters."""
    return sum(len(_dots(sign)[0]) + 1 for sign in told.upper().replace("\u00a0", " "))


def wrapped(told: str, columns: int) -> list[str]:
    """The text broken at spaces into lines that fit in large letters."""
    found: list[str] = []
    for word in told.split(" "):
        longer = f"{found[-1]} {word}" if found else word
        if found and width(longer) <= columns:
            found[-1] = longer
        else:
            found.append(word)
    return found
