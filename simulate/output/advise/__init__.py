"""How `advise` is told."""
