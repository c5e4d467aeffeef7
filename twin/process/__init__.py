"""The physics of each station as pure functions in SI units; it knows no clock and no input file."""
