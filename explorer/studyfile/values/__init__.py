"""The grammar of values: what may stand at the key of an input, how it is read, and how it moves."""

from explorer.studyfile.values.grammar import as_toml, exact_value, range_of, value
from explorer.studyfile.values.moving import literal, moved, moved_and_read

__all__ = ["as_toml", "exact_value", "literal", "moved", "moved_and_read", "range_of", "value"]
