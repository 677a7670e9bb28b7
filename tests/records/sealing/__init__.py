"""Keys, sealed payloads and sealed files."""
