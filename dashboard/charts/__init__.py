"""Drawings: plain data in, SVG and HTML text out. Nothing here knows the twin or the web framework."""
