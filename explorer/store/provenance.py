"""What every result says about where it comes from, and JSON without the words that JSON doesn't have."""

import json
import math
import subprocess
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from typing import Any, Final

DISTRIBUTION: Final = "mhdstage"

#: First entry of every JSON; the number rises when a key changes its meaning.
FORMAT: Final = "mhdstage results 1"


@lru_cache(maxsize=1)
def version() -> str:
    """Return the version of the installed program."""
    try:
        return metadata.version(DISTRIBUTION)
    except metadata.PackageNotFoundError:
        return "not installed"


@lru_cache(maxsize=1)
def commit() -> str | None:
    """Return the commit that the program was run from, with "-dirty" where files differ from it.

    None where it can't be told: the program was installed from an archive or a copied folder.
    """
    top = Path(__file__).resolve().parents[2]
    if (top / ".git").exists():  # the program's own checkout, not some other project's folder around it
        return _commit_of_checkout(top)
    return _commit_of_installation()


def _commit_of_checkout(top: Path) -> str | None:
    command = ["git", "-C", str(top), "describe", "--always", "--dirty", "--abbrev=40", "--exclude=*"]
    try:
        found = subprocess.run(command, capture_output=True, text=True, timeout=10, check=True)
    except (OSError, subprocess.SubprocessError):
        return None
    return found.stdout.strip() or None


def _commit_of_installation() -> str | None:
    try:
        text = metadata.distribution(DISTRIBUTION).read_text("direct_url.json")
        found = json.loads(text or "{}").get("vcs_info", {}).get("commit_id")
    except (metadata.PackageNotFoundError, ValueError):
        return None
    return str(found) if found else None


def envelope(
    *,
    command: str,
    study: str | Sequence[str],
    study_hash: str | Sequence[str],
    random_number: int,
    warnings: Sequence[str],
) -> dict[str, Any]:
    """Return what every JSON begins with."""
    return {
        "format": FORMAT,
        "command": command,
        "study": study,
        "study_hash": study_hash,
        "version": version(),
        "commit": commit(),
        "random_number": random_number,
        "warnings": list(warnings),
    }


def json_text(content: Mapping[str, Any], *, ascii_only: bool = False) -> str:
    """Return content as JSON; what is no number (NaN, infinity) becomes null."""
    return json.dumps(_plain(content), indent=2, ensure_ascii=ascii_only, allow_nan=False) + "\n"


def _plain(item: Any) -> Any:
    if isinstance(item, Mapping):
        return {str(key): _plain(value) for key, value in item.items()}
    if isinstance(item, list | tuple):
        return [_plain(value) for value in item]
    if hasattr(item, "item"):  # a scalar of NumPy
        item = item.item()
    if isinstance(item, float) and not math.isfinite(item):
        return None
    return item
