"""Every small wrong version of a module: one comparison, figure, word or branch changed in each.

Docstrings, annotations and prose (a text with a blank in it, the words of an f-string) stay as they
are; what a sentence says is for its reader, what a code or a figure says is for the rule.
"""

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

_COMPARE: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
}
_OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
}
_NAMES = {
    "ROUND_CEILING": "ROUND_FLOOR",
    "ROUND_FLOOR": "ROUND_CEILING",
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
}
_ATTRIBUTES = {
    "OK": "FAIL",
    "FAIL": "OK",
    "CAUTION": "OK",
    "UNKNOWN": "OK",
    "first_day": "last_day",
    "last_day": "first_day",
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One changed source; ``name`` says where and how, and is stable when lines move."""

    name: str
    line: int
    source: str


@dataclass(frozen=True, slots=True)
class _Change:
    """Replace ``node`` (found again in a copy by its place in the walk) by ``new``."""

    place: int
    new: ast.AST
    says: str


def mutants(source: str) -> Iterator[Mutant]:
    """Every mutant of one module's source, in order of its lines."""
    tree = ast.parse(source)
    skipped = _skipped(tree)
    where = _functions(tree)
    seen: dict[str, int] = {}
    for place, node in enumerate(ast.walk(tree)):
        if id(node) in skipped:
            continue
        for change in _changes(place, node):
            name = f"{where.get(id(node), 'module')}: {change.says}"
            seen[name] = seen.get(name, 0) + 1
            number = f" #{seen[name]}" if seen[name] > 1 else ""
            yield Mutant(name + number, getattr(node, "lineno", 0), _changed(tree, change))


def _skipped(tree: ast.Module) -> set[int]:
    """Docstrings, annotations, decorators and the words of f-strings, with all inside them."""
    found: list[ast.AST] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            found.append(node)
        if isinstance(node, ast.AnnAssign):
            found.append(node.annotation)
        if isinstance(node, ast.JoinedStr):
            found += [part for part in node.values if isinstance(part, ast.Constant)]
        if isinstance(node, ast.FunctionDef):
            found += [*node.decorator_list, *([node.returns] if node.returns else [])]
            arguments = (arg for arg in ast.walk(node.args) if isinstance(arg, ast.arg))
            found += [arg.annotation for arg in arguments if arg.annotation is not None]
        if isinstance(node, ast.ClassDef):
            found += node.decorator_list
    return {id(inner) for node in found for inner in ast.walk(node)}


def _functions(tree: ast.Module) -> dict[int, str]:
    """The innermost function or class that each node stands in."""
    where: dict[int, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            where |= {id(inner): node.name for inner in ast.walk(node)}
    return where


def _changes(place: int, node: ast.AST) -> Iterator[_Change]:
    before = ast.unparse(node) if isinstance(node, ast.expr) else ""
    for new in _replacements(node):
        after = ast.unparse(new) if isinstance(new, ast.expr) else ast.dump(new)
        yield _Change(place, new, f"{before} -> {after}")
    if isinstance(node, ast.If):
        turned = copy.deepcopy(node)
        turned.test = ast.UnaryOp(ast.Not(), turned.test)
        yield _Change(place, turned, f"if {ast.unparse(node.test)} -> if not")
    if isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
        empty = ast.Return(ast.Constant(None))
        yield _Change(place, empty, f"return {ast.unparse(node.value)} -> return None")


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _replacements(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Compare):
        yield from _compared(node)
    elif isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        yield ast.BinOp(node.left, _OPERATORS[type(node.op)](), node.right)
    elif isinstance(node, ast.BoolOp):
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield ast.BoolOp(other, node.values)
        yield from node.values
    elif isinstance(node, ast.UnaryOp):
        yield node.operand
    elif isinstance(node, ast.IfExp):
        yield node.body
        yield node.orelse
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "abs":
        yield node.args[0]
    elif isinstance(node, ast.Name) and node.id in _NAMES and isinstance(node.ctx, ast.Load):
        yield ast.Name(_NAMES[node.id], node.ctx)
    elif isinstance(node, ast.Attribute) and node.attr in _ATTRIBUTES:
        yield ast.Attribute(node.value, _ATTRIBUTES[node.attr], node.ctx)
    elif isinstance(node, ast.Constant):
        yield from _constants(node)


def _compared(node: ast.Compare) -> Iterator[ast.AST]:
    for at, operator in enumerate(node.ops):
        for table in (_COMPARE, _TURNED):
            if type(operator) in table:
                changed = list(node.ops)
                changed[at] = table[type(operator)]()
                yield ast.Compare(node.left, changed, node.comparators)


def _constants(node: ast.Constant) -> Iterator[ast.AST]:
    value = node.value
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
        yield ast.Constant(value - 1)
    elif isinstance(value, str) and value and " " not in value:
        yield ast.Constant(f"{value}X" if not _decimal(value) else f"{value}1")


def _decimal(text: str) -> bool:
    return text.replace(".", "", 1).isdigit()


def _changed(tree: ast.Module, change: _Change) -> str:
    fresh = copy.deepcopy(tree)
    target = next(node for place, node in enumerate(ast.walk(fresh)) if place == change.place)
    replaced = _Replace(target, change.new).visit(fresh)
    return ast.unparse(ast.fix_missing_locations(replaced))


class _Replace(ast.NodeTransformer):
    def __init__(self, target: ast.AST, new: ast.AST) -> None:
        self._target = target
        self._new = new

    def visit(self, node: ast.AST) -> ast.AST:
        if node is self._target:
            return self._new
        return super().generic_visit(node)
