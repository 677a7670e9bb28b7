"""Use cases of a stored case: keep, compare, attach, hand out and delete it."""
