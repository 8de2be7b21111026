"""What an eye makes of a picture: contrast sensitivity, thresholds of waves, visible warp, and verdicts in words."""
