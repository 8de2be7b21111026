"""What finishes and screens do to sound: absorption, reverberation, room modes, loss through the cloth."""
