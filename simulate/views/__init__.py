"""What an eye sees of a room: seat pictures, the 3-D view, the explanation; its kernels are compiled by these jobs alone."""
