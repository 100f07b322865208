"""Where a result comes from, as a section for a reviewer."""

from collections.abc import Mapping
from typing import Any

from explorer.page.document import Section, Table


def provenance(envelope: Mapping[str, Any], more: Mapping[str, str] | None = None) -> Section:
    """Return a result's envelope as a table."""
    rows = [
        (name.replace("_", " "), "unknown" if value is None else _text(value))
        for name, value in envelope.items()
        if name != "warnings"
    ]
    return Section("Provenance", (Table((*rows, *(more or {}).items())),), audience="reviewer")


def _text(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
