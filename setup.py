"""What the settings in pyproject.toml cannot say: a wheel carries the handbook's pages, hook and settings.

A bench of its own builds with them; see handbook_bench. An editable install uses those of the copy.
"""

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py

ROOT = Path(__file__).parent
LEFT_OUT = shutil.ignore_patterns("__pycache__", "*.pyc", "editions", ".*")


class WithHandbook(build_py):
    """Copies ``docs``, ``hooks`` and ``mkdocs.yml`` into the package."""

    def run(self) -> None:
        super().run()
        if self.editable_mode:
            return
        inside = Path(self.build_lib) / "handbook_calc" / "handbook"
        shutil.rmtree(inside, ignore_errors=True)
        for folder in ("docs", "hooks"):
            shutil.copytree(ROOT / folder, inside / folder, ignore=LEFT_OUT)
        shutil.copy(ROOT / "mkdocs.yml", inside)


setup(cmdclass={"build_py": WithHandbook})
