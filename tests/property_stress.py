"""Property tests at length: fifty times the usual examples, other ones each time.

``python tests/property_stress.py [--times N] [pytest arguments]`` runs every property test, or those that
the arguments choose (``tests/test_etching.py``, ``-k crystals``). What it finds is mended in the formula;
the example stays beside the test under ``@example``.
"""

import argparse
import os
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
sys.path.insert(0, str(TESTS.parent))


def main() -> int:
    """Run the property tests and return pytest's own status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--times", type=int, default=50, help="as many times the usual examples (default 50)")
    asked, passed_on = parser.parse_known_args()
    if asked.times < 1:
        parser.error(f"--times {asked.times} is out of range; allowed is 1 or more")
    # In the environment, because tests may run in processes of their own.
    os.environ["HANDBOOK_EXAMPLES"] = str(asked.times)
    os.environ.pop("CI", None)
    named = any(Path(word.split("::")[0]).exists() for word in passed_on if not word.startswith("-"))
    where = [] if named else [str(TESTS)]
    return int(pytest.main(["-m", "hypothesis", "--durations=15", *passed_on, *where]))


if __name__ == "__main__":
    sys.exit(main())
