"""The inverse questions: where projector, screen and rows may be, and what sets each bound."""
