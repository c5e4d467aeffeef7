"""Pieces of pages that more than one page uses; no piece asks the twin anything."""
