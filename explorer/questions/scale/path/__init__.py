"""The designs between two, where they cross borders, which of them to fire."""
