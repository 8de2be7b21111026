"""How `check` is told."""
