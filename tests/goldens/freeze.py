"""Freezes what every command says: `PYTHONPATH=tests python -m goldens.freeze [NAME …]` in the project's folder.

The files are regression tests: they hold this program's own output, and say nothing of whether it is right.
"""

import sys
import tempfile
from pathlib import Path

from goldens.cases import cases, studies
from goldens.saying import said

SAID = Path(__file__).parent / "said"


def main(names: list[str]) -> None:
    """Write the files of some cases, or of all."""
    for name, case in cases().items():
        if names and not any(name.startswith(wanted) for wanted in names):
            continue
        with tempfile.TemporaryDirectory() as folder:
            text = said(case.arguments, studies(), Path(folder).resolve())
        (SAID / f"{name}.txt").write_text(text, encoding="utf-8")
        print(f"{name}: {len(text.splitlines())} lines")


if __name__ == "__main__":
    main(sys.argv[1:])
