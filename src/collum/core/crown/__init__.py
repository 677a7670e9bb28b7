"""Will a crown stay: resistance and retention form, ferrule, cements, materials, why an old one came off, what would help."""
