"""How pictures look, and those that several questions draw."""
