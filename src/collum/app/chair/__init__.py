"""Use cases at the chair: the visit, the round and its log."""
