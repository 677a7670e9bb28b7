"""Every sentence of advice: what is told of a case, how a dentist carries it out, and what the plan says then."""
