"""Where jobs run: in this process, in processes beside it, on a cluster. What comes out is the same."""
