"""The shapes that leave and enter as JSON, and the making of them from typed records: sentences are made here."""
