"""One module a page: its path, its name, its question, its layout and its few callbacks."""
