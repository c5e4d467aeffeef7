"""Answers known without the simulation: closed forms, exact chains, recursions and two independent simulators."""
