"""What a profile must satisfy: one file per rule kind, profile in, findings out."""
