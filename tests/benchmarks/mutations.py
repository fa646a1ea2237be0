"""The small faults that can be planted in a module, one at a time: `cosmic-ray` makes them.

A deleted statement, such as a forgotten sync or a forgotten `continue`, is added. Left out is what
changes nothing that the program does, by the way it is built, and what is no fault of logic:

- annotations, aliases of types, what stands under `TYPE_CHECKING`, `assert` and `assert_never`:
  for mypy alone, which is run on every change;
- decorators and their options, `repr=` and `compare=` of a field, `frozen=` of a model: what a
  debugger shows, and what keeps developers from assigning;
- `strict=` of `zip`: a check of the one who wrote the call;
- the bare `*` of a signature turned into `/`: every call names these arguments, mypy sees to it;
- `raise NotImplementedError`: the body of what every class that is used defines anew;
- statements of `logging`: words for developers;
- what nobody writes by mistake: `x + y` turned into `x << y`.
"""

from __future__ import annotations

import ast
import contextlib
import random
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import unified_diff
from functools import cache
from pathlib import Path

import cosmic_ray.plugins
import parso
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.operator import Example, Operator

Position = tuple[int, int]
Span = tuple[Position, Position]

_ARITHMETIC = (
    "Add_Sub",
    "Sub_Add",
    "Mul_Div",
    "Div_Mul",
    "FloorDiv_Div",
    "Mod_FloorDiv",
    "Pow_Mul",
)
_SETS = ("BitOr_BitAnd", "BitAnd_BitOr")
_COMPARISONS = (
    *("Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is"),
    *("Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt"),
)
_OTHERS = (
    *("AddNot", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue"),
    *("ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceBreakWithContinue"),
    *("ReplaceContinueWithBreak", "ExceptionReplacer", "NumberReplacer", "ZeroIterationForLoop"),
    *("ReplaceUnaryOperator_USub_UAdd", "ReplaceUnaryOperator_Delete_Not"),
)


class DeleteStatement(Operator):  # type: ignore[misc]
    """Puts `pass` in the place of a call, a raise, or an assignment that changes something."""

    def mutation_positions(self, node: parso.tree.NodeOrLeaf) -> Iterator[Span]:
        """Where a statement may go."""
        if self._may_go(node):
            yield node.start_pos, node.end_pos

    def mutate(self, node: parso.tree.NodeOrLeaf, index: int) -> parso.tree.NodeOrLeaf:
        """The statement as `pass`."""
        first = node.get_first_leaf()
        return parso.python.tree.Keyword("pass", node.start_pos, first.prefix)

    @staticmethod
    def _may_go(node: parso.tree.NodeOrLeaf) -> bool:
        if node.parent is None or node.parent.type != "simple_stmt":
            return False
        if node.type == "expr_stmt":
            # A name that is not bound, or a field that is not there, is found by anything.
            changed = node.children[0]
            augmented = node.children[1].type == "operator" and node.children[1].value != "="
            return changed.type in ("atom_expr", "power") or augmented
        return node.type in ("atom_expr", "power", "raise_stmt")

    @classmethod
    def examples(cls) -> tuple[Example, ...]:
        """What it does, as the base class wants it told."""
        return (Example("def f(x):\n    g(x)\n", "def f(x):\n    pass\n"),)


@cache
def operators() -> dict[str, Operator]:
    """By name, those that are used."""
    names = [f"ReplaceBinaryOperator_{pair}" for pair in (*_ARITHMETIC, *_SETS)]
    names += [f"ReplaceComparisonOperator_{pair}" for pair in _COMPARISONS]
    found = {name: cosmic_ray.plugins.get_operator(f"core/{name}")() for name in (*names, *_OTHERS)}
    return {**found, "DeleteStatement": DeleteStatement()}


@dataclass(frozen=True)
class Mutation:
    """One fault in one module: which of an operator's places, from the module's beginning."""

    module: str
    operator: str
    occurrence: int
    line: int

    def planted_in(self, source: str) -> str:
        """The module's text with the fault; raises `ValueError` where there is no such place."""
        mutated = mutate_code(source, operators()[self.operator], self.occurrence)
        if mutated is None:
            raise ValueError(f"{self.module}: has no place {self.occurrence} for {self.operator}")
        return str(mutated)

    def shown(self, source: str) -> list[str]:
        """The lines that go and come, as a diff without its heading."""
        lines = unified_diff(
            source.splitlines(), self.planted_in(source).splitlines(), n=0, lineterm=""
        )
        return [line for line in lines if line[:3] not in ("---", "+++") and line[:2] != "@@"]


@dataclass(frozen=True)
class Places:
    """Every place of some modules in which a fault can be planted, and their texts."""

    faults: Mapping[tuple[str, Span], tuple[Mutation, ...]]
    sources: Mapping[str, str]

    def sampled(self, seed: str) -> Iterator[Mutation]:
        """The places in a random order, each with one of the faults it can have."""
        order = random.Random(seed)
        shuffled = sorted(self.faults)
        order.shuffle(shuffled)
        for place in shuffled:
            mutation = order.choice(self.faults[place])
            # Exceptions with a dot in their name cannot be replaced, nor `**` of a pattern.
            with contextlib.suppress(AttributeError, SyntaxError):
                ast.parse(mutation.planted_in(self.sources[mutation.module]))
                yield mutation


def places_in(modules: Iterable[Path], root: Path) -> Places:
    """Where in these modules faults can be planted."""
    found: dict[tuple[str, Span], list[Mutation]] = defaultdict(list)
    sources: dict[str, str] = {}
    for path in sorted(modules):
        name = str(path.relative_to(root))
        sources[name] = path.read_text(encoding="utf-8")
        for operator, occurrence, span in _all_in(sources[name]):
            found[name, span].append(Mutation(name, operator, occurrence, span[0][0]))
    return Places({place: tuple(faults) for place, faults in found.items()}, sources)


def _all_in(source: str) -> Iterator[tuple[str, int, Span]]:
    nodes = list(ast_nodes(get_ast(source)))
    meaningless = [*_without_meaning(ast.parse(source)), *_bare_stars(nodes)]
    for name, operator in operators().items():
        spans = (span for node in nodes for span in operator.mutation_positions(node))
        for occurrence, (start, end) in enumerate(spans):
            if not any(first <= start and end <= last for first, last in meaningless):
                yield name, occurrence, (start, end)


def _without_meaning(tree: ast.Module) -> Iterator[Span]:
    for node in ast.walk(tree):
        match node:
            case ast.arg(annotation=ast.expr() as told) | ast.AnnAssign(annotation=told):
                yield _span(told)
            case ast.keyword(arg="strict" | "repr" | "compare" | "frozen", value=told):
                yield _span(told)
            case ast.Assert() | ast.Raise(exc=ast.Name(id="NotImplementedError")):
                yield _span(node)
            case ast.If(test=ast.Name(id="TYPE_CHECKING")):
                yield _span(node)
            case ast.Expr(value=ast.Call(func=ast.Name(id="assert_never"))):
                yield _span(node)
            case ast.Expr(value=ast.Call(func=ast.Attribute(value=ast.Name(id="_log")))):
                yield _span(node)
            case _:
                pass
        for told in getattr(node, "decorator_list", ()):
            yield _span(told)
        if (returned := getattr(node, "returns", None)) is not None:
            yield _span(returned)
    for statement in tree.body:
        match statement:
            # An alias of types: names, subscripts and `|`.
            case ast.Assign(value=ast.Subscript() as told):
                yield _span(told)
            case ast.Assign(value=ast.BinOp(op=ast.BitOr()) as told):
                yield _span(told)
            case _:
                pass


def _bare_stars(nodes: Iterable[parso.tree.NodeOrLeaf]) -> Iterator[Span]:
    for node in nodes:
        is_star = node.type == "operator" and node.value == "*" and node.parent is not None
        if is_star and node.parent.type in ("parameters", "lambdef"):
            yield node.start_pos, node.end_pos


def _span(node: ast.expr | ast.stmt) -> Span:
    assert node.end_lineno is not None
    assert node.end_col_offset is not None
    return (node.lineno, node.col_offset), (node.end_lineno, node.end_col_offset)
