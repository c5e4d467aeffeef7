"""The pages: what the twin says, drawn; no number is worked out here."""
