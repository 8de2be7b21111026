"""How `finishes` is told."""
