"""Mutation testing: change one operator or number of a formula at a time and see what notices.

``python tests/mutation/run.py [module ...]`` makes the mutants with cosmic-ray's operators (``pip install
-e ".[dev]"``). Each runs in a forked process, first against the check values of its stage, then, where
these hold, against the tests of its stage. Of both only those run that reach the changed function.
Needs a system that can fork. What survives and does no harm is explained in ``survivors.md``.
"""

import argparse
import inspect
import os
import resource
import signal
import sys
import textwrap
import time
import warnings
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator, operator_names
from hypothesis import HealthCheck, Phase, settings

from handbook_calc.engine import stages
from handbook_calc.engine.calculation import CATALOGUE, Calculation
from handbook_calc.engine.checks import checks

TESTS = Path(__file__).parents[1]
HELPERS = ("diffusion", "moist_air", "solvents")
# Operators that formulas may not contain: on floats they only raise, and would flatter the score.
FOREIGN = ("FloorDiv", "Mod", "RShift", "LShift", "BitOr", "BitAnd", "BitXor", "Invert", "Is", "IsNot")
ORDERED = ("Lt", "LtE", "Gt", "GtE")
MEMORY = 4 * 1024**3
BY_CHECKS, BY_TESTS = 1, 2
DEATHS = {
    BY_CHECKS: "checks",
    BY_TESTS: "tests",
    -signal.SIGPROF: "checks",
    -signal.SIGVTALRM: "tests",
    0: "survived",
}


@dataclass(frozen=True)
class Mutant:
    """One change of one function."""

    function: Any
    code: Any
    line: int
    before: str
    after: str

    def __str__(self) -> str:
        return f"handbook_calc/{stage(self.function)}.py:{self.line}: {self.before}  ->  {self.after}"


def stage(function) -> str:
    """Return the module of a formula, without the package."""
    return function.__module__.rpartition(".")[2]


def formulas() -> list:
    """Return the formula of every calculation and each function that these call."""
    waiting: list[Any] = [calculation.kernel for calculation in CATALOGUE.values()]
    found = {}
    while waiting:
        function = waiting.pop(0)
        if function in found:
            continue
        found[function] = None
        for name in function.__code__.co_names:
            called = function.__globals__.get(name)
            called = called.kernel if isinstance(called, Calculation) else called
            if inspect.isfunction(called) and not called.__module__.startswith("handbook_calc.engine"):
                waiting.append(called)
    return list(found)


def operators() -> list:
    """Return cosmic-ray's operators that make sense in a formula."""
    found = []
    for name in operator_names():
        kind, _, words = name.rpartition("/")[2].partition("_")
        to = words.rpartition("_")[2]
        if kind.startswith("Variable") or (to in FOREIGN and words not in ("Is_IsNot", "IsNot_Is")):
            continue
        found.append(get_operator(name)())
    return found


def means_nothing(operator, node) -> bool:
    """Say whether the operator would compare words by the alphabet."""
    to = type(operator).__name__.rpartition("_")[2]
    return to in ORDERED and any(leaf.type == "string" for leaf in node.parent.children)


def mutants(function, changes) -> list[Mutant]:
    """Return every mutant of a function."""
    lines, start = inspect.getsourcelines(function)
    first = next(i for i, line in enumerate(lines) if line.lstrip().startswith("def "))
    source = textwrap.dedent("".join(lines[first:]))
    start += first
    original = compiled(source, start, function)
    nodes = list(ast_nodes(get_ast(source)))
    found = []
    for operator in changes:
        occurrence = -1
        for node in nodes:
            for _ in operator.mutation_positions(node):
                occurrence += 1
                if means_nothing(operator, node):
                    continue
                changed = mutate_code(source, operator, occurrence) or source
                code = compiled(changed, start, function)
                if code in (None, original):
                    continue
                pairs = enumerate(zip(source.split("\n"), changed.split("\n"), strict=True))
                row, (before, after) = next((i, pair) for i, pair in pairs if pair[0] != pair[1])
                found.append(Mutant(function, code, start + row, before.strip(), after.strip()))
    return found


def compiled(source, start: int, function):
    """Return the code of the one function in `source`, None where it is not Python."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            module = compile(
                "\n" * (start - 1) + source, inspect.getsourcefile(function) or "formula", "exec"
            )
    except SyntaxError:
        return None
    return next(constant for constant in module.co_consts if inspect.iscode(constant))


class Campaign:
    """A pytest plugin that runs mutants where the tests would run."""

    def __init__(self, modules, workers: int) -> None:
        self.modules = modules
        self.workers = workers
        self.results: list[tuple[Mutant, str]] = []
        self.reach: dict = defaultdict(set)
        self.seconds: dict = {}

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session) -> bool:
        """Note what each check and test reaches, then try the mutants."""
        functions = [function for function in formulas() if stage(function) in self.modules]
        codes = {function.__code__: function for function in functions}
        for check in checks():
            self.watch(str(check), codes, lambda check=check: self.demand(check.holds(check.ours()), check))
        for item, after in zip(session.items, [*session.items[1:], None], strict=True):
            self.watch(item.nodeid, codes, lambda item=item, after=after: run_test(item, after))
            self.demand(not session.testsfailed, item.nodeid)
        changes = operators()
        waiting = [mutant for function in functions for mutant in mutants(function, changes)]
        running: dict[int, Mutant] = {}
        total = len(waiting)
        while waiting or running:
            while waiting and len(running) < self.workers:
                mutant = waiting.pop(0)
                running[self.start(mutant, session)] = mutant
            pid, status = os.wait()
            mutant = running.pop(pid)
            self.results.append((mutant, DEATHS.get(os.waitstatus_to_exitcode(status), "tests")))
            if sys.stderr.isatty():
                print(f"\r{len(self.results)} of {total}", end="", file=sys.stderr)
        return True

    @staticmethod
    def demand(holds: bool, what) -> None:
        if not holds:
            pytest.exit(f"{what} fails without any mutant", returncode=1)

    def watch(self, key, codes, run) -> None:
        """Run once, and note the formulas reached and the time taken."""

        def profile(frame, event, argument):
            if event == "call" and frame.f_code in codes:
                self.reach[codes[frame.f_code]].add(key)

        began = time.process_time()
        sys.setprofile(profile)
        try:
            run()
        finally:
            sys.setprofile(None)
        self.seconds[key] = time.process_time() - began

    def usual(self, things) -> float:
        """Return the seconds that checks or tests take without a mutant."""
        return sum(self.seconds[getattr(thing, "nodeid", str(thing))] for thing in things)

    def start(self, mutant: Mutant, session) -> int:
        """Fork a process that ends with what killed the mutant."""
        reached = self.reach[mutant.function]
        home = stage(mutant.function)
        anywhere = home in HELPERS
        held = [
            check
            for check in checks()
            if str(check) in reached and (anywhere or CATALOGUE[check.calculation].stage == home)
        ]
        tests = [
            item
            for item in session.items
            if item.nodeid in reached and (anywhere or item.path.stem == f"test_{home}")
        ]
        tests.sort(key=lambda item: self.seconds[item.nodeid])
        pid = os.fork()
        if pid == 0:
            try:
                os._exit(self.try_mutant(mutant, held, tests, session))
            finally:
                os._exit(BY_TESTS)
        return pid

    def try_mutant(self, mutant: Mutant, held: list, tests: list, session) -> int:
        """In the forked process: return the number that says what noticed, 0 for nothing."""
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        mutant.function.__code__ = mutant.code
        # Processor time, not the clock: other work on the machine must not kill a mutant.
        signal.setitimer(signal.ITIMER_PROF, 2 + 10 * self.usual(held))
        for check in held:
            try:
                if not check.holds(check.ours()):
                    return BY_CHECKS
            except Exception:
                return BY_CHECKS
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_VIRTUAL, 5 + 10 * self.usual(tests))
        for item, after in zip(tests, [*tests[1:], None], strict=False):
            run_test(item, after)
            if session.testsfailed:
                return BY_TESTS
        return 0


def run_test(item, after) -> None:
    """Run one collected test."""
    item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)


def main() -> int:
    """Run the mutants of the modules named, or of all, and print what survives."""
    stages.load()
    every = sorted({stage(function) for function in formulas()})
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("modules", nargs="*", metavar="module", help=f"of {', '.join(every)}; all if none")
    parser.add_argument("--workers", type=int, default=2, help="processes at a time")
    asked = parser.parse_args()
    for name in asked.modules:
        if name not in every:
            parser.error(f"no module '{name}' with formulas; allowed is {', '.join(every)}")
    modules = asked.modules or every

    # The same examples for every mutant, and no search for the smallest one that fails.
    settings.register_profile(
        "mutation",
        derandomize=True,
        database=None,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=list(HealthCheck),
    )
    settings.load_profile("mutation")
    os.environ.pop("CI", None)
    tried = stages.STAGES if set(modules) & set(HELPERS) else modules
    files = [str(path) for name in tried if (path := TESTS / f"test_{name}.py").exists()]
    campaign = Campaign(modules, asked.workers)
    began = time.perf_counter()
    quiet = ["-s", "-q", "-n0", "--no-header", "--no-summary", "-p", "no:cacheprovider"]
    calm = ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    end = pytest.main([*quiet, *calm, "--rootdir", str(TESTS.parent), *files], plugins=[campaign])
    if not campaign.results:
        return int(end) or 1
    report(campaign.results, modules)
    print(f"\n{len(campaign.results)} mutants in {time.perf_counter() - began:.0f} s")
    return 0


def report(results: list, modules) -> None:
    """Print the table and the survivors."""
    print("\n| module | mutants | killed by checks | killed by tests | survived | score |")
    print("|---|---|---|---|---|---|")
    for name in modules:
        fates = Counter(fate for mutant, fate in results if stage(mutant.function) == name)
        total = fates.total()
        if total:
            score = 100 * (total - fates["survived"]) / total
            cells = (name, total, fates["checks"], fates["tests"], fates["survived"], f"{score:.1f} %")
            print("|", " | ".join(map(str, cells)), "|")
    print()
    survivors = [mutant for mutant, fate in results if fate == "survived"]
    for mutant in sorted(survivors, key=lambda mutant: (stage(mutant.function), mutant.line, mutant.after)):
        print(mutant)


if __name__ == "__main__":
    sys.exit(main())
