"""What is known of the patient, and what it means for each procedure. Pure."""
