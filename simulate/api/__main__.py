"""`python -m halfgain`: the same as the command `halfgain`."""

from halfgain.simulate.command.app import main

if __name__ == "__main__":
    main()
