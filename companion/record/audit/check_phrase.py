"""A root as a few words that two people can compare over the telephone.

Each of eight words stands for one byte of the root's beginning, so a phrase carries 64 bits: a
mistake or a changed record is missed once in 2**64 times, but somebody with much computing power
might make another record with the same phrase. For that, compare the whole root.
"""

from __future__ import annotations

_LIST = """
acorn almond amber anchor anvil apple apron aspen autumn bacon badge bagel ballad bamboo banjo
barley basin basket beacon beaver bellows bicycle birch biscuit blanket blossom bottle bracket
bramble breeze brick bridge bucket buffalo bugle butter cabin cactus camel candle canoe canvas
carrot castle cedar cellar chalk cherry chimney cinnamon circus clarinet clover cobalt coconut
compass copper coral cotton cradle crayon cricket crystal cupboard curtain cushion daisy
dentist desert diamond dolphin domino donkey drawer drummer dumpling eagle echo elbow elephant
emerald engine envelope falcon feather fiddle flannel flint flute forest fossil fountain
freckle frosty funnel galaxy garden garlic ginger giraffe glacier goblet granite grape gravel
guitar hammer harbour hazel hedgehog helmet heron hickory honey horizon iceberg igloo indigo
island ivory jacket jaguar jasmine jelly jigsaw jockey jungle juniper kayak kennel kitchen
kitten knuckle ladder lagoon lantern lavender lemon leopard lettuce lilac lizard lobster
lumber magnet mango maple marble meadow mermaid mirror monkey mosaic muffin mustard napkin
nectar nettle nickel noodle nutmeg oatmeal ocean olive onion orange orchard otter oven oyster
palace panther papaya pebble pelican pencil pepper piano pigeon pillow pirate planet pony
poppy potato prairie pretzel puddle pumpkin puzzle quarry quilt rabbit radish raisin raven
river robin rocket rooster rubber saddle saffron salmon sapphire satchel saucer scarf scissors
shepherd silver sleigh slipper snail sparrow spider spinach sponge squirrel stable statue
sugar sunset swallow sycamore tablet tailor tangerine teapot thimble thistle thunder tiger
timber topaz tractor trumpet tulip turnip turtle umbrella valley vanilla velvet village violin
volcano waffle wagon walnut walrus water whisker window wombat zebra
"""
WORDS = tuple(_LIST.split())
"""256 everyday words, sorted, no two with the same first four letters."""

WORD_COUNT = 8
BITS = 8 * WORD_COUNT


def check_phrase(root: bytes) -> str:
    """The phrase of a root of 32 bytes, words in lower case with spaces between."""
    return " ".join(WORDS[byte] for byte in root[:WORD_COUNT])


def same_phrase(typed: str, root: bytes) -> bool:
    """Whether a typed phrase is the root's; case and what stands between words do not matter."""
    words = "".join(sign if sign.isalpha() else " " for sign in typed.lower()).split()
    return " ".join(words) == check_phrase(root)
