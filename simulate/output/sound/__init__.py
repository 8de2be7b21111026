"""How `sound` is told."""
