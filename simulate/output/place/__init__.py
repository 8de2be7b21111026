"""What `place` prints, writes and draws."""
