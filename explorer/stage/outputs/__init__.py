"""From the kernel's results to the outputs of the registry, and to the warnings that a point carries."""
