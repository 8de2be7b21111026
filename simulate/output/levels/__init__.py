"""How `levels` is told."""
