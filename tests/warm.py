"""A process that has MkDocs and the calculation package loaded, and runs ``mkdocs`` in a fork of itself.

Most of the time of a small build goes into the loading of its modules, and into how the project's own values
spread, which few tests change. A fork has both, and nothing else of what an earlier build left. The real site
(``real_site``) is built without. Each line that is read asks for one command; the answer is its exit status.
"""

import atexit
import contextlib
import functools
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

SECONDS = 120  # after which a build is taken for dead


class Warm:
    """The process as its user sees it; it ends with this one."""

    def __init__(self, environment: dict[str, str]) -> None:
        self._process = subprocess.Popen(
            [sys.executable, __file__],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        atexit.register(self._process.communicate)

    def run(self, command: list[str], folder: Path, environment: dict[str, str], out: Path, err: Path) -> int:
        """Run ``mkdocs`` with arguments in a folder, its words into two files; return its exit status."""
        asked = {
            "command": command,
            "folder": str(folder),
            "environment": environment,
            "to": [str(out), str(err)],
        }
        assert self._process.stdin
        assert self._process.stdout
        print(json.dumps(asked), file=self._process.stdin, flush=True)
        return json.loads(self._process.stdout.readline())


@functools.cache
def process() -> Warm | None:
    """Return the one of this process, or None where processes cannot fork."""
    if not hasattr(os, "fork"):
        return None
    return Warm(os.environ | {"NO_MKDOCS_2_WARNING": "1", "PYTHONPATH": str(Path(__file__).parents[1])})


def _load() -> None:
    import material.plugins.search.plugin  # noqa: F401 - loaded for the forks
    import mkdocs.__main__
    import mkdocs.commands.build  # noqa: F401

    from handbook_calc.engine import house, memory, render, stages  # noqa: F401
    from handbook_calc.engine.tables import TABLES

    stages.load()
    standard = house.load(Path(__file__).parents[1] / "docs" / "house-standard.yml")
    for table in TABLES.values():
        table.compute(standard)

    class Loaded(memory.Memory):
        """One that knows what was computed here for the same runs of calculations."""

        def __init__(self, *given, **named) -> None:
            super().__init__(*given, **named)
            self._found = dict(standard.memory._found)

    house.Memory = memory.Memory = Loaded  # pyright: ignore[reportAttributeAccessIssue]  for the forks


def _in_a_fork(asked: dict) -> int:
    """Run the command in a child and return its status, negative where a signal ended it."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    status = 1
    with contextlib.suppress(BaseException):
        signal.alarm(SECONDS)
        for path, stream in zip(asked["to"], (1, 2), strict=True):
            os.dup2(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), stream)
        os.environ.clear()
        os.environ.update(asked["environment"])
        os.chdir(asked["folder"])
        status = _mkdocs(asked["command"])
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status)


def _mkdocs(command: list[str]) -> int:
    """Run ``python -m mkdocs`` as a process of its own would, its traceback included; return its status."""
    import traceback

    from mkdocs.__main__ import cli

    sys.argv = ["mkdocs", *command]
    sys.path.insert(0, os.getcwd())
    try:
        cli(command, prog_name="python -m mkdocs")
    except SystemExit as ended:
        if isinstance(ended.code, str):
            print(ended.code, file=sys.stderr)
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
        return 1
    return 0


def main() -> None:
    """Answer until there is nothing more to read."""
    answers = os.fdopen(os.dup(1), "w")
    _load()
    for line in sys.stdin:
        print(json.dumps(_in_a_fork(json.loads(line))), file=answers, flush=True)


if __name__ == "__main__":
    main()
