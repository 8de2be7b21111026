"""What has to be ordered and mounted: sizes, heights, clearances, trades, and how the light ages."""
