"""The plan of lengthening as it leaves the program."""
