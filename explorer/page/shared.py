"""What several studies share, as a table."""

from collections.abc import Mapping, Sequence

from explorer.page.document import Paragraph, Table


def shared_part(shared: Mapping[str, Sequence[tuple[str, str]]], nothing: str) -> Table | Paragraph:
    """Return which input of which study carries each shared name."""
    rows = [
        (name if place == 0 else "", by, address)
        for name, who in shared.items()
        for place, (by, address) in enumerate(who)
    ]
    return Table(tuple(rows), ("shared", "by", "as")) if rows else Paragraph(nothing)
