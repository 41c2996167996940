"""How machines of a fleet compare, and where their settings are heading."""
