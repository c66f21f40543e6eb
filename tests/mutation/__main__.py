"""Plant one-line errors in the modules of rules and count which their tests notice.

``python -m tests.mutation [MODULE ...]`` prints a share for each module and the
mutants that lived. Nothing on disk is changed: each mutant is compiled in a fork of a
warm process, whose tests stop at the first failure.
"""

import argparse
import ast
import os
import random
import signal
import sys
from collections.abc import Iterator
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path
from types import FrameType, FunctionType, ModuleType

import cosmic_ray.plugins
import pytest
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code

ROOT = Path(__file__).parents[2]
# Their tests are those of their name and the table of rules of their stage: nothing
# else may notice.
MODULES = (
    *("advice/loads", "advice/technique", "advice/attention", "advice/volume"),
    *("advice/clients", "evidence/verdict", "evidence/compare"),
    *("evidence/comparison", "reports/disclosure", "strength/model/outcome"),
    *("strength/model/contrasts", "strength/model/outliers", "strength/model/stalls"),
    "intake/checks",
)
ALSO = {"evidence/compare": ["tests/evidence/test_comparison.py"]}
ONE_EACH = {  # of the arithmetic operators' eleven replacements, the likely slip
    *("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "Pow_Mul", "Mod_Mul"),
    *("FloorDiv_Div", "BitAnd_BitOr", "BitOr_BitAnd"),
}
COMPARED = {  # the threshold itself, and the other side
    *("Lt_LtE", "LtE_Lt", "Gt_GtE", "GtE_Gt", "Eq_NotEq", "NotEq_Eq"),
    *("Lt_GtE", "LtE_Gt", "Gt_LtE", "GtE_Lt", "Is_IsNot", "IsNot_Is"),
}
OTHERS = {
    *("NumberReplacer", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue"),
    *("ReplaceAndWithOr", "ReplaceOrWithAnd", "AddNot", "ZeroIterationForLoop"),
    *("ReplaceUnaryOperator_USub_UAdd", "ReplaceUnaryOperator_Delete_Not"),
    "ReplaceUnaryOperator_Delete_Invert",
}
WANTED = (
    {f"ReplaceBinaryOperator_{name}" for name in ONE_EACH}
    | {f"ReplaceComparisonOperator_{name}" for name in COMPARED}
    | OTHERS
)
SECONDS = 120
WHOLE = "who_could_swing"  # a whole curve test, most of the time of its file
QUICK = [
    *("-q", "-p", "no:cacheprovider", "--tb=no", "-m", "not (slow or long)"),
    *("-k", f"not {WHOLE}", "-W", "ignore::pytest.PytestAssertRewriteWarning"),
]


def source_of(module: str) -> Path:
    """Where a module is written down."""
    return ROOT / "analytics" / f"{module}.py"


def tests_of(module: str) -> list[str]:
    """Files of the tests that may notice an error in a module."""
    stage, *_, name = module.split("/")
    found = (ROOT / "tests" / stage).glob
    own = [*sorted(found("test_rules*.py")), *found(f"test_{name}.py")]
    return [str(path.relative_to(ROOT)) for path in own] + ALSO.get(module, [])


def silent_spans(source: str) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """Where a change cannot matter or only changes words.

    Annotations, decorators, sentences, the guard ``strict`` of ``zip``, and the star
    before arguments that go by name.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef) and node.args.kwonlyargs:
            before = [*node.args.posonlyargs, *node.args.args, *node.args.defaults]
            ends = [(it.end_lineno, it.end_col_offset) for it in before]
            named = node.args.kwonlyargs[0]
            start = max(ends, default=(node.lineno, node.col_offset))
            yield start, (named.lineno, named.col_offset)
        parts: list[ast.AST | None] = [
            getattr(node, "annotation", None),
            getattr(node, "returns", None),
            *getattr(node, "decorator_list", []),
        ]
        if isinstance(node, ast.JoinedStr | ast.Raise):
            parts.append(node)
        if isinstance(node, ast.keyword) and node.arg == "strict":
            parts.append(node)
        for part in filter(None, parts):
            yield (
                (part.lineno, part.col_offset),
                (part.end_lineno, part.end_col_offset),
            )


def mutants(source: str) -> Iterator[tuple[str, tuple[str, int]]]:
    """Yield the place of each mutant, and the operator and its occurrence."""
    silent, tree = list(silent_spans(source)), get_ast(source)
    for name in sorted(cosmic_ray.plugins.operator_names()):
        short = name.split("/")[1]
        if short not in WANTED:
            continue
        operator = cosmic_ray.plugins.get_operator(name)()
        places = [p for n in ast_nodes(tree) for p in operator.mutation_positions(n)]
        for occurrence, (start, end) in enumerate(places):
            if any(first <= start and end <= last for first, last in silent):
                continue
            yield f"{start[0]}:{start[1]} {short} {occurrence}", (name, occurrence)


def swap(module: ModuleType, text: str) -> None:
    """Give a loaded module's functions and constants those of another text."""
    changed = ModuleType(module.__name__)
    changed.__dict__.update(__file__=module.__file__, __package__=module.__package__)
    sys.modules[module.__name__] = changed  # dataclasses look there
    exec(compile(text, str(module.__file__), "exec"), changed.__dict__)
    sys.modules[module.__name__] = module
    for name, new in vars(changed).items():
        old = vars(module).get(name)
        if isinstance(old, type) and old.__module__ == module.__name__:
            for part, method in vars(old).items():
                replace_code(method, vars(new).get(part))
        elif callable(old) and getattr(old, "__module__", "") == module.__name__:
            replace_code(old, new)
        elif not name.startswith("__") and repr(old) != repr(new):
            for other in list(sys.modules.values()):  # who imported the constant
                if getattr(other, "__dict__", {}).get(name) is old:
                    setattr(other, name, new)


def replace_code(old: object, new: object) -> None:
    """Let a function, wrapped or not, do what another does."""
    for get in ("__wrapped__", "fget"):
        old, new = getattr(old, get, old), getattr(new, get, new)
    if isinstance(old, FunctionType) and isinstance(new, FunctionType):
        old.__code__, old.__defaults__ = new.__code__, new.__defaults__
        old.__kwdefaults__ = new.__kwdefaults__


class Touched:
    """Plugin of pytest that collects the tests in which a module runs at all."""

    def __init__(self, path: str) -> None:
        self.path, self.ran, self.tests = path, False, []

    def seen(self, frame: FrameType, event: str, _: object) -> None:
        """Note a call of one of the module's functions."""
        self.ran |= event == "call" and frame.f_code.co_filename == self.path

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item):
        """Watch one test with its fixtures."""
        self.ran = False
        sys.setprofile(self.seen)
        done = yield
        sys.setprofile(None)
        self.tests += [item.nodeid] * self.ran
        return done


def touching(module: str, tests: list[str]) -> list[str]:
    """Import all, once, and give the tests that run a module; they must pass."""
    watch = Touched(str(source_of(module)))
    with redirect_stdout(StringIO()) as said:
        if pytest.main([*QUICK, *tests], plugins=[watch]) != 0:
            raise SystemExit(f"{module}: its tests fail as it is\n{said.getvalue()}")
    if not watch.tests:
        raise SystemExit(f"{module}: no test of {', '.join(tests)} reaches it")
    return watch.tests


def survives(module: str, text: str, tests: list[str]) -> bool:
    """Tell whether all tests pass with the module's text replaced."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] == 0
    signal.setitimer(signal.ITIMER_VIRTUAL, SECONDS)  # of the processor: then noticed
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    failed = True  # as is a text that cannot run
    try:
        swap(sys.modules[f"analytics.{module.replace('/', '.')}"], text)
        failed = pytest.main([*QUICK, "-x", *tests]) != 0
    finally:
        os._exit(int(failed))


def main() -> None:
    """Print shares noticed, and the mutants that lived."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("modules", nargs="*", default=MODULES)
    parser.add_argument("--sample", type=int, default=40)
    asked = parser.parse_args()
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    for module in asked.modules:
        source = source_of(module).read_text()
        tests = touching(module, tests_of(module))
        if not survives(module, source, tests):
            raise SystemExit(f"{module}: its text cannot be replaced")
        every = list(mutants(source))
        some = random.Random(module).sample(every, min(asked.sample, len(every)))
        alive = []
        for place, (name, occurrence) in some:
            operator = cosmic_ray.plugins.get_operator(name)()
            if survives(module, mutate_code(source, operator, occurrence), tests):
                alive.append(place)
        noticed = 1 - len(alive) / len(some)
        drawn = f"{len(some)} of {len(every)} mutants"
        print(f"{module}: {noticed:.0%}, {drawn}, {len(tests)} tests", flush=True)
        print(*(f"    {place}" for place in sorted(alive)), sep="\n", flush=True)


if __name__ == "__main__":
    main()
