"""What `order` prints and writes; the sheet itself is in `page`."""
