"""Changes of a study as they stand on a command line: `magnet.field = "0.6 T"; channel.length = "95 mm"`."""

import re
import tomllib
from collections.abc import Mapping
from typing import Final

from explorer.page.usage import UsageError

#: What stands between semicolons; one within quotes is none.
_PIECE: Final = re.compile(r"""(?:"[^"]*"|'[^']*'|[^;])+""")


def change_of(text: str) -> Mapping[str, object]:
    """Return what a change replaces, by address: values as in a study, or bare as `--set` takes them."""
    found: dict[str, object] = {}
    for piece in _PIECE.findall(text):
        if not piece.strip():
            continue
        address, equals, written = (part.strip() for part in piece.partition("="))
        if not (address and equals and written):
            raise UsageError(f"--change {text}: expected ADDRESS = VALUE, such as 'magnet.field = \"0.6 T\"'")
        if address in found:
            raise UsageError(f"--change {text}: {address} stands twice")
        try:
            found[address] = tomllib.loads(f"value = {written}")["value"]
        except tomllib.TOMLDecodeError:
            found[address] = written
    if not found:
        raise UsageError("--change: nothing is changed; write it as 'magnet.field = \"0.6 T\"'")
    return found
