"""Whether a restoration holds, as it leaves the program."""
