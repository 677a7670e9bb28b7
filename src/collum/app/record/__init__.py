"""Use cases of the record as a whole: open, lock, back up, restore, and who may do what."""
