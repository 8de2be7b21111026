"""The files of a seat's picture."""
