"""The checks at entry, on entries good and bad, on clean records and on planted slips."""
