"""How `compare` is told."""
