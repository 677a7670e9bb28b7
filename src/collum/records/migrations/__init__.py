"""Numbered migrations of the record, shipped with the package and run by `records.migrate`."""
