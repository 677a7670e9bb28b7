"""What looks into the code under test: recorders of its programmes, exact necks, translations for the peer."""
