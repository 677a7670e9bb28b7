"""Heat and pacing, as it leaves the program."""
