"""Do the tests notice when the model is wrong? `python -m tests.mutants [modules] [--most N] [--seed N]`.

One small thing of a module is changed at a time: a sign, a factor, a comparison, a constant, a bound. Then
the tests of that module run in a forked process that loads the changed source instead of the file, so that no
file is ever touched. A change that no test notices survives and is printed with its line. What is left either
wants a test or makes no difference: such lines are explained in `EXPLAINED`.

Not part of the tests: all changes of these modules take hours; a sample of each takes minutes.
"""

import argparse
import ast
import importlib.abc
import importlib.machinery
import importlib.util
import os
import random
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TESTS = {
    "moist_air": ("test_moist_air.py",),
    "saturated_air": ("test_saturated_air.py", "test_moist_air.py"),
    "refrigerant": ("test_refrigerant.py", "test_property_cache.py"),
    "refrigerant_tables": ("test_refrigerant.py", "test_property_cache.py"),
    "condenser": ("test_condenser.py", "test_surroundings.py"),
    "evaporator": ("test_evaporator.py",),
    "compressor": ("test_compressor.py",),
    "expansion": ("test_expansion.py",),
    "charge": ("test_charge.py",),
    "balances": ("test_balances.py", "test_cycle.py"),
    "surroundings": ("test_surroundings.py", "test_cycle.py"),
    "operating_point": ("test_cycle.py", "test_independent_cycle.py"),
    "cycle": ("test_cycle.py", "test_cycle_table.py"),
}
"""Modules, and the files of `tests/model` that hold them to account; `WIDER` run after these."""
WIDER = ("test_independent_cycle.py", "test_published_faults.py")
LONGEST = 240.0
"""Time that the tests of one change may take [s]; one that never ends has been noticed."""

EXPLAINED: dict[str, str] = {
    "np.minimum.reduce(": "the start value answers for an empty array alone",
    "highest = np.maximum.reduce(": "the start value answers for an empty array alone",
    "np.maximum.reduce(above": "the start value answers for an empty array, the rest is rounding",
    ">= -5000 and": "a metre more of a stated range",
    "WET_BULB_STEPS = ": "one step more ends in the same place",
    "LOWEST_TEMPERATURE = 220": "the end of the tables, far below every evaporator",
    "APPROACH_STEPS": "the way to a state that CoolProp does not find at once",
    "COMPRESSIONS = ": "where liquid is sampled, on what is nearly a straight line",
    "hottest + 1.2": "where saturation is sampled beyond both ends of the tables",
    "SATURATION_SAMPLES // 2": "how many failures of CoolProp are too many",
    "Polynomial.fit(": "the curve that outliers are told by",
    "searchsorted(nodes": "a point on a node belongs to either cell",
    "/ 5420.0": "a first guess, from which Newton's steps end in the same place",
    "t - 0.0 * target": "nothing is added or taken, only a shape given",
    "if not coldest > 0": "held above 200 K before; only what is not a number fails",
    "np.where(close, 1.0, half)": "stands for a nought that is not used",
    "WETTING_SPAN = 0.08": "joins the dry and the wet coil smoothly; nobody measured it",
    "TOLERANCE = 1e-9": "a tenth more of a billionth",
    "LOWEST = np.array": "walls of the search, far from every solution",
    "HIGHEST = np.array": "walls of the search, far from every solution",
    "LONGEST_STEP = np.array": "the way to the solution, not the solution",
    ".reshape(3, -1)": "NumPy takes any negative length as what is left",
    "EASY_DAY = ": "the way to the solution, not the solution",
    "STAGES = ": "the way to the solution, not the solution",
    "stages + 1": "the way to the solution, not the solution",
    "LEAST_OWN_SHARE": "wall for a condenser full of other gas",
    "OWN_SHARE_PASSES = ": "one pass more ends in the same place",
    "drop = np.minimum(suction_drop": "wall for a suction line far too narrow",
    "rate * condensing.effectiveness(": "only scales the third unknown, not the solution",
    "CONVERGED = ": "a tenth more of a millionth",
    "FLASH_QUALITY = ": "from which trace of bubbles on they are named",
    "v + nothing": "only gives a shape",
    "MOST_MISSES = ": "when a lost point is given up: time only",
    "for begin in range(0, max(count": "no point is one piece with nothing in it",
    "depth = excess / (": "the way to a wet surface, not the surface",
    "if left.size == 0": "what is left to be tried again, which changes no point that converged",
    "misses[going] = ": "when a lost point is given up and how often a found one is sought again: time only",
    "if stalled.size and patient": "takes time over points that the caller has no use for",
    "GAS_EXPONENT = ": "only shapes how the penalty grows away from the built-in ratio",
    "places = np.array(": "any four places give the same cubic to a ten-thousandth of a J/kg",
    "CELLS = 480": "one cell more at the end",
    "ZERO, TWO, THREE": "any number under one falls into the first cell",
    "SUPERHEAT_SCALE = ": "weighs a balance that is nought at the solution",
    "SMOOTHING_AREA = ": "rounds the onset of subcooling; nobody measured how round it is",
    "SMALLEST_": "walls at trial points, far from every solution",
    "LOWEST_SUCTION_QUALITY = ": "wall at trial points, far from every solution",
    "LOWEST_DEVICE_PRESSURE = ": "wall at trial points, far from every solution",
    "CLAPEYRON = ": "the way to a wet surface; two steps on the true line follow",
    "MODEL_STEPS, SURFACE_STEPS = ": "one step more ends in the same place",
    "span = np.maximum(": "wall at trial points, far from every solution",
    "CLOSE_DIFFERENCES = ": "series and formula are the same to twelve digits there",
    "series = 1.0 + square": "its last term is under a billionth of the sum",
    "CLOSING_SPAN = ": "rounds a valve's closing point; nobody measured how round it is",
    "NEARLY_OPEN = ": "where a straight line takes over; the solution lies below it or at full opening",
    "SMOOTHING_PRESSURE = ": "rounds a vanishing pressure difference, far below any working one",
    "BULB_OFFSET = ": "common practice without a source: a tenth more is as good",
    "_superheat: Number = ": "common practice without a source: a tenth more is as good",
    "reserve: Number = ": "common practice without a source: a tenth more is as good",
    "POINTS_AT_A_TIME": "blocks of any length give the same numbers",
}
"""Changes that cannot be noticed, by a part of the line they are on, and why."""


@dataclass(frozen=True)
class Mutant:
    """One change: module, line, what stood there, what stands there now, and the whole new source."""

    module: str
    line: int
    before: str
    after: str
    tree: ast.Module


SWAPS: dict[type, Callable[[], ast.AST]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.USub: ast.UAdd,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
NAMES = {"minimum": "maximum", "maximum": "minimum", "any": "all", "all": "any", "sin": "cos", "exp": "cosh"}


def mutants(module: str) -> Iterator[Mutant]:
    """Every change of a module, in the order of its lines."""
    source = (ROOT / "model" / f"{module}.py").read_text(encoding="utf-8")
    places = [type(node) for node in _changeable(ast.parse(source))]
    for number in range(len(places)):
        tree = ast.parse(source)
        node = list(_changeable(tree))[number]
        before = ast.unparse(node)
        if _change(node):
            yield Mutant(module, node.lineno, before, ast.unparse(node), ast.fix_missing_locations(tree))


def _changeable(tree: ast.Module) -> Iterator[ast.expr]:
    """Expressions that can be changed: those that run, not annotations, texts or guards' sentences."""
    left_out: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise | ast.JoinedStr | ast.Import | ast.ImportFrom):
            left_out |= {id(one) for one in ast.walk(node)}
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            notes = [node.returns, *(arg.annotation for arg in [*node.args.args, *node.args.kwonlyargs])]
            left_out |= {id(one) for note in notes if note is not None for one in ast.walk(note)}
        if isinstance(node, ast.AnnAssign):
            left_out |= {id(one) for one in ast.walk(node.annotation)}
        if isinstance(node, ast.Subscript):
            left_out |= {id(one) for one in ast.walk(node.slice)}
    for node in ast.walk(tree):
        if id(node) in left_out:
            continue
        match node:
            case (
                ast.BinOp()
                | ast.Compare()
                | ast.BoolOp()
                | ast.UnaryOp()
                | ast.Constant(value=int() | float())
            ):
                yield node
            case ast.Attribute(attr=name) if name in NAMES:
                yield node


def _change(node: ast.expr) -> bool:
    """Change one expression where it stands; False where there is nothing to change it to."""
    match node:
        case ast.BinOp(op=op) | ast.BoolOp(op=op) | ast.UnaryOp(op=op) if type(op) in SWAPS:
            node.op = SWAPS[type(op)]()  # type: ignore[assignment]
        case ast.UnaryOp(op=ast.Not()):
            node.op, node.operand = ast.Not(), ast.UnaryOp(ast.Not(), node.operand)
        case ast.Compare(ops=[op, *rest]) if type(op) in SWAPS:
            node.ops = [SWAPS[type(op)](), *rest]  # type: ignore[list-item]
        case ast.Constant(value=bool()):
            return False
        case ast.Constant(value=int() as value):
            node.value = value + 1
        case ast.Constant(value=float() as value):
            node.value = value * 1.1 if value else 0.1
        case ast.Attribute(attr=name):
            node.attr = NAMES[name]
        case _:
            return False
    return True


class _ChangedSource(importlib.machinery.SourceFileLoader):
    """Loads the changed source in place of the file's."""

    def __init__(self, name: str, path: str, source: str) -> None:
        super().__init__(name, path)
        self._source = source

    def path_stats(self, path: str) -> dict[str, float]:
        """No stamp, so that nothing is taken from or put into the cache of compiled files."""
        raise OSError

    def get_data(self, path: str) -> bytes:
        """The changed source."""
        return self._source.encode()


class _Finder(importlib.abc.MetaPathFinder):
    """Finds one module of the model in its changed form."""

    def __init__(self, mutant: Mutant) -> None:
        path = str(ROOT / "model" / f"{mutant.module}.py")
        self._name = f"model.{mutant.module}"
        self._loader = _ChangedSource(self._name, path, ast.unparse(mutant.tree))

    def find_spec(
        self, name: str, path: object = None, target: object = None
    ) -> importlib.machinery.ModuleSpec | None:
        """How to load it; None for every other module."""
        if name != self._name:
            return None
        return importlib.util.spec_from_file_location(name, self._loader.path, loader=self._loader)


def survives(mutant: Mutant, files: Sequence[str]) -> bool:
    """Whether tests pass in spite of a change, in a process of their own."""
    child = os.fork()
    if child == 0:
        sys.meta_path.insert(0, _Finder(mutant))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        status = 1
        try:
            import pytest

            there = [str(ROOT / "tests" / "model" / name) for name in files]
            there = [path for path in there if Path(path).is_file()]
            status = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *there])) if there else 0
        finally:
            os._exit(status)
    end = time.monotonic() + LONGEST
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) == 0
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def unnoticed(module: str, most: int, seed: int, told: Callable[[str], None]) -> tuple[int, list[Mutant]]:
    """How many changes of a module were tried, and those that no test noticed."""
    every = list(mutants(module))
    chosen = (
        every if len(every) <= most else sorted(random.Random(seed).sample(every, most), key=lambda m: m.line)
    )
    left = []
    for mutant in chosen:
        if survives(mutant, TESTS[module]) and survives(mutant, WIDER):
            lines = (ROOT / "model" / f"{module}.py").read_text(encoding="utf-8").splitlines()
            line = lines[mutant.line - 1].strip()
            why = next((reason for part, reason in EXPLAINED.items() if part in line), "")
            left.append(mutant)
            told(
                f"  {module}.py:{mutant.line}: {mutant.before}  ->  {mutant.after}"
                + (f"   ({why})" if why else "")
            )
    return len(chosen), left


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    words.add_argument("modules", nargs="*", default=list(TESTS), help="modules of the model")
    words.add_argument("--most", type=int, default=60, help="changes of each module, chosen at random")
    words.add_argument("--seed", type=int, default=1)
    given = words.parse_args()
    import CoolProp.CoolProp  # noqa: F401  loaded once for all processes
    import hypothesis  # noqa: F401
    import numpy  # noqa: F401
    import pytest  # noqa: F401
    import scipy.optimize  # noqa: F401

    for module in given.modules:
        tried, left = unnoticed(module, given.most, given.seed, lambda line: print(line, flush=True))
        share = 1.0 - len(left) / tried
        print(
            f"{module}: {tried} changes, {tried - len(left)} noticed ({share:.0%}), {len(left)} not",
            flush=True,
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
