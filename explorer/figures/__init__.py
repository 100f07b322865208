"""Results as matplotlib figures: each function returns one, and nothing here opens a window."""
