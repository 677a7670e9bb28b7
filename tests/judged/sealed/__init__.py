"""Which fact keeps which operation from opening, written apart from the rules of the program, and the gate judged by it."""
