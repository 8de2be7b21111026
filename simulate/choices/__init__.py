"""Choosing: one scene in several variants under the same light paths, and advice drawn from such comparisons."""
