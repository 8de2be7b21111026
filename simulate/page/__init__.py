"""The client's page: one HTML file that shows a room, its seats and why the advice is what it is."""
