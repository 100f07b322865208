"""The card of a firing: what to set, what to expect and when to stop; afterwards, what the readings say against it."""
