"""Use cases of safety: the answers of a visit and the gate of the papers of an operation."""
