"""What the stations do: typed classes for state, plain functions for rules; no clock, no randomness, no names."""
