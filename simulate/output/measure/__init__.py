"""How `measure` and `explain` are told."""
