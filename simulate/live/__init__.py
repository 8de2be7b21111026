"""The live page: a server on the loopback address, and what it answers."""
